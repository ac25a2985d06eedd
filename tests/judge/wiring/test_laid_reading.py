"""A reading is laid out once, in the order of its pattern's plugs, whatever order it has its contacts in."""

import ast
import random
from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

import pytest
from msgspec.structs import replace

import wiremap.judge
from tests.judge.simulated import FAR_OPEN, described, fault, measured_reading
from tests.strategies import cable, joined, plugs, reading_of
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.calibration import Calibration
from wiremap.errors import UsageError
from wiremap.judge.case import judge_case, requirements
from wiremap.judge.run.calibrated import zero_of
from wiremap.judge.wiring.laid_reading import lay_reading, near_end_only
from wiremap.judge.wiring.layout import lay_near_plug
from wiremap.reading.reading import Reading
from wiremap.report.wire_rows import wire_rows

T = TypeVar("T")
ROOM = Path(wiremap.judge.__file__).parent
STRAIGHT = pattern("straight")
Square = tuple[tuple[T, ...], ...]


def _square(rows: Square[T] | None, order: Sequence[int]) -> Square[T] | None:
    return None if rows is None else tuple(tuple(rows[i][j] for j in order) for i in order)


def _row(values: tuple[T, ...] | None, order: Sequence[int]) -> tuple[T, ...] | None:
    return None if values is None else tuple(values[i] for i in order)


def reordered(reading: Reading, seed: int) -> Reading:
    """Return the same reading with the contacts of both ends in another order."""
    chance = random.Random(seed)
    near, far = len(reading.near_contacts), len(reading.far_contacts)
    order = [*chance.sample(range(near), near), *(near + place for place in chance.sample(range(far), far))]
    contacts = reading.contacts
    names = [contacts[place].name for place in order]
    seen, known = reading.capacitance, reading.calibration
    if seen is not None:
        seen = replace(
            seen,
            two_terminal_pf=_square(seen.two_terminal_pf, order),
            single_pf=_row(seen.single_pf, order),
            double_pf=_square(seen.double_pf, order),
        )
    if known is not None:
        known = replace(
            known,
            open_pf=_square(known.open_pf, order),
            open_single_pf=_row(known.open_single_pf, order),
            open_double_pf=_square(known.open_double_pf, order),
        )
    rows = _square(reading.resistance_ohm, order)
    assert rows is not None
    return replace(
        reading,
        near_contacts=tuple(names[:near]),
        far_contacts=tuple(names[near:]),
        resistance_ohm=rows,
        low_level_ohm=_square(reading.low_level_ohm, order),
        capacitance=seen,
        calibration=known,
    )


def zeroed() -> Calibration:
    """Return what empty sockets of the simulated tester give."""
    empty = measured_reading(described(5.0, near=["-"] * 8), grouped=True, traces=False, echoes=False)
    return zero_of(empty)


CABLES = {
    "broken": described(12.0, faults=fault("open", ("blue",), 4.0)),
    "shorted": described(10.0, faults=fault("short", ("blue", "orange"), 4.0, ohm=0.2)),
    "split": described(8.0, near="in-sequence"),
    "crossed": described(8.0, far="T568A", kind="F/UTP", top='screen = "joined"'),
    "broken, seen from one end": described(10.0, faults=fault("open", ("blue",), 4.0) + FAR_OPEN),
    "joined at the far end": described(10.0, faults='[attached]\nfar = "joined"\n'),
}


@pytest.mark.parametrize("grouped", [True, False])
@pytest.mark.parametrize("name", CABLES)
def test_the_order_of_a_reading_s_contacts_does_not_matter(name: str, grouped: bool) -> None:
    """Verdict, findings, pairs, lengths, advice, wire map: the same to the last digit, in whatever order."""
    reading = measured_reading(CABLES[name], grouped=grouped, traces=False, calibration=zeroed())
    for expect in ("straight", None):
        wanted = requirements(expect=expect)
        case = judge_case(reading, wanted)
        for seed in (1, 2):
            again = judge_case(reordered(reading, seed), wanted)
            assert again.to_builtins() == case.to_builtins()
            assert wire_rows(again) == wire_rows(case)


def test_a_cable_judged_twice_is_the_same_case() -> None:
    """What was judged alike is equal, although what was not measured is NaN in the laid reading; by other rules not."""
    reading = measured_reading(CABLES["broken, seen from one end"], traces=False)
    once = judge_case(reading)
    assert once.laid is not None
    assert any(value != value for row in once.laid.ohm for value in row)
    assert judge_case(reading) == once
    assert judge_case(reading, requirements(expect="crossover")) != once
    other = lay_reading(reading, STRAIGHT, replace(limits(), joined_ohm=100.0))
    assert lay_reading(reading, STRAIGHT, limits()) != other
    assert len({other, lay_reading(reading, STRAIGHT, replace(limits(), joined_ohm=100.0))}) == 1


def test_a_laid_reading_goes_by_the_plugs() -> None:
    """Rows, numbers, cells, nets and contacts are by the plugs' order, near first, of a reading in any order."""
    nets = joined(cable(STRAIGHT, {n: n for n in range(1, 9) if n != 4}), "near 1, near 2")
    straight = lay_reading(reading_of(nets, plugs(STRAIGHT)), STRAIGHT, limits())
    turned = lay_reading(reordered(straight.reading, 5), STRAIGHT, limits())
    assert turned.layout.names == (*STRAIGHT.near_contacts, *STRAIGHT.far_contacts)
    assert (turned.ohm, turned.cells, turned.net) == (straight.ohm, straight.cells, straight.net)
    assert [list(row) for row in turned.rows] == [list(row) for row in straight.rows]
    assert turned.joined_contacts == straight.joined_contacts
    assert [str(turned.layout.contact(place)) for place in (0, 8, 9, 17)] == ["near 1", "near S", "far 1", "far S"]
    assert (turned.layout.near_place("S"), turned.layout.far_place("3")) == (8, 11)
    assert [group for group in turned.groups if 0 in group] == [(0, 1, 9, 10)]
    assert [group for group in turned.groups if 3 in group] == [(3,)]


def test_the_near_end_alone_has_nothing_at_the_far_end() -> None:
    """Everything at the far end is open then, and each near contact a net of its own; the rows are as measured."""
    laid = lay_reading(reading_of(cable(STRAIGHT, {n: n for n in range(1, 9)}), plugs(STRAIGHT)), STRAIGHT, limits())
    alone = near_end_only(laid)
    assert list(alone.net) == list(range(18))
    assert alone.rows is laid.rows


def test_a_near_plug_is_laid_on_whatever_the_tester_has_at_its_far_end() -> None:
    """With the far plug in no tester only the near contacts must be the pattern's."""
    layout = lay_near_plug(STRAIGHT, tuple("87654321"), ("a", "b"))
    assert layout.names == (*"12345678", "a", "b")
    assert layout.order == (7, 6, 5, 4, 3, 2, 1, 0, 8, 9)
    with pytest.raises(UsageError, match="near contacts 1, 2 do not fit 'straight'"):
        lay_near_plug(STRAIGHT, ("1", "2"), ())


def test_matrices_are_read_from_the_laid_reading() -> None:
    """In judging a reading's matrix of ohms is looked into where it is laid out, or order is nothing to it."""
    without_order = {
        "verdict.py",  # was anything measured at all
        "calibrated.py",  # are the sockets empty
        "observed.py",  # what a conductor has that arrives anywhere
    }
    found = {
        path.name
        for path in ROOM.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr == "resistance_ohm"
    }
    assert found == {"laid_reading.py", *without_order}
