"""Every check at full count: `python -m tests.long [NAME...]`.

Each module here has CHECKS, a tuple of Check; the same functions run with a small count under pytest.
"""

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
