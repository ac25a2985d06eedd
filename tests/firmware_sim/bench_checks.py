"""The bench board with the worst of parts on sound cables of every kind: no false alarm, and true values."""

import json
import math
import random
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import OPEN, Firmware, N, Tables, place, run_program
from tests.judge.bench_readings import STRAIGHT, rj45
from tests.strategies import BENCH
from wiremap.judge.verdict import judge
from wiremap.reading.reading import Ohm

KINDS = ("UTP", "F/UTP", "S/FTP", "U/FTP", "cord", "slim")
OHM_MILLI, OHM_SHARE = 20, 0.01
FARAD_FEMTO, FARAD_SHARE = 1_000, 0.03


@dataclass
class Worst:
    """The greatest errors seen, as parts of what is allowed."""

    ohms: float = 0.0
    farads: float = 0.0


def drawn_cable(draw: random.Random) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return a board of worst parts and a sound cable, 0.15 to 90 m, whole, loose at its far end or a crossover."""
    kind = draw.choice(KINDS)
    length_m = round(math.exp(draw.uniform(math.log(0.15), math.log(90.0))), 2)
    cable: dict[str, Any] = {"segment": [{"cable": kind, "length_m": length_m}]}
    cable |= {"far": draw.choice(("T568B", "T568B", "T568A")), "capacitance_spread": 0.02, "seed": draw.randrange(1000)}
    if draw.random() < 0.2:
        cable["attached"] = {"far": "open"}
    board = {"parts": draw.randrange(1, 1 << 30), "corner": 1, "leak_na": draw.choice((1, 100))}
    board |= {"hum_uv": draw.choice((0, 100)), "hum_hz": draw.choice((50, 60))}
    return board, cable


def check_resistances(given: Tables, seen: list[str], worst: Worst) -> None:
    """Assert that what is joined is joined, what is not is open, and the ohms are true."""
    for wanted, value in zip(given["networks"][0]["milliohm"], seen, strict=True):
        assert (wanted is None) == (value == OPEN), (wanted, value)
        if wanted is not None:
            part = abs(int(value) - wanted) / (OHM_MILLI + OHM_SHARE * wanted)
            worst.ohms = max(worst.ohms, part)
            assert part <= 1, (wanted, value)


def check_capacitances(given: Tables, double: list[str], worst: Worst) -> None:
    """Assert that the direct capacitance between every two nets is true; on the diagonal of a net stands the net."""
    nodes = given["networks"][0]["nodes"]
    lumps: dict[int, list[int]] = {}
    for contact, lump in enumerate(nodes["lump"]):
        lumps.setdefault(lump, []).append(contact)
    for i, one in lumps.items():
        for j, other in lumps.items():
            if j >= i or len(one) < 2 or len(other) < 2:
                continue  # a net of one contact is in no value of its own
            own = [int(double[place(net[0], net[1])]) for net in (one, other)]
            direct = (own[0] + own[1] - int(double[place(one[0], other[0])])) / 2
            wanted = -nodes["af"][i][j] / 1_000
            part = abs(direct - wanted) / (FARAD_FEMTO + FARAD_SHARE * wanted)
            worst.farads = max(worst.farads, part)
            assert part <= 1, (i, j, direct, wanted)


def sound_cables(seed: int, count: int) -> str:
    """Measure cables drawn at random on boards of worst parts; return the worst errors."""
    draw = random.Random(seed)
    worst = Worst()
    for _ in range(count):
        board, cable = drawn_cable(draw)
        given = bench_tables(board, **cable)
        with tempfile.TemporaryDirectory() as folder, Firmware(Path(folder), given) as firmware:
            answer = firmware.measure("MEAS:ARR:RES?")
            assert answer[:2] == ["OK", str(N)], (answer[:4], board, cable)
            try:
                check_resistances(given, answer[2:], worst)
                check_capacitances(given, firmware.measure("MEAS:ARR:CAP?", "DOUB")[6:], worst)
            except AssertionError as error:
                raise AssertionError(f"{board} {cable}") from error
    return (
        f"{count} sound cables, no false leak, open or short; worst ohms {worst.ohms:.2f} and worst capacitance "
        f"{worst.farads:.2f} of what is allowed"
    )


PLUGGED_IN_AGAIN = """
import json, sys
import lowlevel, pins, queries, safety, selftest
from firmware_sim.board.power import bench
safety.begin()
bench.nodes._broken = True  # by hand: half a milliampere through 3 ohm breaks none
last = queries._scan()
full, found = last.seen.milliohm, []
for whole in [True] * {films} + [False] * {sound}:
    bench.nodes._broken, bench.nodes._known = not whole, {{}}  # as if plugged in again
    selftest.run()
    low = {{}}
    for look in lowlevel.looks(lowlevel.run(), last.seen.nets, low):
        look()
    pins.release()
    found.append([whole, [[near, far, ohm] for (near, far), ohm in low.items()]])
print(json.dumps([queries.resolution([]), full, found]))
"""
FILM_OHM = 3.0
FILMS, SOUND = 2, 8  # times that a cable is plugged into one board, with a film and with none


def _judged(said: list[str], full: list[int | None], low: list[list[int]]) -> set[str]:
    """Return the conductors that the judge says have a film, by what a board said of a straight cable."""
    step_ohm, sd_ohm = (int(value) / 1000 for value in said[:2])
    tester = replace(BENCH, resolution_ohm=step_ohm, low_level_sd_ohm=sd_ohm)
    at_full: dict[tuple[str, str], Ohm] = {}
    at_low: dict[tuple[str, str], Ohm] = {}
    for near, far, milliohm in low:
        assert far == near + N // 2
        name = "S" if near == 8 else str(near + 1)
        whole = full[place(near, far)]
        assert whole is not None
        at_full[(f"near {name}", f"far {name}")] = whole / 1000
        at_low[(f"near {name}", f"far {name}")] = milliohm / 1000
    reading = replace(rj45(screen=len(low) == 9, changed=at_full, low_level=at_low), tester=tester)
    return {finding.near[0] for finding in judge(reading, STRAIGHT).findings if finding.fault == "contact-film"}


def films(seed: int, count: int) -> str:
    """Plug cables, sound and with a film of 3 ohm, into boards of worst parts; return how many were called what.

    By the deviation that the board says, 0.4 ohm, one sound conductor in 3.5 million is accused, and what stands out
    is looked at once more; measured over these boards the deviation is 0.32 to 0.35 ohm.
    """
    draw = random.Random(seed)
    sound = found = whole = 0
    accused: list[tuple[object, ...]] = []
    while sound < count:
        board, cable = drawn_cable(draw)
        cable |= {"attached": {"far": "tester"}, "far": "T568B"}
        filmed = draw.choice(("orange", "blue", "white-brown"))
        cable["fault"] = [
            {"kind": "film", "conductors": [filmed], "ohm": FILM_OHM, "end": draw.choice(("near", "far"))}
        ]
        program = PLUGGED_IN_AGAIN.format(films=FILMS, sound=min(SOUND, count - sound))
        with tempfile.TemporaryDirectory() as folder:
            done = run_program(Path(folder), program, bench_tables(board, **cable), timeout_s=600)
        assert done.returncode == 0, done.stderr
        said, full, rounds = json.loads(done.stdout)
        for filmed_now, low in rounds:
            seen = _judged(said, full, low)
            wanted = {{"orange": "2", "blue": "4", "white-brown": "7"}[filmed]} if filmed_now else set()
            found += len(seen & wanted)
            whole += len(wanted)
            sound += not wanted
            if seen - wanted:
                accused.append((board, cable, seen))
    assert not accused, accused
    assert found == whole, (found, whole)
    return f"{sound} sound cables, no film on any; of {whole} films of {FILM_OHM:g} ohm {found} found"
