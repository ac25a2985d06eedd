"""Pins of the boards' chips, against the drawings of their packages as makers and module boards print them.

Each drawing is a chip from above with its notch at the top, read line by line: left pin, right pin. Sources: Microchip
DS20001952, MCP23S17 in PDIP (28 pins) and the quads of its op-amp sheets in PDIP (14 pins); Texas Instruments' sheet of
the CD74HC4067 (24 pins), both as reprinted in public libraries of drivers; the print on modules with an ADS1115; TL431
in TO-92 as onsemi numbers it; BAV99 in SOT-23: 1 anode, 2 cathode, 3 both (Nexperia's sheet, from memory).
"""

from collections.abc import Callable

import pytest

from firmware_sim.hardware import kinds
from firmware_sim.hardware.part import Kind

PORT = """
B0 A7
B1 A6
B2 A5
B3 A4
B4 A3
B5 A2
B6 A1
B7 A0
VDD INTA
VSS INTB
CS RESET
SCK addr2
SI addr1
SO addr0
"""
MULTIPLEXER = """
COM VCC
I7 I8
I6 I9
I5 I10
I4 I11
I3 I12
I2 I13
I1 I14
I0 I15
S0 E
S1 S2
GND S3
"""
QUAD = """
OUTA OUTD
A- D-
A+ D+
VDD VSS
B+ C+
B- C-
OUTB OUTC
"""


def _from_above(drawing: str) -> dict[str, str]:
    """Return the names of pins by their numbers: down the left side, up the right."""
    rows = [row.split() for row in drawing.split("\n") if row]
    left, right = [row[0] for row in rows], [row[1] for row in rows]
    return {str(number): name for number, name in enumerate([*left, *reversed(right)], 1)}


def _ours(kind: Kind) -> dict[str, str]:
    return {pin.number: pin.name for pin in kind.pins}


def _port(name: str) -> str:
    if name.startswith("addr"):
        return f"A{name[-1]}"
    return f"GP{name}" if name[0] in "AB" and len(name) == 2 else name


def _multiplexer(name: str) -> str:
    return {"COM": "Z"}.get(name, name.replace("I", "Y") if name[1:].isdigit() and name[0] == "I" else name)


def _quad(name: str) -> str:
    if name.startswith("V"):
        return name
    letter = name[-1] if name.startswith("OUT") else name[0]
    number = "ABCD".index(letter) + 1
    return f"OUT{number}" if name.startswith("OUT") else f"IN{number}{name[-1]}"


@pytest.mark.parametrize(
    ("drawing", "kind", "named"),
    [(PORT, kinds.PORT, _port), (MULTIPLEXER, kinds.MULTIPLEXER, _multiplexer), (QUAD, kinds.QUAD, _quad)],
    ids=["port", "multiplexer", "quad"],
)
def test_pins_are_where_the_drawing_has_them(drawing: str, kind: Kind, named: Callable[[str], str]) -> None:
    """Every pin by number."""
    published = _from_above(drawing)
    assert _ours(kind) == {number: named(name) for number, name in published.items()}


def test_small_packages_and_the_module() -> None:
    """The module's row of holes; three pins each of shunt and clamp."""
    assert list(_ours(kinds.CONVERTER).values()) == ["VDD", "GND", "SCL", "SDA", "ADDR", "ALRT", "A0", "A1", "A2", "A3"]
    assert _ours(kinds.SHUNT) == {"1": "R", "2": "A", "3": "K"}
    assert _ours(kinds.CLAMP) == {"1": "A", "2": "K", "3": "AK"}


def test_the_pico_has_its_grounds_and_its_rows() -> None:
    """26 of the chip's pins in order, grounds at 3, 8, 13, ... 38, rails last (the Pico's sheet, from memory)."""
    pins = _ours(kinds.PICO)
    assert [int(number) for number, name in pins.items() if name == "GND"] == [3, 8, 13, 18, 23, 28, 38]
    assert pins["33"] == "AGND"
    chip = [int(name[2:]) for name in pins.values() if name.startswith("GP")]
    assert chip == [*range(23), 26, 27, 28]
    last = {30: "RUN", 35: "ADC_VREF", 36: "3V3", 37: "3V3_EN", 39: "VSYS", 40: "VBUS"}
    assert {number: pins[str(number)] for number in last} == last
