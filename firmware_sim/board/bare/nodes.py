"""The contacts of a bare board and the cable between them: every voltage at any moment, as the pins hold them.

What the cable does between contacts stands in its tables, as for the bench board: conductances, and capacitances
between the lumps of contacts that move together. A pin feels what its contact has, and adds nothing of its own.
"""

from firmware_sim.board.bench.solving import Settling, inverse, steady
from firmware_sim.board.cable import Cable
from firmware_sim.board.clock import Clock

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

CONTACTS = 18
LEAD_US = 1e6 / 68_000.0  # microsiemens
CONTACT_PF = 30.0  # pin, jack and wiring (assumption)
LEAK_V = 4.0  # towards which a pin that leaks lifts its contact
LEAST_US = 1e-9  # microsiemens that everything has to ground, so that a voltage is defined
SOURCE_OHM = 1.0  # of a voltage for which none is given
CLOSE_V = 1e-4
MOST_SETTLINGS = 60  # remembered; a scan comes back to few


class _State:
    """One electrical state of the cable."""

    def __init__(self, described: "dict[str, Any]") -> None:
        self.lump: "list[int]" = described["lump"]
        self.size = max(self.lump) + 1
        self.members = [[c for c in range(CONTACTS) if self.lump[c] == n] for n in range(self.size)]
        self.links: "list[dict[int, float]]" = [{} for _ in range(CONTACTS)]
        at = 0
        for a in range(CONTACTS):
            for b in range(a + 1, CONTACTS):
                if described["ps"][at]:
                    self.links[a][b] = self.links[b][a] = described["ps"][at] / 1e6
                at += 1
        pf = [[value / 1e6 for value in row] for row in described["af"]]
        for contact in range(CONTACTS):
            pf[self.lump[contact]][self.lump[contact]] += CONTACT_PF
        self.per_pf = inverse(pf)
        self.parts = self._parts(pf)

    def _parts(self, pf: "list[list[float]]") -> "list[list[int]]":
        """Return the lumps in groups between which nothing leads, neither a capacitor nor a resistor."""
        label = list(range(self.size))

        def join(n: int, m: int) -> None:
            old, new = label[n], label[m]
            if old != new:
                for k in range(self.size):
                    label[k] = new if label[k] == old else label[k]

        for n in range(self.size):
            for m in range(n):
                if pf[n][m]:
                    join(n, m)
        for contact in range(CONTACTS):
            for other in self.links[contact]:
                join(self.lump[contact], self.lump[other])
        return [[n for n in range(self.size) if label[n] == one] for one in sorted(set(label))]


class BareNodes:
    """Voltages of the contacts; `drive` says which are held at what, `volts` what all of them have now."""

    def __init__(self, cable: Cable, clock: Clock, leak_na: float) -> None:
        self._cable = cable
        self._clock = clock
        self._leak_ua = leak_na / 1000.0
        self._states = [_State(network["nodes"]) for network in cable.tables["networks"]]
        self._state = 0
        self._held: "dict[int, float]" = {}
        self._now_us = 0
        self._target = [0.0] * CONTACTS
        self._off = [0.0] * self._states[0].size
        self._settled = True
        self._settlings: "dict[object, Settling]" = {}

    def drive(self, held: "dict[int, float]") -> None:
        """Hold these contacts at these voltages through their resistors from now on, and no others."""
        volts = self.volts()
        self._held = held
        self._aim(volts)

    def volts(self) -> "list[float]":
        """Return the voltage of every contact now."""
        now_us = self._clock.now_us
        self._cable.until_us(now_us)
        passed = now_us - self._now_us
        self._now_us = now_us
        if passed and not self._settled:
            self._settle(passed)
            self._settled = max([abs(value) for value in self._off]) < CLOSE_V
        lump = self._states[self._state].lump
        volts = [self._target[c] + self._off[lump[c]] for c in range(CONTACTS)]
        if self._cable.state != self._state or self._cable.has_sources:
            if self._cable.state != self._state:
                self._state = self._cable.state
                self._settlings = {}
            self._aim(volts)
        return volts

    def _aim(self, volts: "list[float]") -> None:
        """Go on from these voltages to where everything settles as it now is."""
        state = self._states[self._state]
        self._target = self._steady(state)
        self._off = [sum([volts[c] - self._target[c] for c in members]) / len(members) for members in state.members]
        self._settled = max([abs(value) for value in self._off]) < CLOSE_V

    def _sources(self) -> "list[tuple[int, int | None, float, float]]":
        """Return (contact, other, volts, uS) of every voltage from outside that stands now."""
        found = []
        for contact, other in self._cable.places:
            millivolts, ohm = self._cable.source(contact, other, self._now_us)
            if millivolts or ohm:
                found.append((contact, other, millivolts / 1000.0, 1e6 / (ohm or SOURCE_OHM)))
        return found

    def _steady(self, state: _State) -> "list[float]":
        links = [dict(row) for row in state.links]
        ground = [LEAST_US] * CONTACTS
        driven = [self._leak_ua] * CONTACTS
        for contact in range(CONTACTS):
            ground[contact] += self._leak_ua / LEAK_V
        for contact, volts in self._held.items():
            ground[contact] += LEAD_US
            driven[contact] += LEAD_US * volts
        for contact, other, volts, us in self._sources():
            driven[contact] += us * volts
            if other is None:
                ground[contact] += us
            else:
                driven[other] -= us * volts
                links[contact][other] = links[other][contact] = links[contact].get(other, 0.0) + us
        return steady(links, ground, driven)

    def _settle(self, us: int) -> None:
        """Let what is off the steady state come nearer to it for so many microseconds, part by part."""
        state, sources = self._states[self._state], self._sources()
        parts = state.parts if not sources else [list(range(state.size))]
        for part in parts:
            off = [self._off[n] for n in part]
            if max([abs(value) for value in off]) < CLOSE_V / 10:
                continue
            held = 0
            for contact in self._held:
                if state.lump[contact] in part:
                    held |= 1 << contact
            key = (part[0], held, tuple([(contact, other, us) for contact, other, _, us in sources]))
            if key not in self._settlings:
                if len(self._settlings) >= MOST_SETTLINGS:
                    self._settlings.clear()
                rates = self._rates(sources)
                self._settlings[key] = Settling([[rates[n][m] for m in part] for n in part])
            for n, value in zip(part, self._settlings[key].after(off, us)):
                self._off[n] = value

    def _rates(self, sources: "list[tuple[int, int | None, float, float]]") -> "list[list[float]]":
        """Return C^-1 G over the lumps, per microsecond."""
        state = self._states[self._state]
        us = [[0.0] * state.size for _ in range(state.size)]

        def joined(n: int, m: int, between: float) -> None:
            us[n][n] += between
            us[m][m] += between
            us[n][m] -= between
            us[m][n] -= between

        for contact in range(CONTACTS):
            n = state.lump[contact]
            us[n][n] += self._leak_ua / LEAK_V + LEAST_US + (LEAD_US if contact in self._held else 0.0)
            for other, between in state.links[contact].items():
                if other > contact and state.lump[other] != n:
                    joined(n, state.lump[other], between)
        for contact, against, _, between in sources:
            n = state.lump[contact]
            if against is None:
                us[n][n] += between
            elif state.lump[against] != n:
                joined(n, state.lump[against], between)
        columns = list(zip(*us))
        return [[sum([x * y for x, y in zip(row, column)]) for column in columns] for row in state.per_pf]
