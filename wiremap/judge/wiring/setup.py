"""What the set-up seems to be where it was not said, or not so: asked of the user, never taken for granted.

A reading alone does not tell a far plug that hangs free from a cable that is broken in every conductor, nor a plug
that joins all from conductors that are shorted and broken beyond. What the far plug is in shows by what the near
contacts have between each other; and by capacitance, which a socket with nothing in it has not.
"""

import math
from itertools import combinations
from typing import TYPE_CHECKING, Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.connectors import connectors
from wiremap.cable.limits import Limits
from wiremap.cable.patterns import Pattern, pattern, pattern_names
from wiremap.judge.wiring.cells import Two
from wiremap.judge.wiring.laid_reading import LaidReading
from wiremap.judge.wiring.layout import Layout
from wiremap.judge.wiring.terminators import terminators_in
from wiremap.reading.joined import is_joined

if TYPE_CHECKING:
    from wiremap.reading.reading import Far, Reading

Seen = Literal["tester", "open", "joined", "remote", "equipment", "joining", "adapter"]
LEAST_CONTACTS = 4  # of a cable with two pairs; what fewer contacts show may be a fault of the cable


class SetUp(Struct, frozen=True):
    """What the far plug seems to be in (as `Reading.far`), or that plugs seem to be in adapters nobody named.

    seen: "open" = nothing is seen at all, "joining" = contacts are joined there, and nobody can tell by what.
    said: what the reading says the far plug is in.
    near: the near contacts that show it. explains_all: whether all that was read is what this set-up shows of a cable
    without shorts and leaks; its conductors may be open, or in another order.
    plugged: whether a socket, near and far, has the capacitance of a cable; None = not known.
    letter: of a remote, None = not known which. adapter: the pattern from the cable's plug to the tester's socket,
    expect: the pattern of such a cable, ohm: between the two contacts of a bus as terminators make it; None where
    there is none.
    """

    seen: Seen
    said: "Far"
    near: tuple[str, ...]
    explains_all: bool
    plugged: tuple[bool | None, bool | None] = (None, None)
    letter: str | None = None
    adapter: str | None = None
    expect: str | None = None
    ohm: float | None = None

    def to_builtins(self) -> dict[str, Any]:
        """Return it as it stands in JSON; null is not known."""
        plain: dict[str, Any] = {
            "seen": self.seen,
            "said": self.said,
            "near": list(self.near),
            "explains_all": self.explains_all,
            "plugged": {"near": self.plugged[0], "far": self.plugged[1]},
        }
        more = {"letter": self.letter, "adapter": self.adapter, "expect": self.expect, "ohm": self.ohm}
        return plain | {key: value for key, value in more.items() if value is not None}


def seen_setup(laid: LaidReading, expected: bool) -> SetUp | None:
    """Return what the set-up seems to be; None where it is as was said, or nothing shows that it is not.

    laid: on the near plug of the pattern that was expected or, where nothing was, of one that may be meant.
    """
    reading, layout = laid.reading, laid.layout
    if reading.foreign or reading.origin == "eyes" or layout.pattern.far_connector is None:
        return None
    if any(math.isnan(laid.ohm[a][b]) for a, b in combinations(layout.near_places, 2)):
        return None
    arrives = arriving(laid)
    if arrives:
        if reading.far == "tester":
            return _in_adapters(laid, expected)
        return SetUp("tester", reading.far, layout.near(arrives), True)
    plugged = _plugged(reading, laid.limits)
    if reading.far == "tester" and _far_plug_is_in(laid, plugged):
        return None
    seen = _at_far(laid)
    if seen is None or (seen.seen == reading.far and not (seen.seen == "open" and plugged[0] is False)):
        return None
    return replace(seen, plugged=plugged)


def arriving(laid: LaidReading) -> set[int]:
    """Return the near contacts that are joined to one of the far socket, whatever was said that the far plug is in."""
    most = laid.limits.joined_ohm
    return {a for a in laid.layout.near_places if any(is_joined(laid.ohm[a][b], most) for b in laid.layout.far_places)}


def _conducting(laid: LaidReading, places: range) -> set[Two]:
    """Return every two contacts between which less is measured than leaks."""
    return {(a, b) for a, b in combinations(places, 2) if laid.ohm[a][b] < laid.limits.leakage_ohm}


def _far_plug_is_in(laid: LaidReading, plugged: tuple[bool | None, bool | None]) -> bool:
    """Whether the far socket has the cable's other plug in it: something conducts there, or has capacitance."""
    return bool(_conducting(laid, laid.layout.far_places)) or (plugged[1] is True and plugged[0] is not False)


def _at_far(laid: LaidReading) -> SetUp | None:
    """Return what near contacts show that reach no far contact of the tester; `plugged` is not filled in."""
    ohm, layout, limits, said = laid.ohm, laid.layout, laid.limits, laid.reading.far
    conducting = _conducting(laid, layout.near_places)
    if (bus := layout.pattern.terminators) is not None:
        a, b = sorted(map(layout.near_place, bus.near))
        if terminators_in(ohm[a][b], bus.ohm, bus.tolerance):
            conducting.discard((a, b))
    if not conducting:
        return SetUp("open", said, (), True)
    metal = {(a, b) for a, b in conducting if is_joined(ohm[a][b], limits.joined_ohm)}
    together = {contact for pair in metal for contact in pair}
    clique = set(combinations(sorted(together), 2))
    if metal == conducting == clique and len(together - {layout.screens[0]}) >= LEAST_CONTACTS:
        something: Seen = "joining" if laid.reading.joined_only and said != "joined" else "joined"
        return SetUp(something, said, layout.near(together), True)
    loops = _loops(laid)
    if loops and conducting == _within(loops, laid):
        return SetUp("equipment", said, layout.near(contact for pair in loops for contact in pair), True)
    if len({contact for pair in conducting - metal for contact in pair}) < LEAST_CONTACTS:
        return None
    from wiremap.judge.wiring.far_end import seen_remote  # late: it loads numpy, and few readings come here

    remote = seen_remote(laid)
    if remote.why not in ("exact", "ambiguous") or len(remote.nets) < LEAST_CONTACTS:
        return None
    heard = tuple(contact for net in remote.nets for contact in net.near)
    return SetUp("remote", said, heard, True, letter=remote.letter)


def _loops(laid: LaidReading) -> list[Two]:
    """Return the pairs that close as through the windings of equipment, two at least; [] = none."""
    place = laid.layout.near_place
    pairs = [(place(plus), place(minus)) for plus, minus in laid.layout.pattern.near_pairs]
    loops = [(a, b) for a, b in pairs if is_joined(laid.ohm[a][b], laid.limits.equipment_loop_ohm)]
    between = [laid.ohm[a][b] for one, other in combinations(pairs, 2) for a in one for b in other]
    apart = all(value >= laid.limits.equipment_between_ohm for value in between)
    return loops if len(loops) > 1 and apart else []


def _within(loops: list[Two], laid: LaidReading) -> set[Two]:
    """Return which contacts conduct that loops account for: each loop, and resistors between two loops."""
    found = {(min(pair), max(pair)) for pair in loops}
    for one, other in combinations(loops, 2):
        between = {(min(a, b), max(a, b)) for a in one for b in other}
        if all(laid.ohm[a][b] < laid.limits.leakage_ohm for a, b in between):
            found |= between
    return found


def _plugged(reading: "Reading", limits: Limits) -> tuple[bool | None, bool | None]:
    """Return whether the near and the far socket have the capacitance of a cable in them; None = not measured."""
    seen, known = reading.capacitance, reading.calibration
    if seen is None or seen.single_pf is None:
        return None, None
    empty = known.open_single_pf if known is not None else None
    own = seen.pin_pf if seen.pin_pf is not None else known.pin_pf if known is not None else None
    count = len(reading.near_contacts)
    found: list[bool | None] = []
    for places in (range(count), range(count, len(seen.single_pf))):
        shown = []
        for place in places:
            value, zero = seen.single_pf[place], empty[place] if empty is not None else own
            if value is not None and zero is not None:
                shown.append(value - zero)
        largest = sorted(shown)[-LEAST_CONTACTS:]
        found.append(largest[0] > limits.plugged_pf if len(largest) == LEAST_CONTACTS else None)
    return found[0], found[1]


def _in_adapters(laid: LaidReading, expected: bool) -> SetUp | None:
    """Return that only those contacts of RJ45 sockets are used which an adapter from another plug uses; None = not so.

    A cable with so many conductors between RJ45 plugs reads the same, so nothing is said where that was expected.
    """
    known = laid.layout.pattern
    if any(plug is None or plug.name != "rj45" for plug in (known.near_connector, known.far_connector)):
        return None
    wires = _wires(laid)
    used, reached = {a for a, _ in wires}, {b for _, b in wires}
    for plug in connectors():
        name = f"{plug}-rj45"
        if plug == "rj45" or name not in pattern_names():
            continue
        through = {socket for _, socket in pattern(name).conductors}
        if len(through) == len(known.near_connector.conductor_contacts):
            continue  # it looks as a cable without it
        if used == reached == through and not (expected and {a for a, _ in known.conductors} <= through):
            return _through_adapter(laid, pattern(name))
    return None


def _wires(laid: LaidReading) -> set[tuple[str, str]]:
    """Return (near, far) contacts that are joined, without the screens."""
    layout, known = laid.layout, laid.layout.pattern
    return {
        (layout.names[a], layout.names[b])
        for a in layout.near_places
        for b in layout.far_places
        if is_joined(laid.ohm[a][b], laid.limits.joined_ohm)
        and layout.names[a] != known.near_screen
        and layout.names[b] != known.far_screen
    }


def _of_screens(layout: Layout, screen: str | None) -> set[Two]:
    """Return the two contacts of the sockets' screens, where the reading has both."""
    near, far = layout.names[: layout.near_count], layout.names[layout.near_count :]
    if screen is None or screen not in near or screen not in far:
        return set()
    return {(layout.near_place(screen), layout.far_place(screen))}


def _through_adapter(laid: LaidReading, adapter: Pattern) -> SetUp:
    """Return that plugs are in such adapters; it explains all where each conductor arrives at one contact alone."""
    layout, limits = laid.layout, laid.limits
    sockets = dict(adapter.conductors)
    near = [layout.near_place(name) for name in sockets.values()]
    far = [layout.far_place(name) for name in sockets.values()]
    of_plug = [one for one in map(pattern, pattern_names()) if one.near_connector == adapter.near_connector]
    bus = next((one for one in of_plug if one.terminators is not None), None)
    shown, across = None, set()
    if bus is not None and (ends := bus.terminators) is not None:
        places = [layout.near_place(sockets[name]) for name in ends.near]
        places += [layout.far_place(sockets[name]) for name in ends.far]
        value = laid.ohm[places[0]][places[1]]
        if terminators_in(value, ends.ohm, ends.tolerance):
            shown, across = value, set(combinations(sorted(places), 2))
    conducting = _conducting(laid, range(len(laid.ohm))) - _of_screens(layout, adapter.far_screen)
    wires = {(a, b) for a, b in conducting - across if a in near and b in far}
    wires |= {
        (a, b) for a, b in across if a in near and b in far and is_joined(laid.ohm[a][b], limits.terminated_joined_ohm)
    }
    sound = len(wires) == len(near) == len({a for a, _ in wires}) and conducting <= wires | across
    expect = adapter.name if bus is None else bus.name
    return SetUp("adapter", "tester", layout.near(near), sound, adapter=adapter.name, expect=expect, ohm=shown)
