"""Records at full count: bits flipped, bytes moved, writers killed, folders of ten thousand."""

import tempfile
import time
from pathlib import Path

from tests.long import Check
from tests.records.captures.nonsense import nonsense_is_refused_or_judged
from tests.records.captures.saving import killed_saves
from tests.records.captures.tampering import every_cut_is_caught, every_flip_is_caught
from tests.records.samples import content, plain_record, published_key
from tests.records.test_canonical import believed_as_written
from wiremap.records.captures.capture import to_bytes
from wiremap.records.captures.chain import chain
from wiremap.records.captures.check import capture_files, check
from wiremap.records.captures.files import read_bounded
from wiremap.records.captures.seal import digest

KNOWN = {published_key().public: "test"}


def flipped_bits(_seed: int, _count: int) -> str:
    """Flip every bit of a signed capture of eight conductors."""
    made = content(key=published_key())
    return f"{every_flip_is_caught(made, KNOWN)} flipped bits of {len(made)} bytes caught"


def canonical_bytes(seed: int, count: int) -> str:
    """Write values in several ways: what the fast writer is believed for, RFC 8785 writes alike."""
    return f"{believed_as_written(seed, count)} ways of writing believed, none otherwise"


def moved_bytes(seed: int, count: int) -> str:
    """Cut, double, turn and put in bytes."""
    return f"{every_cut_is_caught(content(key=published_key()), KNOWN, seed, count)} changes caught"


def nonsense(seed: int, count: int) -> str:
    """Put nonsense into records whose digest fits."""
    refused, judged = nonsense_is_refused_or_judged(seed, count)
    assert refused + judged == count
    return f"{refused} refused with a hint, {judged} judged, no crash"


def killed_writers(seed: int, count: int) -> str:
    """Kill writers at random moments."""
    with tempfile.TemporaryDirectory() as folder:
        whole, killed = killed_saves(Path(folder), seed, count)
    assert whole == count
    return f"{whole} captures whole and none lost, {killed} writers killed"


def a_large_lot(_seed: int, count: int) -> str:
    """Write, read and verify a lot of many captures, with its chain."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        before = None
        plain = plain_record()
        for number in range(1, count + 1):
            made = to_bytes(plain | {"before": before, "lot": {"name": "rack", "number": number}}, published_key())
            before = digest(made.partition(b"\n")[0] + b"\n")
            (folder / f"{number:05}.json").write_bytes(made)
        began = time.monotonic()
        links = []
        for path in capture_files(folder):
            found = check(read_bounded(path), str(path), KNOWN)
            assert (found.digest_holds, found.signature, found.verdict) == (True, "known", "same")
            link = found.link()
            assert link is not None
            links.append(link)
        assert set(chain(links)) == {"holds"}
        seconds = time.monotonic() - began
    assert len(links) == count
    return f"{count} captures verified in {seconds:.0f} s, {1000 * seconds / count:.1f} ms each"


CHECKS = (
    Check("records: every flipped bit", flipped_bits, 1),
    Check("records: canonical bytes the fast way", canonical_bytes, 300_000),
    Check("records: moved bytes", moved_bytes, 5000),
    Check("records: nonsense with a digest that fits", nonsense, 3000),
    Check("records: killed writers", killed_writers, 1000),
    Check("records: a lot of ten thousand", a_large_lot, 10_000),
)
