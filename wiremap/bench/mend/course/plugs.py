"""Which plug a fault is in, by looking into one after the other, the one that is easier to open first; and its card."""

import math
from collections.abc import Collection, Mapping

from msgspec.structs import replace

from wiremap.bench.mend.course.pieces import JOINT_MINUTES, Piece, of_joint, piece_of
from wiremap.bench.mend.course.weighing import MOST_TIMES
from wiremap.bench.mend.events import Asked, FaultAt, Mend
from wiremap.bench.mend.known import CLOSED, NEITHER, SLOW, Known
from wiremap.bench.mend.stage import Stage
from wiremap.contact import ENDS, End
from wiremap.judge.case import Case
from wiremap.judge.findings import MEANWHILE, Finding
from wiremap.judge.plugs.evidence import UNREAD
from wiremap.judge.remedy.knowledge import MINUTES
from wiremap.judge.remedy.repair import Step
from wiremap.report.words.faults import urgent_first
from wiremap.report.words.next_steps import FOUND_BY_EYE, pairs_are_hidden, too_few_sentence, urgent_together

WELL, THERE = "well", "there"  # the plug is as it should be; the fault is to be seen in it
MOST_NEITHER = 3  # times that both plugs are said to be well, until the fault is taken to be elsewhere
BY_ORDER = ("order", "split", "wrong-kind")


def of_order(case: Case) -> bool:
    """Whether the order of conductors is what is to be put right, so that a card has one."""
    plan = case.advice.repair
    return plan is not None and any(step.why in BY_ORDER for step in plan.steps)


def fault_at(finding: Finding) -> FaultAt:
    """Return a fault by its kind and its contacts."""
    return FaultAt(finding.fault, finding.near, finding.far)


def faults(case: Case) -> tuple[FaultAt, ...]:
    """Return all that is wrong, the most urgent first."""
    return tuple(fault_at(finding) for finding in urgent_first(case.diagnosis.findings))


def remake(case: Case, end: End) -> Stage:
    """Return that a plug is to be made anew: by the order of the plan where order is wrong, else in the one it has.

    In the one it has as well where the plan's is only the likeliest, and a look would tell more.
    """
    plan = case.advice.repair
    steps = sorted((*plan.steps, *plan.instead), key=lambda one: one.if_it_stays) if plan is not None else []
    ordered = [step for step in steps if step.end == end and step.action == "re-terminate"]
    built = case.advice.as_built
    guessed = built is not None and not built.settled and built.next_look is not None
    step = None if guessed or not of_order(case) else next((one for one in ordered if one.order or one.moves), None)
    hidden = step is None and pairs_are_hidden(case.diagnosis, case.pattern)
    finding = urgent_together(case.diagnosis.findings)
    return Stage(
        "card", case, work="re-terminate", end=end, step=step, finding=finding, paired=hidden, faults=faults(case)
    )


def by_ease(known: Known) -> tuple[End, End]:
    """Return the ends, the one that is easier to look into first."""
    far_first = minutes_to_open(known, "far") < minutes_to_open(known, "near")
    return ("far", "near") if far_first else ("near", "far")


def minutes_to_open(known: Known, end: End) -> float:
    """Return the minutes that it takes to look into a plug, inf = it cannot be."""
    closed = known.closed.get(end)
    if closed is None:
        return MINUTES[end]
    _, _, said = closed.partition("=")
    return float(said) if said else math.inf


def too_few(known: Known, case: Case) -> Stage | None:
    """Ask whether the cable has as many conductors as are wanted, where it looks as if it had not; None = go on."""
    if not too_few_sentence(case.diagnosis, case.pattern):
        return None
    asked = Asked("conductors")
    answer = known.answers.get(asked)
    if answer is None:
        return Stage("ask", case, asked, ("yes", "no"))
    tried = any(known.was_made_against(end, fault) for end in ENDS for fault in faults(case))
    return Stage("stopped", case, why="other-kind") if answer == "no" or known.lacking or tried else None


def in_which(mend: Mend, known: Known, case: Case) -> Stage | None:
    """Look for a fault whose end is not known in plugs and pieces of the run; None where that is settled otherwise.

    What takes the least time comes first; what was measured of a piece goes before what was seen in a plug.
    """
    unknown = [one for one in urgent_first(case.diagnosis.findings) if one.end is None and one.fault in FOUND_BY_EYE]
    if not unknown:
        return None
    finding = urgent_together(unknown)
    alike = [fault_at(one) for one in unknown if one.fault == finding.fault]
    made = {end for end in ENDS for one in alike if known.was_made_against(end, one)}
    piece = piece_of(mend, known, case, [finding])
    found = _found_in(known, case, finding, piece, made)
    return replace(found, piece=piece)


def _found_in(known: Known, case: Case, finding: Finding, piece: Piece, made: Collection[End]) -> Stage:
    both = _of_both(finding)
    seen = known.answers.get(both, "")
    state = {end: WELL if end in made or end not in piece.plugs else _state(known, finding, end, seen) for end in ENDS}
    for end in by_ease(known):
        if state[end] == THERE:
            return remake(case, end)
    unseen = [end for end in by_ease(known) if state[end] == ""]
    if len(unseen) == len(ENDS) and piece.next_joint is None and not (seen or known.closed):
        return Stage("ask", case, both, (*ENDS, NEITHER, CLOSED), finding=finding)
    if unseen and (piece.next_joint is None or minutes_to_open(known, unseen[0]) < JOINT_MINUTES):
        return Stage("ask", case, _question(finding, unseen[0]), (WELL, THERE, CLOSED), finding=finding)
    if piece.next_joint is not None:
        return Stage("part", case, of_joint(piece.next_joint), finding=finding)
    return _seen_in_neither(known, case, finding, piece, made, state)


def _seen_in_neither(
    known: Known, case: Case, finding: Finding, piece: Piece, made: Collection[End], state: Mapping[End, str]
) -> Stage:
    """Settle it where no plug was seen to have the fault: by further looks, by what cannot be seen, or not.

    What was looked at plug by plug is looked at once more; what was answered of both in one, twice more.
    """
    both = _of_both(finding)
    answer, times = known.answers.get(both, ""), known.times.get(both, 0)
    left = tuple(end for end in ENDS if end in piece.plugs and end not in made)
    said_well = any(state[end] == WELL for end in left)
    one_by_one = any(known.answers.get(_question(finding, end)) == WELL for end in left)
    is_sure = known.neither.get(both, 0) + (MOST_NEITHER - 1 if one_by_one else 0) >= MOST_NEITHER
    is_vain = answer in ENDS or (answer == UNREAD and times >= MOST_TIMES)
    if said_well and CLOSED not in state.values() and not (is_sure or is_vain):
        return Stage("ask", case, both, (*left, NEITHER), True, finding=finding)
    for end in by_ease(known):
        if state[end] == UNREAD or (answer == UNREAD and end in left):
            return remake(case, end)
    elsewhere = {one.end for one in case.diagnosis.findings if one.end in ENDS}
    for end in by_ease(known):
        if end in elsewhere and end not in made:
            return remake(case, end)
    if CLOSED in state.values():
        return Stage("stopped", case, why="out-of-reach", finding=finding)
    return Stage("stopped", case, why="both-well" if piece.is_whole else "piece", finding=finding)


def comes_and_goes(mend: Mend, known: Known, case: Case) -> Stage | None:
    """Find the plug of what comes and goes by moving one alone; None where nothing does, or that tells no more."""
    found = [one for one in case.diagnosis.findings if one.fault == "intermittent" and one.end is None]
    if not found or not mend.live or case.reading.far != "tester":
        return None
    held = sum(one.work == "again" for one in known.done)
    if all(one.detail == MEANWHILE for one in found) and not held:
        return Stage("do", case, work="again", finding=found[0])
    made = {end for end in ENDS for one in found if known.was_made_against(end, fault_at(one))}
    for end in by_ease(known):
        if known.shaken.get(end) and end not in made:
            return remake(case, end)
    for end in by_ease(known):
        asked = Asked("move-one", end)
        reached = minutes_to_open(known, end) < math.inf
        if reached and end not in (*known.shaken, *made) and asked not in known.answers:
            return Stage("move", case, asked, end=end, finding=found[0])
    return None


def _question(finding: Finding, end: End) -> Asked:
    return Asked("in-plug", end, finding.near if end == "near" else finding.far, finding.fault)


def _of_both(finding: Finding) -> Asked:
    return Asked("in-plugs", None, (*finding.near, *finding.far), finding.fault)


def _state(known: Known, finding: Finding, end: End, of_both: str) -> str:
    """Return what is known of a fault in a plug: THERE, WELL, UNREAD = it cannot be told, CLOSED, "" = not looked.

    of_both: what was said of both plugs.
    """
    asked = _question(finding, end)
    if not asked.contacts:
        return WELL  # nothing of it is at this end
    word = THERE if of_both == end else WELL if of_both == NEITHER else ""
    return word if of_both == end else known.answers.get(asked, word)


def reach_first(known: Known, case: Case, step: Step) -> Stage | None:
    """Ask whether the far plug can be got at before somebody is sent there, where the near one could serve as well."""
    plan, asked = case.advice.repair, Asked("reach", "far")
    if step.end != "far" or "far" in known.closed or "far" in known.reached or asked in known.times:
        return None
    if plan is None or not any(one.end == "near" and one.action == "re-terminate" for one in plan.instead):
        return None
    return Stage("ask", case, asked, ("yes", SLOW, CLOSED))
