"""A second nodal analysis of a description, written from the description's text alone.

It shares no function with the simulator's solver: conductors are walked end to end, and every resistance is found
by injecting one ampere and solving the grounded conductance matrix.
"""

import math
from itertools import pairwise

import numpy as np

from firmware_sim.cable_model.description import Description

HELIX = {  # metres of wire per metre of sheath: lays 12.2, 15.3, 18.6, 22.4 mm, wires 0.44 (UTP) or 0.5 mm off axis
    kind: [math.hypot(1, 2 * math.pi * radius / lay) for lay in (12.2, 15.3, 18.6, 22.4)]
    for kind, radius in (("UTP", 0.44), ("F/UTP", 0.5))
}
TIA = ("white-blue", "blue", "white-orange", "orange", "white-green", "green", "white-brown", "brown")


def wire_ohm_per_m(awg: int, metal: str, temperature_c: float) -> float:
    """Return ohms per metre of wire: 1/58 ohm mm2/m at 20 C, ASTM B258 diameters."""
    area = math.pi / 4 * (0.127 * math.exp(math.log(92) * (36 - awg) / 39)) ** 2
    if metal == "copper":
        return (1 + 0.00393 * (temperature_c - 20)) / 58 / area
    return (1 + 0.0040 * (temperature_c - 20)) / 58 / area / 0.65


def resistances(description: Description, low_level: bool = False) -> np.ndarray:
    """Return [18][18] ohms between tester contacts (inf = open) for a cable whose two plugs are RJ45 in the tester."""
    edges: list[tuple[object, object, float]] = []
    shorts: list[tuple[object, object]] = []
    total = description.length_m

    def series(colour: str, at: float, end: str | None) -> float:
        ohm = 0.0
        for fault in description.faults:
            if colour not in fault.conductors or fault.end != end or (end is None and abs(fault.at_m - at) > 1e-6):
                continue
            if fault.kind in ("open", "screen-open"):
                ohm += math.inf
            elif fault.kind == "resistance":
                ohm += fault.ohm
            elif fault.kind == "film":
                ohm += fault.ohm if low_level else fault.broken_ohm
        return ohm

    def connect(a: object, b: object, ohm: float) -> None:
        if ohm == 0:
            shorts.append((a, b))
        elif ohm < math.inf:
            edges.append((a, b, ohm))

    start = 0.0
    ends: list[tuple[float, float]] = []
    for segment in description.segments:
        ends.append((start, start + segment.length_m))
        start += segment.length_m
    for number, segment in enumerate(description.segments):
        begin, stop = ends[number]
        colours = TIA + (("screen",) if segment.cable == "F/UTP" else ())
        cuts = sorted({f.at_m for f in description.faults if f.end is None and begin < f.at_m < stop})
        for colour in colours:
            per_m = 0.03
            if colour != "screen":
                wire = wire_ohm_per_m(segment.awg, segment.metal, description.temperature_c)
                per_m = wire * HELIX[segment.cable][TIA.index(colour) // 2]
            # Node names: ("cut", segment, colour, index, "before" or "after").
            marks = [begin, *cuts, stop]
            for index, (left, right) in enumerate(pairwise(marks)):
                connect(
                    ("cut", number, colour, index, "after"),
                    ("cut", number, colour, index + 1, "before"),
                    per_m * (right - left),
                )
            for index, cut in enumerate(cuts, 1):
                left_side, right_side = (("cut", number, colour, index, side) for side in ("before", "after"))
                connect(left_side, right_side, series(colour, cut, None))
        for fault in description.faults:
            if fault.kind not in ("short", "leak"):
                continue
            if fault.end is None and fault.at_m in cuts:
                place = (cuts.index(fault.at_m) + 1, "before")
            elif fault.end == "near" and number == 0:
                place = (0, "after")
            elif fault.end == "far" and number == len(description.segments) - 1:
                place = (len(cuts) + 1, "before")
            else:
                continue
            for a, b in pairwise(fault.conductors):
                connect(("cut", number, a, *place), ("cut", number, b, *place), fault.ohm)
        if number:
            before = description.segments[number - 1]
            old_cuts = len(
                {f.at_m for f in description.faults if f.end is None and ends[number - 1][0] < f.at_m < begin}
            )
            order = segment.order or TIA
            splice = 0.005 if segment.order or before.cable != segment.cable else 0.0
            joins = list(zip(TIA, order, strict=True))
            if before.cable == segment.cable == "F/UTP":
                joins.append(("screen", "screen"))
            for a, b in joins:
                connect(("cut", number - 1, a, old_cuts + 1, "before"), ("cut", number, b, 0, "after"), splice)
    last = len(description.segments) - 1
    last_cuts = len({f.at_m for f in description.faults if f.end is None and ends[last][0] < f.at_m < total})
    for contact in range(9):
        near = description.near[contact] if contact < 8 else "screen"
        far = description.far[contact] if contact < 8 else "screen"
        if near != "-" and (near != "screen" or description.screen in ("joined", "near")):
            ohm = description.contact_ohm + series(near, 0.0, "near")
            connect(("contact", contact), ("cut", 0, near, 0, "after"), ohm)
        if far != "-" and (far != "screen" or description.screen in ("joined", "far")):
            ohm = description.contact_ohm + series(far, total, "far")
            connect(("cut", last, far, last_cuts + 1, "before"), ("contact", 9 + contact), ohm)
    return solve(edges, shorts, [("contact", contact) for contact in range(18)])


def refined(matrix: np.ndarray) -> np.ndarray:
    """Return the inverse, refined with residuals in long double: milliohms beside megohms need the digits."""
    rough = np.linalg.inv(matrix.astype(float)) if len(matrix) else matrix.astype(float)
    volts = rough.astype(np.longdouble)
    for _ in range(3):
        volts = volts + rough.astype(np.longdouble) @ (np.eye(len(matrix)) - matrix @ volts)
    return volts


def solve(
    edges: list[tuple[object, object, float]], shorts: list[tuple[object, object]], terminals: list[object]
) -> np.ndarray:
    """Return two-terminal resistances: for each two terminals ground one, inject an ampere at the other."""
    name: dict[object, object] = {}

    def root(node: object) -> object:
        while node in name:
            node = name[node]
        return node

    for a, b in shorts:
        a, b = root(a), root(b)
        if a != b:
            name[a] = b
    near: dict[object, dict[object, np.longdouble]] = {}
    for a, b, ohm in edges:
        a, b = root(a), root(b)
        if a != b:
            for one, other in ((a, b), (b, a)):
                row = near.setdefault(one, {})
                row[other] = row.get(other, np.longdouble(0)) + np.longdouble(1) / ohm
    result = np.full((len(terminals), len(terminals)), math.inf)
    for i, terminal in enumerate(terminals):
        ground = root(terminal)
        reached, todo = [ground], [ground]
        seen = {ground}
        while todo:
            for other in near.get(todo.pop(), {}):
                if other not in seen:
                    seen.add(other)
                    reached.append(other)
                    todo.append(other)
        place = {node: k for k, node in enumerate(reached[1:])}
        matrix = np.zeros((len(place), len(place)), np.longdouble)
        for node, k in place.items():
            matrix[k, k] = sum(near[node].values())
            for other, siemens in near[node].items():
                if other in place:
                    matrix[k, place[other]] -= siemens
        volts = refined(matrix)
        for j, far in enumerate(terminals):
            node = root(far)
            if node == ground:
                result[i, j] = 0.0
            elif node in place:
                result[i, j] = volts[place[node], place[node]]
    return result
