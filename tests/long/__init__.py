"""Every check at full count: `python -m tests.long [NAME...]`.

Each module here has CHECKS, a tuple of Check; the same functions run with a small count under pytest.
"""

import importlib
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Check:
    """One check: run(seed, count) asserts what it is about and returns what it saw, in one line.

    least: with fewer than so many, what it asserts (a share, a case that must come up) means nothing.
    from_share: below this share of the full counts it is left out, since it takes long at its least.
    """

    name: str
    run: Callable[[int, int], str]
    count: int
    seed: int = 1
    least: int = 1
    from_share: float = 0.0


def checks_of(module: str) -> tuple[Check, ...]:
    """Return the checks of a module here."""
    found: tuple[Check, ...] = importlib.import_module(f"{__name__}.{module}").CHECKS
    return found


def outcome(module: str, place: int, share: float) -> tuple[bool, float, str]:
    """Run a module's check: whether it passed, how many seconds it took, and the line to print of it."""
    check = checks_of(module)[place]
    count = max(check.least, round(check.count * share))
    began = time.monotonic()
    try:
        seen, passed = check.run(check.seed, count), True
    except Exception:
        seen, passed = traceback.format_exc(), False
    seconds = time.monotonic() - began
    word = "passed" if passed else "FAILED"
    return passed, seconds, f"{word} {check.name} seed={check.seed} count={count} {seconds:.1f} s: {seen}"
