"""How the board stands at a moment, what the cable is then, and how that settles."""

from array import array

from firmware_sim.board.bench.solving import Settling, inverse
from firmware_sim.board.bench.values import CONTACTS, Values

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

FILMED = 0.9  # of what passes once it is broken, passes a film at most


class Wiring:
    """How the board stands: what drives which contact, where the multiplexers look, what pulls and steps."""

    def __init__(self) -> None:
        self.powered = False
        self.low = 0  # contacts, a bit each
        self.high = 0
        self.channels = (15, 15)
        self.pulls = 0  # UP_A 1, DN_A 2, UP_B 4, DN_B 8
        self.lifted = False
        self.steps = 0  # STEP_A 1, PED_A 2, STEP_B 4, PED_B 8

    def same(self) -> "tuple[bool, int, int, int, int, int, bool, int]":
        """Return what tells one steady state from another."""
        a, b = self.channels
        return self.powered, self.low, self.high, a, b, self.pulls, self.lifted, self.steps


class CableNodes:
    """One electrical state of the cable: links between contacts and the capacitors between lumps."""

    def __init__(self, described: "dict[str, Any]", values: Values) -> None:
        self.lump: "list[int]" = described["lump"]
        self.size = max(self.lump) + 1
        self.links = _links(described["ps"])
        self.low_links = _links(described["low_ps"])
        self.films = [
            (a, b)
            for a in range(CONTACTS)
            for b in self.links[a]
            if a < b and self.low_links[a].get(b, 0.0) < FILMED * self.links[a][b]
        ]
        pf = [[value / 1e6 for value in row] for row in described["af"]]
        for contact in range(CONTACTS):
            pf[self.lump[contact]][self.lump[contact]] += values.contact_pf[contact]
        self.per_pf = inverse(pf)
        self.members = [[c for c in range(CONTACTS) if self.lump[c] == n] for n in range(self.size)]


def _links(picosiemens: "list[int]") -> "list[dict[int, float]]":
    links: "list[dict[int, float]]" = [{} for _ in range(CONTACTS)]
    at = 0
    for a in range(CONTACTS):
        for b in range(a + 1, CONTACTS):
            if picosiemens[at]:
                links[a][b] = links[b][a] = picosiemens[at] / 1e6
            at += 1
    return links


class System:
    """How one wiring settles: which places go together, and how; passed: what was worked out already, by its start."""

    def __init__(self, parts: "list[tuple[list[int], Settling]]") -> None:
        self._parts = parts
        self.passed: "dict[object, array[float]]" = {}

    def after(self, off: "list[float]", steps: int) -> "array[float]":
        """Return what is left of `off` after some steps."""
        found = array("d", off)
        for places, settling in self._parts:
            for n, value in zip(places, settling.after([off[n] for n in places], steps)):
                found[n] = value
        return found
