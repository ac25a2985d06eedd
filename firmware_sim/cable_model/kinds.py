"""Kinds of cable: conductors, pairs and the matrices of a metre, from kinds.toml."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from firmware_sim.cable_model.cross_section import Geometry, helix_factors
from firmware_sim.cable_model.plugs import SCREEN
from firmware_sim.cable_model.toml_table import Table, read_table


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of cable; conductors in matrix order, the screen (where there is one) last and not in the matrices.

    c_pf_per_m: Maxwell capacitance matrix [n][n], against the screen or, without one, the surroundings.
    wet_c_pf_per_m: the same with water in the core. l_nh_per_m: external inductance matrix [n][n].
    helix: metres of wire per metre of sheath, per conductor. screen_ohm_per_m: 0 = no screen.
    """

    name: str
    conductors: tuple[str, ...]
    pairs: tuple[tuple[str, str], ...]
    awg: int
    screen_ohm_per_m: float
    geometry: Geometry
    helix: tuple[float, ...]
    c_pf_per_m: tuple[tuple[float, ...], ...]
    wet_c_pf_per_m: tuple[tuple[float, ...], ...]
    l_nh_per_m: tuple[tuple[float, ...], ...]

    @property
    def screened(self) -> bool:
        """Whether the cable has a screen."""
        return SCREEN in self.conductors


@cache
def kinds() -> dict[str, Kind]:
    """Return every kind of cable, by name."""
    table = read_table(Path(__file__).with_name("kinds.toml"))
    return {name: _kind(name, table.take_table(name)) for name in table.names()}


def _kind(name: str, table: Table) -> Kind:
    conductors = table.take_words("conductors")
    screen_ohm_per_m = table.take_number("screen_ohm_per_m", 0, 10)
    geometry = Geometry(
        centres=tuple((x, y) for x, y in table.take_matrix("centres_mm")),
        wire_mm=table.take_number("wire_mm", 0.1, 3),
        insulation_mm=table.take_numbers("insulation_mm"),
        insulation_permittivity=table.take_number("insulation_permittivity", 1, 10),
        lays_mm=table.take_numbers("lays_mm"),
        core=1.0,
        reference_mm=table.take_number("reference_mm", 0.5, 100),
        jacket=_jacket(table),
    )
    kind = Kind(
        name=name,
        conductors=(*conductors, SCREEN) if screen_ohm_per_m else conductors,
        pairs=tuple((conductors[k], conductors[k + 1]) for k in range(0, len(conductors), 2)),
        awg=table.take_whole("awg", 10, 40),
        screen_ohm_per_m=screen_ohm_per_m,
        geometry=geometry,
        helix=tuple(float(factor) for factor in helix_factors(geometry) for _ in range(2)),
        c_pf_per_m=table.take_matrix("c_pf_per_m"),
        wet_c_pf_per_m=table.take_matrix("wet_c_pf_per_m"),
        l_nh_per_m=table.take_matrix("l_nh_per_m"),
    )
    table.finish()
    return kind


def _jacket(table: Table) -> tuple[float, float, float] | None:
    if not table.has("jacket"):
        return None
    inner_mm, outer_mm, permittivity = table.take_numbers("jacket")
    return inner_mm, outer_mm, permittivity
