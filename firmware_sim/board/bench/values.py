"""What one bench board has: the parts of its netlist, each within its tolerance, and what its chips do.

The netlist's values come with the tables. What chips do is from memory or assumed, and marked so; none was measured.
Ohm, volts, picofarads unless a name says otherwise.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

SIDE = 9  # contacts a side
CONTACTS = 2 * SIDE
SUPPLY_V = 3.3

LOW_OHM, HIGH_OHM = 60.0, 90.0  # a port's output; 30 to 100 and 50 to 150 (from memory)
PORT_TOLERANCE = 0.45
SWITCH_OHM, SWITCH_TOLERANCE = 100.0, 0.5  # a multiplexer's; 40 to 150 (from memory)
COMMON_PF, COMMON_TOLERANCE = 75.0, 0.3  # multiplexer, amplifier, wiring (assumption)
CONTACT_PF, CONTACT_TOLERANCE = 70.0, 0.4  # clamp, port, multiplexer, socket (assumption)
STRAY_PF = 3.0  # between a step's capacitor and its resistor (assumption)
ORDINARY = 0.01  # tolerance of resistors whose own the netlist's values do not tell
GAIN_TOLERANCE = 0.02  # two resistors of 1 % against one
OFFSET_V = 0.0045  # of each amplifier (data sheet, from memory)
FLOOR_V, FLOOR_TOLERANCE = 0.0135, 0.85  # how near to ground an amplifier comes: 2 to 25 mV (from memory)
RAIL_DROP_V = 0.002  # across the switch that feeds the rail
SUPPLY_TOLERANCE = 0.05
CLAMP_V = 0.4  # beyond the rails, what a multiplexer's own diodes let stand at a common (from memory)
LEAK_NA = 1.0  # of a contact, of a common, at the whole rail (typical, from memory; the worst that is looked at is 100)
LEAK_V = 50.0  # what it would take to change a contact's leakage by as much again (assumption)
BODY_V = 0.75  # beyond the rails, where a contact's clamp conducts (BAV99, from memory)
INJECTION_PF_V = 3.0  # picocoulomb that a multiplexer leaves on its common when it turns (assumption)
PORT_INJECTION_PF_V = 1.5  # picocoulomb that a pin leaves when it lets go (assumption)

# The chip's own converter: jumps of the code, counts, as r.m.s. noise and offset (from memory).
JUMPS_AT, JUMP, JUMP_TOLERANCE = (512, 1536, 2560, 3584), 8.0, 0.3
NOISE_COUNTS, OFFSET_COUNTS = 1.2, 3.0
# The 16-bit converter: noise in volts or in counts, whichever is more; its full scales (from memory).
FINE_NOISE_V, FINE_NOISE_COUNTS, FINE_GAIN_TOLERANCE = 8e-6, 0.8, 0.0015
RATE_TOLERANCE = 0.1  # of its conversions (data sheet, from memory)


class Values:
    """What one board has. described: the tables' "board"; its keys:

    values       the parts of the netlist: ohms, femtofarads, tolerances in millionths
    parts        number that the parts are drawn from; 0 (default) = every part as nominal
    corner       1 = every part at one end of its tolerance or the other, 0 (default) = anywhere within
    leak_na      worst leakage of a contact or a common, nanoampere at the whole rail (1)
    hum_uv, hum_hz   r.m.s. voltage along every conductor, picked up by the cable, and its frequency (0, 50)
    """

    def __init__(self, described: "dict[str, Any]") -> None:
        self._state: int = described.get("parts", 0) * 2654435761 % (1 << 32)
        self._nominal = not described.get("parts", 0)
        self._corner: int = described.get("corner", 0)
        leak_ua = described.get("leak_na", LEAK_NA) / 1000.0
        part: "dict[str, int]" = described["values"]
        each, sides = range(CONTACTS), range(2)

        def drawn(name: str) -> float:
            """Return a part that the netlist gives with its tolerance: ohms or picofarads."""
            unit = "ff" if name + "_ff" in part else "ohm"
            value = part[name + "_" + unit] / (1000.0 if unit == "ff" else 1.0)
            return value * (1 + self._off(part[name + "_tolerance"] / 1e6))

        near_low, far_low = [LOW_OHM * (1 + self._off(PORT_TOLERANCE)) for _ in sides]
        near_high, far_high = [HIGH_OHM * (1 + self._off(PORT_TOLERANCE)) for _ in sides]
        drive = [drawn("drive") + drawn("port_series") for _ in each]
        self.supply_v = SUPPLY_V * (1 + self._off(SUPPLY_TOLERANCE))
        self.rail_v = self.supply_v - RAIL_DROP_V
        self.low_us = [1e6 / (drive[c] + (near_low if c < SIDE else far_low)) for c in each]
        self.high_us = [1e6 / (drive[c] + (near_high if c < SIDE else far_high)) for c in each]
        switch = [SWITCH_OHM * (1 + self._off(SWITCH_TOLERANCE)) for _ in sides]
        self.switch_ohm = switch
        self.sense_us = [1e6 / (drawn("sense") + switch[0 if c < SIDE else 1]) for c in each]
        self.up_us = [1e6 / drawn("up") for _ in sides]
        self.down_us = [1e6 / drawn("dn") for _ in sides]
        self.step_pf = [drawn("step") for _ in sides]
        self.pedestal_pf = [drawn("pedestal") for _ in sides]
        self.step_us = [1e6 / (part["step_series_ohm"] * (1 + self._off(ORDINARY))) for _ in range(4)]
        self.common_pf = [COMMON_PF * (1 + self._off(COMMON_TOLERANCE)) for _ in sides]
        self.contact_pf = [CONTACT_PF * (1 + self._off(CONTACT_TOLERANCE)) for _ in each]
        names = ("known_top_ohm", "known_ohm", "known_bottom_ohm")
        self.divider_ohm = [part[name] * (1 + self._off(part["known_tolerance"] / 1e6)) for name in names]
        leg = part["ground_lead_ohm"] * (1 + self._off(ORDINARY))
        self.lift_v = self.supply_v * leg / (leg + part["lift_ohm"] * (1 + self._off(ORDINARY)))
        self.gain = part["gain_thousandths"] / 1000 * (1 + self._off(GAIN_TOLERANCE))
        self.offset_v = [OFFSET_V * self._off(1.0) for _ in range(4)]
        self.floor_v = [FLOOR_V * (1 + self._off(FLOOR_TOLERANCE)) for _ in sides]
        # A contact's leak is a current that hardly depends on its voltage; a common's leads to the rail or to ground.
        self.leak_ua = [leak_ua * self._sign() for _ in each]
        self.leak_us = [leak_ua / self.rail_v * self._sign() for _ in sides]
        self.injection_pf_v = [INJECTION_PF_V * self._sign() for _ in sides]
        self.port_injection_pf_v = [PORT_INJECTION_PF_V * self._sign() for _ in each]
        self.jumps = [JUMP * (1 + self._off(JUMP_TOLERANCE)) for _ in JUMPS_AT]
        self.fine_gain = 1 + self._off(FINE_GAIN_TOLERANCE)
        self.conversion_us = int(1_000_000 / 860 / (1 + self._off(RATE_TOLERANCE)))
        self.hum_v = described.get("hum_uv", 0) * 1e-6 * 1.41421356
        self.hum_hz: int = described.get("hum_hz", 50)

    def _bits(self) -> int:
        self._state = (self._state * 69069 + 1) & 0xFFFFFFFF
        return self._state >> 8

    def _off(self, tolerance: float) -> float:
        """Return how far a part is off: within its tolerance, or at one end of it."""
        if self._nominal:
            return 0.0
        drawn = self._bits() / (1 << 24) * 2 - 1
        if self._corner:
            return tolerance if drawn > 0 else -tolerance
        return drawn * tolerance

    def _sign(self) -> float:
        return 1.0 if self._bits() >> 10 & 1 else -1.0
