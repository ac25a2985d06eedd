"""What is said of one cable: which ends it has, what is wrong, what to do now, what stands below its wire map."""

from wiremap.cable.patterns import pattern
from wiremap.judge.case import Case
from wiremap.judge.findings import MISPLACED
from wiremap.judge.remedy.advice import Advice
from wiremap.lines import in_lines
from wiremap.report.words.by_eye import next_by_eye, sentences_by_eye
from wiremap.report.words.faults import Ends, urgent_first, what_is_wrong
from wiremap.report.words.next_steps import find_sentence, next_step, too_few_sentence
from wiremap.report.words.setup import (
    FAR_PIECE,
    JOINED_DANGER,
    NO_JOINING_PLUG_INTO_EQUIPMENT,
    NO_REMOTE_INTO_EQUIPMENT,
    setup_question,
    setup_sentence,
)
from wiremap.report.words.terminators import terminators_line
from wiremap.report.words.typed import without_options

OF_ORDER = (*MISPLACED, "split-pair")  # what reasoning about both plugs says more of than about the fault alone


def ends_of(case: Case) -> Ends:
    """Return what the job calls the ends, with the screen's contacts of the pattern."""
    near, far, known = case.names.near or "near", case.names.far or "far", case.pattern
    return Ends(near, far, known.near_screen, known.far_screen) if known else Ends(near, far)


def sentences(case: Case) -> tuple[str, ...]:
    """Return what is wrong with the cable, most urgent first; of a set-up that explains all, what was read."""
    if case.reading.origin == "eyes":
        return sentences_by_eye(case, ends_of(case))
    setup = case.diagnosis.setup
    if setup is not None and setup.explains_all:
        read = setup_sentence(setup, ends_of(case))
        if read:
            return (read,)
    return what_is_wrong(case.diagnosis, ends_of(case), case.pattern)


def what_next(case: Case) -> str:
    """Return what to do with the cable now; it leads with a set-up that explains all that was read."""
    setup = case.diagnosis.setup
    if setup is None or not setup.explains_all:
        return _with_caution(_next_of_cable(case), case)
    question = setup_question(setup, ends_of(case))
    if setup.seen != "adapter":
        return question
    usual = _next_of_cable(case)
    return (
        f"{question} If not, {usual[:1].lower()}{usual[1:]}"
        if case.diagnosis.verdict == "fail"
        else f"{usual} {question}"
    )


def _with_caution(said: str, case: Case) -> str:
    """Return what to do with what was put onto the far plug: it comes off first, and goes into no equipment."""
    piece = FAR_PIECE.get(case.reading.far)
    if piece is None:
        return said
    caution = NO_REMOTE_INTO_EQUIPMENT if piece == "remote" else NO_JOINING_PLUG_INTO_EQUIPMENT
    if case.diagnosis.verdict == "pass":
        said = f"Take the {piece} off the {ends_of(case).far} plug. {said}"
    return f"{said} {caution}"


def _next_of_cable(case: Case) -> str:
    """Return what to do with the cable, the set-up being as was said."""
    nearest, expect = case.diagnosis.nearest, case.diagnosis.expect
    by_eye = next_by_eye(case, ends_of(case), case.advice.serves) if case.reading.origin == "eyes" else None
    if by_eye is not None:
        return by_eye
    if case.advice.serves:
        return f"It has all that {expect} wants, and more: it serves. Label it and use it."
    steps = case.advice.repair.steps if case.advice.repair else ()
    of_order = any(step.why in ("order", "split", "wrong-kind", "too-few") for step in steps)
    few = too_few_sentence(case.diagnosis, case.pattern)
    if expect is not None and of_order and (not few or any(step.why == "too-few" for step in steps)):
        from wiremap.report.words.repair import next_of

        kind = None
        if nearest is not None and nearest.away == 0:
            kind = nearest.pattern, len(pattern(nearest.pattern).conductors)
        now = next_of(case.advice, ends_of(case), find_sentence(case.diagnosis, ends_of(case)), kind)
        if now is not None:
            return now
    return next_step(case.diagnosis, ends_of(case), case.pattern, case.requirements.require)


def said_on_paper(case: Case) -> str:
    """Return what is wrong with the cable, for readers who have no command line."""
    return without_options(" ".join(sentences(case)))


def next_on_paper(case: Case) -> str:
    """Return what to do with the cable now, for readers who have no command line."""
    return without_options(what_next(case))


def more_lines(case: Case, width: int) -> list[str]:
    """Return what stands below the wire map: remote, loops, what the plugs hold."""
    remote, loops, advice = case.diagnosis.remote, case.diagnosis.loops, case.advice
    lines = [*_setup_lines(case, width), *_bus_lines(case, width)]
    if remote is None and not loops and advice == Advice():
        return lines
    from wiremap.report.words import repair as said

    places = case.requirements.statements.remote_places
    lines += in_lines(said.remote_line(remote, places), width) if remote is not None else []
    lines += said.loop_lines(loops)
    if case.colours is not None and _of_order(case):
        lines += said.as_built_lines(advice, ends_of(case), case.colours, width)
    return lines


def shows_set_up_alone(case: Case) -> bool:
    """Whether nothing was read but what the far plug is in, or that no plug is in the tester."""
    setup = case.diagnosis.setup
    return setup is not None and setup.explains_all and setup.seen != "adapter"


def _setup_lines(case: Case, width: int) -> list[str]:
    """Return what the set-up may be where that does not explain all, and so is not what to do next."""
    setup = case.diagnosis.setup
    if setup is None or setup.explains_all:
        return []
    return in_lines(setup_question(setup, ends_of(case)), width)


def _bus_lines(case: Case, width: int) -> list[str]:
    """Return the terminators of a bus where other faults are spoken of first."""
    seen, ends = case.diagnosis.terminators, ends_of(case)
    if seen is None or all(finding.fault == "terminators" for finding in case.diagnosis.findings):
        return []
    return in_lines(terminators_line(seen, ends.near, ends.far), width)


def dangers(case: Case) -> tuple[str, ...]:
    """Return what must not be connected to the cable, as sentences that are to stand first; () = nothing."""
    if not case.advice.services:
        return ()
    from wiremap.report.words.services import danger_sentences

    setup = case.diagnosis.setup
    if setup is not None and setup.seen in ("joined", "joining"):
        return (JOINED_DANGER,)
    return danger_sentences(case.advice.services)


def carried_lines(case: Case, width: int) -> list[str]:
    """Return in at most four lines what may run on the cable as it is.

    Of a good cable only where something is dangerous, or its ports or its kind were stated; of one of which nothing was
    read but what its plugs are in, nothing.
    """
    if shows_set_up_alone(case):
        return []
    said = case.requirements.statements
    asked = said.port_near or said.port_far or case.requirements.kind
    if not case.advice.services or (case.diagnosis.verdict == "pass" and not asked and not dangers(case)):
        return []
    from wiremap.report.words.services import short_lines

    return short_lines(case.advice.services, width)


def all_services(case: Case, width: int) -> list[str]:
    """Return the danger, then every service with reasons and clauses, as a table; nothing where there are none."""
    if not case.advice.services:
        return []
    from wiremap.report.words.services import service_lines

    danger = [line for sentence in dangers(case) for line in in_lines(sentence, width)]
    return [*danger, *service_lines(case.advice.services, width)]


def _of_order(case: Case) -> bool:
    """Whether the order in the plugs is what is most urgently wrong."""
    return any(finding.fault in OF_ORDER for finding in urgent_first(case.diagnosis.findings)[:1])
