"""Run every check at full count, print seed, count, seconds and what was seen; exit 1 when one failed.

python -m tests.long [--share S] [--jobs N] [WORD...]: at S times the full count, N at a time (as many as there are
cores), only checks whose name has a WORD. Each runs in a process of its own.
"""

import argparse
import multiprocessing
import os
import pkgutil
import sys
import time
from concurrent.futures import ProcessPoolExecutor, as_completed

import tests.long
from tests.long import checks_of, outcome


def main() -> int:
    """Run the checks whose name contains one of the words given, or all."""
    parser = argparse.ArgumentParser(prog="python -m tests.long")
    parser.add_argument("--share", type=float, default=1.0, help="part of the full count, 0 to 1")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="how many at a time (one a core)")
    parser.add_argument("words", nargs="*", help="only checks whose name contains one of these")
    asked = parser.parse_args()
    words: list[str] = asked.words
    wanted: list[tuple[str, int]] = []
    for module in sorted(found.name for found in pkgutil.iter_modules(tests.long.__path__)):
        for place, check in enumerate(checks_of(module) if not module.startswith("_") else ()):
            if words and not any(word in check.name for word in words):
                continue
            if asked.share < check.from_share:
                print(f"left out {check.name}: at a share of {check.from_share:g} or more")
                continue
            wanted.append((module, place))
    began = time.monotonic()
    failed, sum_s = 0, 0.0
    # A process for each: what one leaves behind is no other's, and memory that a check watches is its own.
    spawned = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(asked.jobs, spawned, max_tasks_per_child=1) as pool:
        running = [pool.submit(outcome, module, place, asked.share) for module, place in wanted]
        for ended in as_completed(running):
            passed, seconds, line = ended.result()
            failed += not passed
            sum_s += seconds
            print(line, flush=True)
    print(f"sum {sum_s:.0f} s, in {time.monotonic() - began:.0f} s with {asked.jobs} at a time")
    print(f"{len(wanted) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
