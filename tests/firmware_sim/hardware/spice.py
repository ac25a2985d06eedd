"""Runs decks on ngspice, and says what came out; skips where there is none. Also what a figure is."""

import re
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

NGSPICE = shutil.which("ngspice")
needs_ngspice = pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed (Debian: apt install ngspice)")
NUMBER = r"[-+]?\d[\d.]*(?:[eE][-+]?\d+)?"


@dataclass(frozen=True)
class Figure:
    """One figure of the boards: what the design says of it, what its deck gives, and between what it must lie.

    said: the design's own figure from another deck, None where it only set a limit. why: what differs, and why.
    """

    name: str
    unit: str
    said: float | None
    found: float
    least: float
    most: float
    why: str = ""

    @property
    def holds(self) -> bool:
        """Whether what was found lies within its limits."""
        return self.least <= self.found <= self.most


def table(figures: Sequence[Figure]) -> str:
    """Return figures as text, a line each; what does not hold says so."""
    lines = []
    for one in figures:
        said = "" if one.said is None else f"{one.said:.4g}"
        limits = f"{one.least:.4g} .. {one.most:.4g}"
        verdict = "" if one.holds else "  DOES NOT HOLD"
        why = f"  ({one.why})" if one.why else ""
        lines.append(f"  {one.name:<88.88} said {said:>8} found {one.found:>9.4g} {one.unit:<6} {limits}{verdict}{why}")
    return "\n".join(lines)


def _output(text: str, folder: Path) -> str:
    assert NGSPICE is not None
    file = folder / "deck.cir"
    file.write_text(text, encoding="ascii")
    done = subprocess.run([NGSPICE, "-b", file.name], cwd=folder, capture_output=True, text=True, timeout=300)
    out = done.stdout + done.stderr
    for word in ("aborted", "Error:", "fatal"):
        assert word not in out, out[-3000:]
    return out


def run(text: str) -> dict[str, float]:
    """Return what a deck prints or measures, by lower-case name: nodes as "n1_k", sources' currents as "vt#branch"."""
    with tempfile.TemporaryDirectory() as folder:
        out = _output(text, Path(folder))
    found = {m[1].lower(): float(m[2]) for m in re.finditer(rf"(?m)^\s*([\w#.]+)\s*=\s*({NUMBER})", out)}
    assert found, out[-3000:]
    return found


def swept(text: str, file: str = "swept.txt") -> list[tuple[float, ...]]:
    """Return the rows that a deck writes to a file."""
    with tempfile.TemporaryDirectory() as folder:
        out = _output(text, Path(folder))
        path = Path(folder) / file
        assert path.exists(), out[-3000:]
        return [tuple(map(float, line.split())) for line in path.read_text(encoding="ascii").splitlines()]


EXACT = ".options reltol=1e-6 vntol=1e-9 abstol=1e-13"
AT_REST = f"{EXACT}\n.control\nop\nprint all\n.endc"


def measured(until: str, step: str, **at: tuple[str, str]) -> str:
    """Return the lines of a transient that measures expressions at moments: name=(expression, moment)."""
    lines = [".options reltol=1e-5 vntol=1e-7 abstol=1e-12", f".tran {step} {until} 0 {step}"]
    lines += [f".measure tran {name} find {expression} at={moment}" for name, (expression, moment) in at.items()]
    return "\n".join(lines)
