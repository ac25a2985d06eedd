"""Random cables planted in the simulator, measured over the line, and worked out apart from it."""

import math
import random
from collections.abc import Callable
from pathlib import Path

import numpy as np

from tests.judge.run.nodal import two_terminal
from wiremap.contact import far_contact, near_contact
from wiremap.reading.reading import Reading
from wiremap.tester.measure import measure, open_tester

T568B = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")
# Ohms per metre of sheath by the handbook's exact column for AWG 24 (84.22 ohm/km; IEC 60028 copper, ASTM B258
# diameter), times the wire in a metre of sheath: lays of 12.2, 15.3, 18.6 and 22.4 mm on circles of 0.88 mm.
OHM_PER_M = 84.22e-3
LAYS_MM = {"blue": 12.2, "orange": 15.3, "green": 18.6, "brown": 22.4}
INSULATION_MM = 0.88
CONTACT_OHM = 0.01
SMALLEST_OHM = 1e-7  # stands for a joint without resistance
OPEN_FROM_OHM = 1e6


def ohm_per_m(colour: str) -> float:
    """Return what a metre of sheath holds of one conductor, ohms."""
    turn = math.pi * INSULATION_MM / LAYS_MM[colour.removeprefix("white-")]
    return OHM_PER_M * math.sqrt(1 + turn**2)


def plant(draw: random.Random) -> tuple[str, list[tuple[int, int, float]], int]:
    """Return a cable's description, its resistors between nodes, and how many nodes there are.

    Nodes 0-7 and 8-15 are near and far contacts 1-8; 16-23 and 24-31 the conductors' ends behind the plugs, in
    the order of T568B.
    """
    near, far = list(T568B), list(T568B)
    if draw.random() < 0.7:
        draw.shuffle(far)
    if draw.random() < 0.2:
        draw.shuffle(near)
    for plug in (near, far):
        for contact in range(8):
            if draw.random() < 0.05:
                plug[contact] = "-"
    length_m = round(draw.uniform(1, 90), 1)
    resistors = []
    for place, colour in enumerate(T568B):
        resistors.append((16 + place, 24 + place, length_m * ohm_per_m(colour)))
    for first, plug, inside in ((0, near, 16), (8, far, 24)):
        for contact, colour in enumerate(plug):
            if colour != "-":
                resistors.append((first + contact, inside + T568B.index(colour), CONTACT_OHM))
    faults = []
    for _ in range(draw.choice((0, 1, 1, 2, 3))):
        a, b = draw.sample(range(8), 2)
        end = draw.choice(("near", "far"))
        inside = 16 if end == "near" else 24
        kind = draw.choice(("short", "leak"))
        ohm = draw.choice((0.0, 0.5, 30.0)) if kind == "short" else round(math.exp(draw.uniform(5.5, 12.5)), 1)
        resistors.append((inside + a, inside + b, max(ohm, SMALLEST_OHM)))
        faults.append((kind, f'["{T568B[a]}", "{T568B[b]}"]', end, ohm))
    series = draw.choice(range(8))
    if draw.random() < 0.4:
        ohm = round(draw.choice((2.0, 20.0, 600.0)) * draw.uniform(0.8, 1.2), 2)
        added = [number for number, (a, b, _) in enumerate(resistors) if a >= 8 and a < 16 and b == 24 + series]
        for number in added:
            a, b, was = resistors[number]
            resistors[number] = (a, b, was + ohm)
        faults.append(("resistance", f'["{T568B[series]}"]', "far", ohm))
    text = f"format = 1\nnear = {list(near)}\nfar = {list(far)}\n"
    text += f'[[segment]]\ncable = "UTP"\nlength_m = {length_m}\n'
    for kind, names, end, ohm in faults:
        text += f'[[fault]]\nkind = "{kind}"\nconductors = {names}\nend = "{end}"\nohm = {ohm}\n'
    return text.replace("'", '"'), resistors, 32


def measured(text: str, folder: Path) -> Reading:
    """Return what the tester in software measures of a cable."""
    file = folder / "planted.toml"
    file.write_text(text, encoding="utf-8")
    with open_tester(f"sim:reference:{file}") as tester:
        return measure(tester)


def differs(reading: Reading, resistors: list[tuple[int, int, float]], size: int) -> str:
    """Return where the reading is not what the nodal analysis says; nothing where it is.

    Allowed is what the tester itself states: one step of its resolution and 2 %, and 10 % above 10 kohm, where
    its coarse range serves for finding leaks.
    """
    assert reading.tester is not None
    step_ohm = reading.tester.resolution_ohm
    true = two_terminal(size, resistors)
    index = {near_contact(str(number + 1)): number for number in range(8)}
    index |= {far_contact(str(number + 1)): 8 + number for number in range(8)}
    for i, a in enumerate(reading.contacts):
        for j, b in enumerate(reading.contacts):
            if i == j or a not in index or b not in index:
                continue
            seen, want = reading.resistance_ohm[i][j], float(true[index[a], index[b]])
            if seen == "open":
                fits = want > 0.9 * OPEN_FROM_OHM
            elif isinstance(seen, float | int):
                part = 0.02 if want < 1e4 else 0.1
                fits = bool(np.isfinite(want)) and abs(seen - want) <= step_ohm + part * want
            else:
                fits = False
            if not fits:
                return f"{a} to {b}: measured {seen}, worked out {want:.4g} ohm"
    return ""


def check(seed: int, count: int, folder: Callable[[], Path]) -> str:
    """Measure `count` random cables and compare each contact with each other one."""
    draw = random.Random(seed)
    for number in range(count):
        text, resistors, size = plant(draw)
        said = differs(measured(text, folder()), resistors, size)
        assert not said, f"cable {number} of seed {seed}: {said}\n{text}"
    return f"{count} random cables, each of 120 resistances as worked out"
