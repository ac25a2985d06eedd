"""Materials are data that a record carries and gives back as they were."""

from typing import Any

import pytest

from wiremap.cable.materials import materials, materials_from
from wiremap.cable.remotes import remote_set, remotes_from
from wiremap.cable.tables import Table
from wiremap.errors import FileError


def test_materials_and_remotes_come_back_from_plain_values() -> None:
    """What a record keeps of materials and remotes is all of them."""
    assert materials_from(Table("x", materials().to_builtins())) == materials()
    assert remotes_from(Table("x", remote_set().to_builtins())) == remote_set()


@pytest.mark.parametrize(
    ("part", "name", "value"),
    [
        ("pair", "nvp_low", 0.0),
        ("pair", "nvp_low", 0.9),
        ("pair", "capacitance_u", 2.0),
        ("copper", "conductivity_m_per_ohm_mm2", 0.0),
        ("copper", "temperature_coefficient_per_k", 1e6),
        ("conductors", "lay_factor", "1"),
        ("pair", "unheard_of", 1.0),
        ("UTP", "capacitance_pf_per_m", [[1.0]]),
        ("UTP", "capacitance_pf_per_m", [[0.0] * 8] * 8),
        ("F/UTP", "inductance_nh_per_m", [[1.0] * 8] * 8),
    ],
)
def test_materials_that_are_none_are_refused(part: str, name: str, value: object) -> None:
    """A figure out of its range, a matrix of no cable and an unknown key name themselves, and nothing is computed."""
    plain: dict[str, Any] = materials().to_builtins()
    plain[part] = plain[part] | {name: value}
    with pytest.raises(FileError, match=name):
        materials_from(Table("materials", plain))


def test_both_kinds_must_be_there() -> None:
    """Judging tells two kinds of cable apart, so both must have their matrices."""
    plain = materials().to_builtins()
    del plain["F/UTP"]
    with pytest.raises(FileError, match="F/UTP"):
        materials_from(Table("materials", plain))
