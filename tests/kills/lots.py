"""`wiremap batch` killed, or with a full disk, at any step: each verdict that was shown is in the ledger once, and is
that of the cable that was in; what nobody saw is said at the next start; no label is spoilt."""

import json
import os
import random
import select
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

from tests.cli.benches import Bench, plugged_in
from tests.kills.steps import KILLED, REFUSED, Ended, Fate, environment, fates, parts
from wiremap.records.lots.held import held
from wiremap.records.lots.ledger import LEDGER

FAULTS = ("none", "exchanged", "none", "short", "open-middle")
WORDS = ("batch", "rack", "--expect", "straight", "--prefix", "RACK-", "--json", "--key", "none", "--idle", "1")
CABLES_A_LIFE = 2
MOST_S = 60.0
AGAIN = b"The test could not be kept."


class Rack:
    """A bench with cables without end, and what was shown of them."""

    def __init__(self, bench: Bench, address: str, disk: Path, seed: int) -> None:
        self.bench = bench
        self.disk = disk
        self.shown: list[tuple[dict[str, Any], int]] = []
        self.said: Counter[str] = Counter()
        self._address = address
        self._draw = random.Random(seed)

    def life(self, fate: Fate | None) -> Ended:
        """Let a process live until its fate, or until it has tested some cables; then it is killed."""
        self.bench.take_out()
        while len(self.bench.todo) < CABLES_A_LIFE + 1:
            self.bench.add(self._draw.choice(FAULTS))
        with tempfile.TemporaryDirectory() as beside:
            log = Path(beside) / "log"
            process = subprocess.Popen(
                [sys.executable, "-m", "wiremap", *WORDS, "--tester", self._address],
                env=environment(self.disk, fate, log),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
            )
            try:
                err = self._hear(process, fate)
            finally:
                process.kill()
                out, rest = process.communicate()
            self._see(out)
            steps = log.read_text() if log.exists() else ""
        err += rest.decode()
        assert "Traceback" not in err, err
        self.said["unseen tests said"] += "whose verdict nobody saw" in err
        self.said["refusals said"] += "cannot be" in err
        return Ended(process.returncode, "", err, steps)

    def _hear(self, process: "subprocess.Popen[bytes]", fate: Fate | None) -> str:
        """Hear a process until it ends or has shown enough; where it wants room, say once that there is some."""
        assert process.stdout is not None
        assert process.stderr is not None
        assert process.stdin is not None
        began, verdicts, err, pressed = time.monotonic(), 0, b"", False
        until_s = fate.after_s if fate is not None and fate.at is None else MOST_S
        out = b""
        while verdicts < CABLES_A_LIFE and (left_s := began + until_s - time.monotonic()) > 0:
            ready, _, _ = select.select([process.stdout, process.stderr], [], [], left_s)
            if process.stderr in ready:
                err += os.read(process.stderr.fileno(), 65536)
            if not pressed and AGAIN in err:
                process.stdin.write(b" ")
                process.stdin.flush()
                pressed = True
            elif pressed and err.count(AGAIN) > 1:
                return err.decode()
            if process.stdout in ready:
                more = os.read(process.stdout.fileno(), 65536)
                if not more:
                    break
                out += more
                *lines, out = out.split(b"\n")
                for line in lines:
                    verdicts += self._see(line)
        assert time.monotonic() - began < MOST_S, err
        return err.decode()

    def _see(self, lines: bytes) -> int:
        """Note the verdicts on some lines, each with the cable that was in; return how many there were."""
        found = [json.loads(line) for line in lines.splitlines() if line]
        found = [one for one in found if "label" in one]
        self.shown += [(one, self.bench.seen()) for one in found]
        return len(found)

    def check(self) -> None:
        """Hold the lot against what was shown."""
        lot = self.disk / "home" / "lots" / "rack"
        found = held(lot, {})
        assert not found.differences, found.differences
        assert not parts(self.disk)
        tests = {entry.number: entry for entry in found.entries if entry.kind == "test"}
        numbers = [said["number"] for said, _ in self.shown]
        assert len(set(numbers)) == len(numbers), "one line of the ledger was shown for two tests"
        for said, number in self.shown:
            entry, cable = tests[said["number"]], self.bench.rack[number]
            assert (entry.label, entry.verdict) == (said["label"], said["verdict"]), entry
            assert said["verdict"] == cable.verdict
            assert abs((entry.contact_ohm or 0) - cable.ohm) < 0.001, "the line is of another cable"
        assert len({entry.label for entry in tests.values()}) == len(tests), "a label was given twice"


def batches(folder: Path, seed: int, count: int, killed: bool = True) -> str:
    """Sweep a lot in processes that meet their fate, one after the other on one disk."""
    bench = Bench([])
    with plugged_in(bench) as address:
        return _batches(Rack(bench, address, folder / "disk", seed), seed, count, killed)


def _batches(rack: Rack, seed: int, count: int, killed: bool) -> str:
    rack.life(None)  # its folders are made
    began = time.monotonic()
    steps = len(rack.life(None).steps)
    for fate in fates(seed, count, steps, KILLED if killed else REFUSED, time.monotonic() - began):
        found = rack.life(fate)
        if killed and fate.at is not None:
            assert len(found.steps) <= fate.at, "it outlived its step"
    rack.life(None)
    rack.check()
    entries = (rack.disk / "home" / "lots" / "rack" / LEDGER).read_bytes().count(b"\n")
    more = ", ".join(f"{count} {what}" for what, count in rack.said.items())
    return f"{steps} steps, {count} lives; {len(rack.shown)} verdicts shown, {entries} lines; {more}"
