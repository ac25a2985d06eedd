"""Leads that tell a plug from a socket: one that is exchanged, and one that takes the place of the cable."""

from msgspec.structs import replace

from wiremap.bench.mend.course.pieces import lead_shows
from wiremap.bench.mend.course.plugs import faults
from wiremap.bench.mend.events import Asked, Mend
from wiremap.bench.mend.known import WAITS, Known
from wiremap.bench.mend.stage import Stage, StopReason
from wiremap.contact import End
from wiremap.judge.case import Case

GIVEN_UP: tuple[StopReason, ...] = ("replace", "both-well", "no-better", "piece")
A_LEAD = Asked("lead")


def of_lead(end: End) -> Asked:
    """Return what is asked of the lead at an end: to be exchanged."""
    return Asked("lead", end)


def swapped_first(mend: Mend, known: Known, case: Case) -> Stage | None:
    """Have a lead exchanged first, where the fault may be in it; None where that is done or cannot be."""
    places = {finding.end for finding in case.diagnosis.findings}
    done = {one.end for one in known.done if one.work == "swap-lead"}
    for end in mend.leads:
        if mend.live and end not in done and {None, end} & places and known.answers.get(of_lead(end)) != WAITS:
            return Stage("do", case, of_lead(end), work="swap-lead", end=end, faults=faults(case))
    return None


def by_lead(mend: Mend, known: Known, stage: Stage) -> Stage:
    """Hold the end of a repair in vain against a lead that is known to be good: shows it the fault, the tester has it.

    Not where the fault is measured to be in the run, and only where a lead fits both sockets.
    """
    case = stage.case
    if stage.kind != "stopped" or stage.why not in GIVEN_UP or case is None or case.pattern is None or not mend.live:
        return stage
    still = any(finding.end != "run" for finding in case.diagnosis.findings)
    alike = case.pattern.near_connector == case.pattern.far_connector and case.reading.far == "tester"
    if not still or not alike or known.answers.get(A_LEAD) == WAITS:
        return stage
    if known.lead is None:
        return Stage("part", case, A_LEAD, finding=stage.finding)
    if lead_shows(case, known.lead, case.diagnosis.findings):
        return replace(stage, why="socket")
    return stage
