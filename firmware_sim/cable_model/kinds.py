"""Kinds of cable: conductors, pairs and the matrices of a metre, from kinds.toml."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from firmware_sim.cable_model.plugs import SCREEN
from firmware_sim.cable_model.toml_table import Table, read_table


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of cable; conductors in matrix order, the screen (where there is one) last and not in the matrices.

    c_pf_per_m: Maxwell capacitance matrix [n][n], against the screen or, without one, the surroundings.
    wet_c_pf_per_m: the same with water in the core. l_nh_per_m: external inductance matrix [n][n].
    helix: metres of wire per metre of sheath, per conductor.
    """

    name: str
    conductors: tuple[str, ...]
    pairs: tuple[tuple[str, str], ...]
    awg: int
    helix: tuple[float, ...]
    screen_ohm_per_m: float
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
    found = {}
    for name in table.names():
        found[name] = _kind(name, table.take_table(name))
    return found


def _kind(name: str, table: Table) -> Kind:
    conductors = table.take_words("conductors")
    pairs = tuple((conductors[k], conductors[k + 1]) for k in range(0, len(conductors), 2))
    screen_ohm_per_m = table.take_number("screen_ohm_per_m", 0, 10, 0.0)
    (helix,) = table.take_matrix("helix")
    kind = Kind(
        name,
        (*conductors, SCREEN) if screen_ohm_per_m else conductors,
        pairs,
        table.take_whole("awg", 10, 40, 24),
        helix,
        screen_ohm_per_m,
        table.take_matrix("c_pf_per_m"),
        table.take_matrix("wet_c_pf_per_m"),
        table.take_matrix("l_nh_per_m"),
    )
    table.finish()
    return kind
