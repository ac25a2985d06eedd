"""What verifying full captures takes, beside decoding the same bytes and beside judging, and what two cores are worth.

Prints ratios of processor time (cores: of wall time) measured in one run, what sheets take, and the most memory for a
tenth of the captures and for all: python -m tests.benchmarks.captures [COUNT]
"""

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import msgspec

from tests.benchmarks.ledgers import timed
from tests.cli.running import run
from wiremap.records.captures.capture import read_capture
from wiremap.records.captures.chain import ChainLink, chain
from wiremap.records.captures.check import check
from wiremap.records.captures.rejudge import rejudge
from wiremap.records.captures.seal import digest

FULL = Path(__file__).parents[2] / "captures" / "rack-01.json"


def processor_s(work: Callable[[], object], count: int) -> float:
    """Return the processor time of some work that is done so often, each time from anew, seconds."""
    began = time.process_time()
    for _ in range(count):
        work()
    return time.process_time() - began


def sealed(content: bytes) -> ChainLink:
    """Read a capture's bytes and hold its seal."""
    capture = read_capture(content, "capture")
    assert capture.digest == capture.seal.digest
    return ChainLink("capture", digest(capture.line), None, None, None, capture.record.made_utc)


def sheets() -> None:
    """Draw a sheet, which loads what draws, and then some more in the same process, and print what each took."""
    taken = []
    with tempfile.TemporaryDirectory() as name:
        for number, count in enumerate((1, 2, 8)):
            made = [Path(name, f"{number}-{k}.json") for k in range(count)]
            for path in made:
                path.write_bytes(FULL.read_bytes())
            began = time.process_time()
            words = ("report", *map(str, made), "--make", "sheet", "--save", str(Path(name, f"sheets-{number}")))
            assert run(*words).code == 0
            taken.append(time.process_time() - began)
    print(f"first sheet: {taken[0]:.2f} s; each more of a folder: {(taken[2] - taken[1]) / 6:.2f} s (1 is wanted)")


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    content = FULL.read_bytes()
    line = content.partition(b"\n")[0]
    known = read_capture(content, "capture")
    check(content, "capture", {})
    decoding = processor_s(lambda: msgspec.json.decode(line), count)
    sealing = processor_s(lambda: chain([sealed(content)]), count)
    judging = processor_s(lambda: rejudge(known.record, known.reading), count)
    checking = processor_s(lambda: check(content, "capture", {}), count)
    print(f"{count} captures of {len(content)} bytes")
    print(f"bytes, seal and chain / decoding alone: {sealing / decoding:.2f} (8 is wanted)")
    print(f"verifying / (judging + bytes, seal and chain): {checking / (judging + sealing):.2f} (1.2 is wanted)")
    sheets()
    with tempfile.TemporaryDirectory() as name, tempfile.TemporaryDirectory() as tenth:
        for number in range(count):
            Path(name, f"{number:05}.json").write_bytes(content)
        for path in sorted(Path(name).iterdir())[: count // 10]:
            Path(tenth, path.name).write_bytes(content)
        walls = []
        for cores in ("1", "2"):
            began = time.monotonic()
            assert run("verify", name, "--cores", cores).code == 0
            walls.append(time.monotonic() - began)
        few, all_of_them = (timed("-m", "wiremap", "verify", folder)[1] for folder in (tenth, name))
    print(f"most memory: {few} MB for {count // 10} captures, {all_of_them} MB for {count}")
    print(f"one core / two cores, of wall time: {walls[0] / walls[1]:.2f} (1.8 is wanted, on two idle cores)")


if __name__ == "__main__":
    main()
