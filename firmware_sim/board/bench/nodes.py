"""Contacts, commons and the cable between them: every voltage at any moment, as ports and multiplexers stand.

A contact is held low or high through its resistors, or floats. Each side's multiplexer joins one contact to its common
through 22 kohm; a common feels UP and DN, and the steps of STEP and PED through their capacitors. What the cable
does between contacts stands in its tables. Steady voltages are solved contact by contact; how they are reached is
solved lump by lump, the groups of contacts that move together. What is left out: that a port's two output resistances
differ, by a hundredth of what settles.
"""

from array import array

from firmware_sim.board.bench.solving import Settling, inverse, steady
from firmware_sim.board.bench.values import BODY_V, CLAMP_V, CONTACTS, LEAK_V, SIDE, STRAY_PF, Values
from firmware_sim.board.bench.wiring import CableNodes, System, Wiring
from firmware_sim.board.cable import Cable
from firmware_sim.board.clock import Clock

TYPE_CHECKING = False
if TYPE_CHECKING:
    from firmware_sim.board.bench.solving import Rows

# Channels of a multiplexer beside its contacts 0 to 8.
UPPER, LOWER, GROUND = 9, 10, 11
FILM_V = 0.05  # what breaks a film (assumption; IEC 60512-2-1 allows 20 mV, from memory)
NODES = CONTACTS + 2
BEHIND = 3  # nodes of a side: its common, and behind the capacitors of STEP and PED the ends that those lift
COMMONS = (CONTACTS, CONTACTS + BEHIND)  # places of both commons among all voltages
APART = 1e-6  # of its own, what is no coupling
STEP_US = 4  # the shortest time that is followed
CLOSE_V = 1e-7
LEAST_US = 1e-9  # microsiemens that everything has to ground
MOST_KNOWN = 300  # steady states remembered
MOST_SETTLINGS = 120
MOST_PASSED = 200  # waits remembered of each


class Nodes:
    """Voltages of the contacts and of the two commons; volts(), which lets them settle up to now, before each read."""

    def __init__(self, values: Values, cable: Cable, clock: Clock) -> None:
        self.values = values
        self.wiring = Wiring()
        self._cable = cable
        self._clock = clock
        self._states = [CableNodes(network["nodes"], values) for network in cable.tables["networks"]]
        self._now_us = 0
        self._state = 0
        self.dead = (False, False)  # multiplexers that lead nowhere
        self._broken = False  # films, until the cable changes
        self._known: "dict[object, array[float]]" = {}
        self._settlings: "dict[object, System]" = {}
        self._per_pf = [self._side_per_pf(side) for side in range(2)]
        self._target = [0.0] * (CONTACTS + 2 * BEHIND)
        self._off = [0.0] * (self._states[0].size + 2 * BEHIND)
        self.settled = True
        self._aimed = -1  # for which source voltages the target is

    def _side_per_pf(self, side: int) -> "Rows":
        """Return the inverse of what the three nodes of a side hold, per picofarad."""
        values = self.values
        step, pedestal = values.step_pf[side], values.pedestal_pf[side]
        return inverse(
            [
                [values.common_pf[side] + step + pedestal, -step, -pedestal],
                [-step, step + STRAY_PF, 0.0],
                [-pedestal, 0.0, pedestal + STRAY_PF],
            ]
        )

    def end_change(self, volts: "list[float]", wiring: Wiring, charges: "dict[int, float]") -> None:
        """Go on from voltages under another wiring; charges: picocoulomb left on contacts and, from 18 on, commons."""
        self.wiring = wiring
        state = self._states[self._state]
        self._target = self._steady()
        off = []
        for n, members in enumerate(state.members):
            total = jump = 0.0
            for contact in members:
                total += volts[contact] - self._target[contact]
                jump += charges.get(contact, 0.0)
            off.append(total / len(members) + jump * state.per_pf[n][n])
        for side in range(2):
            charge = charges.get(CONTACTS + side, 0.0)
            for part in range(BEHIND):
                node = CONTACTS + BEHIND * side + part
                off.append(volts[node] + charge * self._per_pf[side][part][0] - self._target[node])
        self._off = off
        self.settled = max([abs(value) for value in off]) < CLOSE_V

    def volts(self) -> "list[float]":
        """Return every voltage as it is now: contacts, then of side A and of B the common and what lifts it."""
        self._go_on()
        return self._clamped(self._sum())

    def common(self, side: int) -> float:
        """Return the voltage of a common as it is now."""
        self._go_on()
        at = COMMONS[side]
        volts = self._target[at]
        if not self.settled:
            volts += self._off[self._states[self._state].size + BEHIND * side]
        return max(-CLAMP_V, min((self.values.rail_v if self.wiring.powered else 0.0) + CLAMP_V, volts))

    def _sum(self) -> "list[float]":
        if self.settled:
            return list(self._target)
        state, off, target = self._states[self._state], self._off, self._target
        volts = [target[c] + off[state.lump[c]] for c in range(CONTACTS)]
        volts.extend([target[CONTACTS + n] + off[state.size + n] for n in range(2 * BEHIND)])
        return volts

    def ahead(self, us: int) -> "list[float]":
        """Return both commons as they will be after a time if nothing changes."""
        off = self._off if self.settled else self._after(us // STEP_US)
        size = self._states[self._state].size
        return [self._target[COMMONS[side]] + off[size + BEHIND * side] for side in range(2)]

    def _clamped(self, volts: "list[float]") -> "list[float]":
        top = (self.values.rail_v if self.wiring.powered else 0.0) + CLAMP_V
        for common in COMMONS:
            volts[common] = max(-CLAMP_V, min(top, volts[common]))
        if not self._cable.has_sources:
            top += BODY_V - CLAMP_V
            for contact in range(CONTACTS):
                volts[contact] = max(-BODY_V, min(top, volts[contact]))
        return volts

    def _after(self, steps: int) -> "list[float]":
        """Return `off` after some steps; what was worked out once is known: a scan does the same over and over."""
        wired = self._wired()
        system = self._settlings.get(wired)
        if system is None:
            if len(self._settlings) >= MOST_SETTLINGS:
                self._settlings = {}
            system = self._settlings[wired] = System(self._settling())
        key = (steps, bytes(array("d", self._off)))
        known = system.passed.get(key)
        if known is None:
            if len(system.passed) >= MOST_PASSED:
                system.passed = {}
            known = system.passed[key] = system.after(self._off, steps)
        return list(known)

    def _wired(self) -> "tuple[object, ...]":
        """Return what tells how the present wiring settles from any other."""
        wiring = self.wiring
        sources = tuple([(contact, other, us) for contact, other, _, us in self._sources()])
        driven = wiring.low | wiring.high if wiring.powered else 0
        return driven, wiring.channels, wiring.pulls, wiring.powered, sources

    def _go_on(self) -> None:
        now_us = self._clock.now_us
        self._cable.until_us(now_us)
        changed = self._cable.state != self._state
        steps = (now_us - self._now_us) // STEP_US
        if steps and not self.settled:
            self._off = self._after(steps)
            self.settled = max([abs(value) for value in self._off]) < CLOSE_V
            if self.settled:
                self._off = [0.0] * len(self._off)
        # What is less than a step is left for later.
        self._now_us = now_us if self.settled else self._now_us + steps * STEP_US
        if changed or self._cable.has_sources:
            before = self._clamped(self._sum())
            if changed:
                self._state = self._cable.state
                self._broken = False
                self._known = {}
                self._settlings = {}
            self.end_change(before, self.wiring, {})
        self._break_films()

    def _break_films(self) -> None:
        films = self._states[self._state].films
        if self._broken or not films:
            return
        volts = self._sum()
        for a, b in films:
            if abs(volts[a] - volts[b]) > FILM_V:
                self._broken = True
                self._known = {}
                self.end_change(volts, self.wiring, {})
                return

    def _settling(self) -> "list[tuple[list[int], Settling]]":
        """Return the systems that the present wiring falls into: their places in `off`, and how each settles."""
        wiring, state = self.wiring, self._states[self._state]
        us = self._conductances(wiring.low | wiring.high if wiring.powered else 0, state)
        count = state.size + 2 * BEHIND
        per_pf = [[0.0] * count for _ in range(count)]
        for first, block in ((0, state.per_pf), (state.size, self._per_pf[0]), (state.size + BEHIND, self._per_pf[1])):
            for i, row in enumerate(block):
                for j, value in enumerate(row):
                    per_pf[first + i][first + j] = value
        found = []
        left = list(range(count))
        while left:
            places = [left[0]]
            for n in places:
                for m in left:
                    if m not in places and (us[n][m] != 0.0 or abs(per_pf[n][m]) > APART * per_pf[n][n]):
                        places.append(m)
            places.sort()
            left = [n for n in left if n not in places]
            rates = [[sum([per_pf[n][k] * us[k][m] for k in places]) for m in places] for n in places]
            found.append((places, Settling(rates, STEP_US)))
        return found

    def _conductances(self, driven: int, state: CableNodes) -> "list[list[float]]":
        """Return the conductance matrix over lumps and both sides' nodes, uS."""
        values, size = self.values, state.size
        count = size + 2 * BEHIND
        us = [[0.0] * count for _ in range(count)]

        def joined(n: int, m: int, between: float) -> None:
            us[n][n] += between
            us[m][m] += between
            us[n][m] -= between
            us[m][n] -= between

        for contact in range(CONTACTS):
            n = state.lump[contact]
            us[n][n] += abs(values.leak_ua[contact]) / LEAK_V
            if driven >> contact & 1:
                us[n][n] += values.low_us[contact]
            for other, between in state.links[contact].items():
                if other > contact and state.lump[other] != n:
                    joined(n, state.lump[other], between)
        for contact, against, _, between in self._sources():
            if against is None:
                us[state.lump[contact]][state.lump[contact]] += between
            else:
                joined(state.lump[contact], state.lump[against], between)
        for side in range(2):
            n = size + BEHIND * side
            us[n][n] += self._pulled(side)[0] + abs(values.leak_us[side])
            for part in (1, 2):
                us[n + part][n + part] += values.step_us[2 * side + part - 1]
            leads = self._lead(side)
            if leads is not None:
                contact, between, _ = leads
                if contact >= 0:
                    joined(n, state.lump[contact], between)
                else:
                    us[n][n] += between
        return us

    def one_lump(self, a: int, b: int) -> bool:
        """Return whether two contacts move together."""
        lump = self._states[self._state].lump
        return lump[a] == lump[b]

    def _lead(self, side: int) -> "tuple[int, float, float] | None":
        """Return (contact or -1, uS, volts of what is there if no contact) of where a multiplexer leads."""
        channel = self.wiring.channels[side]
        values = self.values
        if not self.wiring.powered or self.dead[side]:
            return None
        if channel < SIDE:
            contact = channel + SIDE * side
            return contact, values.sense_us[contact], 0.0
        if channel in (UPPER, LOWER):
            top, middle, bottom = values.divider_ohm
            above = top if channel == UPPER and side == 0 else top + middle
            below = top + middle + bottom - above
            ohm = above * below / (above + below) + values.switch_ohm[side]
            return -1, 1e6 / ohm, values.rail_v * below / (above + below)
        if channel == GROUND:
            return -1, 1e6 / values.switch_ohm[side], 0.0
        return None

    def _pulled(self, side: int) -> "tuple[float, float]":
        """Return (uS, uA) of UP and DN at a common."""
        pulls, values = self.wiring.pulls >> 2 * side, self.values
        up = values.up_us[side] if pulls & 1 else 0.0
        down = values.down_us[side] if pulls & 2 else 0.0
        return up + down, up * values.supply_v

    def _sources(self) -> "list[tuple[int, int | None, float, float]]":
        """Return (contact, other, volts, uS) of every voltage from outside that stands now."""
        if not self._cable.has_sources:
            return []
        found = []
        for contact, other in self._cable.places:
            millivolts, ohm = self._cable.source(contact, other, self._now_us)
            if ohm or millivolts:
                us = 1e6 / (max(ohm, 1) * self._cable.shares[(contact, other)])
                found.append((contact, other, millivolts / 1000, us))
        return found

    def _leaks(self, a: int, b: int) -> float:
        """Return what joins the lumps of two contacts, uS."""
        state = self._states[self._state]
        others = state.members[state.lump[b]]
        return sum([state.links[c].get(d, 0.0) for c in state.members[state.lump[a]] for d in others])

    def _steady(self) -> "list[float]":
        if self._cable.has_sources:
            return self._solved()
        key = self.wiring.same()
        found = self._known.get(key)
        if found is None:
            if len(self._known) >= MOST_KNOWN:
                self._known = {}
            found = self._known[key] = array("d", self._solved())
        return list(found)

    def _solved(self) -> "list[float]":
        wiring, values, state = self.wiring, self.values, self._states[self._state]
        low, high = (wiring.low, wiring.high) if wiring.powered else (0, 0)
        links = [dict(star) for star in (state.links if self._broken or not state.films else state.low_links)]
        links += [{}, {}]
        ground, driven = [0.0] * NODES, [0.0] * NODES
        for side, leak in enumerate(values.leak_us):
            ground[CONTACTS + side] = abs(leak) + LEAST_US
            if leak > 0:
                driven[CONTACTS + side] = leak * (values.rail_v if wiring.powered else 0.0)
        for contact in range(CONTACTS):
            ground[contact] = abs(values.leak_ua[contact]) / LEAK_V + LEAST_US
            driven[contact] = values.leak_ua[contact] if wiring.powered else 0.0
            if low >> contact & 1:
                ground[contact] += values.low_us[contact]
                if wiring.lifted and contact < SIDE:
                    driven[contact] += values.low_us[contact] * values.lift_v
            elif high >> contact & 1:
                ground[contact] += values.high_us[contact]
                driven[contact] += values.high_us[contact] * values.rail_v
        for side in range(2):
            node = CONTACTS + side
            us, current = self._pulled(side)
            ground[node] += us
            driven[node] += current
            leads = self._lead(side)
            if leads is not None:
                contact, us, volts = leads
                if contact >= 0:
                    links[node][contact] = links[contact][node] = us
                else:
                    ground[node] += us
                    driven[node] += us * volts
        for contact, other, volts, us in self._sources():
            driven[contact] += us * volts
            if other is None:
                ground[contact] += us
            else:
                driven[other] -= us * volts
                if self._leaks(contact, other) >= us * self._cable.shares[(contact, other)] / 2:
                    continue  # a leak that is also a cell: what joins the two is there already
                links[contact][other] = links[contact].get(other, 0.0) + us
                links[other][contact] = links[other].get(contact, 0.0) + us
        found = steady(links, ground, driven)
        lifts = [values.rail_v if wiring.powered and wiring.steps >> n & 1 else 0.0 for n in range(4)]
        return found[: CONTACTS + 1] + lifts[:2] + found[CONTACTS + 1 :] + lifts[2:]
