"""Parts of one bench board that are not as they should be: of another value, missing, or leaking.

A part goes by its reference in the netlist. What the simulated board does not feel (a bleed, a pull-up, a clamp's
absence) is not among them.
"""

from firmware_sim.board.bench.values import CONTACTS, Values

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

GONE_US = 1e-9  # what is left of a resistor that is missing
WHOLE = 1_000_000
DEAD = {
    "U2": "port near",
    "U3": "port far",
    "U4": "multiplexer a",
    "U5": "multiplexer b",
    "U6": "amplifier",
    "U7": "converter",
    "Q1": "rail",
}


def put_off(values: Values, described: "dict[str, Any]") -> "list[str]":
    """Let parts be off; return the chips that are missing, as the board calls its faults.

    described: the tables' "board": off, millionths of its value by reference, 0 = missing; leaks, nanoampere by the
    reference of a clamp or a multiplexer, at the whole rail.
    """
    off: "dict[str, int]" = described.get("off") or {}
    part: "dict[str, int]" = described["values"]
    gone = []
    for reference, millionths in off.items():
        if reference in DEAD:
            if millionths == 0:
                gone.append(DEAD[reference])
        elif reference[0] == "C":
            number = int(reference[1:]) - 1
            (values.pedestal_pf if number % 2 else values.step_pf)[number // 2] *= millionths / WHOLE
        else:
            _resistor(values, part, int(reference[1:]), millionths)
    _lift(values, part, off)
    _gain(values, off)
    for reference, nanoampere in (described.get("leaks") or {}).items():
        if reference[0] == "D":
            values.leak_ua[int(reference[1:]) - 1] += nanoampere / 1000.0
        else:
            values.leak_us["U4 U5".split().index(reference)] += nanoampere / 1000.0 / values.rail_v
    return gone


def _resistor(values: Values, part: "dict[str, int]", number: int, millionths: int) -> None:
    if number <= CONTACTS:
        for us in (values.low_us, values.high_us):
            us[number - 1] = _changed(us[number - 1], part["drive_ohm"], millionths)
    elif 21 <= number < 21 + CONTACTS:
        values.sense_us[number - 21] = _changed(values.sense_us[number - 21], part["sense_ohm"], millionths)
    elif 56 <= number <= 58:
        values.divider_ohm[number - 56] = values.divider_ohm[number - 56] * millionths / WHOLE if millionths else 1e12
    elif 43 <= number <= 51:
        side, place = (number - 43) // 5, (number - 43) % 5
        if place < 2:
            pull = (values.up_us, values.down_us)[place]
            pull[side] = pull[side] * WHOLE / millionths if millionths else 0.0
        elif place < 4:
            step = 2 * side + place - 2
            values.step_us[step] = values.step_us[step] * WHOLE / millionths if millionths else GONE_US


def _changed(us: float, ohm: int, millionths: int) -> float:
    """Return the conductance of a resistor, and what is in series with it, once it is off."""
    return 1e6 / (1e6 / us + ohm * (millionths / WHOLE - 1.0)) if millionths else GONE_US


def _lift(values: Values, part: "dict[str, int]", off: "dict[str, int]") -> None:
    """Let the ground lead and what lifts it be off."""
    before = after = 0.0
    for shares in (False, True):
        leg = part["ground_lead_ohm"] * (off.get("R41", WHOLE) / WHOLE or 1e9 if shares else 1.0)
        lift = part["lift_ohm"] * (off.get("R42", WHOLE) / WHOLE or 1e9 if shares else 1.0)
        before, after = after, leg / (leg + lift)
    values.lift_v *= after / before


def _gain(values: Values, off: "dict[str, int]") -> None:
    """Let the three resistors of the difference be off."""
    above = sum([off.get(name, WHOLE) / WHOLE or 1e3 for name in ("R53", "R54")]) / 2
    below = off.get("R55", WHOLE) / WHOLE
    values.gain = 1.0 + (values.gain - 1.0) * above / below if below else 1.0
