"""What a guided repair shows of a stage, in words, for a terminal and a phone alike: all its sentences stand here."""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.mend.course.plugs import THERE, WELL
from wiremap.bench.mend.events import Asked, Mend, can_take_back
from wiremap.bench.mend.known import CLOSED, NEITHER, SLOW, learned
from wiremap.bench.mend.part_words import (
    READY,
    SOCKET,
    in_piece_words,
    joined_again,
    of_leads,
    part_now,
    piece_words,
    plug_named,
)
from wiremap.bench.mend.stage import Stage, StageKind, StopReason
from wiremap.bench.moving.movement import How, MovedSoFar, how_moved, moved_words
from wiremap.cable.mistakes import EMPTY
from wiremap.contact import ENDS, End
from wiremap.judge.findings import Fault, Finding, Verdict
from wiremap.report.card import CAUTIONS, Card
from wiremap.report.termination import card_of_step
from wiremap.report.words.cases import dangers, ends_of, sentences, what_next
from wiremap.report.words.faults import Ends, contacts_named, listed
from wiremap.report.words.next_steps import PAIRED
from wiremap.report.words.origin import FLAGS, verdict_word
from wiremap.report.words.repair import step_sentence
from wiremap.report.words.setup import NO_JOINING_PLUG_INTO_EQUIPMENT, NO_REMOTE_INTO_EQUIPMENT, setup_question
from wiremap.report.words.typed import without_options

CHOICES = {
    EMPTY: "nothing in it",
    CLOSED: "out of reach",
    SLOW: "yes, but it takes long",
    WELL: "all is well in this plug",
    THERE: "that is the fault",
    NEITHER: "in neither",
    "yes": "yes",
    "no": "no",
    "tester": "in the tester",
    "open": "in nothing: it hangs free",
    "joined": "a joining plug is on it",
    "remote": "a remote is on it",
    "equipment": "in equipment, switched off",
}
IN_PLUG: dict[Fault, str] = {
    "open": "{which} not home, or not crimped",
    "short": "a strand or an offcut between {which}",
    "screen-short": "the screen touching {which}",
    "screen-open": "a screen that is not clamped",
    "high-resistance": "{which} dirty or badly crimped",
    "resistance-unbalance": "{which} dirty or badly crimped",
}
STOPPED: dict[StopReason, str] = {
    "replace": "Replace the cable: what was done to its plugs did not mend it.",
    "both-well": "Replace the cable: both plugs are well, so the fault is between them.",
    "out-of-reach": "What is left is a plug out of reach, or the cable itself. Get at that plug, or replace the cable.",
    "other-kind": "Replace the cable, or use it where fewer conductors are enough: it has too few.",
    "socket": SOCKET,
    "no-better": "It got no better by what was done. Replace the cable, or begin anew and look into both plugs.",
}
UNBELIEVED = "What was said of {which} cannot be what was measured, and is not believed."
ASSUMED = "Likely, and not looked at: {which}."
MEASURING = "Measuring. Keep both plugs still."
TO_MEASURE = "Put the cable into the tester: it is to be measured now."
MOVE: dict[How, str] = {
    "watched": "It passes at rest. Now move both plugs and the cable behind them while the tester watches every "
    "contact: what comes and goes is found so.",
    "looked": "It passes at rest. Now move both plugs and the cable behind them while the tester looks at it again and "
    "again: it cannot watch, so what opens for less than a look escapes it.",
}
AT_REST = "Keep both plugs still: it is measured at rest first."
MOVE_NOW = "Move both plugs and the cable behind them, now."
MOVE_ONE_NOW = "Move {plug} alone, now."
NOT_MOVED = "It was not tested while it was moved."
MADE = "the plug is made, both are in the tester"
OPEN_OFF = "Power off, both ends unplugged before you open a joint."
CUT_FIRST = "Power off, both ends unplugged before you cut."


class Choice(Struct, frozen=True):
    """What can be answered: the word that is reported, and what it is called."""

    word: str
    said: str


class WorkLine(Struct, frozen=True):
    """A line of the work list: its name, its text, and whether it is ticked."""

    name: str
    text: str
    ticked: bool


class MendStep(Struct, frozen=True):
    """What a stage shows.

    verdict, head: of the newest test, None and "" before one; flag: where it does not come from a tester. dangers:
    what must stand first. wrong: what is wrong, the most urgent first. now: what to do or to answer now. choices: with
    "I do not know" beside them. ready: what is reported where that is done, "" where nothing is to be reported. card:
    of the plug to be made anew. cautions: what to mind. undo: whether something can be taken back. by_colours:
    whether a card names conductors, which the cable may turn out not to have. progress: share of what is going on that
    is done, None = nothing is. later: whether what is asked for can be left out.
    """

    kind: StageKind
    verdict: Verdict | None
    head: str
    flag: str
    dangers: tuple[str, ...]
    wrong: tuple[str, ...]
    now: str
    choices: tuple[Choice, ...] = ()
    ready: str = ""
    card: Card | None = None
    work: tuple[WorkLine, ...] = ()
    cautions: tuple[str, ...] = ()
    undo: bool = False
    by_colours: bool = False
    progress: float | None = None
    later: bool = False


def measuring_shown(mend: Mend, stage: Stage) -> MendStep:
    """Return what is shown while a part is measured."""
    return replace(step_shown(mend, stage), now=MEASURING, choices=(), ready="", undo=False, later=False)


def moving_shown(mend: Mend, stage: Stage, so_far: MovedSoFar) -> MendStep:
    """Return what is shown while the cable is tested and moved."""
    step = replace(step_shown(mend, stage), choices=(), ready="", undo=False, later=False)
    one = stage.asked.end if stage.asked is not None else None
    ends = ends_of(stage.case) if stage.case is not None else Ends()
    now = MOVE_NOW if one is None else MOVE_ONE_NOW.format(plug=plug_named(mend, one, ends))
    if so_far.still:
        return replace(step, now=AT_REST, progress=0.0)
    done = moved_words(so_far.how, so_far.seconds, so_far.looks, so_far.events, so_far.of_seconds)
    return replace(step, now=f"{now} {done}", progress=so_far.seconds / so_far.of_seconds)


def step_shown(mend: Mend, stage: Stage) -> MendStep:
    """Return what a stage of a repair shows."""
    case, ends = stage.case, Ends(mend.names.near or "near", mend.names.far or "far")
    head, flag, verdict = "", "", None
    if case is not None:
        ends, verdict = ends_of(case), case.diagnosis.verdict
        head, flag = verdict_word(verdict, case.reading.origin), FLAGS[case.reading.origin]
    ticked = learned(mend).ticked
    cautions: tuple[str, ...] = ()
    if stage.kind == "card":
        cautions = (CUT_FIRST, *CAUTIONS[1:])
    elif stage.kind == "part" and stage.asked is not None and stage.asked.kind == "piece":
        cautions = (OPEN_OFF, *CAUTIONS[2:])
    elif stage.asked is not None and stage.asked.kind == "set-up":
        cautions = (NO_REMOTE_INTO_EQUIPMENT, NO_JOINING_PLUG_INTO_EQUIPMENT)
    return MendStep(
        stage.kind,
        verdict,
        head,
        flag,
        dangers(case) if case is not None else (),
        _wrong(mend, stage, ends),
        _and_join(mend, stage, _now(mend, stage, ends)),
        tuple(_choice(mend, word, stage, ends) for word in stage.choices),
        _ready(mend, stage),
        _card(stage),
        tuple(WorkLine(name, text, name in ticked) for name, text in mend.work),
        cautions,
        can_take_back(mend),
        stage.kind == "card" and stage.step is not None and bool(stage.step.order),
        later=stage.can_wait,
    )


def _and_join(mend: Mend, stage: Stage, now: str) -> str:
    """Return what to do now, and that the run is put together again first, where it is not and will be needed whole."""
    again = joined_again(learned(mend)) if stage.kind in ("card", "do", "move", "stopped") else ""
    return f"{now} {again}" if again else now


def _wrong(mend: Mend, stage: Stage, ends: Ends) -> tuple[str, ...]:
    case = stage.case
    if case is None:
        return ()
    leads = of_leads(learned(mend), stage, mend, ends)
    if case.diagnosis.verdict == "pass":
        return leads
    said = (*(without_options(text) for text in sentences(case)), *leads)
    if stage.assumed:
        said = (ASSUMED.format(which=_spots(stage.assumed, ends)), *said)
    said += in_piece_words(mend, stage.piece, ends) if stage.kind != "stopped" else ()
    unbelieved = _spots(stage.unbelieved, ends)
    return (*said, UNBELIEVED.format(which=unbelieved)) if unbelieved else said


def _spots(spots: Sequence[tuple[End, str]], ends: Ends) -> str:
    """Return contacts, plug by plug: "near 3 and 6, far 1"."""
    found = []
    for end in ENDS:
        contacts = [contact for side, contact in spots if side == end]
        if contacts:
            found.append(f"{ends.near if end == 'near' else ends.far} {listed(contacts)}")
    return ", ".join(found)


def _card(stage: Stage) -> Card | None:
    if stage.kind != "card" or stage.case is None or stage.step is None:
        return None
    return card_of_step(stage.case, stage.step)


def _ready(mend: Mend, stage: Stage) -> str:
    match stage.kind:
        case "card":
            return MADE if mend.live else "the new plug is made"
        case "do":
            return "done: measure again"
        case "move":
            return "begin, and move it"
        case "part":
            return READY[stage.asked.kind] if stage.asked is not None else ""
        case _:
            return ""


def _choice(mend: Mend, word: str, stage: Stage, ends: Ends) -> Choice:
    asked = stage.asked
    if asked is not None and asked.kind == "in-plugs" and word in ("near", "far"):
        return Choice(word, f"in {plug_named(mend, word, ends)}")
    if asked is not None and asked.kind == "in-plugs" and word == CLOSED:
        return Choice(word, "one of them is out of reach")
    if asked is not None and asked.kind == "reach" and word == CLOSED:
        return Choice(word, "no")
    return Choice(word, CHOICES.get(word, word))


def _now(mend: Mend, stage: Stage, ends: Ends) -> str:
    case = stage.case
    match stage.kind:
        case "measure":
            return MEASURING if mend.live else TO_MEASURE
        case "ask":
            assert stage.asked is not None
            return _question(mend, stage, stage.asked, ends)
        case "card":
            return _making(mend, stage, ends)
        case "do" if stage.step is not None:
            return step_sentence(stage.step, ends)
        case "part" | "do" | "move" if stage.asked is not None:
            return part_now(mend, stage.asked, ends)
        case "move":
            assert case is not None
            return MOVE[how_moved(case.reading.tester)]
        case "passed":
            return _passed(mend, stage)
        case "stopped":
            return _stopped(mend, stage, ends)
        case _:
            assert case is not None
            return without_options(what_next(case))


def _passed(mend: Mend, stage: Stage) -> str:
    assert stage.case is not None
    known, next_one = learned(mend), without_options(what_next(stage.case))
    if known.movement is None:
        return f"{next_one} {NOT_MOVED}"
    moved = known.movement
    return (
        f"{next_one} {moved_words(moved.how, moved.seconds, moved.looks, moved.reading.events)}"
        if moved.how
        else next_one
    )


def _stopped(mend: Mend, stage: Stage, ends: Ends) -> str:
    assert stage.case is not None
    assert stage.why is not None
    in_run = any(finding.end == "run" for finding in stage.case.diagnosis.findings)
    tried = bool(learned(mend).made)
    if stage.why == "adapter" and stage.case.diagnosis.setup is not None:
        return setup_question(stage.case.diagnosis.setup, ends)
    in_piece = piece_words(mend, stage.piece, ends)
    if in_piece:
        return in_piece
    if stage.why in STOPPED and not (stage.why == "replace" and (in_run or not tried)):
        return STOPPED[stage.why]
    return without_options(what_next(stage.case))


def _question(mend: Mend, stage: Stage, asked: Asked, ends: Ends) -> str:
    again = (
        f"What was said cannot be: {stage.contradicts.rpartition(': ')[2]}. Look once more. "
        if stage.again and stage.contradicts
        else ""
    )
    match asked.kind:
        case "colour":
            return f"{again}Which colour is at contact {asked.contacts[0]} of {plug_named(mend, asked.end, ends)}?"
        case "in-plug":
            what = _to_see(stage.finding, asked, ends)
            return f"Look into {plug_named(mend, asked.end, ends)} for {what}: what do you see?"
        case "in-plugs":
            what = _to_see(stage.finding, asked, ends)
            if not stage.again:
                first, then = (plug_named(mend, end, ends) for end in ENDS)
                return f"Look into {first}, and if all is well there into {then}, for {what}: where is it?"
            return f"In no plug as it is was it seen, yet the fault is there. Look once more for {what}: where is it?"
        case "reach":
            return f"Can you get at {plug_named(mend, asked.end, ends)}?"
        case "set-up":
            return _set_up(mend, stage, ends)
        case "expect":
            return "What is the cable to be?"
        case "conductors":
            assert stage.case is not None
            assert stage.case.pattern is not None
            return f"Has the cable all {len(stage.case.pattern.conductors)} conductors? Count them at a plug."
        case _:
            return ""


def _set_up(mend: Mend, stage: Stage, ends: Ends) -> str:
    assert stage.case is not None
    seen = stage.case.diagnosis.setup
    assert seen is not None
    if seen.seen == "adapter":
        return without_options(setup_question(seen, ends))
    return f"What is {plug_named(mend, 'far', ends)} in?"


def _to_see(finding: Finding | None, asked: Asked, ends: Ends) -> str:
    assert finding is not None
    if asked.end is None:
        which = contacts_named(finding.near, finding.far, ends)
    else:
        bare = [contact for contact in asked.contacts if contact not in (ends.near_screen, ends.far_screen)]
        which = contacts_named(bare, bare, ends)
    return IN_PLUG[finding.fault].format(which=which or "the contacts")


def _making(mend: Mend, stage: Stage, ends: Ends) -> str:
    if stage.step is not None:
        return step_sentence(stage.step, ends)
    paired = PAIRED if stage.paired else ""
    return f"Re-terminate {plug_named(mend, stage.end, ends)} in the order that it has{paired}; mind every contact."
