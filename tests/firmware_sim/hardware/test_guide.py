"""The builder's guide says what netlist and figures say."""

import json
import os
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from firmware_sim.board.bench.nodes import FILM_V
from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.bench import CONTACTS, bench
from firmware_sim.hardware.command import board_command
from firmware_sim.hardware.deck import Assumed, deck
from firmware_sim.hardware.lists import price_eur
from firmware_sim.hardware.part import Board
from firmware_sim.hardware.rules import resistors
from firmware_sim.launcher import PACKAGE, main
from tests.firmware_sim.hardware import measuring_figures, safety_figures, time_figures
from tests.firmware_sim.hardware.spice import AT_REST, Figure, needs_ngspice, run
from wiremap.cable.limits import limits

MANUAL = (PACKAGE / "README.md").read_text(encoding="utf-8")
GUIDE = MANUAL[MANUAL.index("## Building the bench board") :]
LINES = re.sub(r"\s+", " ", GUIDE)


def _ohm(board: Board, a: str, b: str) -> float:
    """Return the resistance between two nets with nothing but the board's resistors soldered in."""
    nets = sorted({net for one in resistors(board) for net in one[:2]})
    place = {net: number for number, net in enumerate(nets)}
    matrix = np.eye(len(nets)) * 1e-12
    for one, other, ohm, _ in resistors(board):
        i, j = place[one], place[other]
        matrix[[i, j], [i, j]] += 1 / ohm
        matrix[[i, j], [j, i]] -= 1 / ohm
    flow = np.zeros(len(nets))
    flow[place[a]], flow[place[b]] = 1, -1
    volts = np.linalg.solve(matrix, flow)
    return float(volts[place[a]] - volts[place[b]])


def test_what_the_ohm_meter_shows() -> None:
    """Each resistance of the guide, from the netlist's resistors alone."""
    board = bench()
    assert "From VC to GND 838 ohm" in LINES
    assert _ohm(board, "VC", "GND") == pytest.approx(838, abs=0.5)
    assert "to its port pin in the empty socket 3.33 kohm, to its multiplexer pin 22 kohm" in LINES
    for contact in CONTACTS:
        assert _ohm(board, contact, f"{contact}_P") == pytest.approx(3_330)
        assert _ohm(board, contact, f"{contact}_S") == pytest.approx(22_000)
    assert all(_ohm(board, a, b) > 1e6 for a, b in pairwise(CONTACTS))
    assert all(_ohm(board, screen, "GND") > 1e6 for screen in ("NS", "FS"))
    assert "From GATE to 3V3 2.2 kohm" in LINES
    assert _ohm(board, "GATE", "3V3") == pytest.approx(2_200)
    assert "From NGND to GND 10 ohm" in LINES
    assert _ohm(board, "NGND", "GND") == pytest.approx(10)
    assert "the known divider's upper end is at 0.526 of VC" in LINES
    assert pytest.approx(0.526, abs=5e-4) == 3_333 / 6_333


def test_counts_and_prices() -> None:
    """Parts, and euros to the nearest five."""
    assert f"This one has {len(bench().parts)} parts" in LINES
    assert f"the board of {len(bare(clamped=False).parts)} parts" in LINES
    assert "(about 40 EUR)" in LINES
    assert 5 * round(price_eur(bench()) / 5) == 40


def test_every_option_is_in_the_guide(capsys: pytest.CaptureFixture[str]) -> None:
    """Each option and each board of the command."""
    with pytest.raises(SystemExit):
        board_command(["--help"])
    said = capsys.readouterr().out
    for option in set(re.findall(r"--[a-z-]+", said)) - {"--help"}:
        assert f"`{option}" in GUIDE, option
    for name in ("bench", "bare", "bare-clamped"):
        assert f"`{name}`" in GUIDE
        assert name in said


def test_references_of_the_guide_are_the_boards() -> None:
    """Each part that the guide names is on the board, and is what it is said to be."""
    board = bench()
    for reference in re.findall(r"\b(?:R|D|U|C|Q|RN)\d+\b", GUIDE):
        if not reference.startswith("RP"):
            board.part(reference)
    for reference, value in (("Q1", "IRLML6402"), ("U8", "TL431B"), ("R60", "8.06k"), ("R61", "20k"), ("R59", "2.2k")):
        assert board.part(reference).kind.value == value
    assert {board.part(f"R{number}").kind.watt for number in range(1, 19)} == {2.0}


def test_the_guide_says_that_nobody_built_it() -> None:
    """In its first lines."""
    assert "Nobody has built it either" in GUIDE[:500]


def test_the_program_of_the_guide(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its files are named by the command that the guide points to; on the simulator it finds a sound cable sound."""
    assert "as under [Flashing](#flashing)" in GUIDE
    assert "python -m firmware_sim --files bench" in MANUAL.partition("\n## Flashing\n")[2].partition("\n## ")[0]
    assert main(["--files", "bench"]) == 0
    files = capsys.readouterr().out.split()
    assert any(Path(file).parent.name == "bench" for file in files)
    assert all(Path(file).is_file() for file in files)
    cable = tmp_path / "patch.toml"
    cable.write_text(
        'format = 1\nboard = "bench"\nnear = "T568B"\nfar = "T568B"\n[[segment]]\ncable = "UTP"\nlength_m = 2.0\n',
        encoding="utf-8",
    )
    assert "`wiremap test --tester sim:patch --expect straight`" in " ".join(GUIDE.split())
    command = [sys.executable, "-m", "wiremap", "test", "--tester", f"sim:{cable}", "--expect", "straight", "--json"]
    home = {**os.environ, "HOME": str(tmp_path)}
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, env=home)
    assert json.loads(done.stdout)["findings"] == []
    sentence = "by how much (`TESTer:RESolution?`, 0.4 ohm), and less than five times that, 2 ohm, is called no film"
    assert sentence in LINES
    assert limits().film_sigmas == 5
    assert "(0.6 V behind 40 kohm)" in LINES  # tests/firmware_sim/test_bench_guard.py measures it
    assert "below 100 ohm in the simulator" in LINES
    assert pytest.approx(100, rel=0.05) == FILM_V / 0.49e-3
    assert "DEVIATION_MILLIOHM = 400 " in (PACKAGE / "firmware" / "bench" / "lowlevel.py").read_text()


def _found(figures: list[Figure], name: str) -> float:
    (one,) = (figure for figure in figures if name in figure.name)
    return one.found


@needs_ngspice
def test_figures_of_the_guide() -> None:
    """57 V, low level, UP and lines held high: what the guide says is what the decks give, to its last digit."""
    faults = list(safety_figures.faults())
    rails = [one.found for one in faults if "rail" in one.name and "1 contact" not in one.name and one.found > 3.4]
    assert "3.52 to 3.54 V" in LINES
    assert (round(min(rails), 2), round(max(rails), 2)) == (3.52, 3.54)
    assert "up to 1.06 W" in LINES
    assert round(_found(faults, "ground, turned round: hottest drive"), 2) == 1.06
    assert "8.7 mA and 0.23 W in a drive resistor between two contacts" in LINES
    watt = _found(faults, "1 contact, isolated, on, floating: hottest drive")
    assert (round(watt, 2), round((watt / 3_000) ** 0.5 * 1e3, 1)) == (0.23, 8.7)
    assert "18.8 mA" in LINES
    assert round((_found(faults, "ground, turned round: hottest drive") / 3_000) ** 0.5 * 1e3, 1) == 18.8
    low = measuring_figures.nodes(measuring_figures.low_but(0, 0, UP_A="high", UP_B="high", LIFT="high"), Assumed(), "")
    assert "the low level 13.3 mV of the 20 allowed" in LINES
    assert round((low["n1"] - low["f1"]) * 1e3, 1) == 13.3
    assert "keeps VC at 2.5 V" in LINES
    assert round(_found(list(measuring_figures.gate_and_rail()), "one line held high"), 1) == 2.5


@needs_ngspice
def test_how_many_contacts_the_shunt_bears() -> None:
    """Five at 57 V against ground, in the worst state; six would ask too much of it."""
    assert "not for more than five contacts at 57 V against ground at once, since the shunt takes 100 mA" in LINES
    taken = []
    for count in (5, 6):
        world = safety_figures.joined_to((CONTACTS[:count], ()), "v_fault {p} {q} 57", safety_figures.GROUNDED)
        nodes = run(deck(bench(), safety_figures.STOPPED, Assumed(limited=True), world, AT_REST))
        taken.append((nodes["shunt_ref"] - 2.495) / 0.2)
    assert taken[0] < 0.1 < taken[1]


@needs_ngspice
def test_slopes_of_the_guide() -> None:
    """Both ends of what a source sees in states at the ends of the resistors, and the share of the exception."""
    assert "slopes of 1.3 to 7.2 kohm in every state" in LINES
    seen: list[float] = []
    for factor, name, sides in (
        (0.95, "bridge, N1 floats", safety_figures.BOTH_JACKS),
        (0.95, "idle", safety_figures.BOTH_JACKS),
        (1.05, "four-wire, N1 high, N3 low", safety_figures.ONE),
        (1.05, "scan, N1 high, UP on F3", safety_figures.ONE),
    ):
        program, assumed = safety_figures.BENCH_STATES[name]
        seen += safety_figures.signature(bench(), program, sides, assumed, safety_figures.spread(factor))[:2]
    assert 1.3 <= min(seen) / 1e3 < 1.4
    assert 7.1 < max(seen) / 1e3 <= 7.2
    assert "in at most 1.2 % of all pairs of points" in LINES
    program, assumed = safety_figures.BENCH_STATES["look, N1 floats, DN"]
    *_, share = safety_figures.signature(bench(), program, safety_figures.ONE, assumed, safety_figures.spread(1.05))
    assert 0.011 < share < 0.012


@needs_ngspice
def test_what_the_guide_asks_of_a_program() -> None:
    """UP one after the other; the current taken one way alone, which errs by half of what the drives differ."""
    assert "1 us apart they put 23 mV across a film, 10 us apart 62 mV" in LINES
    apart = [round(figure.found) for figure in measuring_figures.low_level_steps((1e-6, 1e-5))]
    assert apart == [23, 62]
    assert "errs by 0.4 % for each 60 ohm by which two port pins differ" in LINES
    assert pytest.approx(0.004, abs=5e-4) == 60 / (2 * 2 * measuring_figures.DRIVE_OHM)


def test_times_of_the_guide() -> None:
    """Frames by the estimate."""
    short, long = (_found(list(time_figures.frames()), f"{metres} m") for metres in (2, 90))
    assert "frames of 12.5 ms hold them up to 2 m only" in LINES
    assert short < 12.5 < long < 33.3
