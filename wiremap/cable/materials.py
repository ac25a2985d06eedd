"""What a metre of cable is: capacitance, inductance and resistance, how far they may stray, and copper by gauge.

The numbers are data (materials.toml, each with its source); what follows from them is here.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from wiremap.cable.tables import Table, read_table
from wiremap.errors import UsageError

LIGHT_M_PER_S = 299_792_458.0
Matrix = tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class CableKind:
    """Matrices of one metre of four-pair cable; conductors 2k and 2k + 1 are pair k, pairs 0 and 2 lie diagonal.

    capacitance_pf_per_m: Maxwell's, relative to the reference (the foil, or a far surrounding); symmetric,
        what a row leaves over is the conductor's own to the reference.
    inductance_nh_per_m: external, at high frequency.
    """

    name: str
    capacitance_pf_per_m: Matrix
    inductance_nh_per_m: Matrix


@dataclass(frozen=True, slots=True)
class Copper:
    """Annealed copper: conductivity at 20 degrees C (m per ohm mm2) and change of resistance per kelvin."""

    conductivity_m_per_ohm_mm2: float
    temperature_coefficient_per_k: float


@dataclass(frozen=True, slots=True)
class Conductors:
    """What conductors data cables have, and the largest resistance one may have (ohms per metre at 20 degrees C).

    lay_factor: metres of wire in a metre of sheath, by the twist.
    """

    usual_awg: float
    lay_factor: float
    lay_factor_u: float
    largest_ohm_per_m: float
    largest_patch_ohm_per_m: float


@dataclass(frozen=True, slots=True)
class PairSpread:
    """A pair's figures and how far a sound cable may stray from them.

    low/high and half_width bound rectangular distributions; names ending in _u are relative standard
    uncertainties.
    """

    nvp_low: float
    nvp_high: float
    capacitance_low_pf_per_m: float
    capacitance_high_pf_per_m: float
    largest_capacitance_pf_per_m: float
    impedance_ohm: float
    delay_u: float
    largest_delay_u: float
    capacitance_u: float
    impedance_u: float
    resistance_half_width: float
    temperature_half_width_k: float
    contact_ohm: float
    contact_half_width_ohm: float
    proximity: float
    loss_tangent: float


@dataclass(frozen=True, slots=True)
class Materials:
    """Everything materials.toml says."""

    copper: Copper
    conductors: Conductors
    pair: PairSpread
    kinds: dict[str, CableKind]


def _numbers(table: Table, names: Iterable[str]) -> dict[str, float]:
    values = {name: table.take_number(name, 0.0, 1e6) for name in names}
    table.finish()
    return values


@cache
def materials() -> Materials:
    """Return what materials.toml says."""
    table = read_table(Path(__file__).with_name("materials.toml"))
    table.take_format(1)
    copper = _numbers(table.take_table("copper"), Copper.__dataclass_fields__)
    wires = _numbers(table.take_table("conductors"), Conductors.__dataclass_fields__)
    pair = _numbers(table.take_table("pair"), PairSpread.__dataclass_fields__)
    kinds = {}
    for name in table.names():
        entry = table.take_table(name)
        kinds[name] = CableKind(
            name, entry.take_matrix("capacitance_pf_per_m"), entry.take_matrix("inductance_nh_per_m")
        )
        entry.finish()
    return Materials(Copper(**copper), Conductors(**wires), PairSpread(**pair), kinds)


def cable_kind(name: str) -> CableKind:
    """Return a kind of cable by name; UsageError when it is not known."""
    kinds = materials().kinds
    if name not in kinds:
        raise UsageError(f"there is no cable kind '{name}'", "Known: " + ", ".join(kinds) + ".")
    return kinds[name]


def awg_diameter_mm(awg: float) -> float:
    """Return the diameter of a solid conductor by gauge (ASTM B258)."""
    return float(0.127 * 92.0 ** ((36.0 - awg) / 39.0))


def copper_ohm_per_m(awg: float, celsius: float = 20.0, conductivity: float = 1.0) -> float:
    """Return the resistance of one metre of one solid conductor, ohms.

    conductivity: relative to annealed copper, 0.62 to 0.68 for copper-clad aluminium.
    """
    copper = materials().copper
    area_mm2 = math.pi / 4 * awg_diameter_mm(awg) ** 2
    at_20 = 1.0 / (copper.conductivity_m_per_ohm_mm2 * conductivity * area_mm2)
    return at_20 * (1.0 + copper.temperature_coefficient_per_k * (celsius - 20.0))
