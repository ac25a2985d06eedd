"""How long `wiremap judge FILE` takes as a whole process, against a bare `import numpy, typer`.

`python -m tests.benchmarks.start [RUNS]` prints medians of alternating runs and their ratio, which is to be at most
1.4, for a cable that passes and for one that fails; wall time, and processor time, which a busy machine stretches
less. A cable whose order is wrong takes longest: which end it is, is worked out over all orders of both plugs.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

LIMIT = 1.4
SCRIPT = "from wiremap.__main__ import main; main()"  # what the installed command `wiremap` does
STRAIGHT = ["--expect", "straight"]
CABLES = {  # far contact of each near one, 0 = open; words of the command; exit code
    "passing": ("12345678S", STRAIGHT, 0),
    "failing, screen open": ("123456780", [*STRAIGHT, "--screen", "both"], 3),
    "failing, order wrong": ("12645378S", STRAIGHT, 3),
}


def table(far: str) -> str:
    """Return the continuity of a cable as CSV, near contact -> far contact."""
    return "".join(",".join(str(int(one == contact)) for contact in "12345678S") + "\n" for one in far)


def seconds(command: list[str], expected: int) -> tuple[float, float]:
    """Return wall and processor time of a command that must end with this exit code."""
    compiled = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    began = time.perf_counter()
    code = subprocess.run(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=compiled, check=False
    ).returncode
    took = time.perf_counter() - began
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if code != expected:
        raise SystemExit(f"{' '.join(command)} ended with {code}, expected {expected}")
    return took, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Alternate the commands, so that a busy machine is as busy for each, and print medians and ratios."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 41
    with tempfile.TemporaryDirectory() as folder:
        commands = {"import numpy, typer": ([sys.executable, "-c", "import numpy, typer"], 0)}
        for name, (far, words, code) in CABLES.items():
            file = Path(folder) / f"{name}.csv"
            file.write_text(table(far), encoding="utf-8")
            commands[f"judge, {name}"] = ([sys.executable, "-c", SCRIPT, "judge", str(file), *words], code)
        times: dict[str, list[tuple[float, float]]] = {name: [] for name in commands}
        for run in range(runs + 2):
            for name, (command, expected) in commands.items():
                took = seconds(command, expected)
                if run >= 2:  # the first runs fill the disk cache
                    times[name].append(took)
    for place, kind in enumerate(("wall", "processor")):
        medians = {name: statistics.median(took[place] for took in found) for name, found in times.items()}
        base = medians["import numpy, typer"]
        print(f"{kind} time: import numpy, typer {base * 1000:.0f} ms, median of {runs}")
        for name in list(medians)[1:]:
            print(f"  {name}: {medians[name] * 1000:.0f} ms, ratio {medians[name] / base:.3f} (limit {LIMIT})")


if __name__ == "__main__":
    main()
