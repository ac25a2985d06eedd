"""Saves that are killed at any moment: what was reported saved is there, and nothing is half there."""

import os
import random
import select
import signal
import time
from pathlib import Path

from tests.records.samples import plain_record
from wiremap.records.captures.capture import Job, read_capture, save


def killed_saves(folder: Path, seed: int, count: int) -> tuple[int, int]:
    """Save `count` captures in children of this process that are killed at random moments.

    A child saves one capture after the other and reports each on a pipe. Every file in the folder must be a whole
    capture, and every reported one must be there. Returns how many captures there are, and how many children died.
    """
    chance = random.Random(seed)
    records = [plain_record(job=Job(cable=f"cable-{number:05}")) for number in range(count)]
    reported: set[str] = set()
    began = killed = 0
    while began < count:
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            _save_all(folder, records[began:], writing)
        os.close(writing)
        end = time.monotonic() + chance.expovariate(1 / 0.02)
        names, closed = _listen(reading, end)
        os.kill(child, signal.SIGKILL)
        more, _ = _listen(reading, time.monotonic() + 60)
        os.close(reading)
        os.waitpid(child, 0)
        killed += not closed
        reported.update(names, more)
        began = 1 + max((int(path.name[6:11]) for path in folder.glob("cable-*.json")), default=-1)
    whole = 0
    for path in folder.glob("*.json"):
        found = read_capture(path.read_bytes(), path.name)
        assert found.digest == found.seal.digest, path
        whole += 1
    missing = [name for name in reported if not (folder / name).is_file()]
    assert not missing, missing
    return whole, killed


def _save_all(folder: Path, records: list[dict[str, object]], report: int) -> None:
    for record in records:
        name = save(folder, record).name
        os.write(report, f"{name}\n".encode())
    os._exit(0)


def _listen(handle: int, end: float) -> tuple[list[str], bool]:
    """Return the names that come until a moment, and whether the writer has gone."""
    received = b""
    while True:
        ready, _, _ = select.select([handle], [], [], max(0.0, end - time.monotonic()))
        if not ready:
            return _whole_lines(received), False
        part = os.read(handle, 65536)
        if not part:
            return _whole_lines(received), True
        received += part


def _whole_lines(received: bytes) -> list[str]:
    return received.decode().splitlines()
