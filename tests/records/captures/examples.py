"""The example captures: `python -m tests.records.captures.examples` makes them anew with the simulator, after a look.

A refit of a catamaran, made up: a rack's patch cables, and runs to instruments. Nobody is meant, nothing was measured.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[3] / "captures"
REFIT = ("--job", "vessel=catamaran", "--job", "site=refit")


def _job(cable: str, near: str = "", far: str = "", **more: str) -> tuple[str, ...]:
    given = {"cable": cable, "near": near, "far": far, **more}
    return tuple(word for key, value in given.items() if value for word in ("--job", f"{key}={value}"))


SOUNDER = _job("sounder-sensor", "sounder", "switch")
SCREEN = ("--screen", "both", *_job("sounder-module", "helm", "sounder"))
MAST = _job("thermal-camera-mast", "helm", "mast")
DONE = ("re-terminated=far", "done=power-off,re-terminated,strain-relief")
REMOTE = ("--far", "remote", "--remote", "B=mast")
BUS = ("--near-adapter", "m12a-rj45", "--far-adapter", "m12a-rj45", "--expect", "m12a-5pole")
EXAMPLES: dict[str, tuple[str, ...]] = {
    "rack-01": ("sim:patch", "--expect", "straight", *_job("rack-01")),
    "rack-02": ("sim:far-3-6-exchanged", "--expect", "straight", *_job("rack-02", note="crimped by the apprentice")),
    "rack-03": ("sim:crossover-copied", "--expect", "crossover", *_job("rack-03")),
    "rack-04": ("sim:rolled-plug", "--expect", "straight", *_job("rack-04")),
    "rack-05": ("sim:split-pair", "--expect", "straight", *_job("rack-05")),
    "sounder-screen": ("sim:open-screen", "--expect", "straight", *SCREEN),
    "sounder-sensor": ("sim:sensor-m12d", "--near-adapter", "m12d-rj45", "--expect", "m12d-rj45", *SOUNDER),
    "helm-display-break": ("sim:break-mid-run", "--expect", "straight", *_job("helm-display", "switch", "helm")),
    "bridge-deck-crimp": ("sim:high-resistance", "--expect", "straight", *_job("bridge-deck", "switch", "port-hull")),
    "device-bus": ("sim:device-bus", *BUS, *_job("bus-backbone", "nav-desk", "engine-room")),
    "thermal-camera-found": ("sim:mast-camera", "--expect", "straight", "--near-colours", "1=white-orange", *MAST),
    "thermal-camera-mended": ("sim:sftp", "--expect", "straight", *MAST, *(w for d in DONE for w in ("--job", d))),
    "thermal-camera-remote": (
        "sim:mast-remote",
        "--far",
        "remote",
        "--remote",
        "B=mast",
        "--expect",
        "straight",
        *MAST,
    ),
}


def main() -> None:
    """Make every example into the folder of examples, in the place of what is there."""
    with tempfile.TemporaryDirectory() as home:
        for name, (tester, *words) in EXAMPLES.items():
            path = FOLDER / f"{name}.json"
            path.unlink(missing_ok=True)
            command = [sys.executable, "-m", "wiremap", "test", "--tester", tester, *words, *REFIT, "--save", str(path)]
            done = subprocess.run(command, env={**os.environ, "WIREMAP_HOME": home}, capture_output=True, check=False)
            if not path.exists():
                raise SystemExit(f"{name}: {done.stderr.decode()}")
            sys.stdout.write(f"{name}: {done.stdout.decode().splitlines()[0]}\n")


if __name__ == "__main__":
    main()
