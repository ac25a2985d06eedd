"""The same work for many files: in order, on as many cores as are asked for, with a bar where somebody looks."""

import sys
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")
BAR_FROM = 40
AT_ONCE = 8  # files that a process is given together


def for_each(work: Callable[[Item], Result], items: Sequence[Item], what: str, cores: int = 1) -> Iterator[Result]:
    """Give the result of each item, in their order; what: the word beside the bar.

    cores: 1 = all here; else that many processes, and then work, items and results must be such that can be sent to
    one. What work raises is raised here.
    """
    if cores <= 1 or len(items) <= 1:
        yield from _with_bar(map(work, items), len(items), what)
        return
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(min(cores, len(items))) as processes:
        yield from _with_bar(processes.map(work, items, chunksize=AT_ONCE), len(items), what)


def _with_bar(results: Iterator[Result], count: int, what: str) -> Iterator[Result]:
    if count < BAR_FROM or not sys.stderr.isatty():
        yield from results
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(results, what, total=count, console=Console(stderr=True), transient=True)
