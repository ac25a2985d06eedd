"""What is said of one cable: which ends it has, what is wrong, what to do now, what stands below its wire map."""

import textwrap

from wiremap.cable.terminations import carried, known_as
from wiremap.judge.case import Case
from wiremap.judge.remedy.advice import Advice
from wiremap.report.words.faults import MISPLACED, Ends, urgent_first, what_is_wrong
from wiremap.report.words.next_steps import next_step

OF_ORDER = (*MISPLACED, "split-pair")  # what reasoning about both plugs says more of than about the fault alone


def ends_of(case: Case) -> Ends:
    """Return what the job calls the ends, with the screen's contacts of the pattern."""
    near, far, pattern = case.names.near or "near", case.names.far or "far", case.pattern
    return Ends(near, far, pattern.near_screen, pattern.far_screen) if pattern else Ends(near, far)


def sentences(case: Case) -> tuple[str, ...]:
    """Return what is wrong with the cable, most urgent first."""
    return what_is_wrong(case.diagnosis, ends_of(case), case.pattern)


def what_next(case: Case) -> str:
    """Return what to do with the cable now."""
    orders = None
    other_kind = case.diagnosis.nearest is not None and case.diagnosis.nearest.away == 0
    if other_kind and case.pattern and case.pattern.far_connector and case.order:
        known = known_as(case.pattern.far_connector, carried(case.order, case.pattern))
        orders = (case.order.name, known.name) if known else None
    if case.diagnosis.expect is not None and _of_order(case) and not other_kind:
        from wiremap.report.words.repair import next_of

        now = next_of(case.advice, ends_of(case))
        if now is not None:
            return now
    return next_step(case.diagnosis, ends_of(case), case.pattern, orders, case.requirements.require)


def more_lines(case: Case, width: int) -> list[str]:
    """Return what stands below the wire map: remote, loops, what the plugs hold."""
    remote, loops, advice = case.diagnosis.remote, case.diagnosis.loops, case.advice
    if remote is None and not loops and advice == Advice():
        return []
    from wiremap.report.words import repair as said

    places = case.requirements.statements.remote_places
    lines = textwrap.wrap(said.remote_line(remote, places), width) if remote is not None else []
    lines += said.loop_lines(loops)
    if case.colours is not None and _of_order(case):
        lines += said.as_built_lines(advice, ends_of(case), case.colours, width)
    return lines


def dangers(case: Case) -> tuple[str, ...]:
    """Return what must not be connected to the cable, as sentences that are to stand first; () = nothing."""
    if not case.advice.services:
        return ()
    from wiremap.report.words.services import danger_sentences

    return danger_sentences(case.advice.services)


def carried_lines(case: Case, width: int) -> list[str]:
    """Return in at most four lines what may run on the cable as it is.

    Of a good cable only where something is dangerous, or its ports were stated.
    """
    ports = case.requirements.statements.port_near or case.requirements.statements.port_far
    if not case.advice.services or (case.diagnosis.verdict == "pass" and not ports and not dangers(case)):
        return []
    from wiremap.report.words.services import short_lines

    return short_lines(case.advice.services, width)


def all_services(case: Case, width: int) -> list[str]:
    """Return the danger, then every service with reasons and clauses, as a table; nothing where there are none."""
    if not case.advice.services:
        return []
    from wiremap.report.words.services import service_lines

    danger = [line for sentence in dangers(case) for line in textwrap.wrap(sentence, width)]
    return [*danger, *service_lines(case.advice.services, width)]


def _of_order(case: Case) -> bool:
    """Whether the order in the plugs is what is most urgently wrong."""
    return any(finding.fault in OF_ORDER for finding in urgent_first(case.diagnosis.findings)[:1])
