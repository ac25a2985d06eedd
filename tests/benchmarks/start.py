"""How long `wiremap judge FILE` takes as a whole process, against a bare `import numpy, typer`.

`python -m tests.benchmarks.start [RUNS]` prints medians of alternating runs and their ratio, which is to be at most
1.4, for a cable that passes and for one that fails.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

LIMIT = 1.4
ORDERS = {"passing": (0, 1, 2, 3, 4, 5, 6, 7), "failing": (0, 1, 5, 3, 4, 2, 6, 7)}


def seconds(command: list[str], expected: int) -> float:
    """Return the wall time of a command that must end with this exit code."""
    began = time.perf_counter()
    code = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False).returncode
    took = time.perf_counter() - began
    if code != expected:
        raise SystemExit(f"{' '.join(command)} ended with {code}, expected {expected}")
    return took


def main() -> None:
    """Alternate the commands, so that a busy machine is as busy for each, and print medians and ratios."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 41
    with tempfile.TemporaryDirectory() as folder:
        commands = {"import numpy, typer": ([sys.executable, "-c", "import numpy, typer"], 0)}
        for name, order in ORDERS.items():
            file = Path(folder) / f"{name}.csv"
            rows = (",".join(str(int(order[near] == far)) for far in range(8)) for near in range(8))
            file.write_text("\n".join(rows) + "\n", encoding="utf-8")
            commands[f"judge, {name}"] = (
                [sys.executable, "-m", "wiremap", "judge", str(file), "--expect", "straight"],
                0 if name == "passing" else 3,
            )
        times: dict[str, list[float]] = {name: [] for name in commands}
        for run in range(runs + 2):
            for name, (command, expected) in commands.items():
                took = seconds(command, expected)
                if run >= 2:  # the first runs fill the disk cache
                    times[name].append(took)
    medians = {name: statistics.median(took) for name, took in times.items()}
    base = medians["import numpy, typer"]
    print(f"import numpy, typer: {base * 1000:.0f} ms, median of {runs}")
    for name, median in medians.items():
        if name.startswith("judge"):
            ratios = sorted(took / bare for took, bare in zip(times[name], times["import numpy, typer"], strict=True))
            print(
                f"{name}: {median * 1000:.0f} ms, ratio of medians {median / base:.3f}, "
                f"median of ratios {statistics.median(ratios):.3f} (limit {LIMIT})"
            )


if __name__ == "__main__":
    main()
