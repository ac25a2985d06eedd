"""Readings, patterns, colours and captures changed anywhere within: refused with a hint, or judged and shown."""

import json
import pickle
import random
import re
import warnings
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import msgspec
import numpy as np

from tests.gate.texts import check_text
from tests.judge.simulated import described, fault, measured_reading
from tests.records.captures.nonsense import change
from tests.records.samples import plain_record
from wiremap.cable.colours import ColourSet, colour_set, read_colours
from wiremap.cable.patterns import FOLDER, Pattern, pattern, pattern_names, read_pattern
from wiremap.cable.terminations import Termination, termination
from wiremap.calibration import Calibration
from wiremap.contact import far_contact, near_contact
from wiremap.errors import WiremapError
from wiremap.judge.case import JobNames, Requirements, judge_case
from wiremap.reading.parts import Event, ForeignVoltage
from wiremap.reading.reading import FARS, Reading, from_builtins, to_builtins
from wiremap.records.canonical import encode
from wiremap.records.captures.capture import read_capture
from wiremap.records.captures.seal import seal
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page

EXPECTED = (None, None, pattern("straight"), pattern("straight"), pattern("crossover"), pattern("loopback-all"))
EXTREMES: tuple[Any, ...] = (
    -1, -0.0, 0, 1e-300, 1e-9, 0.5, 7, 99, 1e4, 1e6, 1e9, 1e300, 2**53, 10**400, float("nan"), float("inf"), True, None,
    "open", "joined", "near 1", "far S", "near 99", "S", "\ud800", "\x1b[2J", "0001-01-01T00:00:00Z",
    "9999-12-31T23:59:59Z", "2026-02-30T00:00:00Z", [], {},
)  # fmt: skip


def full_reading(short: bool) -> Reading:
    """Return a reading of a simulated cable that has everything a reading can have."""
    faults = fault("open", ["green"], 7.0) if short else ""
    seen = measured_reading(described(12.0, faults=faults), calibration=_calibration())
    return Reading(
        seen.taken_utc, seen.tester, seen.calibration, seen.far, seen.near_contacts, seen.far_contacts,
        seen.resistance_ohm, seen.resistance_ohm, seen.capacitance, seen.echoes, seen.traces,
        (ForeignVoltage(near_contact("4"), 120, "dc"),) if short else (),
        (Event(1, near_contact("3"), far_contact("3"), "opened", 5_000, 2_000),),
    )  # fmt: skip


def _calibration() -> Calibration:
    rows = tuple(tuple(0.0 if i == j else 20.0 for j in range(18)) for i in range(18))
    return Calibration(
        "1", "2026-02-01T08:00:00Z", rows, (10.0,) * 18, rows, nvp=0.66, nvp_u=0.01, capacitance_pf_per_m=49.0,
        capacitance_u_pf_per_m=1.0, ohm_per_m=0.09, ohm_u_per_m=0.004, known_length_m=20.0, cord_pf=rows,
        cord_single_pf=(300.0,) * 18, cord_double_pf=rows,
    )  # fmt: skip


def mutated(plain: Any, chance: random.Random) -> Any:
    """Return a copy with one to five things changed somewhere within, half of them to extremes."""
    changed = pickle.loads(pickle.dumps(plain))  # a tenth of what copy.deepcopy takes
    for _ in range(chance.choice((1, 1, 1, 2, 5))):
        if chance.random() < 0.2:
            change(changed, chance)
        else:
            _extreme(changed, chance)
    return changed


def _extreme(plain: Any, chance: random.Random) -> None:
    """Put an extreme value in the place of one, and across the diagonal too where it stands in a matrix."""
    where, trail = plain, []
    while isinstance(where, dict | list) and where:
        key = chance.choice(list(where) if isinstance(where, dict) else range(len(where)))
        trail.append((where, key))
        where = where[key]
    if not trail:
        return
    holder, key = trail[-1]
    value = chance.choice(EXTREMES)
    if (
        isinstance(holder[key], int | float) and abs(holder[key]) < 1e9 and chance.random() < 0.8
    ):  # a number that may pass, and then must be judged
        value = type(holder[key])(
            chance.choice((0, 1, 2, holder[key] * chance.uniform(-1, 3), 10 ** chance.uniform(-3, 8)))
        )
    holder[key] = value
    if len(trail) > 1 and isinstance(key, int) and isinstance(trail[-2][1], int):
        rows, row = trail[-2]
        if key < len(rows) and isinstance(rows[key], list) and row < len(rows[key]):
            rows[key][row] = value


def readings_are_refused_or_judged(seed: int, count: int) -> tuple[int, int]:
    """Change full readings; return how many were refused with a hint, and how many were judged and shown.

    With an expectation, another, or none, and every far mode; a warning of the arithmetic counts as a crash.
    """
    chance = random.Random(seed)
    plains = [json.loads(msgspec.json.encode(to_builtins(full_reading(short)))) for short in (False, True)]
    refused = shown = 0
    with warnings.catch_warnings(), np.errstate(all="raise", under="ignore"):
        warnings.simplefilter("error")
        for _ in range(count):
            plain = mutated(chance.choice(plains), chance)
            if chance.random() < 0.6:
                plain["far"] = chance.choice(FARS)
            expect = chance.choice(EXPECTED)
            try:
                found = from_builtins(plain)
                text = page(judge_case(found, Requirements(expect), JobNames("helm", "mast")), Terminal(80, None))
                assert not re.search(r"\b(nan|inf)\b", text), text
                check_text(text)
            except WiremapError as error:
                refused += bool(error.hint)
            else:
                shown += 1
    return refused, shown


def descriptions_are_refused_or_sound(seed: int, count: int) -> tuple[int, int]:
    """Change patterns, colours, terminations and captures; return how many were refused, and how many not."""
    chance = random.Random(seed)
    kinds: list[tuple[Any, Any]] = [(msgspec.to_builtins(pattern(name)), Pattern) for name in pattern_names()]
    kinds += [
        (msgspec.to_builtins(colour_set("tia")), ColourSet),
        (msgspec.to_builtins(termination("T568B")), Termination),
    ]
    kinds = [(json.loads(json.dumps(plain)), kind) for plain, kind in kinds]
    record = json.loads(json.dumps(plain_record()))
    files = [path.read_text() for path in sorted(FOLDER.glob("*.toml"))]
    refused = sound = 0
    with TemporaryDirectory() as folder:
        path = Path(folder, "own.toml")
        for number in range(count):
            try:
                if number % 20 == 0:
                    line = encode(mutated(record, chance)) + b"\n"
                    read_capture(line + seal(line), "x")
                elif number % 20 == 1:
                    path.write_bytes(_garbled(chance.choice(files), chance))
                    chance.choice((read_pattern, read_colours))(path)
                else:
                    plain, kind = chance.choice(kinds)
                    msgspec.convert(mutated(plain, chance), kind)
            except (WiremapError, msgspec.ValidationError, UnicodeEncodeError):  # half letters stand in no file
                refused += 1
            else:
                sound += 1
    return refused, sound


def _garbled(text: str, chance: random.Random) -> bytes:
    """Return a TOML file with a value that is too long, out of its kind, or no TOML at all."""
    lines = text.splitlines()
    at = chance.randrange(len(lines))
    key = lines[at].partition("=")[0]
    more = ("9" * 5000, "0x" + "f" * 5000, "1e400", "nan", "'x'", "[[[]]]", "0001-13-01", '"\\u001b[2J"', "{}", "")
    lines[at] = f"{key}= {chance.choice(more)}"
    return "\n".join(lines).encode()
