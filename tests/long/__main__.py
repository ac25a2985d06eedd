"""Run every check at full count, print seed, count, seconds and what was seen; exit 1 when one failed."""

import importlib
import pkgutil
import sys
import time
import traceback

import tests.long
from tests.long import Check


def main() -> int:
    """Run the checks whose name contains one of the words given, or all."""
    words = sys.argv[1:]
    checks: list[Check] = []
    for module in sorted(pkgutil.iter_modules(tests.long.__path__), key=lambda found: found.name):
        if not module.name.startswith("_"):
            checks.extend(importlib.import_module(f"tests.long.{module.name}").CHECKS)
    failed = 0
    for check in checks:
        if words and not any(word in check.name for word in words):
            continue
        began = time.monotonic()
        try:
            seen = check.run(check.seed, check.count)
            outcome = "passed"
        except Exception:
            seen = traceback.format_exc()
            outcome = "FAILED"
            failed += 1
        seconds = time.monotonic() - began
        print(
            f"{outcome} {check.name} seed={check.seed} count={check.count} {seconds:.1f} s: {seen}",
            flush=True,
        )
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
