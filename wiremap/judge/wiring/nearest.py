"""The pattern that fits best, and the one cause that explains all findings together."""

from functools import lru_cache

from msgspec import Struct

from wiremap.cable.mistakes import mistakes
from wiremap.cable.patterns import pattern, pattern_names
from wiremap.judge.wiring.continuity import Wiring
from wiremap.judge.wiring.layout import Layout, fits, lay_pattern

COMMON_FIRST = ("straight", "crossover", "crossover-all", "straight-2pair", "crossover-2pair", "rollover")
CROSSOVERS = ("crossover", "crossover-all", "crossover-2pair", "t1-crossover", "m12d-rj45-crossover")
STRAIGHTS = ("straight", "straight-2pair", "m12d-rj45")


class Nearest(Struct, frozen=True):
    """The pattern that fits best, and how many conductors are away from it."""

    pattern: str
    away: int

    def to_builtins(self) -> dict[str, object]:
        """Return it as it stands in JSON."""
        return {"pattern": self.pattern, "away": self.away}


def _rank(name: str) -> tuple[int, str]:
    """Order patterns: the common ones first, then by name; with the same contacts, the tester's own sockets first."""
    return (COMMON_FIRST.index(name) if name in COMMON_FIRST else len(COMMON_FIRST) + ("m12" in name), name)


@lru_cache(maxsize=64)
def candidates(near_contacts: tuple[str, ...], far_contacts: tuple[str, ...]) -> tuple[Layout, ...]:
    """Return every pattern that ships and fits these contacts, laid on them, the common ones first."""
    shipped = [pattern(name) for name in sorted(pattern_names(), key=_rank)]
    return tuple(
        lay_pattern(known, near_contacts, far_contacts) for known in shipped if fits(known, near_contacts, far_contacts)
    )


def away(seen: Wiring, layout: Layout) -> int:
    """Return how many conductors are not as the pattern has them: missing or too many, whichever is more."""
    right = sum(seen.arrives.get(near) == far for near, far in layout.conductors)
    missing = len(layout.conductors) - right + len(layout.joins) - len(seen.joined)
    other = len(seen.arrives) - right + len(seen.shorts) + len(seen.screen_shorts)
    return max(missing, other)


def can_be_met(seen: Wiring, layout: Layout) -> bool:
    """Whether the right contacts are joined, one near with one far, so that only their order may be wrong."""
    return (
        not seen.shorts
        and not seen.screen_shorts
        and len(seen.joined) == len(layout.joins)
        and set(seen.arrives) == {near for near, _ in layout.conductors}
        and set(seen.arrives.values()) == {far for _, far in layout.conductors}
    )


def distance(seen: Wiring, layout: Layout) -> tuple[bool, float]:
    """Return how far a cable is from a pattern, for `min`: patterns that only the order keeps from being met first."""
    size = max(len(layout.conductors) + len(layout.joins), len(seen.arrives))
    return not can_be_met(seen, layout), away(seen, layout) / size


def _with_mistake(layout: Layout) -> list[tuple[str, dict[int, int]]]:
    """Return what each mistake makes of the pattern at the far plug or at the near one: (its name, near -> far)."""
    wanted = dict(layout.conductors)
    near_index = {layout.names[i]: i for i in range(layout.near_count)}
    found = []
    for mistake in mistakes():
        if mistake.connector == layout.pattern.far_connector:
            sits = {belongs: at for at, belongs in mistake.places}
            far_index = {layout.names[i]: i for i in range(layout.near_count, len(layout.names))}
            moved = {near: sits.get(layout.names[far]) for near, far in wanted.items()}
            found.append((mistake.name, {near: far_index[at] for near, at in moved.items() if at is not None}))
        if mistake.connector == layout.pattern.near_connector:
            belongs_at = {near_index[at]: near_index[belongs] for at, belongs in mistake.places}
            found.append((mistake.name, {at: wanted[of] for at, of in belongs_at.items() if of in wanted}))
    return found


def explain(seen: Wiring, layout: Layout) -> tuple[Nearest | None, str | None]:
    """Return the known pattern that a cable is instead of the one wanted, and the one cause of all that is wrong.

    The cause is a word that wording knows: the name of a mistake at one plug, or "straight" for a crossover cable
    whose second plug is a copy of the first. None where there is none.
    """
    if seen.shorts or seen.screen_shorts:
        return None, None
    near_contacts = layout.near(range(len(layout.names)))
    far_contacts = layout.far(range(len(layout.names)))
    instead = None
    for other in candidates(near_contacts, far_contacts):
        plugs = (other.pattern.near_connector, other.pattern.far_connector)
        if plugs == (layout.pattern.near_connector, layout.pattern.far_connector) and not away(seen, other):
            instead = Nearest(other.pattern.name, 0)
            break
    cause = None
    if instead and instead.pattern in STRAIGHTS:  # nobody need have made a mistake
        cause = "straight" if layout.pattern.name in CROSSOVERS else None
    else:
        cause = next((name for name, moved in _with_mistake(layout) if moved == seen.arrives), None)
    return instead, cause
