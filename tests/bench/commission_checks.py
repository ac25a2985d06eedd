"""Which step of a commissioning catches which part of the bench board; for the quick checks and the long ones."""

import random
from collections.abc import Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from firmware_sim.cable_model.written.description import FELT_PARTS
from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.rules import resistors
from tests.bench.technician import Technician
from wiremap.bench.commission.course import Course
from wiremap.bench.commission.steps import steps_of
from wiremap.records.commissions import Commission, Found

# What no step sees, and why it may stay so.
UNSEEN = {
    ("R60", 1.05): "the shunt holds 3.55 V, which all parts stand",
    ("R61", 1.05): "the shunt holds 3.45 V, above the supply within 5 %",
    **{(f"RN{number}", 1.05): "17 ohm in 3.3 kohm; the board measures its own drive" for number in (1, 2, 3)},
    ("R41", 1.05): "hides in the meter's leads; the low level stays below 15 mV",
    ("C1", 1.05): "each side's known capacitor has half the say",
    ("C3", 1.05): "each side's known capacitor has half the say",
    ("C2", 1.05): "a pedestal only lifts",
    ("C4", 1.05): "a pedestal only lifts",
}


def faults(seed: int, count: int) -> Iterator[tuple[dict[str, float], dict[str, float]]]:
    """Give single faults: every resistor of the netlist and every part that is felt, missing and 5 % up, and leaks.

    seed draws which, where fewer than all are wanted.
    """
    names = [*dict.fromkeys(part.reference for *_, part in resistors(bench()))]
    names += [name for name in FELT_PARTS if name[0] in "CUQ"]
    chips: list[tuple[dict[str, float], dict[str, float]]] = [({name: 0.0}, {}) for name in names]
    values: list[tuple[dict[str, float], dict[str, float]]] = [({name: 1.05}, {}) for name in names if name[0] in "RC"]
    leaks: list[tuple[dict[str, float], dict[str, float]]] = [
        ({}, {name: sign * nanoampere})
        for name in FELT_PARTS
        if name[0] == "D" or name in ("U4", "U5")
        for sign, nanoampere in ((1.0, 1000.0), (-1.0, 200.0))
    ]
    every = [*chips, *values, *leaks]
    yield from random.Random(seed).sample(every, min(count, len(every)))


def found_at(off: Mapping[str, float], leaks: Mapping[str, float], folder: Path) -> str:
    """Return the step at which a board with these faults is refused; "" = it goes through all."""
    technician = Technician(folder, "bench", off, leaks)
    course = technician.until(technician.begins())
    return course.step.name if course.step is not None else ""


def only(step: str, technician: Technician) -> Course:
    """Return the course after one step alone, as if what stands before it had been found well."""
    before = []
    for one in steps_of(technician.kind):
        if one.name == step:
            break
        before.append(Found(one.name, one.title, "not-measured", "2026-03-01T08:30:00Z"))
    return technician.goes_on(Course(Commission(technician.kind, found=tuple(before))))


def faulty_boards_are_caught(seed: int, count: int) -> str:
    """Commission boards with a part off, missing or leaking: each is refused, but for those known not to be."""
    by_step: dict[str, int] = {}
    with TemporaryDirectory() as folder:
        for off, leaks in faults(seed, 10**6):
            if any(part in UNSEEN for part in off.items()):
                continue
            step = found_at(off, leaks, Path(folder))
            assert step, (off, leaks)
            by_step[step] = by_step.get(step, 0) + 1
            if sum(by_step.values()) == count:
                break
    text = ", ".join(f"{name} {number}" for name, number in sorted(by_step.items(), key=lambda item: -item[1]))
    return f"{sum(by_step.values())} faulty boards by the step that refuses them: {text}"


def what_no_step_sees(seed: int, count: int) -> str:
    """Commission boards with the parts that may be off unseen: they go through, or the list is wrong."""
    with TemporaryDirectory() as folder:
        for name, factor in random.Random(seed).sample(sorted(UNSEEN), min(count, len(UNSEEN))):
            assert not found_at({name: factor}, {}, Path(folder)), name
    return f"{min(count, len(UNSEEN))} of {len(UNSEEN)} parts that may be 5 % up unseen: the board goes through"


def sound_boards_pass(seed: int, count: int) -> str:
    """Commission sound boards whose every part is drawn within its tolerance: all steps hold."""
    with TemporaryDirectory() as folder:
        for number in range(count):
            technician = Technician(Path(folder), "bench", drawn=seed * 1000 + number + 1)
            course = technician.until(technician.begins())
            assert course.doubtful is None, (number, course.doubtful)
            assert course.commission.judged == "pass"
    return f"{count} sound boards, parts drawn within their tolerances: all pass"
