"""Matrices of every kind, kept in matrices.json so that a cable is drawn at once.

`python -m tests.world.analog.matrices` works them out anew from kinds.toml (minutes); names of kinds as further
words do only those. A test works some of them out again.
"""

import json
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from tests.world.analog.kinds import Kind, kinds
from tests.world.analog.panels import Array
from tests.world.analog.sections import changed, pair_crowding, per_metre

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


def worked_out(kind: Kind) -> dict[str, object]:
    """Return the matrices of a kind as they are written, to five places."""
    pf, nh = {}, {}
    for word, other in changed(kind).items():
        c, external = per_metre(other)
        pf[word] = [[float(f"{value:.5g}") for value in row] for row in c.tolist()]
        nh[word] = [[float(f"{value:.5g}") for value in row] for row in external.tolist()]
    return {"pf": pf, "nh": nh, "crowding": round(pair_crowding(kind), 4)}


def _main(names: list[str]) -> None:
    known = json.loads(FILE.read_text(encoding="utf-8")) if FILE.is_file() else {}
    for name, kind in kinds().items():
        if not names or name in names:
            known[name] = worked_out(kind)
    rows = []
    for name in kinds():
        one = known[name]
        words = [
            f'  "{key}": {{\n'
            + ",\n".join(f'   "{word}": {json.dumps(rows)}' for word, rows in one[key].items())
            + "\n  }"
            for key in ("pf", "nh")
        ]
        rows.append(f' "{name}": {{\n' + ",\n".join([*words, f'  "crowding": {one["crowding"]}']) + "\n }")
    FILE.write_text("{\n" + ",\n".join(rows) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    _main(sys.argv[1:])
