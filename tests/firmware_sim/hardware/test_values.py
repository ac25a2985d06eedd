"""The simulator's values are the netlist's."""

import json
from dataclasses import asdict, replace

import pytest

from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.values import bare_values, bench_values


def test_values_are_what_the_board_says() -> None:
    """Ohms, femtofarads, millivolts as they are printed on the parts; the shunt by hand: 2.495 V x (1 + 8.06/20)."""
    values = bench_values(bench())
    assert (values.drive_ohm, values.port_series_ohm, values.sense_ohm) == (3_000, 330, 22_000)
    assert (values.step_ff, values.pedestal_ff, values.gain_thousandths) == (220_000, 100_000, 11_000)
    assert values.shunt_mv == int(2495 * (1 + 8.06 / 20))
    assert (values.up_tolerance, values.dn_tolerance, values.step_tolerance) == (1_000, 10_000, 10_000)
    assert bare_values(bare()).series_ohm == bare_values(bare(clamped=False)).series_ohm == 68_000
    assert json.loads(json.dumps(asdict(values))) == asdict(values)


@pytest.mark.parametrize(
    ("reference", "field"), [("R1", "drive_ohm"), ("C1", "step_ff"), ("R57", "known_ohm"), ("R42", "lift_ohm")]
)
def test_a_value_follows_its_part(reference: str, field: str) -> None:
    """Double a part: the value doubles."""
    board = bench()
    doubled = replace(board.part(reference).kind, quantity=2 * (board.part(reference).kind.quantity or 0))
    parts = tuple(replace(part, kind=doubled) if part.reference == reference else part for part in board.parts)
    changed = bench_values(replace(board, parts=parts))
    assert getattr(changed, field) == 2 * getattr(bench_values(board), field)
