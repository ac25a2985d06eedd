"""The comparator: when its output changes after a step, and the edges that a live port makes at it.

Times are picoseconds of board time. The output is low before the first change of a list.
"""

from math import exp, log

from firmware_sim.board import levels, parts
from firmware_sim.board.cable import Cable, active
from firmware_sim.board.noise import Noise
from firmware_sim.board.switchboard import CHARGE, ECHO_SWITCH, FORCE, JOIN_SWITCH, SOURCE, VOLTMETER, Switchboard

NEVER_PS = 1 << 60
JOINED_MILLIOHM = 10_000_000
SCREENS = 1 << 8 | 1 << 17
STUB_FF = 30_000  # two contacts with less between them lead to no cable: an open end at no distance
PULSE_PS = 100_000
PAIRS = ((0, 1), (2, 5), (3, 4), (6, 7))


class Comparator:
    """What the comparator sees of the cable through the switchboard."""

    def __init__(self, switchboard: Switchboard, cable: Cable, noise: Noise) -> None:
        self._switchboard = switchboard
        self._cable = cable
        self._noise = noise
        self._changes: list[tuple[int, int]] = []
        # By contact: microvolts left, since when (us), time constant (us, 0 = held).
        self._charges: dict[int, list[float]] = {}

    def step(self, level: int, at_ps: int) -> None:
        """Note that the step went up or down."""
        if not level:
            self._changes = [(at_ps, 0)]
            self.settle(at_ps // 1_000_000)
            return
        start_ps = at_ps + levels.COMPARATOR_DELAY_PS + self._delay_ps()
        start_ps += self._noise.normal_x1024() * levels.COMPARATOR_JITTER_PS >> 10
        changes = self._after_step(at_ps // 1_000_000)
        self._changes = [(start_ps + after_ps, changed) for after_ps, changed in changes]

    def level(self, at_ps: int) -> int:
        """Return the output at a moment."""
        if self._is_listening():
            return self._heard(at_ps)[0]
        level = 0
        for change_ps, changed in self._changes:
            if change_ps > at_ps:
                break
            level = changed
        return level

    def next_change(self, after_ps: int) -> int:
        """Return the moment of the next change."""
        if self._is_listening():
            return self._heard(after_ps)[1]
        for change_ps, _ in self._changes:
            if change_ps > after_ps:
                return change_ps
        return NEVER_PS

    def _delay_ps(self) -> int:
        counted = self._switchboard.delay_counts * parts.DELAY_STEP_PS
        return counted + counted * levels.DELAY_GAIN_PPM // 1_000_000

    def _threshold_uv(self) -> int:
        noise = self._noise.normal_x1024() * levels.COMPARATOR_NOISE_UV >> 10
        return parts.SUPPLY_MV * 1000 * self._switchboard.threshold() // 65536 + noise

    def _after_step(self, now_us: int) -> list[tuple[int, int]]:
        switchboard = self._switchboard
        if switchboard.closed() & ECHO_SWITCH:
            a, b = PAIRS[switchboard.echo_pair()]
            return self._reflected(a, b, parts.ECHO_OHM, now_us)
        if not switchboard.pin(FORCE):
            return []
        if switchboard.range() == CHARGE:
            return self._charging(now_us)
        a, b = self._switchboard.selected()
        if a < 0 or b < 0:
            return []
        return self._reflected(a, b, 330, now_us)

    # Reflections.

    def _reflected(self, a: int, b: int, drive_ohm: int, now_us: int) -> list[tuple[int, int]]:
        cable = self._cable
        threshold = self._threshold_uv()
        trace = cable.trace(a, b, now_us) if drive_ohm == parts.ECHO_OHM else None
        if trace:
            return crossings(trace["t0_ps"], trace["dt_ps"], trace["microvolts"], threshold)
        step_uv = parts.SUPPLY_MV * 1000
        echo = cable.echo("%d" % drive_ohm, a, b, now_us)
        if echo is None and (cable.capacitance("pair_ff", a, b, now_us) or 1 << 40) < STUB_FF:
            return [(0, 1)] if threshold < step_uv else []
        plateau = step_uv * parts.LINE_OHM // (parts.LINE_OHM + 2 * drive_ohm)
        changes = [(0, 1)] if threshold < plateau else []
        if echo is not None:
            arrival_ps, polarity, height_ppm = echo
            after = plateau + polarity * height_ppm * step_uv // 1_000_000
            if (threshold < plateau) != (threshold < after):
                changes.append((arrival_ps, 1 if threshold < after else 0))
        return changes

    # Charging.

    def _charging(self, now_us: int) -> list[tuple[int, int]]:
        a, b = self._switchboard.selected()
        joined = bool(self._switchboard.closed() & JOIN_SWITCH)
        self.settle(now_us)
        feed_ohm = (parts.FEED_OHM[CHARGE] or 0) + parts.PATH_OHM
        drift = levels.DRIFT_PPM_PER_HOUR * min(now_us, 3_600_000_000) // 3_600_000_000
        ohm = feed_ohm * (1 + (levels.FEED_PPM + drift) * 1e-6)
        seen = self._capacitance(a, b, joined, now_us)
        if seen is None:
            return []
        femtofarads, leak_ohm = seen
        femtofarads += parts.BUS_FF * (2 if joined else 1)
        final_uv = parts.SUPPLY_MV * 1000.0
        if leak_ohm:
            final_uv *= leak_ohm / (ohm + leak_ohm)
            ohm = ohm * leak_ohm / (ohm + leak_ohm)
        threshold = self._threshold_uv()
        begin_uv = self._charges.get(a, [0.0])[0] if a >= 0 else 0.0
        if a >= 0:
            self._charges[a] = [final_uv, float(now_us), 0.0]  # held there until the step ends
        if threshold <= begin_uv:
            return [(0, 1)]
        if threshold >= final_uv:
            return []
        return [(int(ohm * femtofarads * 1e-3 * log((final_uv - begin_uv) / (final_uv - threshold))), 1)]

    def _capacitance(self, a: int, b: int, joined: bool, now_us: int) -> "tuple[int, int] | None":
        """Return (femtofarads, leak ohm or 0) that the high bus charges, None when it never gets there."""
        cable = self._cable
        tied = self._switchboard.tied()
        if a < 0:
            return 0, 0
        rows = cable.rows(now_us)
        group = [a, b] if joined and b >= 0 else [a]
        siemens = 0.0
        low = [contact for contact in range(cable.size) if tied >> contact & 1]
        if not joined and b >= 0:
            low.append(b)
        for contact in low:
            for driven in group:
                milliohm = rows[driven][contact]
                if milliohm is not None and milliohm < JOINED_MILLIOHM:
                    return None
                leak = cable.capacitance("leak_ohm", driven, contact, now_us)
                siemens += 1 / leak if leak else 0.0
        leak_ohm = int(1 / siemens) if siemens else 0
        found: int | None
        if joined and b >= 0 and rows[a][b] is None:
            found = cable.capacitance("double_ff", a, b, now_us)
        elif joined or tied & ~SCREENS:
            found = cable.capacitance("single_ff", a, -1, now_us)
        elif b >= 0:
            found = cable.capacitance("pair_tied_ff" if tied else "pair_ff", a, b, now_us)
        else:
            found = parts.CONTACT_FF
        return None if found is None else (found, leak_ohm)

    def settle(self, now_us: int) -> None:
        """Let the charge left on the contacts go as it does; called whenever a step ends or a tie changes."""
        tied = self._switchboard.tied()
        for contact in list(self._charges):
            microvolts, since_us, tau_us = self._charges[contact]
            microvolts *= exp(-(now_us - since_us) / tau_us) if tau_us else 1.0
            if microvolts < 1:
                del self._charges[contact]
                continue
            femtofarads = self._cable.capacitance("single_ff", contact, -1, now_us) or parts.CONTACT_FF
            ohm = parts.TIE_OHM if tied >> contact & 1 else parts.FEED_OHM[CHARGE] or 0
            self._charges[contact] = [microvolts, float(now_us), ohm * (femtofarads + parts.BUS_FF) * 1e-9]

    # Live ports.

    def _is_listening(self) -> bool:
        switchboard = self._switchboard
        return (
            bool(switchboard.pin(FORCE))
            and switchboard.range() == VOLTMETER
            and not switchboard.pin(SOURCE)
            and self._cable.has_sources
        )

    def _heard(self, at_ps: int) -> tuple[int, int]:
        """Return (level, next change) of the edges that live ports make between the two contacts selected."""
        a, b = self._switchboard.selected()
        threshold = parts.SUPPLY_MV * self._switchboard.threshold() // 65536
        level, change_ps = 0, NEVER_PS
        for entry in self._cable.links():
            reached = (a in (entry["contact"], entry["other"])) + (b in (entry["contact"], entry["other"]))
            if reached * abs(entry["millivolts"]) <= 2 * threshold:
                continue
            # 10BASE-T link test pulses, every 16 ms while the port is awake.
            every_ps = levels.LINK_PULSE_EVERY_US * 1_000_000
            phase_ps = at_ps % every_ps
            begin_ps = at_ps - phase_ps
            if phase_ps < PULSE_PS and active(entry, begin_ps // 1_000_000):
                level = 1
                change_ps = min(change_ps, begin_ps + PULSE_PS)
            else:
                following_ps = begin_ps + every_ps
                while not active(entry, following_ps // 1_000_000):
                    if following_ps - at_ps > 5_000_000_000_000:
                        following_ps = NEVER_PS
                        break
                    following_ps += every_ps
                change_ps = min(change_ps, following_ps)
        return level, change_ps


def crossings(t0_ps: int, dt_ps: int, microvolts: "list[int]", threshold: int) -> list[tuple[int, int]]:
    """Return when a sampled waveform, nothing before its first sample, passes a threshold: (ps, new level)."""
    changes = []
    above = 0
    for number, value in enumerate(microvolts):
        now_above = 1 if value > threshold else 0
        if now_above != above:
            earlier = microvolts[number - 1] if number else 0
            share = (threshold - earlier) * dt_ps // (value - earlier) if number else 0
            changes.append((t0_ps + (number - 1) * dt_ps + share if number else t0_ps, now_above))
            above = now_above
    return changes
