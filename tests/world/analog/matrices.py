"""Matrices of every kind, kept in matrices.json so that a cable is drawn at once.

`work_out.py` writes them anew; a test works some of them out again.
"""

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from tests.world.analog.panels import Array

FILE = Path(__file__).with_name("matrices.json")


@dataclass(frozen=True)
class Matrices:
    """Per metre of sheath, to the reference (foil, or what the cable lies on).

    pf: [name][n, n] Maxwell's capacitances, pF/m; nh: external inductances, nH/m; names are those of
    `sections.changed`: "base", and the same with one thing changed. crowding: of a pair's current at high frequency.
    """

    pf: dict[str, Array]
    nh: dict[str, Array]
    crowding: float


@cache
def matrices() -> dict[str, Matrices]:
    """Return the matrices of every kind by its name."""
    raw = json.loads(FILE.read_text(encoding="utf-8"))
    return {
        name: Matrices(
            {word: np.array(rows) for word, rows in one["pf"].items()},
            {word: np.array(rows) for word, rows in one["nh"].items()},
            float(one["crowding"]),
        )
        for name, one in raw.items()
    }
