"""A cable mended by eye alone: which contact to look at next, so that few looks say what a plug holds.

What people make (`cable/habits.toml`) says what a plug may hold; a look is worth what its answer would tell of that.
The near plug is looked at until one order is likely, then the far one; what is likely wrong is put right by its card at
once. Only where all seems right are the rest of the contacts looked at, for nothing is right that nobody saw.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import lru_cache
from math import log2

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.mend.events import Asked, Mend
from wiremap.bench.mend.known import Known, Spot, requirements_with
from wiremap.cable.colours import ColourSet, colour_set
from wiremap.cable.habits import habits
from wiremap.cable.mistakes import EMPTY
from wiremap.cable.patterns import Pattern
from wiremap.cable.terminations import usual_for
from wiremap.contact import ENDS, End
from wiremap.errors import UsageError
from wiremap.judge.case import Case, judge_case, read_by_eye
from wiremap.judge.plugs.evidence import UNREAD, seen_as
from wiremap.judge.plugs.prior import Belief, belief
from wiremap.judge.remedy.knowledge import Statements

MOST_LOOKS = 8  # a key each, beside the one for nothing in it
LEAST_WRONG = 2  # contacts that were looked at and hold something wrong, before a plug is made anew
MOST_TIMES_SEEN = 2  # a contact is looked at: once, and once more where what was said cannot be
InContacts = tuple[str | None, ...]


class SoFar(Struct, frozen=True):
    """What is known of the plugs by eye. look: the contact to look at next, None = all were looked at.

    again: it was looked at, and what was said of it cannot be. case: the cable as it is likely, None = not known yet;
    assumed: contacts of it that nobody looked at.
    """

    look: Spot | None
    again: bool = False
    case: Case | None = None
    assumed: tuple[Spot, ...] = ()


class _Plug(Struct, frozen=True):
    """A plug as it is known. left: contacts that nobody looked at, the one that tells most first. likely: what it
    holds, None = not known well enough."""

    end: End
    left: tuple[str, ...]
    likely: dict[str, str | None] | None


def seen(mend: Mend, known: Known) -> SoFar:
    """Return where to look next, and what is likely; UsageError where the cable cannot be judged by eye."""
    wanted = mend.wanted.expect
    if wanted is None or wanted.far_connector is None:
        read_by_eye(mend.wanted)  # says what is missing
        raise UsageError("there is nothing to look at", "Give a pattern with two plugs, as --expect straight.")
    colours = _colours(mend, wanted)
    twice = _cannot_be(known, colours)
    if twice is not None:
        return SoFar(twice, again=True)
    near = _plug("near", wanted, known, colours, ())
    chances = _intended(wanted, known, colours)
    far = _plug("far", wanted, known, colours, chances)
    first = next((plug for plug in (near, far) if plug.left and plug.likely is None), None)
    if first is not None:
        return SoFar((first.end, first.left[0]))
    case, assumed = _filled(mend, known, near, far)
    left = next((plug for plug in (far, near) if plug.left), None)
    return SoFar((left.end, left.left[0]) if left is not None else None, False, case, assumed)


def to_confirm(known: Known, end: End, changes: Sequence[str]) -> tuple[Spot, bool] | None:
    """Return a contact to look at before a plug is made anew, and whether once more; None = enough of them were told.

    changes: contacts of the plug that are likely wrong. Whatever is wrong with an order is wrong in two contacts at
    least: one answer that is wrong makes no plug.
    """
    told = [contact for contact in changes if known.reads.get((end, contact), UNREAD) != UNREAD]
    if len(told) >= LEAST_WRONG:
        return None
    unseen = [contact for contact in changes if (end, contact) not in known.reads]
    if unseen:
        return (end, unseen[0]), False
    once = [contact for contact in told if known.times.get(of_spot((end, contact)), 0) < MOST_TIMES_SEEN]
    return ((end, once[0]), True) if once and (end, once[0]) in known.said else None


def empty_ones(case: Case, known: Known) -> tuple[Spot, ...]:
    """Return the contacts that were said to hold nothing, of those that should hold something."""
    wanted: list[Spot] = []
    for near, far in case.pattern.conductors if case.pattern is not None else ():
        wanted += [("near", near), ("far", far)]
    return tuple(spot for spot in wanted if known.reads.get(spot) == EMPTY and spot in known.said)


def usual_looks(mend: Mend) -> tuple[str, ...]:
    """Return what a contact may look like, in the order of a usual plug."""
    wanted = mend.wanted.expect
    assert wanted is not None
    colours = _colours(mend, wanted)
    usual = usual_for(wanted, mend.wanted.colours.names if mend.wanted.colours else None)
    names = [name for _, name in usual.conductors] if usual is not None else list(colours.names)
    return tuple(dict.fromkeys(colours.colour(name).looks for name in names if name in colours.names))[:MOST_LOOKS]


def _colours(mend: Mend, wanted: Pattern) -> ColourSet:
    usual = usual_for(wanted, mend.wanted.colours.names if mend.wanted.colours else None)
    return mend.wanted.colours or colour_set(usual.colours if usual else "tia")


def _cannot_be(known: Known, colours: ColourSet) -> Spot | None:
    """Return the contact to look at once more: of two that were said to hold one conductor, the one said last.

    Where that one is said otherwise then, the other of the two as well: both were said, and one was wrong.
    """
    for end in ENDS:
        held: defaultdict[str, list[Spot]] = defaultdict(list)
        for spot, word in known.reads.items():
            if spot[0] == end and word not in (UNREAD, EMPTY) and spot in known.said:
                held[word].append(spot)
        for word, spots in held.items():
            if len(spots) > len(seen_as(colours, word, colours.names)):
                once = [one for one in reversed(spots) if known.times.get(of_spot(one), 0) < MOST_TIMES_SEEN]
                if once:
                    return once[0]
    for changed, before in known.changed.items():
        for spot, word in known.reads.items():
            is_other = spot[0] == changed[0] and spot != changed and word == before and spot in known.said
            if is_other and known.times.get(of_spot(spot), 0) < MOST_TIMES_SEEN:
                return spot
    return None


def of_spot(spot: Spot) -> Asked:
    """Return the question for what is in a contact."""
    return Asked("colour", spot[0], (spot[1],))


def _belief(wanted: Pattern, colours: ColourSet) -> Belief | None:
    plug = wanted.near_connector
    for count in (len(wanted.conductors), len(plug.conductor_contacts)):
        found = belief(wanted, colours, habits(), count)
        if found is not None:
            return found
    return None


@lru_cache(maxsize=64)
def _orders(end: End, wanted: Pattern, colours: ColourSet, chances: tuple[float, ...]) -> dict[InContacts, float]:
    """Return what a plug may hold, each with its chance; chances: of each way the cable may be meant, () = as usual."""
    believed = _belief(wanted, colours)
    found: defaultdict[InContacts, float] = defaultdict(float)
    if believed is not None:
        weights = chances or tuple(one.weight for one in believed.intended)
        for weight, plug in zip(weights, believed.near if end == "near" else believed.far, strict=True):
            for order, chance in plug.weighted:
                found[believed.names(order)] += weight * chance
    return dict(found)


def _intended(wanted: Pattern, known: Known, colours: ColourSet) -> tuple[float, ...]:
    """Return the chance of each way the cable may be meant, by what was read in the near plug."""
    believed = _belief(wanted, colours)
    if believed is None:
        return ()
    allowed = _allowed("near", wanted.near_connector.conductor_contacts, known, colours)
    found = []
    for one, plug in zip(believed.intended, believed.near, strict=True):
        fits = sum(c for order, c in plug.weighted if _fits(believed.names(order), allowed))
        found.append(one.weight * fits)
    total = sum(found)
    return tuple(chance / total for chance in found) if total > 0 else tuple(one.weight for one in believed.intended)


def _allowed(
    end: End, contacts: tuple[str, ...], known: Known, colours: ColourSet
) -> tuple[tuple[int, frozenset[str | None]], ...]:
    """Return what was read in a plug: by place, the conductors that it can be, None = nothing."""
    found: list[tuple[int, frozenset[str | None]]] = []
    for place, contact in enumerate(contacts):
        word = known.reads.get((end, contact), UNREAD)
        if word != UNREAD:
            may_be = frozenset[str | None]([None]) if word == EMPTY else seen_as(colours, word, colours.names)
            found.append((place, frozenset(may_be)))
    return tuple(found)


def _fits(order: InContacts, allowed: Sequence[tuple[int, frozenset[str | None]]]) -> bool:
    """Whether what was read in a plug can be this order."""
    return all(order[place] in names for place, names in allowed)


def _plug(end: End, wanted: Pattern, known: Known, colours: ColourSet, chances: tuple[float, ...]) -> _Plug:
    plug = wanted.near_connector if end == "near" else wanted.far_connector
    assert plug is not None
    contacts = plug.conductor_contacts
    allowed = _allowed(end, contacts, known, colours)
    fitting = {
        order: chance for order, chance in _orders(end, wanted, colours, chances).items() if _fits(order, allowed)
    }
    total = sum(fitting.values())
    best = max(fitting, key=lambda order: fitting[order], default=())
    read = {contact: known.reads[end, contact] for contact in contacts if (end, contact) in known.reads}
    sure = total > 0 and fitting[best] >= habits().settled * total
    likely = dict(zip(contacts, best, strict=True)) if sure and read else None
    left = [contact for contact in contacts if contact not in read]
    left.sort(key=lambda contact: -_tells(fitting, contacts.index(contact), colours))
    return _Plug(end, tuple(left), likely)


def _tells(fitting: Mapping[InContacts, float], place: int, colours: ColourSet) -> float:
    """Return how much a look at a contact tells, in bits."""
    looks: defaultdict[str, float] = defaultdict(float)
    for order, chance in fitting.items():
        name = order[place]
        looks[EMPTY if name is None else colours.colour(name).looks] += chance
    total = sum(looks.values())
    return -sum(one / total * log2(one / total) for one in looks.values() if one > 0) if total > 0 else 0.0


def _filled(mend: Mend, known: Known, *plugs: _Plug) -> tuple[Case | None, tuple[Spot, ...]]:
    """Return the cable judged as if all contacts held what is likely, and those contacts; None where that cannot be."""
    reads, assumed = dict(known.reads), []
    for plug in plugs:
        for contact, name in (plug.likely or {}).items():
            if known.reads.get((plug.end, contact), UNREAD) == UNREAD:
                reads[plug.end, contact] = name or EMPTY
                assumed.append((plug.end, contact))
    full = replace(requirements_with(mend, known), statements=_said(mend, reads))
    try:
        return judge_case(read_by_eye(full), full, mend.names), tuple(assumed)
    except UsageError:
        return None, ()


def _said(mend: Mend, reads: Mapping[Spot, str]) -> Statements:
    near, far = (",".join(f"{contact}={word}" for (end, contact), word in reads.items() if end == one) for one in ENDS)
    return replace(mend.wanted.statements, near_colours=near, far_colours=far)
