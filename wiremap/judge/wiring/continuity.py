"""Continuity faults: nets against a pattern, by rules that two people apply alike.

The expected conductors are numbered by near contact; k leads to m when near k and the far contact expected for m
make a conductor. What does not lead to itself falls into closed cycles and chains. A contact that the pattern
does not use is an end where no conductor is expected to go on.
"""

from collections.abc import Collection, Iterable, Sequence

from msgspec import Struct

from wiremap.cable.patterns import ScreenRule
from wiremap.judge.findings import Finding, NotChecked, Place
from wiremap.judge.wiring.layout import NONE, Layout
from wiremap.reading.joined import by_net


class Wiring(Struct, frozen=True):
    """What nets are, seen with a pattern: contacts as in Layout.

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


def wiring(labels: Sequence[int], layout: Layout) -> Wiring:
    """Sort nets by what they are; labels: each contact's net, in the order of Layout."""
    screens = {contact for contact in layout.screens if contact != NONE}
    arrives: dict[int, int] = {}
    floating = set()
    shorts, screen_shorts = [], []
    sound: list[frozenset[int]] = []
    for net in map(frozenset, by_net(range(len(labels)), labels).values()):
        a, b = min(net), max(net)
        if len(net) == 1:
            floating.add(a)
        elif net & screens:
            if not net <= screens:
                screen_shorts.append(net)
        elif any(net <= join for join in layout.joins):
            sound.append(net)
        elif len(net) == 2 and a < layout.near_count <= b:
            arrives[a] = b
        else:
            shorts.append(net)
    loose = [join.intersection(floating.union(*sound)) for join in layout.joins if join not in sound]
    return Wiring(
        arrives=arrives,
        floating=frozenset(floating),
        joined=tuple(join for join in layout.joins if join in sound),
        loose=tuple(part for part in loose if part),
        shorts=tuple(shorts),
        screen_shorts=tuple(screen_shorts),
        screen_joined=len(screens) == 2 and len({labels[contact] for contact in screens}) == 1,
    )


class _Thread(Struct, frozen=True):
    """A closed cycle or a chain: its misplaced conductors, and for a chain its last near and first far contact."""

    conductors: tuple[tuple[int, int], ...]
    last_near: int
    first_far: int


def _threads(seen: Wiring, layout: Layout) -> list[_Thread]:
    """Follow the conductors from each far contact where none arrives, then around the cycles that are left."""
    reached = set(seen.arrives.values())
    left = dict(seen.arrives)

    def follow(near: int) -> tuple[tuple[tuple[int, int], ...], int]:
        conductors = []
        while near in left:
            far = left.pop(near)
            conductors.append((near, far))
            near = layout.partner[far]
        return tuple(conductors), near

    threads = []
    for first_near, first_far in enumerate(layout.partner[: layout.near_count]):
        if first_far not in reached:
            threads.append(_Thread(*follow(first_near), first_far))
    while left:
        cycle, _ = follow(next(iter(left)))
        if len(cycle) > 1:
            threads.append(_Thread(cycle, NONE, NONE))
    return threads


def _opens(seen: Wiring, layout: Layout, threads: Iterable[_Thread], unsure: Collection[int]) -> list[Finding]:
    missing = [
        frozenset(
            contact
            for contact in (thread.last_near, thread.first_far)
            if contact in seen.floating and layout.partner[contact] != NONE
        )
        for thread in threads
    ]
    known = [group.difference(unsure) for group in (*missing, *seen.loose)]
    return [Finding("open", layout.near(group), layout.far(group)) for group in known if group]


def _reversed_pairs(seen: Wiring, layout: Layout) -> list[tuple[int, ...]]:
    return [
        pair
        for pair in layout.pairs
        if tuple(seen.arrives.get(contact) for contact in pair) == (layout.partner[pair[1]], layout.partner[pair[0]])
    ]


def _crossed_pairs(seen: Wiring, layout: Layout, unsure: Collection[int]) -> list[list[int]]:
    """Return the pairs (indices in layout.pairs) that arrive at another pair's place, for each crossing.

    A chain of them is one only where it is sure that its last pair's near and first pair's far contacts end there.
    """
    place = {
        frozenset((layout.partner[plus], layout.partner[minus])): i for i, (plus, minus) in enumerate(layout.pairs)
    }
    leads: dict[int, int] = {}
    for i, (plus, minus) in enumerate(layout.pairs):
        other = place.get(frozenset((seen.arrives.get(plus, NONE), seen.arrives.get(minus, NONE))), i)
        if other != i:
            leads[i] = other
    near_used, far_used = {*seen.arrives, *unsure}, {*seen.arrives.values(), *unsure}
    led = set(leads.values())
    crossings = []
    for first in [i for i in leads if i not in led]:
        chain, last = [], first
        while last in leads:
            chain.append(last)
            last = leads.pop(last)
        if not any(contact in near_used for contact in layout.pairs[last]) and not any(
            layout.partner[contact] in far_used for contact in layout.pairs[first]
        ):
            crossings.append(chain)
    while leads:
        cycle, i = [], next(iter(leads))
        while i in leads:
            cycle.append(i)
            i = leads.pop(i)
        crossings.append(cycle)
    return crossings


def _arriving(seen: Wiring, layout: Layout, nears: Iterable[int]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    ordered = sorted(nears)
    return tuple(layout.names[i] for i in ordered), tuple(layout.names[seen.arrives[i]] for i in ordered)


def continuity(seen: Wiring, layout: Layout, unsure: Collection[int] = ()) -> tuple[Finding, ...]:
    """Return what is wrong with the conductors.

    unsure: contacts of which it is not known whether they float; nothing is said that rests on these alone.
    """
    found = [Finding("short", layout.near(net), layout.far(net)) for net in seen.shorts]
    found += [Finding("screen-short", layout.near(net), layout.far(net)) for net in seen.screen_shorts]
    threads = _threads(seen, layout)
    found += _opens(seen, layout, threads, unsure)
    explained: set[int] = set()
    for pair in _reversed_pairs(seen, layout):
        explained.update(pair)
        found.append(Finding("reversed-pair", *_arriving(seen, layout, pair)))
    for crossing in _crossed_pairs(seen, layout, unsure):
        pairs = [layout.pairs[i] for i in sorted(crossing, key=lambda i: min(layout.pairs[i]))]
        exchanged = [pair for pair in pairs if seen.arrives[pair[0]] in layout.minus]
        nears = [contact for pair in pairs for contact in pair]
        explained.update(nears)
        found.append(
            Finding(
                "crossed-pairs",
                *_arriving(seen, layout, nears),
                polarity_exchanged=tuple(
                    f"{layout.names[near]}-{layout.names[seen.arrives[near]]}"
                    for pair in exchanged
                    for near in sorted(pair)
                ),
            )
        )
    for thread in threads:
        misplaced = [near for near, _ in thread.conductors if near not in explained]
        if misplaced:
            found.append(Finding("miswire", *_arriving(seen, layout, misplaced)))
    return tuple(found)


def screen(seen: Wiring, layout: Layout, rule: ScreenRule, measured: bool) -> tuple[list[Finding], list[NotChecked]]:
    """Return what is wrong with the screen, and what of it was not checked.

    measured: whether near and far screen were measured against each other. Continuity alone cannot say at which
    end an open screen is open.
    """
    both = frozenset(layout.screens)
    if not measured or NONE in both:
        return [], [NotChecked("screen", "not-measured")]
    if seen.screen_joined:
        if rule in ("any", "both") or any(both <= net for net in seen.screen_shorts):
            return [], []
        open_end: dict[str, Place] = {"near": "far", "far": "near"}
        return [Finding("screen-short", layout.near(both), layout.far(both), end=open_end.get(rule))], []
    if rule == "any":
        return [], [NotChecked("screen", "not-asked")]
    if rule == "both":
        alone = both & seen.floating
        return ([Finding("screen-open", layout.near(alone), layout.far(alone))] if alone else []), []
    return [], [NotChecked("screen", "which-end")]
