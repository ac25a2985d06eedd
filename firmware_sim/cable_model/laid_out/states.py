"""What is in the tester's sockets, moment by moment: one cable with faults that come and go, or a lot of cables."""

import random
from dataclasses import dataclass, replace

from firmware_sim.cable_model.laid_out.run import Run, lay_out
from firmware_sim.cable_model.laid_out.schedule import US_PER_S, in_us, timeline
from firmware_sim.cable_model.written.cable_file import Plugging
from firmware_sim.cable_model.written.description import Description
from firmware_sim.cable_model.written.named import load_cable
from firmware_sim.cable_model.written.plugs import RJ45
from firmware_sim.cable_model.written.toml_file import DescriptionError

BOUNCES = 6  # states a plug passes through while it bounces, out of
BOUNCE_PATTERNS = 12  # sets of contacts that do not touch, the same through a whole lot
MOST_STATES = 100_000


@dataclass(frozen=True, slots=True)
class State:
    """One electrical state: a cable with the faults that are there; unmade: tester contacts not touching.

    bouncing: further contacts not touching, for milliseconds only.
    """

    cable: Description
    active: frozenset[int]
    unmade: frozenset[int] = frozenset()
    bouncing: frozenset[int] = frozenset()

    @property
    def settled(self) -> "State":
        """The state without the bouncing."""
        return replace(self, bouncing=frozenset())

    def run(self) -> Run:
        """Return the cable laid out, as far as it touches the tester once it has settled."""
        run = lay_out(self.cable, self.active)
        near, far = (
            {index: colour for index, colour in plug.items() if index not in self.unmade}
            for plug in (run.near, run.far)
        )
        return replace(run, near=near, far=far)


NOTHING_IN = None


def states_over_time(description: Description) -> tuple[list[tuple[int, State | None]], int | None]:
    """Return [(from_us, state or None for empty sockets), ...] from 0 on, and the period (None = no repeat)."""
    if description.bench:
        return _lot(description), None
    times = timeline([fault.when for fault in description.faults])
    return [(from_us, State(description, active)) for from_us, active in times.entries], times.period_us


def cables_of(description: Description) -> list[tuple[Description, Plugging | None]]:
    """Return the cables that are plugged, each with when; a description without a bench is its own only cable."""
    if not description.bench:
        return [(description, None)]
    known: dict[str, Description] = {}
    for plugging in description.bench:
        if plugging.cable not in known:
            cable = load_cable(plugging.cable, description.folder)
            if cable.bench:
                raise DescriptionError(
                    f"{description.source}: bench names {plugging.cable!r}, which is a lot itself; name single cables"
                )
            known[plugging.cable] = cable
    return [(known[plugging.cable], plugging) for plugging in description.bench]


def _lot(description: Description) -> list[tuple[int, State | None]]:
    entries: list[tuple[int, State | None]] = [(0, NOTHING_IN)]
    shaken = random.Random(f"{description.seed} bounces")
    patterns = [
        frozenset(contact for contact in range(2 * len(RJ45)) if shaken.random() < 0.4) for _ in range(BOUNCE_PATTERNS)
    ]
    for number, (cable, plugging) in enumerate(cables_of(description)):
        if plugging is None:
            continue
        draw = random.Random(f"{description.seed} bench {number}")
        plug_us, unplug_us = in_us(plugging.plug_at_s), in_us(plugging.unplug_at_s)
        if plug_us < entries[-1][0]:
            raise DescriptionError(
                f"{description.source}: bench[{number + 1}].plug_at_s is {plugging.plug_at_s:g}, "
                f"before the cable before it is out at {entries[-1][0] / US_PER_S:g} s"
            )
        bounce_us = min(round(plugging.bounce_ms * 1000), (unplug_us - plug_us) // 2)
        unmade = _half_seated(plugging.half_seated, draw)
        times = timeline([fault.when for fault in cable.faults], unplug_us / US_PER_S + 1)
        start = times.entries[0][1]
        entries += _bounce(cable, start, unmade, plug_us, bounce_us, patterns, draw)
        seated = _seated(cable, times.entries, times.period_us, unmade, plug_us + bounce_us, unplug_us - bounce_us)
        last_active = seated[-1][1].active if seated else start
        entries += seated
        entries += _bounce(cable, last_active, unmade, unplug_us - bounce_us, bounce_us, patterns, draw)
        entries.append((unplug_us, NOTHING_IN))
        if len(entries) > MOST_STATES:
            raise DescriptionError(f"{description.source}: the bench has more than {MOST_STATES} states; shorten it")
    return [
        entry for entry, after in zip(entries, [*entries[1:], None], strict=True) if not after or after[0] > entry[0]
    ]


def _half_seated(end: str, draw: random.Random) -> frozenset[int]:
    """Return the contacts a tilted plug does not make: one to three from one side, and the screen's."""
    if end == "none":
        return frozenset()
    contacts = list(range(len(RJ45) - 1))
    if draw.random() < 0.5:
        contacts.reverse()
    offset = 0 if end == "near" else len(RJ45)
    return frozenset(offset + contact for contact in [*contacts[: draw.randint(1, 3)], len(RJ45) - 1])


def _bounce(
    cable: Description,
    active: frozenset[int],
    unmade: frozenset[int],
    from_us: int,
    for_us: int,
    patterns: list[frozenset[int]],
    draw: random.Random,
) -> list[tuple[int, State]]:
    if not for_us:
        return []
    moments = sorted(draw.randrange(for_us) for _ in range(BOUNCES - 1))
    states = []
    for moment in [0, *moments]:
        lost = draw.choice(patterns)
        states.append((from_us + moment, State(cable, active, unmade, lost - unmade)))
    return states


def _seated(
    cable: Description,
    entries: tuple[tuple[int, frozenset[int]], ...],
    period_us: int | None,
    unmade: frozenset[int],
    from_us: int,
    to_us: int,
) -> list[tuple[int, State]]:
    states: list[tuple[int, State]] = []
    round_us = from_us // period_us * period_us if period_us else 0
    while round_us < to_us and len(states) < MOST_STATES:
        for at_us, active in entries:
            if round_us + at_us <= from_us:
                states = [(from_us, State(cable, active, unmade))]
            elif round_us + at_us < to_us:
                states.append((round_us + at_us, State(cable, active, unmade)))
        if period_us is None:
            break
        round_us += period_us
    return states
