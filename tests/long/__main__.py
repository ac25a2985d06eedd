"""Run every check at full count, print seed, count, seconds and what was seen; exit 1 when one failed.

python -m tests.long [--share S] [WORD...]: at S times the full count, only checks whose name has a WORD.
"""

import argparse
import importlib
import pkgutil
import sys
import time
import traceback

import tests.long
from tests.long import Check


def main() -> int:
    """Run the checks whose name contains one of the words given, or all."""
    parser = argparse.ArgumentParser(prog="python -m tests.long")
    parser.add_argument("--share", type=float, default=1.0, help="part of the full count, 0 to 1")
    parser.add_argument("words", nargs="*", help="only checks whose name contains one of these")
    asked = parser.parse_args()
    words: list[str] = asked.words
    checks: list[Check] = []
    for module in sorted(pkgutil.iter_modules(tests.long.__path__), key=lambda found: found.name):
        if not module.name.startswith("_"):
            checks.extend(importlib.import_module(f"tests.long.{module.name}").CHECKS)
    failed = 0
    for check in checks:
        if words and not any(word in check.name for word in words):
            continue
        if asked.share < check.from_share:
            print(f"left out {check.name}: at a share of {check.from_share:g} or more")
            continue
        count = max(check.least, round(check.count * asked.share))
        began = time.monotonic()
        try:
            seen = check.run(check.seed, count)
            outcome = "passed"
        except Exception:
            seen = traceback.format_exc()
            outcome = "FAILED"
            failed += 1
        seconds = time.monotonic() - began
        print(
            f"{outcome} {check.name} seed={check.seed} count={count} {seconds:.1f} s: {seen}",
            flush=True,
        )
    print(f"{failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
