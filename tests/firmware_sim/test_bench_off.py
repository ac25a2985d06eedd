"""Parts of the simulated bench board that are off: each that a cable file may name is felt, and no other is named."""

from pathlib import Path
from typing import Any

import pytest

from firmware_sim.board.bench.board import BenchBoard
from firmware_sim.board.bench.off import put_off
from firmware_sim.board.bench.values import Values
from firmware_sim.board.cable import Cable
from firmware_sim.board.clock import Clock
from firmware_sim.board.noise import Noise
from firmware_sim.cable_model.tables import tables
from firmware_sim.cable_model.written.description import FELT_PARTS, LEAKING_PARTS, description_in
from firmware_sim.cable_model.written.toml_file import DescriptionError
from firmware_sim.hardware.bench import bench
from tests.firmware_sim.bench_boards import bench_tables

STRAIGHT: dict[str, Any] = {"format": 1, "near": "T568B", "far": "T568B", "board": "bench"}
SHORT = {"segment": [{"cable": "F/UTP", "length_m": 0.05}]}


def values(**described: Any) -> tuple[dict[str, Any], list[str]]:
    """Return what a board has once parts are off, and the chips that are missing."""
    board = bench_tables()["board"] | described
    made = Values(board)
    gone = put_off(made, board)
    return dict(vars(made)), gone


@pytest.mark.parametrize("reference", FELT_PARTS)
def test_every_part_that_is_named_is_felt(reference: str) -> None:
    """Missing, or leaking where that is what it can do, it changes the board; it is a part of the netlist."""
    bench().part(reference)
    sound, none = values()
    assert none == []
    if reference[0] == "D":
        found, gone = values(leaks={reference: 500})
    else:
        found, gone = values(off={reference: 0})
    assert found != sound or gone
    if reference[0] in "RC":
        up, _ = values(off={reference: 1_050_000})
        assert up != sound


def test_a_resistor_that_is_off_is_off_by_so_much() -> None:
    """5 % of 3 kohm in the drive, of 22 kohm in the sense lead, of 10 ohm in what lifts the near ground."""
    sound, _ = values()
    found, _ = values(off={"R2": 1_050_000, "R30": 1_050_000, "R41": 1_050_000, "C3": 900_000})
    assert 1e6 / found["low_us"][1] - 1e6 / sound["low_us"][1] == pytest.approx(150)
    assert 1e6 / found["sense_us"][9] - 1e6 / sound["sense_us"][9] == pytest.approx(1100)
    assert found["lift_v"] == pytest.approx(3.3 * 10.5 / 2410.5)
    assert found["step_pf"] == pytest.approx([220, 198])


def test_missing_chips_are_the_boards_faults() -> None:
    """What the self-test then finds is what it found of a part that is dead."""
    _, gone = values(off={"U2": 0, "U7": 0, "Q1": 0})
    assert sorted(gone) == ["converter", "port near", "rail"]
    given = bench_tables({"off": {"U7": 0}})
    assert BenchBoard(Clock(), Cable(given), Noise(1), given["board"]).addresses() == []


@pytest.mark.parametrize(
    ("part", "says"),
    [
        ({"reference": "R99"}, "part[1].reference"),
        ({"reference": "R1", "leak_na": 5.0}, "only D1 to D18, U4 and U5 leak"),
        ({"reference": "U2", "factor": 0.5}, "0 (it is missing) or 1"),
        ({"reference": "R1", "factor": -1.0}, "factor"),
    ],
)
def test_what_a_cable_file_may_not_say_of_parts(part: dict[str, Any], says: str) -> None:
    """The key, what it is, and what is allowed there."""
    with pytest.raises(DescriptionError) as error:
        description_in("file", STRAIGHT | SHORT | {"part": [part]}, Path())
    assert says in str(error.value)


def test_parts_are_the_bench_boards_alone() -> None:
    """Another board has no parts by name."""
    given = STRAIGHT | SHORT | {"board": "bare", "part": [{"reference": LEAKING_PARTS[0], "leak_na": 1.0}]}
    with pytest.raises(DescriptionError, match='only board = "bench"'):
        description_in("file", given, Path())


def test_a_capacitor_stands_in_its_conductors_place() -> None:
    """Nothing conducts there, and between its two contacts lies what it has, a plug's own beside it."""
    fault = {"kind": "capacitor", "conductors": ["brown"], "pf": 470.0}
    found = tables(description_in("file", STRAIGHT | SHORT | {"fault": [fault]}, Path()))
    nodes = found["networks"][0]["nodes"]
    near, far = nodes["lump"][7], nodes["lump"][16]
    assert near != far
    assert -nodes["af"][near][far] / 1e6 == pytest.approx(470, abs=0.5)
    for wrong in ({"pf": None}, {"kind": "open", "pf": 5.0}):
        bad = {key: value for key, value in (fault | wrong).items() if value is not None}
        with pytest.raises(DescriptionError, match="pf"):
            description_in("file", STRAIGHT | SHORT | {"fault": [bad]}, Path())
