"""The simulator's named cables, each measured over the line with its far plug in everything it can be said to be in."""

import tomllib
from contextlib import nullcontext, suppress
from pathlib import Path

from wiremap.cable.patterns import Pattern, pattern
from wiremap.errors import TesterError
from wiremap.judge.case import Case, JobNames, Requirements, judge_case
from wiremap.reading.reading import Far, Reading
from wiremap.tester.measure import measure, open_tester

FOLDER = Path(__file__).parents[1] / "firmware_sim" / "cables"
NO_CABLE = "gauge"  # known parts between two plugs: no pattern, and half a minute on the bench board
NAMES = tuple(sorted(path.stem for path in FOLDER.glob("*.toml") if path.stem != NO_CABLE))
FARS: tuple[Far, ...] = ("tester", "open", "joined", "remote", "equipment")
ADAPTERS = {"m12d": "m12d-rj45", "m12a": "m12a-rj45", "m12x": "m12x-rj45"}
PATTERNS = {"m12d": "m12d-rj45", "m12a": "m12a-5pole", "m12x": "m12x-rj45", "rj45": "straight"}
CALLED = JobNames("helm", "mast", "mast camera")


def plugs_of(name: str) -> list[str]:
    """Return the plugs that a named cable has, near first."""
    plugs: list[str] = tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8")).get("connectors", [])
    return plugs or ["rj45", "rj45"]


def wanted(name: str) -> Pattern:
    """Return the pattern that a named cable is meant to have."""
    return pattern("crossover" if name.startswith("crossover") else PATTERNS[plugs_of(name)[0]])


def some_fars(name: str) -> tuple[Far, ...]:
    """Return the tester and one more word, another one for each name in turn."""
    return FARS[0], FARS[1 + NAMES.index(name) % (len(FARS) - 1)]


def readings(name: str, fars: tuple[Far, ...] = FARS) -> dict[Far, Reading]:
    """Return what the simulated tester measures of a cable for words that its far plug can be said to be in.

    A word that the tester finds to be untrue (voltage on a plug that is said to be in nothing) is left out.
    """
    near, far = (pattern(ADAPTERS[plug]) if plug in ADAPTERS else None for plug in plugs_of(name))
    found: dict[Far, Reading] = {}
    with open_tester(f"sim:{name}") as device:
        for where in fars:
            with suppress(TesterError) if where != "tester" else nullcontext():
                found[where] = measure(device, where, near_adapter=near, far_adapter=far)
    return found


def judged(name: str, reading: Reading) -> Case:
    """Return a named cable judged as what it is meant to be."""
    return judge_case(reading, Requirements(wanted(name)), CALLED)
