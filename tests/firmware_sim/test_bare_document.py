"""firmware_sim/BARE.md takes a hobbyist from parts to the first verdict: its numbers are those of the data."""

import re
import runpy
import tomllib
from itertools import combinations
from pathlib import Path

import pytest

import wiremap
from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.lists import price_eur
from firmware_sim.hardware.values import bare_values
from firmware_sim.launcher import PACKAGE
from tests.firmware_sim.nano.chip import BLEED_OHM, LEAD_OHM, PINS
from tests.firmware_sim.nano.counts import JOINED_OHM, OPEN_OHM

BARE = (PACKAGE / "BARE.md").read_text(encoding="utf-8")
DRAWING = (PACKAGE / "bare.svg").read_text(encoding="utf-8")
CONTACTS = [f"{end} {name}" for end in ("near", "far") for name in (*map(str, range(1, 9)), "S")]
REMOTES = Path(wiremap.__file__).parent / "cable" / "remotes.toml"
POWER_VOLT, ASKED_OHM = 57, 26_500  # power over the cable; up to here its source may switch on (from memory)


def column(name: str) -> list[str]:
    """Return a column of the table of wiring, near 1 to far S."""
    rows = [[cell.strip() for cell in row.strip("|").split("|")] for row in BARE.splitlines() if row.startswith("| ")]
    head = next(row for row in rows if row[0] == "contact" and name in row)
    found = {row[0]: row[head.index(name)] for row in rows[rows.index(head) + 1 :] if row[0] in CONTACTS}
    assert list(found) == CONTACTS
    return list(found.values())


def test_the_caution_stands_first() -> None:
    """Before anything else is said: never near power over the cable, and what the diodes are for."""
    assert BARE.splitlines()[2].startswith("**Never near power over the cable.** Without the eighteen dual diodes")
    assert "nobody has built" in BARE[:600]


def test_parts_are_those_of_the_netlist() -> None:
    """Resistor, diodes and price as the board's netlist has them; 57 V drive what is said through the resistor."""
    board = bare()
    values = bare_values(board)
    counts = {name: sum(part.kind.name == name for part in board.parts) for name in ("resistor", "dual diode", "jack")}
    assert (counts["resistor"], counts["dual diode"], counts["jack"]) == (18, 18, 2)
    assert f"| 18 | resistor, metal film, 0.25 W, 250 V | {values.series_ohm // 1000} kohm 1 % |" in BARE
    assert values.series_tolerance == 10_000
    assert (
        f"| 18 | dual diode | {next(part.kind.value for part in board.parts if part.kind.name == 'dual diode')}" in BARE
    )
    assert round(price_eur(bare(clamped=False)) / 5) * 5 == 10
    assert "about 10 EUR" in BARE
    assert POWER_VOLT / (values.series_ohm * 0.99) < 0.9e-3
    assert POWER_VOLT**2 / (values.series_ohm * 0.99) < 0.25
    assert values.series_ohm * 0.99 / 2 > ASKED_OHM
    for ohm in (values.series_ohm, LEAD_OHM):
        assert f"{ohm // 1000} kohm" in DRAWING
    assert f"{BLEED_OHM // 1_000_000} Mohm" in DRAWING
    assert f"| {BLEED_OHM // 1_000_000} Mohm |" in BARE


def test_the_picos_pins_are_those_of_the_netlist() -> None:
    """Each contact's resistor leads to the pin that the table names."""
    board = bare(clamped=False)
    chip = board.part("U1")
    led = {net: pin.name for pin, net in zip(chip.kind.pins, chip.nets, strict=True)}
    wanted = [led[f"{end[0].upper()}{name}_P"] for end, name in (contact.split() for contact in CONTACTS)]
    assert column("Pico") == wanted


def test_the_nanos_pins_are_those_of_its_program_and_of_the_simulated_board() -> None:
    """The table, the comments beside the program's masks, the masks, and the board that the tests run agree."""
    source = (PACKAGE / "nano" / "pins.c").read_text(encoding="utf-8")
    found = re.findall(r"\{PORT_(\w), 1 << (\d)\}, /\* (\w+ \w): (\w+) \*/", source)
    first = {"D": 0, "B": 8, "C": 0}
    for bank, bit, _, name in found:
        assert name == f"{'A' if bank == 'C' else 'D'}{first[bank] + int(bit)}"
    named = {contact: name for _, _, contact, name in found}
    screen = re.search(r"FAR_SCREEN_INPUT = (\d) /\* far S: (\w+) \*/", source)
    assert screen is not None
    assert screen[2] == f"A{screen[1]}"
    named["far S"] = screen[2]
    assert column("Nano") == [named[contact] for contact in CONTACTS] == PINS.split(",")


@pytest.mark.parametrize(("name", "folder", "prefix"), [("Pico", "pico", "GP"), ("ESP32", "esp32", "")])
def test_the_pins_are_those_that_the_firmware_drives(name: str, folder: str, prefix: str) -> None:
    """Each pin of the table is the one in the file of pins that goes onto the board."""
    pins = runpy.run_path(str(PACKAGE / "firmware" / "bare" / folder / "contacts.py"))["PINS"]
    assert column(name) == [f"{prefix}{pin}" for pin in pins]


def test_remotes_have_the_values_that_the_judge_knows() -> None:
    """Every resistor of every remote, their tolerance, rating and label, stand in the table as in the data."""
    data = tomllib.loads(REMOTES.read_text(encoding="utf-8"))
    for contact in ("S", *map(str, range(1, 9))):
        values = " | ".join(str(data[remote][contact]) for remote in "ABCD")
        assert f"| {contact} | {values} |" in BARE
    assert f"{data['tolerance'] * 100:g} %, {data['rated_watt']:g} W, of the E96" in BARE
    assert BARE.count(f"**{data['label']}**") == 2
    assert DRAWING.count(data["label"]) == 2
    sums = [a + b for remote in "ABCD" for a, b in combinations(data[remote].values(), 2)]
    assert max(sums) * (1 + data["tolerance"]) < 14_500
    assert "14.5 kohm" in BARE
    assert "0.76 W" in BARE
    assert "0.76 W" in REMOTES.read_text(encoding="utf-8")


def test_what_the_text_says_of_limits_is_what_they_are() -> None:
    """Joined below 10 kohm, open above 1 Mohm, as tests of the scan have it; voltages as the programs answer them."""
    commands = (PACKAGE / "nano" / "commands.c").read_text(encoding="utf-8")
    look = (PACKAGE / "firmware" / "bare" / "look.py").read_text(encoding="utf-8")
    assert "READS_HIGH_MV = 3000, SCREEN_READS_HIGH_MV = 1000" in commands
    assert "SEEN_MV = 2000" in look
    assert "a Pico surely sees 2 V and a Nano 3 V (1 V at far S)" in " ".join(BARE.split())
    assert f"Below {JOINED_OHM / 1000:g} kohm is joined, above {OPEN_OHM / 1e6:g} Mohm is open" in BARE
