"""Kinds of cable as geometry, read from kinds.toml, where each number says where it comes from."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

FILE = Path(__file__).with_name("kinds.toml")
RHO_COPPER = 1 / 58e6  # ohm m at 20 C, IEC 60028
PER_K = 0.00393  # of copper, IEC 60028; aluminium's 0.0040 is taken as the same
STRANDED = 1.02  # strands lie round each other: practice, 1 to 3 %


@dataclass(frozen=True)
class Kind:
    """What a kind of cable is made of; lengths in millimetres, permittivities relative, conductors from 0.

    layout: "pairs" lie round the middle, "pairs in a row" beside each other, "quad" is four wires whose pairs are the
    diagonals, "row" is wires beside each other. screen: "none", "all" = one foil, "each" = a foil round each pair.
    apart_mm: between pairs, beyond touching. sheath_mm: its thickness, without a screen. lays_mm: a turn of each pair.
    Conductors 2 k and 2 k + 1 are pair k, except that a "row" has none: its conductors lie in order.
    """

    name: str
    title: str
    layout: Literal["pairs", "pairs in a row", "quad", "row"]
    screen: Literal["none", "all", "each"]
    strands: int
    strand_mm: float
    coat_mm: float
    coat: float
    fill: float
    clear_mm: float
    lays_mm: tuple[float, ...]
    tan_delta: float
    sheath_mm: float = 0.0
    sheath: float = 1.0
    apart_mm: float = 0.0

    @property
    def conductors(self) -> int:
        """Return how many conductors it has, the screen not counted."""
        return {"row": 8, "quad": 4}.get(self.layout, 2 * len(self.lays_mm))

    @property
    def metal_mm(self) -> float:
        """Return the diameter of round metal that stands for a conductor: of seven strands 0.96 of their circle.

        The circle round seven strands is three across; the field sinks a little between them (practice, 0.94 to 0.98).
        """
        return self.strand_mm if self.strands == 1 else 0.96 * 3 * self.strand_mm

    @property
    def ohm_per_m(self) -> float:
        """Return the resistance of a straight metre of one conductor of copper at 20 C."""
        area = self.strands * 3.141592653589793 * (self.strand_mm * 1e-3) ** 2 / 4
        return RHO_COPPER / area * (STRANDED if self.strands > 1 else 1.0)

    @property
    def turns(self) -> tuple[float, ...]:
        """Return how much longer each conductor is than the cable: a helix of half the pair's width."""
        if self.layout == "row":
            return (1.0,) * 8
        reach = self.coat_mm * (2**0.5 if self.layout == "quad" else 1.0)
        lays = self.lays_mm * 2 if self.layout == "quad" else self.lays_mm
        return tuple((1 + (3.141592653589793 * reach / lay) ** 2) ** 0.5 for lay in lays for _ in (0, 1))


@cache
def kinds() -> dict[str, Kind]:
    """Return all kinds by name."""
    raw = tomllib.loads(FILE.read_text(encoding="utf-8"))
    return {name: Kind(name=name, **{**values, "lays_mm": tuple(values["lays_mm"])}) for name, values in raw.items()}
