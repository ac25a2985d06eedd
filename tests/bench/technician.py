"""Somebody who commissions a board by the book: what the ohm-meter shows comes from the netlist, what else from the
board as its simulator has it. Parts may be off, missing or leaking: meter and tester then meet the same board.
"""

import random
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from firmware_sim.cable_model.written.description import FELT_PARTS as FELT
from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.bench import CONTACTS, bench
from firmware_sim.hardware.part import Board
from firmware_sim.hardware.rules import resistors
from tests.firmware_sim.bench_boards import ALL, UP_A, UP_B, Driven
from wiremap.bench.commission.course import Course, answered, by_tester, said
from wiremap.bench.commission.probes import probed
from wiremap.records.commissions import BoardKind, Commission
from wiremap.tester.measure import OpenTester, open_tester

# Without a part that is off, and out of the reach of the simulator: what the decks and the guide say.
ELSEWHERE = {
    "clamps": ("0.61", "0.68"),
    "low-level-spikes": ("14",),
    "rail-57": ("3.54",),
    "heat": ("110",),
    "supply-57": ("3.35",),
}
EMPTY = '[[bench]]\ncable = "patch"\nplug_at_s = 0.0\nunplug_at_s = 0.0\n'
WIRED = 'near = "T568B"\nfar = "T568B"\n[[segment]]\ncable = "F/UTP"\nlength_m = {length_m}\n'
SOURCE = '[attached]\nkind = "dc"\ncontact = "1"\n{other}volt = {volt}\nsource_ohm = 10.0\nfar = "tester"\n'
RESISTORS = ("white-orange", "orange", "white-green", "blue", "white-blue", "green")
GAUGE = (
    WIRED.format(length_m=0.02)
    + "".join(
        f'[[fault]]\nkind = "resistance"\nconductors = ["{colour}"]\nohm = {ohm}\n'
        for colour, ohm in zip(RESISTORS[1:], (0.1, 1.0, 10.0, 51e3, 1e6), strict=True)
    )
    + "".join(
        f'[[fault]]\nkind = "capacitor"\nconductors = ["{colour}"]\npf = {pf}\n'
        for colour, pf in (("white-brown", 10.0), ("brown", 100.0), ("screen", 1000.0))
    )
)
TWO = WIRED.format(length_m=0.02).replace("F/UTP", "UTP") + "".join(
    f'[[fault]]\nkind = "{kind}"\nconductors = {colours}\n{more}'
    for kind, colours, more in (
        ("resistance", '["white-orange"]', "ohm = 10000.0\n"),
        ("resistance", '["orange"]', "ohm = 1000000.0\n"),
        ("open", '["white-green", "blue", "white-blue", "green", "white-brown", "brown"]', ""),
    )
)
LONG = WIRED.format(length_m=0.02)


def in_sockets(step: str) -> str:
    """Return what the sockets hold at a measured step, as a cable file has it."""
    if step.startswith("known-") and step != "known-parts":
        return GAUGE
    if step == "known-parts":
        return TWO
    if step in ("patch", "hum"):
        return WIRED.format(length_m=2.0 if step == "patch" else 20.0)
    if step.startswith("seen-"):
        other = 'other = "2"\n' if step in ("seen-12", "seen-57") else ""
        volt = {"seen-12": 12.0, "seen-reversed": -12.0, "seen-3": 3.0, "seen-57": 57.0}[step]
        open_wires = WIRED.format(length_m=0.02).replace("F/UTP", "UTP")
        return open_wires + SOURCE.format(other=other, volt=volt)
    return EMPTY


class Technician:
    """One board and who commissions it. off: by reference what a part's value is multiplied by, 0 = missing.

    leaks: nanoampere by the reference of a clamp or multiplexer. drawn: a number that every part is drawn from, within
    its tolerance, for the meter and, apart from that, for the tester.
    """

    def __init__(
        self,
        folder: Path,
        kind: BoardKind = "bench",
        off: Mapping[str, float] | None = None,
        leaks: Mapping[str, float] | None = None,
        seed: int = 1,
        drawn: int = 0,
    ) -> None:
        self.folder = folder
        self.kind = kind
        self.off = dict(off or {})
        self.leaks = dict(leaks or {})
        self.seed = seed
        self.drawn = drawn
        self.board: Board = bench() if kind == "bench" else bare(kind == "bare-clamped")

    def ohms(self, pairs: Sequence[tuple[str, str]]) -> list[float]:
        """Return what an ohm-meter shows between nets, chips out of their sockets; inf = open."""
        chance = random.Random(self.drawn)
        nets = sorted(
            {net for one in resistors(self.board) for net in one[:2]} | {net for pair in pairs for net in pair}
        )
        place = {net: number for number, net in enumerate(nets)}
        matrix = np.eye(len(nets)) * 1e-12
        for one, other, ohm, part in resistors(self.board):
            factor = self.off.get(part.reference, 1.0)
            factor *= 1 + (part.kind.tolerance or 0.0) * chance.uniform(-1, 1) * bool(self.drawn)
            if factor:
                i, j = place[one], place[other]
                matrix[[i, j], [i, j]] += 1 / (ohm * factor)
                matrix[[i, j], [j, i]] -= 1 / (ohm * factor)
        found = []
        for a, b in pairs:
            flow = np.zeros(len(nets))
            flow[place[a]], flow[place[b]] = 1, -1
            volts = np.linalg.solve(matrix, flow)
            ohm = float(volts[place[a]] - volts[place[b]])
            found.append(ohm if ohm < 1e9 else float("inf"))
        return found

    def typed(self, step: str) -> tuple[str, ...]:
        """Return what is typed at a step, figure by figure."""
        if step in ELSEWHERE:
            return ELSEWHERE[step]
        if step in ("unprogrammed", "rail-volts", "low-level"):
            return self._volts(step)
        if step == "slope":
            return ("7.2k" if self.kind == "bench" else "67.4k",)
        if step == "apart":
            return _spread(self.ohms([*pairwise(CONTACTS), ("NS", "GND")]))[:1]
        if step == "rail-ohms":
            return tuple(map(_shown, self.ohms([("VC", "GND"), ("GND", "VC")])))
        if step == "gate-ohms":
            return tuple(map(_shown, self.ohms([("GATE", "3V3"), ("NGND", "GND"), ("LIFT", "NGND")])))
        if step == "gain-ohms":
            nets = [("X11_A", "GAIN_A"), ("X11_B", "GAIN_B"), ("GAIN_A", "GAIN_B"), ("KNOWN_HI", "KNOWN_LO")]
            return tuple(map(_shown, self.ohms(nets)))
        if step == "lead-ohms":
            steps = [(f"{name}_{side}", f"{name}_{side}_C") for name in ("STEP", "PED") for side in "AB"]
            return (*_spread(self.ohms(steps)), *map(_shown, self.ohms([(f"BUF_{s}", f"ADC_{s}") for s in "AB"])))
        ends = {
            "drive-ohms": [(contact, f"{contact}_P") for contact in CONTACTS],
            "pin-ohms": [(contact, f"{contact}_P") for contact in CONTACTS],
            "sense-ohms": [(contact, f"{contact}_S") for contact in CONTACTS],
            "pull-ohms": [(f"{name}_{side}", f"COM_{side}") for name in ("UP", "DN") for side in "AB"],
        }[step]
        return _spread(self.ohms(ends))

    def _volts(self, step: str) -> tuple[str, ...]:
        made = Driven(self._told())
        values = made.board.nodes.values
        if step == "unprogrammed":
            return ("0.01",)
        if step == "rail-volts":
            gone = self.off.get("Q1", 1.0) == 0
            return (f"{values.supply_v:.2f}", f"{values.supply_v if gone else values.supply_v - values.rail_v:.3f}")
        made = Driven(self._told(), attached={"far": "open"})
        made.drive(low=ALL | ALL << 9)
        made.look_at(15, 15)
        made.pull(up=UP_A | UP_B)
        made.lift(True)
        volts = made.after(3_000)
        return (f"{(volts[0] - volts[9]) * 1000:.2f}",)

    def _told(self) -> dict[str, Any]:
        off = {reference: round(factor * 1e6) for reference, factor in self.off.items() if reference in FELT}
        return {"parts": self.drawn, "off": off, "leaks": {name: round(value) for name, value in self.leaks.items()}}

    def cable_file(self, step: str) -> Path:
        """Write what is in the sockets at a step, and what is off on the board; return the file."""
        lines = [f'format = 1\nboard = "{"bench" if self.kind == "bench" else "bare"}"\nseed = {self.seed}\n']
        lines.append(f"drawn = {self.drawn}\n")
        lines.append(in_sockets(step))
        felt = {name: factor for name, factor in self.off.items() if name in FELT}
        for name in dict.fromkeys([*felt, *self.leaks]):
            lines.append(f'[[part]]\nreference = "{name}"\n')
            if name in felt:
                lines.append(f"factor = {felt[name]}\n")
            if name in self.leaks:
                lines.append(f"leak_na = {self.leaks[name]}\n")
        path = self.folder / f"{step}.toml"
        path.write_text("".join(lines), encoding="utf-8")
        return path

    @contextmanager
    def tester(self, step: str) -> Iterator[OpenTester]:
        """Open the tester with what the sockets hold at a step."""
        with open_tester(f"sim:{self.cable_file(step)}") as device:
            yield device

    def goes_on(self, course: Course) -> Course:
        """Return the course after the step that is asked was done."""
        step = course.step
        assert step is not None
        if step.probe:
            with self.tester(step.name) as device:
                return by_tester(answered(course, device.tester), probed(step.probe, device))
        for line in self.typed(step.name):
            course = said(course, line)
            assert not course.trouble, (step.name, line, course.trouble)
            if course.doubtful is not None:
                return course
        return course

    def until(self, course: Course) -> Course:
        """Go through the steps until one is doubtful, or all are through."""
        while course.step is not None and course.doubtful is None:
            course = self.goes_on(course)
        return course

    def begins(self) -> Course:
        """Return the course of a board that nothing is known of."""
        return Course(Commission(self.kind))


def _spread(ohms: Sequence[float]) -> tuple[str, str]:
    return _shown(min(ohms)), _shown(max(ohms))


def _shown(ohm: float) -> str:
    """Return what a meter of four digits shows."""
    return "OL" if ohm > 50e6 else f"{ohm:.4g}" if ohm < 9999 else f"{ohm / 1000:.4g}k"
