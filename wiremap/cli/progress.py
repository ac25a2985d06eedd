"""A bar for work that takes more than a moment, on stderr and only where somebody looks."""

import sys
from collections.abc import Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")
BAR_FROM = 40


def with_progress(items: Sequence[Item], what: str) -> Iterator[Item]:
    """Give the items one after the other, with a bar of how many are done."""
    if len(items) < BAR_FROM or not sys.stderr.isatty():
        yield from items
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(items, what, console=Console(stderr=True), transient=True)
