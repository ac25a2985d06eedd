"""Bare boards for tests: their tables from a described cable or from nets, and what the wires of those nets are."""

import random
from collections.abc import Collection
from itertools import combinations
from pathlib import Path
from typing import Any

from firmware_sim.cable_model.tables import tables
from firmware_sim.cable_model.written.description import description_in
from tests.firmware_sim.processes import Firmware, N, Tables, source

BARE = ("bare", "bare-esp32")
DARK_MOHM = 10**12
Wires = frozenset[tuple[int, int]]
STRAIGHT: Wires = frozenset((contact, contact + 9) for contact in range(9))


def bare_tables(name: str = "bare", board: dict[str, Any] | None = None, **described: Any) -> Tables:
    """Return the tables of a cable described as in its file, straight and screened 2 m if nothing is said of it."""
    given = {"format": 1, "near": "T568B", "far": "T568B", "segment": [{"cable": "F/UTP", "length_m": 2.0}]}
    found = tables(description_in("test", given | described | {"board": name}, Path()))
    found["board"] |= board or {}
    return found


def of_nodes(
    links: dict[tuple[int, int], float],
    name: str = "bare",
    board: dict[str, Any] | None = None,
    pf: float = 100.0,
    foreign: Collection[dict[str, Any]] = (),
    seed: int = 1,
) -> Tables:
    """Return the tables of contacts joined by these ohms; pf: what hangs on each net of under 200 ohm, to ground."""
    lump = list(range(N))
    for (a, b), ohm in links.items():
        if ohm < 200:
            lump = [min(lump[a], lump[b]) if label in (lump[a], lump[b]) else label for label in lump]
    labels = sorted(set(lump))
    siemens = dict.fromkeys(combinations(range(N), 2), 0)
    siemens |= {(min(pair), max(pair)): round(1e12 / ohm) for pair, ohm in links.items()}
    nodes = {
        "ps": list(siemens.values()),
        "low_ps": list(siemens.values()),
        "lump": [labels.index(label) for label in lump],
        "af": [[round(pf * 1e6) if a == b else 0 for b in labels] for a in labels],
    }
    return {
        "format": 1,
        "contacts": N,
        "networks": [{"milliohm": [None] * 153, "low_milliohm": None, "nodes": nodes}],
        "schedule": [[0, 0]],
        "period_us": None,
        "capacitance": None,
        "foreign": list(foreign),
        "seed": seed,
        "board": {"name": name} | (board or {}),
    }


def wires_in(fields: list[str]) -> Wires:
    """Return what an answer to CONTinuity? calls joined."""
    assert fields[:2] == ["OK", "18"], fields
    assert set(fields[2:]) <= {"0", "1"}
    return frozenset(pair for pair, said in zip(combinations(range(N), 2), fields[2:], strict=True) if said == "1")


def continuity(folder: Path, given: Tables, vm: str = "cpython") -> list[str]:
    """Ask a bare board once what is joined; return status and fields."""
    with Firmware(folder, given, vm) as firmware:
        return firmware.measure("MEASure:ARRay:CONTinuity?")


def random_nets(draw: random.Random) -> tuple[dict[tuple[int, int], float], Wires]:
    """Return links between random groups of contacts, and which contacts they join, directly or through others."""
    contacts = list(range(N))
    draw.shuffle(contacts)
    links: dict[tuple[int, int], float] = {}
    joined: set[tuple[int, int]] = set()
    while contacts:
        size = min(len(contacts), draw.choice((1, 1, 2, 2, 2, 3, 4, 6)))
        group, contacts = contacts[:size], contacts[size:]
        for number, contact in enumerate(group[1:], 1):
            links[group[draw.randrange(number)], contact] = draw.choice((0.05, 0.3, 12.0, 150.0))
        joined |= {(min(pair), max(pair)) for pair in combinations(group, 2)}
    return links, frozenset(joined)


def nets_are_read_rightly(seed: int, count: int, folder: Path) -> str:
    """Scan random nets on either chip, of empty sockets and of long cables; every contact as it was joined."""
    draw = random.Random(seed)
    for number in range(count):
        links, joined = random_nets(draw)
        name, pf = draw.choice(BARE), draw.choice((1.0, 30.0, 100.0, 1000.0, 5000.0))
        given = of_nodes(links, name, {"leak_na": draw.choice((0.0, 1.0, 10.0, 100.0))}, pf, seed=seed + number)
        assert wires_in(continuity(folder, given)) == joined, (number, seed, name, pf)
    return f"{count} random nets on bare boards, none read wrongly"


def battery(contact: int, other: int | None, volt: float, kind: str = "dc", ohm: int = 10) -> dict[str, Any]:
    """Return a source between contacts, or against the tester's ground."""
    return source(contact, other, round(1000 * volt), kind, source_ohm=ohm)
