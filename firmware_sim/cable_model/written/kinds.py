"""Kinds of cable: conductors, pairs and the matrices of a metre, from kinds.toml."""

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

import numpy as np
from msgspec import Meta, Struct

from firmware_sim.cable_model.arrays import Matrix
from firmware_sim.cable_model.written.plugs import SCREEN
from firmware_sim.cable_model.written.toml_file import read_toml, shaped


@dataclass(frozen=True, slots=True)
class Geometry:
    """A cable's cross-section, mm; pairs' circles touch. lays: of each pair's twist.

    centres: of each pair; insulation_mm: outer diameter of the insulation, per pair. core: relative permittivity of
    what fills the core (1 air, 78 water). reference_mm: radius of the foil or, for UTP, of the surroundings.
    jacket: (inner radius, outer radius, permittivity), None where the foil is inside it. foils_mm: radius of the foil
    round each pair, () = none; then nothing passes between pairs. quad: the pairs are the diagonals of four conductors
    that turn as one.
    """

    centres: tuple[tuple[float, float], ...]
    wire_mm: float
    insulation_mm: tuple[float, ...]
    insulation_permittivity: float
    lays_mm: tuple[float, ...]
    core: float
    reference_mm: float
    jacket: tuple[float, float, float] | None
    foils_mm: tuple[float, ...] = ()
    quad: bool = False


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


Numbers = tuple[float, ...]
Rows = tuple[Numbers, ...]


class _KindTable(Struct, frozen=True, forbid_unknown_fields=True):
    """One table of kinds.toml, as its own text says."""

    conductors: tuple[str, ...]
    awg: Annotated[int, Meta(ge=10, le=40)]
    screen_ohm_per_m: Annotated[float, Meta(ge=0, le=10)]
    centres_mm: tuple[tuple[float, float], ...]
    wire_mm: Annotated[float, Meta(ge=0.1, le=3)]
    insulation_mm: Numbers
    insulation_permittivity: Annotated[float, Meta(ge=1, le=10)]
    lays_mm: Numbers
    reference_mm: Annotated[float, Meta(ge=0.5, le=100)]
    c_pf_per_m: Rows
    wet_c_pf_per_m: Rows
    l_nh_per_m: Rows
    jacket: tuple[float, float, float] | None = None
    foils_mm: Numbers = ()
    quad: bool = False


@cache
def kinds() -> dict[str, Kind]:
    """Return every kind of cable, by name."""
    path = Path(__file__).with_name("kinds.toml")
    return {
        name: _kind(name, shaped(str(path), values, _KindTable, f"{name}.")) for name, values in read_toml(path).items()
    }


def _kind(name: str, table: _KindTable) -> Kind:
    conductors = table.conductors
    geometry = Geometry(
        centres=table.centres_mm,
        wire_mm=table.wire_mm,
        insulation_mm=table.insulation_mm,
        insulation_permittivity=table.insulation_permittivity,
        lays_mm=table.lays_mm,
        core=1.0,
        reference_mm=table.reference_mm,
        jacket=table.jacket,
        foils_mm=table.foils_mm,
        quad=table.quad,
    )
    return Kind(
        name=name,
        conductors=(*conductors, SCREEN) if table.screen_ohm_per_m else conductors,
        pairs=tuple((conductors[k], conductors[k + 1]) for k in range(0, len(conductors), 2)),
        awg=table.awg,
        screen_ohm_per_m=table.screen_ohm_per_m,
        geometry=geometry,
        helix=tuple(float(factor) for factor in helix_factors(geometry) for _ in range(2)),
        c_pf_per_m=table.c_pf_per_m,
        wet_c_pf_per_m=table.wet_c_pf_per_m,
        l_nh_per_m=table.l_nh_per_m,
    )


def helix_factors(geometry: Geometry) -> Matrix:
    """Return metres of wire per metre of sheath, per pair."""
    half_mm = np.array(geometry.insulation_mm) / (math.sqrt(2) if geometry.quad else 2)
    factors: Matrix = np.sqrt(1 + (2 * math.pi * half_mm / np.array(geometry.lays_mm)) ** 2)
    return factors
