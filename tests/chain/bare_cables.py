"""Cables measured by the bare board over the line, and what a tester without ohms can see of them, worked out apart."""

import random
import tempfile
from itertools import combinations
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.chain.random_networks import plant
from tests.firmware_sim.simulators import simulator
from tests.judge.run.nodal import two_terminal
from tests.named_cables import ADAPTERS, CALLED, plugs_of, wanted
from wiremap.cable.patterns import pattern
from wiremap.contact import far_contact, near_contact
from wiremap.errors import TesterError
from wiremap.judge.case import Case, Requirements, judge_case
from wiremap.reading.reading import Reading
from wiremap.tester.measure import DRY_HINT, measure, open_tester

SURELY_JOINED_OHM, SURELY_OPEN_OHM = 10_000.0, 1e6
SHORT_WAITS = {"measure.SCAN_S": 3.0, "line.STALL_S": 0.5}


class BareCase(NamedTuple):
    """What is to be said of a named cable that a bare tester sees; faults: () = none."""

    verdict: str
    faults: tuple[str, ...] = ()


# What a bare tester can see of the named cables; of what comes and goes, and of lots, nothing is said here.
NAMED = {
    "patch": BareCase("pass"),
    "patch-screened": BareCase("pass"),
    "reel": BareCase("pass"),
    "slim": BareCase("pass"),
    "sftp": BareCase("pass"),
    "crossover": BareCase("pass"),
    "sensor-m12d": BareCase("pass"),
    "blue-reversed": BareCase("fail", ("reversed-pair",)),
    "far-3-6-exchanged": BareCase("fail", ("reversed-pair",)),
    "crossover-copied": BareCase("fail", ("crossed-pairs",)),
    "open-brown": BareCase("fail", ("open",)),
    "short-two": BareCase("fail", ("short",)),
    "short-to-screen": BareCase("fail", ("screen-short",)),
    "rolled-plug": BareCase("fail", ("reversed-pair", "reversed-pair", "crossed-pairs")),
    "empty": BareCase("fail", ("open",) * 8),
    "injector-48v": BareCase("undecided", ("foreign-voltage",) * 2),
    "device-bus": BareCase("undecided"),
    # Not seen without ohms, capacitance or echoes: they pass, and the page says what was not checked.
    "high-resistance": BareCase("pass"),
    "film": BareCase("pass"),
    "split-pair": BareCase("pass"),
    "split-section": BareCase("pass"),
    "copper-clad": BareCase("pass"),
}


def named(name: str, board: str = "bare") -> Case:
    """Measure a named cable with a bare board over the line and judge it as what it is meant to be."""
    near, far = (pattern(ADAPTERS[plug]) if plug in ADAPTERS else None for plug in plugs_of(name))
    with simulator("--board", board, cable=name) as (address, _), open_tester(address) as tester:
        reading = measure(tester, near_adapter=near, far_adapter=far)
    return judge_case(reading, Requirements(wanted(name)), CALLED)


def differs_from_wires(reading: Reading, resistors: list[tuple[int, int, float]], size: int) -> str:
    """Return where the reading is not what the wires say; between 10 kohm and 1 Mohm either is right."""
    true = two_terminal(size, resistors)
    index = {near_contact(str(number + 1)): number for number in range(8)}
    index |= {far_contact(str(number + 1)): 8 + number for number in range(8)}
    place = {contact: number for number, contact in enumerate(reading.contacts)}
    for a, b in combinations(index, 2):
        seen, want = reading.resistance_ohm[place[a]][place[b]], float(true[index[a], index[b]])
        if seen not in ("joined", "open"):
            return f"{a} to {b}: {seen}"
        if (want <= SURELY_JOINED_OHM and seen != "joined") or (not want < SURELY_OPEN_OHM and seen != "open"):
            return f"{a} to {b}: {seen}, worked out {want:.4g} ohm"
    return ""


def in_between(resistors: list[tuple[int, int, float]], size: int) -> bool:
    """Return whether two contacts have between them what such a board may take for joined or for open."""
    true = two_terminal(size, resistors)
    return bool(((true > SURELY_JOINED_OHM) & (true < SURELY_OPEN_OHM)).any())


def bare_cables_are_read_rightly(seed: int, count: int, line: str = "") -> str:
    """Measure random cables over the line, hurt as the text says; each as its wires are, or an error.

    On a line that is not hurt an error is none but that of a leak which is taken for joined by one contact alone.
    """
    draw = random.Random(seed)
    refused = 0
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        for name, seconds in SHORT_WAITS.items() if line else ():
            patch.setattr(f"wiremap.tester.{name}", seconds)
        file = Path(folder) / "planted.toml"
        for number in range(count):
            text, resistors, size = plant(draw)
            board = draw.choice(("bare", "bare-esp32"))
            text = text.replace("format = 1", f'format = 1\nboard = "{board}"\nseed = {seed + number}')
            file.write_text(f"{text}\n[line]\n{line}\n", encoding="utf-8")
            said, hint = "", ""
            try:
                with simulator(cable=file) as (address, _), open_tester(address) as tester:
                    said = differs_from_wires(measure(tester), resistors, size)
            except TesterError as error:
                hint = error.hint
            refused += bool(hint)
            assert not hint or line or (hint == DRY_HINT and in_between(resistors, size)), (hint, text)
            assert not said, f"cable {number} of seed {seed}: {said}\n{text}"
    return f"{count - refused} random cables by bare boards as their wires are, {refused} errors, none wrong"


def bare_cables_over_a_bad_line(seed: int, count: int) -> str:
    """The same with bits that flip and bytes that are lost, both ways."""
    return bare_cables_are_read_rightly(seed, count, "flip = 3e-4\ndrop = 1e-4")


def named_cables_by_bare_boards(_seed: int, count: int) -> str:
    """Judge every named cable of the list by both boards."""
    for name, case in list(NAMED.items())[:count]:
        for board in ("bare", "bare-esp32"):
            found = named(name, board).diagnosis
            assert BareCase(found.verdict, tuple(one.fault for one in found.findings)) == case, (name, board)
    return f"{min(count, len(NAMED))} named cables by two bare boards, as a tester without ohms can see them"
