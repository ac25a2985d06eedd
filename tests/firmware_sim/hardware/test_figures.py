"""A handful of the boards' figures; all of them stand in `python -m tests.long board`."""

from collections.abc import Iterable
from dataclasses import replace
from itertools import chain
from pathlib import Path

import pytest

from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.command import board_command
from firmware_sim.hardware.deck import Assumed, Program, deck, idle
from tests.firmware_sim.hardware import bare_figures, figures, measuring_figures, safety_figures, simulator_figures
from tests.firmware_sim.hardware.spice import Figure, needs_ngspice, run, table


def _hold(found: Iterable[Figure]) -> None:
    all_ = list(found)
    assert all_
    assert all(figure.holds for figure in all_), table(all_)


@needs_ngspice
def test_57_volts_for_ever() -> None:
    """Every fault stays within the ratings; without clamps it does not stay as small, which the deck must show."""
    _hold(chain(safety_figures.faults(), safety_figures.any_two(8)))
    _hold(measuring_figures.gate_and_rail())


@needs_ngspice
def test_what_a_source_of_power_sees(monkeypatch: pytest.MonkeyPatch) -> None:
    """States at one end of the resistors, and the two that must be bad."""
    names = (
        "idle",
        "look, N1 floats, DN",
        "bridge, N1 floats",
        "scan, N1 high, UP on F3",
        "stopped: pins inputs, VC off",
    )
    states = {name: safety_figures.BENCH_STATES[name] for name in names}
    monkeypatch.setattr(safety_figures, "BENCH_STATES", states)
    _hold(chain(safety_figures.bench_signature((1.05,)), safety_figures.unsafe()))


@needs_ngspice
def test_ohms_and_foreign_voltages() -> None:
    """Ohms of a sound board and a corner; what the look sees."""
    _hold(chain(measuring_figures.ohms(1, (0.02, 40.0)), measuring_figures.foreign(), measuring_figures.gain_zero()))


@needs_ngspice
def test_the_bare_board() -> None:
    """57 V, with clamps and without; joined and open."""
    _hold(chain(bare_figures.faults(), bare_figures.timing()))


@needs_ngspice
def test_the_simulator_stands_beside_the_decks() -> None:
    """Each function's nodes: what the simulator has, and what the whole board gives."""
    _hold(simulator_figures.simulated())


def test_what_needs_no_circuit() -> None:
    """Hum and time, by arithmetic."""
    _hold(figures.times(1))


def test_a_figure_outside_its_limits_is_no_figure() -> None:
    """The table says so, and the check fails."""
    bad = Figure("x", "V", 1.0, 2.0, 0.0, 1.5, "because")
    assert not bad.holds
    assert "DOES NOT HOLD  (because)" in table([bad])
    with pytest.raises(AssertionError):
        _hold([replace(bad, found=1.0), bad])


@needs_ngspice
def test_a_deck_follows_its_netlist(tmp_path: Path) -> None:
    """The deck that the command writes runs as it is; a resistor that is off moves its node as Ohm's law says."""
    file = tmp_path / "idle.cir"
    assert board_command(["bench", "--deck", str(file)]) == 0
    nodes = run(file.read_text(encoding="ascii"))
    rail = nodes["vc"]
    assert nodes["known_hi"] == pytest.approx(rail * 3333 / 6333, rel=1e-3)
    board = bench()
    moved = run(deck(board, idle(board), analysis=".control\nop\nprint all\n.endc", factors={"R58": 2.0}))
    assert moved["known_hi"] == pytest.approx(moved["vc"] * 6633 / 9633, rel=1e-3)


def test_a_deck_refuses_what_the_board_has_not() -> None:
    """A pin that nothing drives and a part that is not there are named."""
    board = bench()
    with pytest.raises(KeyError, match="no pin of bench drives N9_P"):
        deck(board, Program({"N9_P": "low"}))
    with pytest.raises(KeyError, match="bench has no part R999"):
        deck(board, Program(), Assumed(), factors={"R999": 1.0})
