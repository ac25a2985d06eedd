"""The bench board with the worst of parts on sound cables of every kind: no false alarm, and true values."""

import math
import random
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import OPEN, Firmware, N, Tables, place

KINDS = ("UTP", "F/UTP", "S/FTP", "U/FTP", "cord", "slim")
OHM_MILLI, OHM_SHARE = 20, 0.01
FARAD_FEMTO, FARAD_SHARE = 1_000, 0.03
LEAKY = 2.0  # times what is allowed of a capacitance, where every contact and both commons leak 100 nA the same way


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


def check_capacitances(given: Tables, double: list[str], worst: Worst, times: float = 1.0) -> None:
    """Assert that the direct capacitance between every two nets is true; on the diagonal of a net stands the net.

    times: so much of what is allowed is allowed.
    """
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
            part = abs(direct - wanted) / times / (FARAD_FEMTO + FARAD_SHARE * wanted)
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
            times = LEAKY if board["leak_na"] > 1 else 1.0
            answer = firmware.measure("MEAS:ARR:RES?")
            assert answer[:2] == ["OK", str(N)], (answer[:4], board, cable)
            try:
                check_resistances(given, answer[2:], worst)
                check_capacitances(given, firmware.measure("MEAS:ARR:CAP?", "DOUB")[6:], worst, times)
            except AssertionError as error:
                raise AssertionError(f"{board} {cable}") from error
    return (
        f"{count} sound cables, no false leak, open or short; worst ohms {worst.ohms:.2f} and worst capacitance "
        f"{worst.farads:.2f} of what is allowed"
    )
