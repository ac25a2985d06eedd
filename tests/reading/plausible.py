"""Readings that a tester could have taken, of cables wrong in any way, in every far mode: all are judged and shown.

Each begins with a simulated reading and has conductors exchanged, opened, joined, of other resistances and
capacitances, with or without what else a tester can measure. All are sound, so all reach the judge and the page.
"""

import json
import pickle
import random
import re
import warnings
from functools import cache
from typing import Any

import msgspec
import numpy as np

from tests.gate.texts import check_text
from tests.judge.simulated import FAR_OPEN, described, fault, measured_reading
from wiremap.cable.patterns import SCREEN_RULES, pattern
from wiremap.errors import WiremapError
from wiremap.judge.case import JobNames, Requirements, judge_case
from wiremap.reading.reading import FARS, Reading, from_builtins, to_builtins
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page

EXPECTED = (None, "straight", "straight", "straight", "crossover", "loopback-all", "rollover")
SIDE = 9  # contacts of an end, the screen's the last
OFTEN_OHM = ("open", "joined", 0.0, 0.2, 5.0, 120.0, 5_000.0, 1e6)


@cache
def simulated() -> tuple[tuple[bytes, bytes], ...]:
    """Return readings of a few simulated cables, as plain values: resistance alone, and all."""
    cables = (
        described(12.0),
        described(30.0, faults=fault("open", ["green"], 7.0)),
        described(
            3.0, far=("white-orange", "orange", "white-green", "green", "white-blue", "blue", "white-brown", "brown")
        ),
        described(20.0, top=FAR_OPEN),
    )
    return tuple(_pickled(measured_reading(cable)) for cable in cables)


def _pickled(seen: Reading) -> tuple[bytes, bytes]:
    plain = json.loads(msgspec.json.encode(to_builtins(seen)))
    return pickle.dumps(plain | {"capacitance": None, "echoes": [], "traces": []}), pickle.dumps(plain)


def plausible(chance: random.Random) -> dict[str, Any]:
    """Return a reading as plain values, changed as cables and testers differ."""
    bare, full = chance.choice(simulated())
    plain: dict[str, Any] = pickle.loads(bare if chance.random() < 0.75 else full)
    plain["far"] = chance.choice(("tester", "tester", *FARS))
    rows = plain["resistance_ohm"]
    scale = chance.choice((1.0, 1.0, 0.3, 4.0, 40.0))
    for i, row in enumerate(rows):
        for j in range(i):
            if isinstance(row[j], int | float):
                _set(rows, i, j, scale * chance.uniform(0.8, 1.25) * row[j])
    for _ in range(chance.choice((0, 0, 0, 1, 2))):
        i, j = chance.randrange(SIDE), chance.randrange(SIDE)
        for matrix in (rows, (plain["capacitance"] or {}).get("two_terminal_pf")):
            if i != j and matrix is not None:
                _exchange(matrix, SIDE + i, SIDE + j)
    for _ in range(chance.choice((0, 0, 1, 1, 3))):
        i, j = chance.sample(range(2 * SIDE), 2)
        if rows[i][j] is not None:
            _set(rows, i, j, chance.choice(OFTEN_OHM))
    if chance.random() < 0.3:
        plain["low_level_ohm"] = rows
    _beside(plain, chance)
    return plain


def _beside(plain: dict[str, Any], chance: random.Random) -> None:
    """Let a tester measure more or less, and other capacitances."""
    if plain["capacitance"] is None:
        return
    for key in ("traces", "echoes"):
        plain[key] = plain[key] if chance.random() < 0.15 else []
    scale = chance.choice((1.0, 0.02, 0.5, 3.0))
    pairs = plain["capacitance"]["two_terminal_pf"]
    for i, row in enumerate(pairs):
        for j in range(i):
            if row[j] is not None:
                _set(pairs, i, j, scale * chance.uniform(0.9, 1.1) * row[j])
    if chance.random() < 0.5:
        plain["capacitance"]["single_pf"] = plain["capacitance"]["double_pf"] = None


def _set(rows: list[list[Any]], i: int, j: int, value: Any) -> None:
    rows[i][j] = rows[j][i] = value


def _exchange(rows: list[list[Any]], i: int, j: int) -> None:
    """Exchange two contacts in a matrix."""
    rows[i], rows[j] = rows[j], rows[i]
    for row in rows:
        row[i], row[j] = row[j], row[i]


def plausible_are_judged(seed: int, count: int) -> str:
    """Judge so many and put each on a page; only WiremapError may come of it, and no number on a page that is none."""
    chance = random.Random(seed)
    judged = dict.fromkeys(FARS, 0)
    verdicts: dict[str, int] = {}
    refused = 0
    with warnings.catch_warnings(), np.errstate(all="raise", under="ignore"):
        warnings.simplefilter("error")
        for number in range(count):
            plain = plausible(chance)
            wanted = _wanted(chance)
            try:
                found = from_builtins(plain)
                case = judge_case(found, wanted, JobNames("helm", "mast"))
                text = page(case, Terminal(80, None))
            except WiremapError as error:
                refused += bool(error.hint)
                continue
            except BaseException as error:
                raise AssertionError(f"number {number} of seed {seed}: {type(error).__name__}: {error}") from error
            assert not re.search(r"\b(nan|inf)\b", text), text
            check_text(text)
            judged[found.far] += 1
            verdicts[case.diagnosis.verdict] = verdicts.get(case.diagnosis.verdict, 0) + 1
    assert sum(judged.values()) + refused == count, "refused without a hint"
    assert refused <= count // 10, f"{refused} of {count} were refused"
    assert all(judged.values()) or count < 100, judged
    return f"{sum(judged.values())} judged and shown ({judged}; {verdicts}), no crash, no warning, no nan"


def _wanted(chance: random.Random) -> Requirements:
    name = chance.choice(EXPECTED)
    screen = chance.choice((None, None, *SCREEN_RULES)) if name is not None else None
    return Requirements(None if name is None else pattern(name), screen)
