"""Works the matrices of kinds out from kinds.toml and writes them to matrices.json.

`python -m tests.world.analog.work_out` does all (minutes); names of kinds as further words do only those.
"""

import json
import sys
from typing import TypedDict

from tests.world.analog.kinds import Kind, kinds
from tests.world.analog.matrices import FILE
from tests.world.analog.sections import changed, pair_crowding, per_metre


class WorkedOut(TypedDict):
    """A kind's matrices as they are written: by what was changed of it, pF and nH a metre; how its pairs crowd."""

    pf: dict[str, list[list[float]]]
    nh: dict[str, list[list[float]]]
    crowding: float


def worked_out(kind: Kind) -> WorkedOut:
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
