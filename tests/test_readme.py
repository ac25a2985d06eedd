"""README.md is run: every `$ wiremap` line works, pages shown are what comes out, nothing is left unmentioned."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

import wiremap
from firmware_sim.launcher import flashed
from tests.cli.running import run
from tests.firmware_sim.bench_checks import OHM_MILLI, OHM_SHARE
from tests.firmware_sim.watch_checks import LASTS_US
from wiremap.bench import sweep_page
from wiremap.bench.mend import mend_page
from wiremap.bench.typed import KEYS, TYPE_LABEL
from wiremap.cable.limits import limits

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")
VERDICTS = (0, 3, 4)
NO_TESTER = 5


def blocks() -> Iterator[list[tuple[str, str]]]:
    """Yield the shell blocks of the README, each as its commands with the output shown after each."""
    for language, block in re.findall(r"^```(\w*)\n(.*?)^```\n", README, re.MULTILINE | re.DOTALL):
        if language:
            continue
        commands: list[tuple[str, str]] = []
        for line in block.splitlines(keepends=True):
            if line.startswith("$ "):
                commands.append((line[2:].strip(), ""))
            elif commands:
                commands[-1] = (commands[-1][0], commands[-1][1] + line)
        if commands:
            yield commands


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a folder with the captures, and `wiremap` on its path."""
    folder = tmp_path_factory.mktemp("readme")
    if (TOP / "captures").is_dir():
        shutil.copytree(TOP / "captures", folder / "captures")
    (folder / "bin").mkdir()
    script = folder / "bin" / "wiremap"
    script.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m wiremap "$@"\n', encoding="utf-8")
    script.chmod(0o755)
    return folder


def test_every_line_runs(bench: Path) -> None:
    """Every `$ wiremap` line ends with a verdict, and where the README shows its page, that is what comes out."""
    path = os.pathsep.join([str(bench / "bin"), os.environ["PATH"]])
    ours = {"PATH": path, "PYTHONPATH": os.pathsep.join(sys.path), "HOME": str(bench), "COLUMNS": "80"}
    ours["WIREMAP_HOME"] = str(bench / "home")  # calibrations that are made here are no other test's
    ran = 0
    for block in blocks():
        for command, shown in block:
            if command.startswith("python3 -m venv"):
                continue
            done = subprocess.run(
                ["bash", "-euc", command],
                cwd=bench,
                env={**os.environ, **ours},
                stdin=subprocess.DEVNULL,
                capture_output=True,
                text=True,
                timeout=120,
                check=False,
            )
            allowed = (NO_TESTER,) if command.startswith("wiremap testers") else VERDICTS
            assert done.returncode in allowed, f"{command}\n{done.stdout}{done.stderr}"
            assert "Traceback" not in done.stderr
            if shown.strip():
                assert done.stdout == shown, command
            ran += command.startswith("wiremap ")
    lines = [line for line in README.splitlines() if line.startswith("$ wiremap ")]
    assert ran == len(lines) >= 8


def test_the_library_example_runs(bench: Path) -> None:
    """The example for programs runs as it stands, on a capture that is there, and prints a verdict."""
    example = re.findall(r"^```python\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
    assert len(example) == 1
    done = subprocess.run(
        [sys.executable, "-c", example[0]],
        cwd=bench,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("fail ")


def test_first_commands() -> None:
    """The README opens with the job, then one command that runs it and one that passes the tests."""
    opening = README.split("\n\n")[1]
    assert "install and repair networked electronics" in " ".join(opening.split())
    commands = [command for block in blocks() for command, _ in block]
    assert re.fullmatch(r"python3 -m venv \S+ && .*wiremap test --tester sim.*", commands[0])
    assert re.fullmatch(r"python3 -m venv \S+ && .*pytest", commands[1])


def test_the_keys_of_a_repair_are_mentioned() -> None:
    """The README lists every letter that a page of `wiremap mend` knows, and no other."""
    table = README.split("| press | what it says |")[1].split("\n\n")[0]
    letters = {*(key for key, _ in mend_page.KEY_WORDS), mend_page.OUT_OF_REACH}
    assert set(re.findall(r"`([a-z])`", table)) == letters


def test_the_keys_of_a_lot_are_mentioned() -> None:
    """The README lists every key that `wiremap batch` knows, and no other; the page lists them, too."""
    table = README.split("| key | does |")[1].split("\n\n")[0]
    letters = {*(key for key in KEYS if key.isalpha()), TYPE_LABEL}
    assert set(re.findall(r"`(\w)`", table)) == letters
    assert "space" in table.lower()
    assert "Enter" in table
    assert letters == {word for word in sweep_page.SWEEP_KEYS.split() if len(word) == 1}


def test_cautions_are_there() -> None:
    """The README says power off, both ends unplugged, PoE, batteries, antennas, heights, and defers to local codes."""
    cautions = README.split("## Cautions")[1].split("\n## ")[0].lower()
    for word in ("power off", "unplug both ends", "power over ethernet", "batter", "antenna", "aloft", "local codes"):
        assert word in cautions
    assert "licensed" in cautions


def test_no_claim_beyond_what_is_checked() -> None:
    """Neither the README nor any sentence of the program calls a cable certified or qualified."""
    texts = [README]
    texts += [
        Path(str(import_module(name).__file__)).read_text(encoding="utf-8")
        for name in ("wiremap.report.words.faults", "wiremap.report.words.next_steps", "wiremap.report.words.records")
    ]
    for text in texts:
        assert not re.search(r"\b(certified|qualified)\b", text, re.IGNORECASE)


def test_the_examples_are_sound_and_the_simulators() -> None:
    """Every capture that comes along verifies and is judged as it was; none was measured, as the README says."""
    examples = sorted((TOP / "captures").glob("*.json"))
    ran = run("verify", *map(str, examples))
    assert ran.code == 0
    assert f"{len(examples)} sound" in ran.out
    for example in examples:
        reading = wiremap.read(example)
        assert reading.origin == "simulator"
        assert reading.tester is not None
        assert bytes.fromhex(reading.tester.serial).startswith(b"SIM")


def test_what_the_measurements_are_said_to_see() -> None:
    """The figures of the table of measurements are the bench board's own."""
    table = README[README.index("## What each measurement says") : README.index("## One end out of reach")]
    assert f"{OHM_MILLI} mohm + {round(OHM_SHARE * 100)} %" in table
    program = {path.stem: path.read_text(encoding="utf-8") for path in flashed("bench")}
    assert "LIMIT_MV = 300\n" in program["guard"]
    assert "from 0.3 V" in table
    assert "HIGHEST_MV = 4000 " in program["look"]
    assert "beyond 4 V" in table
    deviation = re.search(r"^DEVIATION_MILLIOHM = (\d+) ", program["lowlevel"], re.MULTILINE)
    assert deviation is not None
    assert f"from {limits().film_sigmas * int(deviation[1]) / 1000:g} ohm" in table
    assert f"{LASTS_US['bench'] // 1000} ms or more" in table


def test_the_picture_is_what_the_tool_draws(tmp_path: Path) -> None:
    """The wire map that is shown is drawn from the capture beside it, to the byte."""
    (name,) = re.findall(r"\]\((captures/\S+-map\.svg)\)", README)
    shown = TOP / name
    capture = shown.with_name(shown.name.replace("-map.svg", ".json"))
    assert run("report", str(capture), "--make", "picture", "--save", str(tmp_path / "made")).code == 0
    assert (tmp_path / "made" / shown.name).read_bytes() == shown.read_bytes()
