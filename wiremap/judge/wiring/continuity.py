"""Continuity faults: nets against a pattern, by rules that two people apply alike.

The expected conductors are numbered by near contact; k leads to m when near k and the far contact expected for m
make a conductor. What does not lead to itself falls into closed cycles and chains. A contact that the pattern
does not use is an end where no conductor is expected to go on.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from wiremap.cable.connectors import Connector
from wiremap.cable.patterns import Pattern, ScreenRule
from wiremap.errors import UsageError
from wiremap.judge.findings import Finding, NotChecked, Place
from wiremap.judge.wiring.nets import Resistor
from wiremap.judge.wiring.terminators import Bus

NONE = -1


@dataclass(frozen=True, slots=True)
class Fit:
    """A pattern laid on the contacts of a reading; contacts are indices, near first, each end in the plug's order.

    order: for each index, where the contact stands in the reading. names: contact names. near_count: so many are
    near. partner: the other contact of an expected conductor, NONE where there is none. joins: contacts expected
    to be joined otherwise than one near with one far. pairs: near contacts (plus, minus) of expected pairs.
    minus: far contacts that are a pair's minus. screens: near and far screen contact, NONE where there is none.
    """

    pattern: Pattern
    order: tuple[int, ...]
    names: tuple[str, ...]
    near_count: int
    partner: tuple[int, ...]
    joins: tuple[frozenset[int], ...]
    pairs: tuple[tuple[int, int], ...]
    minus: frozenset[int]
    screens: tuple[int, int]
    resistors: tuple[Resistor, ...]
    bus: Bus | None

    @property
    def conductors(self) -> tuple[tuple[int, int], ...]:
        """Return the expected conductors, near and far index."""
        return tuple((near, far) for near, far in enumerate(self.partner[: self.near_count]) if far != NONE)

    def near(self, contacts: Iterable[int]) -> tuple[str, ...]:
        """Return the names of the near contacts among these, in order."""
        return tuple(self.names[i] for i in sorted(contacts) if i < self.near_count)

    def far(self, contacts: Iterable[int]) -> tuple[str, ...]:
        """Return the names of the far contacts among these, in order."""
        return tuple(self.names[i] for i in sorted(contacts) if i >= self.near_count)


def _fits_plug(found: tuple[str, ...], plug: Connector) -> bool:
    return set(found) in (set(plug.contacts), set(plug.conductor_contacts))


def fits(pattern: Pattern, near_contacts: tuple[str, ...], far_contacts: tuple[str, ...]) -> bool:
    """Whether a reading's contacts are those of the pattern's plugs; either end may lack its screen contact."""
    far_plug = pattern.far_connector
    return _fits_plug(near_contacts, pattern.near_connector) and (
        far_plug is None or _fits_plug(far_contacts, far_plug)
    )


def _in_plug_order(end: str, found: tuple[str, ...], plug: Connector, name: str) -> tuple[str, ...]:
    if not _fits_plug(found, plug):
        raise UsageError(
            f"the reading's {end} contacts {', '.join(found) or '(none)'} do not fit '{name}', "
            f"whose {end} plug has {', '.join(plug.contacts)}",
            "Name the pattern of this cable with --expect; the screen's contact may be missing.",
        )
    return tuple(contact for contact in plug.contacts if contact in found)


def check_near_plug(pattern: Pattern, near_contacts: tuple[str, ...]) -> None:
    """Refuse a reading whose near contacts are not those of the pattern's near plug; UsageError lists both."""
    _in_plug_order("near", near_contacts, pattern.near_connector, pattern.name)


@lru_cache(maxsize=256)
def fit(pattern: Pattern, near_contacts: tuple[str, ...], far_contacts: tuple[str, ...]) -> Fit:
    """Lay a pattern on a reading's contacts; UsageError lists both where they do not fit.

    Either end may lack its screen contact. For a pattern with one plug the far contacts are whatever the tester
    has, and nothing is expected of them.
    """
    near = _in_plug_order("near", near_contacts, pattern.near_connector, pattern.name)
    far_plug = pattern.far_connector
    far = _in_plug_order("far", far_contacts, far_plug, pattern.name) if far_plug else far_contacts
    place = {("near", contact): i for i, contact in enumerate(near)}
    place |= {("far", contact): len(near) + i for i, contact in enumerate(far)}
    wanted = [{place["near", a], place["far", b]} for a, b in pattern.conductors]
    for end, row in pattern.joins:
        group = {place[end, contact] for contact in row}
        touched = [other for other in wanted if other & group]
        wanted = [other for other in wanted if not other & group] + [group.union(*touched)]
    partner = [NONE] * len(place)
    joins = []
    for group in wanted:
        a, b = min(group), max(group)
        if len(group) == 2 and a < len(near) <= b:
            partner[a], partner[b] = b, a
        else:
            joins.append(frozenset(group))
    far_pairs = [{place["far", contact] for contact in pair} for pair in pattern.far_pairs]
    pairs = [(place["near", plus], place["near", minus]) for plus, minus in pattern.near_pairs]
    far_screen = pattern.far_screen if far_plug else pattern.near_screen
    return Fit(
        pattern=pattern,
        order=(*map(near_contacts.index, near), *(len(near) + far_contacts.index(contact) for contact in far)),
        names=near + far,
        near_count=len(near),
        partner=tuple(partner),
        joins=tuple(joins),
        pairs=tuple((p, m) for p, m in pairs if {partner[p], partner[m]} in far_pairs),
        minus=frozenset(place["far", minus] for _, minus in pattern.far_pairs),
        screens=(place.get(("near", pattern.near_screen or ""), NONE), place.get(("far", far_screen or ""), NONE)),
        resistors=tuple(
            Resistor(
                place[item.end, item.a],
                place[item.end, item.b],
                tuple((ohm * (1 - item.tolerance), ohm * (1 + item.tolerance)) for ohm in item.ohm),
            )
            for item in pattern.resistances
            if (item.end, item.a) in place and (item.end, item.b) in place
        ),
        bus=_bus(pattern, place),
    )


def _bus(pattern: Pattern, place: dict[tuple[str, str], int]) -> Bus | None:
    known = pattern.terminators
    if known is None:
        return None
    (a, b), (c, d) = known.near, known.far
    near, far = (place["near", a], place["near", b]), (place["far", c], place["far", d])
    return Bus(near, far, known.ohm, known.tolerance, known.right)


@dataclass(frozen=True, slots=True)
class Wiring:
    """What nets are, seen with a pattern: contacts as in Fit.

    arrives: near contact -> far contact of each conductor. floating: contacts alone. joined: expected joins that
    are there. loose: contacts of one that is not, joined to nothing else. shorts: other nets. screen_shorts: nets
    of a screen and something else. screen_joined: near and far screen are joined.
    """

    arrives: dict[int, int]
    floating: frozenset[int]
    joined: tuple[frozenset[int], ...]
    loose: tuple[frozenset[int], ...]
    shorts: tuple[frozenset[int], ...]
    screen_shorts: tuple[frozenset[int], ...]
    screen_joined: bool


def wiring(labels: Sequence[int], laid: Fit) -> Wiring:
    """Sort nets by what they are; labels: each contact's net, in the order of Fit."""
    members: dict[int, set[int]] = {}
    for contact, label in enumerate(labels):
        members.setdefault(label, set()).add(contact)
    screens = {contact for contact in laid.screens if contact != NONE}
    arrives: dict[int, int] = {}
    floating = set()
    shorts, screen_shorts = [], []
    sound: list[frozenset[int]] = []
    for net in map(frozenset, members.values()):
        a, b = min(net), max(net)
        if len(net) == 1:
            floating.add(a)
        elif net & screens:
            if not net <= screens:
                screen_shorts.append(net)
        elif any(net <= join for join in laid.joins):
            sound.append(net)
        elif len(net) == 2 and a < laid.near_count <= b:
            arrives[a] = b
        else:
            shorts.append(net)
    loose = [join.intersection(floating.union(*sound)) for join in laid.joins if join not in sound]
    return Wiring(
        arrives=arrives,
        floating=frozenset(floating),
        joined=tuple(join for join in laid.joins if join in sound),
        loose=tuple(part for part in loose if part),
        shorts=tuple(shorts),
        screen_shorts=tuple(screen_shorts),
        screen_joined=len(screens) == 2 and len({labels[contact] for contact in screens}) == 1,
    )


@dataclass(frozen=True, slots=True)
class _Thread:
    """A closed cycle or a chain: its misplaced conductors, and for a chain its last near and first far contact."""

    conductors: tuple[tuple[int, int], ...]
    last_near: int
    first_far: int


def _threads(seen: Wiring, laid: Fit) -> list[_Thread]:
    """Follow the conductors from each far contact where none arrives, then around the cycles that are left."""
    reached = set(seen.arrives.values())
    left = dict(seen.arrives)

    def follow(near: int) -> tuple[tuple[tuple[int, int], ...], int]:
        conductors = []
        while near in left:
            far = left.pop(near)
            conductors.append((near, far))
            near = laid.partner[far]
        return tuple(conductors), near

    threads = []
    for first_near, first_far in enumerate(laid.partner[: laid.near_count]):
        if first_far not in reached:
            threads.append(_Thread(*follow(first_near), first_far))
    while left:
        cycle, _ = follow(next(iter(left)))
        if len(cycle) > 1:
            threads.append(_Thread(cycle, NONE, NONE))
    return threads


def _opens(seen: Wiring, laid: Fit, threads: Iterable[_Thread], unsure: Collection[int]) -> list[Finding]:
    missing = [
        frozenset(
            contact
            for contact in (thread.last_near, thread.first_far)
            if contact in seen.floating and laid.partner[contact] != NONE
        )
        for thread in threads
    ]
    known = [group.difference(unsure) for group in (*missing, *seen.loose)]
    return [Finding("open", laid.near(group), laid.far(group)) for group in known if group]


def _reversed_pairs(seen: Wiring, laid: Fit) -> list[tuple[int, ...]]:
    return [
        pair
        for pair in laid.pairs
        if tuple(seen.arrives.get(contact) for contact in pair) == (laid.partner[pair[1]], laid.partner[pair[0]])
    ]


def _crossed_pairs(seen: Wiring, laid: Fit) -> list[list[int]]:
    """Return the pairs (indices in laid.pairs) that arrive at another pair's place, for each crossing."""
    place = {frozenset((laid.partner[plus], laid.partner[minus])): i for i, (plus, minus) in enumerate(laid.pairs)}
    leads: dict[int, int] = {}
    for i, (plus, minus) in enumerate(laid.pairs):
        other = place.get(frozenset((seen.arrives.get(plus, NONE), seen.arrives.get(minus, NONE))), i)
        if other != i:
            leads[i] = other
    reached = set(seen.arrives.values())
    led = set(leads.values())
    crossings = []
    for first in [i for i in leads if i not in led]:
        chain, last = [], first
        while last in leads:
            chain.append(last)
            last = leads.pop(last)
        if not any(contact in seen.arrives for contact in laid.pairs[last]) and not any(
            laid.partner[contact] in reached for contact in laid.pairs[first]
        ):
            crossings.append(chain)
    while leads:
        cycle, i = [], next(iter(leads))
        while i in leads:
            cycle.append(i)
            i = leads.pop(i)
        crossings.append(cycle)
    return crossings


def _arriving(seen: Wiring, laid: Fit, nears: Iterable[int]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    ordered = sorted(nears)
    return tuple(laid.names[i] for i in ordered), tuple(laid.names[seen.arrives[i]] for i in ordered)


def continuity(seen: Wiring, laid: Fit, unsure: Collection[int] = ()) -> tuple[Finding, ...]:
    """Return what is wrong with the conductors.

    unsure: contacts of which it is not known whether they float; an open that rests on these alone is not said.
    """
    found = [Finding("short", laid.near(net), laid.far(net)) for net in seen.shorts]
    found += [Finding("screen-short", laid.near(net), laid.far(net)) for net in seen.screen_shorts]
    threads = _threads(seen, laid)
    found += _opens(seen, laid, threads, unsure)
    explained: set[int] = set()
    for pair in _reversed_pairs(seen, laid):
        explained.update(pair)
        found.append(Finding("reversed-pair", *_arriving(seen, laid, pair)))
    for crossing in _crossed_pairs(seen, laid):
        pairs = [laid.pairs[i] for i in sorted(crossing, key=lambda i: min(laid.pairs[i]))]
        exchanged = [pair for pair in pairs if seen.arrives[pair[0]] in laid.minus]
        nears = [contact for pair in pairs for contact in pair]
        explained.update(nears)
        found.append(
            Finding(
                "crossed-pairs",
                *_arriving(seen, laid, nears),
                polarity_exchanged=tuple(
                    f"{laid.names[near]}-{laid.names[seen.arrives[near]]}"
                    for pair in exchanged
                    for near in sorted(pair)
                ),
            )
        )
    for thread in threads:
        misplaced = [near for near, _ in thread.conductors if near not in explained]
        if misplaced:
            found.append(Finding("miswire", *_arriving(seen, laid, misplaced)))
    return tuple(found)


def screen(seen: Wiring, laid: Fit, rule: ScreenRule, measured: bool) -> tuple[list[Finding], list[NotChecked]]:
    """Return what is wrong with the screen, and what of it was not checked.

    measured: whether near and far screen were measured against each other. Continuity alone cannot say at which
    end an open screen is open.
    """
    both = frozenset(laid.screens)
    if not measured or NONE in both:
        return [], [NotChecked("screen", "not-measured")]
    if seen.screen_joined:
        if rule in ("any", "both") or any(both <= net for net in seen.screen_shorts):
            return [], []
        open_end: dict[str, Place] = {"near": "far", "far": "near"}
        return [Finding("screen-short", laid.near(both), laid.far(both), end=open_end.get(rule))], []
    if rule == "any":
        return [], [NotChecked("screen", "not-asked")]
    if rule == "both":
        alone = both & seen.floating
        return ([Finding("screen-open", laid.near(alone), laid.far(alone))] if alone else []), []
    return [], [NotChecked("screen", "which-end")]
