"""The job file of a lot: what a plan says is what is read back."""

from pathlib import Path

import pytest

from wiremap.errors import FileError
from wiremap.records.lots.plan import LotPlan, plan_text, read_plan


@pytest.mark.parametrize("terminators", [None, 0, 1, 2])
def test_a_plan_is_read_back_as_it_was_written(terminators: int | None, tmp_path: Path) -> None:
    """Terminators that are asked for, none included, are kept; where nobody asked nothing is written."""
    plan = LotPlan(expect="m12a-5pole", require=("terminators",), count=3, terminators=terminators)
    path = tmp_path / "lot.toml"
    path.write_text(plan_text(plan), encoding="utf-8")
    assert read_plan(path) == plan
    assert ("terminators =" in plan_text(plan)) == (terminators is not None)


@pytest.mark.parametrize("said", ["-1", "7", "1.5", '"two"'])
def test_a_number_that_no_bus_has_is_refused(said: str, tmp_path: Path) -> None:
    """The file, the key and what is allowed are named."""
    path = tmp_path / "lot.toml"
    path.write_text(f"format = 1\nterminators = {said}\n", encoding="utf-8")
    with pytest.raises(FileError, match="terminators"):
        read_plan(path)
