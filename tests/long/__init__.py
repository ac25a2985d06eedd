"""Every check at full count: `python -m tests.long [NAME...]`.

Each module here has CHECKS, a tuple of Check; the same functions run with a small count under pytest.
"""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Check:
    """One check: run(seed, count) asserts what it is about and returns what it saw, in one line."""

    name: str
    run: Callable[[int, int], str]
    count: int
    seed: int = 1
