"""A guided repair as a pure state machine: from all that was reported to the one thing to ask or to do now.

The plan is the judge's (`judge/remedy`): which plug, in which order, where to look. What is here is its course: one
question at a time, the one whose answer helps most for the minutes it takes; nothing asked twice but where an answer
and a reading contradict each other; no plug made twice against one fault.
"""

from msgspec.structs import replace

from wiremap.bench.mend.course import eyes, plugs
from wiremap.bench.mend.course.leads import by_lead, swapped_first
from wiremap.bench.mend.course.pieces import may_be_at, of_joint, piece_of
from wiremap.bench.mend.course.weighing import MOST_TIMES, Weighed, weighed
from wiremap.bench.mend.events import Answered, Asked, Did, Mend, MendEvent
from wiremap.bench.mend.known import CLOSED, WAITS, Known, Spot, learned
from wiremap.bench.mend.stage import Stage
from wiremap.cable.colours import ColourSet
from wiremap.cable.mistakes import EMPTY
from wiremap.cable.patterns import pattern_names
from wiremap.contact import End
from wiremap.judge.case import Case
from wiremap.judge.plugs.found import Holds
from wiremap.judge.remedy.repair import ORDER_FAULTS
from wiremap.reading.reading import FARS
from wiremap.report.words.faults import urgent_first
from wiremap.report.words.next_steps import DANGEROUS_FAULTS

MOST_CHOICES = 9  # a key each, 1 to 9
MOST_AGAIN = 3  # so often the same is done without any change
ENOUGH_LOOKS = 3  # colours of a cable with a fault besides its order, until that fault is looked for first
TWO_ALIKE = "two contacts cannot hold one conductor"
ONE_ALONE = "no order is wrong in one contact alone"
HOLDS_NOTHING = "a contact that is wanted holds nothing"
MOST_MADE = 6  # plugs of one cable that are made anew before it is replaced


def what_now(mend: Mend) -> Stage:
    """Return what a repair asks or wants done now.

    UsageError where the cable cannot be judged at all: its contacts do not fit the pattern that was named, say.
    """
    known = learned(mend)
    by_eye = _by_eye(mend, known) if mend.by_eye else None
    if by_eye is not None:
        return by_eye
    if not mend.by_eye and (known.reading is None or (mend.live and not known.tested)):
        return Stage("measure")
    found = weighed(mend, known)
    return replace(_of_weighed(mend, known, found), unbelieved=found.left_out)


def _by_eye(mend: Mend, known: Known) -> Stage | None:
    """Return where to look next, or the card of what is likely wrong; None where every contact was looked at."""
    seen = eyes.seen(mend, known)
    case = seen.case
    if case is not None and case.diagnosis.verdict == "fail":
        found = _confirmed(mend, known, _mending(mend, known, case))
        if found is not None:
            return replace(found, assumed=seen.assumed) if found.kind == "card" else found
    return _look(mend, seen.look, seen.again, TWO_ALIKE) if seen.look is not None else None


def _confirmed(mend: Mend, known: Known, planned: Stage) -> Stage | None:
    """Return a card with an order, or what is to be looked at before it; None where no such card is planned."""
    if planned.kind != "card" or planned.step is None or not planned.step.order or planned.end is None:
        return None
    sure = eyes.to_confirm(known, planned.end, planned.step.changes)
    return planned if sure is None else _look(mend, *sure, ONE_ALONE)


def _look(mend: Mend, spot: Spot, again: bool, why: str) -> Stage:
    return Stage("ask", None, eyes.of_spot(spot), (*eyes.usual_looks(mend), EMPTY), again, why if again else "")


def _of_weighed(mend: Mend, known: Known, found: Weighed) -> Stage:
    case = found.case
    if found.doubt is not None:
        return _colour(case, found.doubt, found)
    if case.requirements.expect is None and Asked("expect") not in known.answers:
        return Stage("ask", case, Asked("expect"), _patterns(case))
    if any(finding.fault in DANGEROUS_FAULTS for finding in case.diagnosis.findings):
        return Stage("do", case, work="unplug", finding=urgent_first(case.diagnosis.findings)[0])
    if case.diagnosis.verdict == "pass" or (mend.by_eye and not case.diagnosis.findings):
        return _right(mend, known, case)
    if not mend.by_eye and not mend.live and not known.tested:
        return Stage("measure", case)
    setup = _set_up(known, case)
    if setup is not None:
        return setup
    if case.advice.serves:
        return Stage("stopped", case, why="serves")
    planned = _mending(mend, known, case)
    return _looked_at(mend, known, case, planned) if mend.by_eye else by_lead(mend, known, planned)


def _looked_at(mend: Mend, known: Known, case: Case, planned: Stage) -> Stage:
    """Return what is to be done of a cable whose every contact was looked at: nothing more is asked but odd ones."""
    found = _confirmed(mend, known, planned)
    if found is not None or planned.kind == "stopped":
        return found or planned
    empty = eyes.empty_ones(case, known)
    again = next((spot for spot in empty if known.times.get(eyes.of_spot(spot), 0) < MOST_TIMES), None)
    if again is not None:
        return _look(mend, again, True, HOLDS_NOTHING)
    ends = [end for end, _ in empty if end not in {made for made, _ in known.made}]
    return plugs.remake(case, ends[0]) if ends else Stage("stopped", case, why="by-eye")


def left_out(stage: Stage) -> MendEvent:
    """Return what is reported where what is asked for is left out."""
    return Answered(stage.asked, WAITS) if stage.asked is not None else Did("not-moved")


def done(stage: Stage) -> Did:
    """Return what is reported where the work of a stage is done."""
    assert stage.work is not None
    order: Holds = stage.step.order if stage.step is not None and stage.kind == "card" else ()
    place = stage.step.place if stage.step is not None else None
    return Did(stage.work, stage.end, order, stage.faults, place or "")


def _right(mend: Mend, known: Known, case: Case) -> Stage:
    if mend.by_eye:
        return Stage("stopped", case, why="by-eye")
    can_move = mend.live and case.reading.far == "tester"  # else nothing is joined that a tester could watch
    return Stage("move", case) if can_move and not known.moved else Stage("passed", case)


def _patterns(case: Case) -> tuple[str, ...]:
    """Return the patterns that a cable may be meant to be, the nearest first."""
    nearest = case.diagnosis.nearest
    first = [nearest.pattern] if nearest is not None else []
    plugs_of = case.pattern
    alike = [
        name
        for name in pattern_names()
        if plugs_of is None or name.startswith(("straight", "crossover", plugs_of.near_connector.name))
    ]
    return tuple(dict.fromkeys([*first, *alike]))[:MOST_CHOICES]


def _set_up(known: Known, case: Case) -> Stage | None:
    """Ask what the far plug is in where the reading looks as if it were in something else than was said."""
    seen = case.diagnosis.setup
    if seen is None or not seen.explains_all:
        return None
    asked = Asked("set-up", contacts=seen.near, fault=seen.seen)
    answer = known.answers.get(asked)
    if seen.seen == "adapter":
        if answer == "yes":
            return Stage("stopped", case, why="adapter")
        return Stage("ask", case, asked, ("yes", "no")) if answer is None else None
    if answer is not None:
        return None
    return Stage("ask", case, asked, tuple(dict.fromkeys((seen.seen, *FARS))))


def _colour(case: Case, asked: Asked, doubt: Weighed | None = None) -> Stage:
    assert case.colours is not None
    words = (*_looks(case.colours, case), EMPTY)
    again, why = (True, doubt.why) if doubt is not None else (False, "")
    return Stage("ask", case, asked, (*words, CLOSED), again, why)


def _looks(colours: ColourSet, case: Case) -> tuple[str, ...]:
    """Return what a conductor of the cable may look like, in the order of a usual plug."""
    usual = [name for _, name in case.order.conductors] if case.order is not None else []
    names = [name for name in usual if name in colours.names] or list(colours.names)
    if case.advice.as_built is not None:
        now = (*case.advice.as_built.near_now, *case.advice.as_built.far_now)
        names += [name for _, name in now if name is not None and name not in names]
    return tuple(dict.fromkeys(colours.colour(name).looks for name in names))[: MOST_CHOICES - 1]


def _mending(mend: Mend, known: Known, case: Case) -> Stage:
    plan = case.advice.repair
    steps = plan.steps if plan is not None else ()
    if len(known.made) >= MOST_MADE:
        return Stage("stopped", case, why="no-better")
    if not steps or case.requirements.expect is None:
        often = sum(one.work == "again" for one in known.done) >= MOST_AGAIN
        return Stage("stopped", case, why="no-better") if often else Stage("do", case, work="again")
    if steps[0].why == "too-few":
        return Stage("stopped", case, why="other-kind")
    first = swapped_first(mend, known, case) or plugs.too_few(known, case) or plugs.comes_and_goes(mend, known, case)
    if first is not None:
        return first
    look = steps[0].look
    find = any(step.action == "find" for step in steps)
    found = plugs.in_which(mend, known, case) if find else None
    settled = look is None or (find and len(known.said) >= ENOUGH_LOOKS)
    if look is not None and not settled and (found is None or found.kind == "card"):
        return _colour(case, Asked("colour", look.end, (look.contact,)))
    return found or _course(mend, known, case)


def _course(mend: Mend, known: Known, case: Case) -> Stage:
    """Return the first step of the plan that was not tried against what is wrong now."""
    plan = case.advice.repair
    assert plan is not None
    done = {(one.work, one.end) for one in known.done}
    opened = {one.place for one in known.done if one.work == "open-joint"}
    mixed = [one for one in case.diagnosis.findings if one.fault in ORDER_FAULTS and one.end is None]
    piece = piece_of(mend, known, case, mixed)
    if mixed and piece.next_joint is not None and any(step.action == "open-joint" for step in plan.steps):
        return Stage("part", case, of_joint(piece.next_joint), finding=urgent_first(mixed)[0], piece=piece)
    for step in plan.steps:
        if step.action == "clean" and ("clean", step.end) not in done:
            return Stage("do", case, work="clean", end=step.end, faults=plugs.faults(case), step=step)
        if step.action == "open-joint" and step.place not in opened and may_be_at(piece, step.place):
            return Stage("do", case, work="open-joint", faults=plugs.faults(case), step=step)
        if step.action == "re-terminate" and step.end is not None and not _spent(known, case, step.end):
            return plugs.reach_first(known, case, step) or plugs.remake(case, step.end)
        if step.action == "replace":
            break
    left = piece_of(mend, known, case, case.diagnosis.findings)
    if left.next_joint is not None:
        return Stage(
            "part", case, of_joint(left.next_joint), finding=urgent_first(case.diagnosis.findings)[0], piece=left
        )
    return Stage("stopped", case, why="replace", piece=left)


def _spent(known: Known, case: Case, end: End) -> bool:
    """Whether making this plug anew was tried against what is wrong, and did not help; an order may need both."""
    if plugs.of_order(case):
        return False
    return any(known.was_made_against(end, fault) for fault in plugs.faults(case))
