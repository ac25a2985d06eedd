"""What is known of a cable by what was reported of it: its newest reading, what the plugs hold, what can be reached."""

from collections.abc import Mapping, Sequence
from typing import cast

from msgspec import Struct, field
from msgspec.structs import replace

from wiremap.bench.mend.events import Answered, Asked, Did, FaultAt, Mend, Tested, Ticked, what_stands
from wiremap.cable.mistakes import EMPTY
from wiremap.cable.patterns import Pattern, pattern
from wiremap.contact import ENDS, End
from wiremap.judge.case import Requirements
from wiremap.judge.plugs.evidence import UNREAD
from wiremap.judge.remedy.knowledge import Statements
from wiremap.reading.reading import FARS, Reading

NEITHER = "neither"  # of both plugs: in none of them is what was asked for
CLOSED = "closed"  # the plug cannot be got at
SLOW = "slow"  # it takes long to get at it
SLOW_MINUTES = 60
WAITS = "not-now"  # what was asked for cannot be done, or not now
BLIND = 2  # contacts of a plug that nobody could tell the colours of, until no more are asked about
Spot = tuple[End, str]


class Known(Struct):
    """What follows from the events that stand.

    tested: whether the newest reading is of the cable as it is now. moved: whether it was moved in it, or is not to be;
    movement: the test in which it was. reads: what is in the contacts, in the order in which it was said; changed: what
    was said before of a contact of which something else is said now. times: how often a question was answered; answers:
    the newest, of a plug that was made anew since none; neither: how often no plug was said to have what was asked for.
    made: (end, faults) of every plug that was made. done: other work. lacking: the cable has no conductor that a card
    named. pieces: readings of the run up to a joint, by its name; opened: joints that were opened since the whole cable
    was tested. shaken: ends whose plug was moved alone, and whether something came and went. lead: the reading of one
    in the cable's place.
    """

    reading: Reading | None = None
    tested: bool = False
    moved: bool = False
    movement: Tested | None = None
    reads: dict[Spot, str] = field(default_factory=dict)
    said: set[Spot] = field(default_factory=set)
    changed: dict[Spot, str] = field(default_factory=dict)
    times: dict[Asked, int] = field(default_factory=dict)
    answers: dict[Asked, str] = field(default_factory=dict)
    neither: dict[Asked, int] = field(default_factory=dict)
    made: list[tuple[End, tuple[FaultAt, ...]]] = field(default_factory=list)
    done: list[Did] = field(default_factory=list)
    ticked: set[str] = field(default_factory=set)
    closed: dict[End, str] = field(default_factory=dict)
    reached: set[End] = field(default_factory=set)
    lacking: bool = False
    pieces: dict[str, Reading] = field(default_factory=dict)
    shaken: dict[End, bool] = field(default_factory=dict)
    lead: Reading | None = None
    opened: list[str] = field(default_factory=list)

    def was_made_against(self, end: End, fault: FaultAt) -> bool:
        """Whether a plug was made anew because of a fault that is there still.

        A plug made in another order has it at another contact: it is the same one where the other plug has it still
        where it had it.
        """
        for side, faults in reversed(self.made):
            before = next((one for one in faults if one == fault or _is_same(one, fault, side)), None)
            if before is not None and side == end:
                return True
            fault = before or fault
        return False


def _is_same(before: FaultAt, now: FaultAt, made: End) -> bool:
    """Whether a fault from before a plug was made is one of after it: its kind, and its contacts in the other plug."""
    other, other_now = (before.far, now.far) if made == "near" else (before.near, now.near)
    return before.fault == now.fault and other != () and other == other_now


def learned(mend: Mend) -> Known:
    """Return what is known by all that was reported."""
    known = Known()
    told = mend.wanted.statements
    for end, text in (("near", told.near_colours), ("far", told.far_colours)):
        known.reads |= {(cast(End, end), contact): word for contact, word in _words(text).items()}
    known.said |= set(known.reads)
    known.reached |= {end for end, _ in known.reads}
    known.closed |= {cast(End, word.partition("=")[0]): word for word in told.closed}
    for event in what_stands(mend.events):
        match event:
            case Tested(reading, of=Asked() as part):
                _part(known, part, reading)
            case Tested(reading, moved):
                known.opened.clear()
                known.reading, known.tested, known.moved = reading, True, moved
                known.movement = event if moved else None
            case Answered():
                _answer(known, event)
            case Did():
                _did(known, event)
            case Ticked(name):
                known.ticked ^= {name}
    return known


def _words(text: str) -> Mapping[str, str]:
    parts = (part.partition("=") for part in text.split(",") if part.strip())
    return {contact.strip(): word.strip() for contact, _, word in parts}


def _part(known: Known, part: Asked, reading: Reading) -> None:
    if part.kind == "piece":
        known.opened.append(part.contacts[0])
        known.pieces[part.contacts[0]] = reading
    elif part.kind == "lead":
        known.lead = reading
    elif part.end is not None:
        known.shaken[part.end] = bool(reading.events)


def _answer(known: Known, event: Answered) -> None:
    asked, word = event.asked, event.word
    known.times[asked] = known.times.get(asked, 0) + 1
    known.answers[asked] = word
    known.neither[asked] = known.neither.get(asked, 0) + (word == NEITHER)
    if asked.end is not None and word in (CLOSED, SLOW):
        known.closed[asked.end] = asked.end if word == CLOSED else f"{asked.end}={SLOW_MINUTES}"
    elif asked.end is not None and word not in (UNREAD, WAITS):
        known.reached.add(asked.end)
    if asked.kind == "colour" and asked.end is not None and word != CLOSED:
        spot = (asked.end, asked.contacts[0])
        before = known.reads.pop(spot, UNREAD)  # what is said again is the newest
        if UNREAD not in (before, word) and before != word:
            known.changed[spot] = before
        known.reads[spot] = word
        known.said.add(spot)
    if asked.kind == "card":  # the cable has no such conductor: no colour that was said is believed
        known.reads = dict.fromkeys(known.reads, UNREAD)
        known.lacking = True
    if asked.kind == "set-up" and known.reading is not None and word in FARS and word != known.reading.far:
        known.reading = replace(known.reading, far=word)
        known.tested = False


def _did(known: Known, event: Did) -> None:
    known.moved = False
    if event.work == "not-moved":
        known.moved = True
        return
    known.tested = False
    if event.work != "re-terminate" or event.end is None:
        known.done.append(event)
        return
    end = event.end
    known.made.append((end, event.against))
    known.reached.add(end)
    known.shaken.clear()
    if end == "near":  # every piece begins at it
        known.pieces.clear()
    known.answers = {asked: word for asked, word in known.answers.items() if _holds_still(asked, word, end)}
    known.reads = {spot: word for spot, word in known.reads.items() if spot[0] != end}
    known.said = {spot for spot in known.said if spot[0] != end}
    known.changed = {spot: word for spot, word in known.changed.items() if spot[0] != end}
    known.reads |= {(end, contact): name or EMPTY for contact, name in event.order}


def _holds_still(asked: Asked, word: str, made: End) -> bool:
    """Whether an answer holds still once a plug was made anew: it was of the other plug, or that both were well."""
    return asked.end != made and not (asked.kind == "in-plugs" and word in (made, UNREAD))


def _expected(mend: Mend, known: Known) -> Pattern | None:
    """Return what the cable is to be, as it was said at first or when it was asked."""
    named = known.answers.get(Asked("expect"), UNREAD)
    return pattern(named) if mend.wanted.expect is None and named != UNREAD else mend.wanted.expect


def _with_blind(said: str, end: str, expect: Pattern | None) -> str:
    """Return what was said of a plug, with all its contacts not known where several were tried and none was told."""
    words = _words(said)
    plug = None if expect is None else expect.near_connector if end == "near" else expect.far_connector
    if plug is None or len(words) < BLIND or any(word != UNREAD for word in words.values()):
        return said
    return ",".join(f"{contact}={UNREAD}" for contact in plug.conductor_contacts)


def requirements_with(mend: Mend, known: Known, left_out: Sequence[Spot] = ()) -> Requirements:
    """Return what the cable must be and what is known of it now, without what was said of some contacts.

    What is left out counts as looked at: nobody is sent there again.
    """
    told = mend.wanted.statements
    near, far = (
        ",".join(
            f"{contact}={UNREAD if (side, contact) in left_out else word}"
            for (side, contact), word in known.reads.items()
            if side == end
        )
        for end in ENDS
    )
    expect = _expected(mend, known)
    near, far = (_with_blind(text, end, expect) for text, end in ((near, "near"), (far, "far")))
    closed = tuple(known.closed[end] for end in ENDS if end in known.closed)
    sound = tuple(end for end in told.sound if end not in {side for side, _ in known.made})
    statements = Statements(near, far, sound, closed, told.joints, told.remotes, told.port_near, told.port_far)
    near_made = "near" in {side for side, _ in known.made}
    order = None if near_made else mend.wanted.near_order
    return replace(mend.wanted, expect=expect, statements=statements, near_order=order)
