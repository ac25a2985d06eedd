"""What a metre of cable is: capacitance, inductance and resistance, how far they may stray, and copper by gauge.

The numbers are data (materials.toml, each with its source); what follows from them is here.
"""

import math
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import asdict

from wiremap.cable.tables import Table, read_table
from wiremap.errors import UsageError

LIGHT_M_PER_S = 299_792_458.0
CONDUCTORS = 8
CABLE_KINDS = ("UTP", "F/UTP")  # that judging tells apart
Matrix = tuple[tuple[float, ...], ...]


class KindMatrices(Struct, frozen=True):
    """Matrices of one metre of four-pair cable; conductors 2k and 2k + 1 are pair k, pairs 0 and 2 lie diagonal.

    capacitance_pf_per_m: Maxwell's, relative to the reference (the foil, or a far surrounding); symmetric,
        what a row leaves over is the conductor's own to the reference.
    inductance_nh_per_m: external, at high frequency.
    """

    name: str
    capacitance_pf_per_m: Matrix
    inductance_nh_per_m: Matrix


class Copper(Struct, frozen=True):
    """Annealed copper: conductivity at 20 degrees C (m per ohm mm2) and change of resistance per kelvin."""

    conductivity_m_per_ohm_mm2: float
    temperature_coefficient_per_k: float

    def ohm_per_m(self, awg: float, celsius: float = 20.0, conductivity: float = 1.0) -> float:
        """Return the resistance of one metre of one solid conductor, ohms.

        conductivity: relative to annealed copper, 0.62 to 0.68 for copper-clad aluminium.
        """
        area_mm2 = math.pi / 4 * awg_diameter_mm(awg) ** 2
        at_20 = 1.0 / (self.conductivity_m_per_ohm_mm2 * conductivity * area_mm2)
        return at_20 * (1.0 + self.temperature_coefficient_per_k * (celsius - 20.0))


class Conductors(Struct, frozen=True):
    """What conductors data cables have.

    lay_factor: metres of wire in a metre of sheath, by the twist.
    """

    usual_awg: float
    lay_factor: float
    lay_factor_u: float


class PairSpread(Struct, frozen=True):
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
    temperature_half_width_k: float
    contact_ohm: float
    contact_half_width_ohm: float
    proximity: float
    loss_tangent: float


class Materials(Struct, frozen=True):
    """Everything materials.toml says."""

    copper: Copper
    conductors: Conductors
    pair: PairSpread
    kinds: tuple[KindMatrices, ...]

    def kind(self, name: str) -> KindMatrices:
        """Return a kind of cable by name; UsageError when it is not known."""
        for kind in self.kinds:
            if kind.name == name:
                return kind
        raise UsageError(f"there is no cable kind '{name}'", "Known: " + ", ".join(k.name for k in self.kinds) + ".")

    def to_builtins(self) -> dict[str, Any]:
        """Return the materials as plain values, for a capture, in the form of materials.toml."""
        plain = {name: asdict(part) for name, part in (("copper", self.copper), ("conductors", self.conductors))}
        plain["pair"] = asdict(self.pair)
        for kind in self.kinds:
            plain[kind.name] = {
                "capacitance_pf_per_m": [list(row) for row in kind.capacitance_pf_per_m],
                "inductance_nh_per_m": [list(row) for row in kind.inductance_nh_per_m],
            }
        return plain


# The widest each figure may be in a file or a record: beyond it, it is no cable and formulas overflow.
ALLOWED_RANGES = {
    "conductivity_m_per_ohm_mm2": (1.0, 100.0),
    "temperature_coefficient_per_k": (1e-4, 0.01),
    "usual_awg": (10.0, 40.0),
    "lay_factor": (1.0, 1.5),
    "nvp_low": (0.2, 1.0),
    "nvp_high": (0.2, 1.0),
    "capacitance_low_pf_per_m": (1.0, 1000.0),
    "capacitance_high_pf_per_m": (1.0, 1000.0),
    "largest_capacitance_pf_per_m": (1.0, 1000.0),
    "impedance_ohm": (10.0, 1000.0),
    "temperature_half_width_k": (0.1, 60.0),
    "contact_ohm": (1e-6, 10.0),
    "contact_half_width_ohm": (1e-6, 10.0),
    "proximity": (1.0, 5.0),
    "loss_tangent": (1e-6, 0.5),
}
SHARE = (1e-6, 0.5)  # of every other figure, which is a relative uncertainty


def _numbers(table: Table, names: Iterable[str]) -> dict[str, float]:
    values = {name: table.take_number(name, *ALLOWED_RANGES.get(name, SHARE)) for name in names}
    for name, value in values.items():
        if name.endswith("_low") or "_low_" in name:
            highest = values[name.replace("_low", "_high")]
            if value > highest:
                raise table.wrong(name, value, f"at most {highest:g}, the other end of the range")
    table.finish()
    return values


def _matrix(table: Table, name: str, sign: int) -> Matrix:
    """Take a symmetric matrix of CONDUCTORS rows whose diagonal outweighs the rest as a cable's does.

    sign: of what is off the diagonal. Of capacitances (-1) a row's rest is no more than its diagonal; of inductances
    (+1) each is less than the diagonal.
    """
    found = table.take_matrix(name)
    allowed = f"{CONDUCTORS} rows, symmetric, from 0.001 to 100000, the diagonal the largest"
    for i, row in enumerate(found):
        rest = [sign * value for j, value in enumerate(row) if j != i]
        own = sum(rest) if sign < 0 else max(rest, default=0.0)
        symmetric = all(abs(value - found[j][i]) <= 1e-9 * row[i] for j, value in enumerate(row))
        if len(found) != CONDUCTORS or not (min(rest) >= 1e-3 and own < row[i] <= 1e5) or not symmetric:
            raise table.wrong(name, list(row), allowed)
    return found


@cache
def materials() -> Materials:
    """Return the materials that ship."""
    table = read_table(Path(__file__).with_name("materials.toml"))
    table.take_format(1)
    return materials_from(table)


def materials_from(table: Table) -> Materials:
    """Take materials out of a table of the form of materials.toml; FileError names what is wrong."""
    copper = _numbers(table.take_table("copper"), Copper.__struct_fields__)
    wires = _numbers(table.take_table("conductors"), Conductors.__struct_fields__)
    pair = _numbers(table.take_table("pair"), PairSpread.__struct_fields__)
    kinds = []
    for name in sorted(table.names()):
        entry = table.take_table(name)
        kinds.append(
            KindMatrices(name, _matrix(entry, "capacitance_pf_per_m", -1), _matrix(entry, "inductance_nh_per_m", 1))
        )
        entry.finish()
    for name in CABLE_KINDS:
        if name not in {kind.name for kind in kinds}:
            raise table.wrong(name, None, "the matrices of this kind of cable")
    return Materials(Copper(**copper), Conductors(**wires), PairSpread(**pair), tuple(kinds))


def awg_diameter_mm(awg: float) -> float:
    """Return the diameter of a solid conductor by gauge (ASTM B258)."""
    return float(0.127 * 92.0 ** ((36.0 - awg) / 39.0))
