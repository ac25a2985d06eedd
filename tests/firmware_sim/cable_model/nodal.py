"""A second nodal analysis of a description, written from the description's text alone.

It shares no function with the simulator's solver: conductors are walked end to end, and every resistance is found
by injecting one ampere and solving the grounded conductance matrix.
"""

import math
from itertools import pairwise

import numpy as np

from firmware_sim.cable_model.written.description import Description

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
    walk = Walk(description, low_level)
    for number in range(len(description.segments)):
        walk.along(number)
        walk.across(number)
        if number:
            walk.from_segment_before(number)
    walk.into_plugs()
    return solve(walk.edges, walk.shorts, [("contact", contact) for contact in range(18)])


class Walk:
    """The resistors met on a walk along every conductor; nodes are ("cut", segment, colour, index, side of the cut)."""

    def __init__(self, description: Description, low_level: bool) -> None:
        self.description = description
        self.low_level = low_level
        self.edges: list[tuple[object, object, float]] = []
        self.shorts: list[tuple[object, object]] = []
        marks = [0.0]
        for segment in description.segments:
            marks.append(marks[-1] + segment.length_m)
        self.ends = list(pairwise(marks))

    def connect(self, a: object, b: object, ohm: float) -> None:
        """Note a resistor, or that two nodes are one."""
        if ohm == 0:
            self.shorts.append((a, b))
        elif ohm < math.inf:
            self.edges.append((a, b, ohm))

    def cuts(self, number: int) -> list[float]:
        """Return where a segment is cut by faults."""
        begin, stop = self.ends[number]
        return sorted(
            {fault.at_m for fault in self.description.faults if fault.end is None and begin < fault.at_m < stop}
        )

    def series(self, colour: str, at: float, end: str | None) -> float:
        """Return the ohms that faults put in series with a conductor at a place."""
        ohm = 0.0
        for fault in self.description.faults:
            if colour not in fault.conductors or fault.end != end or (end is None and abs(fault.at_m - at) > 1e-6):
                continue
            if fault.kind in ("open", "screen-open"):
                ohm += math.inf
            elif fault.kind == "resistance":
                ohm += fault.ohm
            elif fault.kind == "film":
                ohm += fault.ohm if self.low_level else fault.broken_ohm
        return ohm

    def along(self, number: int) -> None:
        """Walk the conductors of a segment from cut to cut."""
        segment = self.description.segments[number]
        cuts = self.cuts(number)
        for colour in TIA + (("screen",) if segment.cable == "F/UTP" else ()):
            per_m = 0.03
            if colour != "screen":
                wire = wire_ohm_per_m(segment.awg, segment.metal, self.description.temperature_c)
                per_m = wire * HELIX[segment.cable][TIA.index(colour) // 2]
            for index, (left, right) in enumerate(pairwise([self.ends[number][0], *cuts, self.ends[number][1]])):
                after, before = ("cut", number, colour, index, "after"), ("cut", number, colour, index + 1, "before")
                self.connect(after, before, per_m * (right - left))
            for index, cut in enumerate(cuts, 1):
                left_side, right_side = (("cut", number, colour, index, side) for side in ("before", "after"))
                self.connect(left_side, right_side, self.series(colour, cut, None))

    def across(self, number: int) -> None:
        """Note what lies between the conductors of a segment."""
        cuts = self.cuts(number)
        for fault in self.description.faults:
            if fault.kind not in ("short", "leak"):
                continue
            if fault.end is None and fault.at_m in cuts:
                place = (cuts.index(fault.at_m) + 1, "before")
            elif fault.end == "near" and number == 0:
                place = (0, "after")
            elif fault.end == "far" and number == len(self.ends) - 1:
                place = (len(cuts) + 1, "before")
            else:
                continue
            for a, b in pairwise(fault.conductors):
                self.connect(("cut", number, a, *place), ("cut", number, b, *place), fault.ohm)

    def from_segment_before(self, number: int) -> None:
        """Note the splice between a segment and the one before it."""
        before, segment = self.description.segments[number - 1 : number + 1]
        splice = 0.005 if segment.order or before.cable != segment.cable else 0.0
        joins = list(zip(TIA, segment.order or TIA, strict=True))
        if before.cable == segment.cable == "F/UTP":
            joins.append(("screen", "screen"))
        last = len(self.cuts(number - 1)) + 1
        for a, b in joins:
            self.connect(("cut", number - 1, a, last, "before"), ("cut", number, b, 0, "after"), splice)

    def into_plugs(self) -> None:
        """Note the contacts of both plugs."""
        cable, last = self.description, len(self.ends) - 1
        after_cuts = len(self.cuts(last)) + 1
        for contact in range(9):
            near, far = (plug[contact] if contact < 8 else "screen" for plug in (cable.near, cable.far))
            if near != "-" and (near != "screen" or cable.screen in ("joined", "near")):
                ohm = cable.contact_ohm + self.series(near, 0.0, "near")
                self.connect(("contact", contact), ("cut", 0, near, 0, "after"), ohm)
            if far != "-" and (far != "screen" or cable.screen in ("joined", "far")):
                ohm = cable.contact_ohm + self.series(far, cable.length_m, "far")
                self.connect(("cut", last, far, after_cuts, "before"), ("contact", 9 + contact), ohm)


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
