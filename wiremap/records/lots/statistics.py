"""What the ledgers of lots say: yield, faults, drift, length, rate. Any number of lines, read in pieces."""

import math
from array import array
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import NormalDist
from typing import TypeVar

import msgspec
import numpy as np

from wiremap.errors import FileError
from wiremap.records.lots.drift import Drift, drift
from wiremap.records.lots.ledger_entry import HINT, Entry, Kind, LedgerFault, Verdict

Counted = TypeVar("Counted")
Codes = np.ndarray[tuple[int], np.dtype[np.int8]]
PIECE_BYTES = 1_000_000
MOST_POINTS = 2000
VERDICTS = ("pass", "fail", "undecided")
CODES: dict[str | None, int] = {word: code for code, word in enumerate(VERDICTS)}
AGAIN_AND_AGAIN = 3
FEWEST_PLACES = 4  # the conductor contacts of the smallest plug, where fewer have failed
CHANCE = 0.001  # of naming a contact by chance, all contacts of a lot together


@dataclass(frozen=True, slots=True)
class Share:
    """`count` out of `total`, and the 95 % confidence interval of the share (Wilson)."""

    count: int
    total: int
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class FaultPlace:
    """How many tests found this fault at this contact; end None = not known which."""

    fault: str
    end: str | None
    contact: str
    tests: int


@dataclass(frozen=True, slots=True)
class Lengths:
    """Lengths measured in a lot, metres."""

    count: int
    median_m: float
    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class LotSummary:
    """One lot, or several together.

    lots: names. cables: tested at least once. tests: all of them, retests included; undone: taken back, not counted.
    first_pass: cables that passed their first test; final: that passed their newest; None = no cables. newest: how
    many cables stand at each verdict. faults: (fault, tests that found it), the most frequent first. places: the
    same by contact. failed: (end, contact, tests with any fault there); end None = not known which.
    hours: ("YYYY-MM-DDTHH", tests). The rest is of one lot only, empty or None where several were put together:
    lengths; reference_ohm: of each test of the reference cord; contact_ohm: of each test that passed, in a long lot
    the means of MOST_POINTS stretches of it; its drift.
    """

    lots: tuple[str, ...]
    cables: int
    tests: int
    undone: int
    first_pass: Share | None
    final: Share | None
    newest: tuple[tuple[str, int], ...]
    faults: tuple[tuple[str, int], ...]
    places: tuple[FaultPlace, ...]
    failed: tuple[tuple[str | None, str, int], ...]
    hours: tuple[tuple[str, int], ...]
    lengths: Lengths | None = None
    reference_ohm: tuple[float, ...] = ()
    contact_ohm: tuple[float, ...] = ()
    drift: Drift | None = None


class _Line(msgspec.Struct, frozen=True, gc=False):
    kind: Kind
    number: int
    made_utc: str = ""
    of: int | None = None
    verdict: Verdict | None = None
    faults: tuple[LedgerFault, ...] = ()
    contact_ohm: float | None = None
    length_m: float | None = None


def share(count: int, total: int) -> Share | None:
    """Return a share with its Wilson interval (NIST/SEMATECH e-Handbook 7.2.4.1); None when there is nothing."""
    if not total:
        return None
    z = NormalDist().inv_cdf(0.975)
    part = count / total
    middle = part + z * z / (2 * total)
    spread = z * math.sqrt(part * (1 - part) / total + z * z / (4 * total * total))
    scale = 1 + z * z / total
    low, high = (middle - spread) / scale, (middle + spread) / scale
    return Share(count, total, 0.0 if count == 0 else max(low, 0.0), 1.0 if count == total else min(high, 1.0))


class Tally:
    """Counts the lines of one ledger as they come."""

    def __init__(self) -> None:
        self.tests = 0
        self.undone = 0
        self._number = array("q")
        self._of = array("q")
        self._verdict = array("b")
        self._gone: list[int] = []
        self._faults: Counter[str] = Counter()
        self._places: Counter[tuple[str, str | None, str]] = Counter()
        self._failed: Counter[tuple[str | None, str]] = Counter()
        self._hours: Counter[str] = Counter()
        self._ohm = array("d")
        self._length = array("d")
        self._reference = array("d")

    def add(self, lines: Sequence[_Line | Entry]) -> None:
        """Count some more lines."""
        tests = [line for line in lines if line.kind == "test"]
        self._number.extend([line.number for line in tests])
        self._of.extend([line.of or 0 for line in tests])
        self._verdict.extend([CODES.get(line.verdict, 2) for line in tests])
        self._hours.update([line.made_utc[:13] for line in tests])
        self._ohm.extend(
            [line.contact_ohm for line in tests if line.verdict == "pass" and line.contact_ohm is not None]
        )
        self._length.extend([line.length_m for line in tests if line.length_m is not None])
        for faults, count in Counter([line.faults for line in tests if line.faults]).items():
            self._count_faults(faults, count)
        if len(tests) != len(lines):
            self._gone += [line.of for line in lines if line.kind == "undo" and line.of is not None]
            references = [line.contact_ohm for line in lines if line.kind == "reference"]
            self._reference.extend([ohm for ohm in references if ohm is not None])

    def _count_faults(self, faults: tuple[LedgerFault, ...], tests: int) -> None:
        places: set[tuple[str, str | None, str]] = set()
        for fault in faults:
            end: str | None = None if fault.end == "run" else fault.end
            contacts = fault.far if end == "far" or not fault.near else fault.near
            places.update((fault.fault, end, contact) for contact in contacts)
        for name in {fault.fault for fault in faults}:
            self._faults[name] += tests
        for place in places:
            self._places[place] += tests
        for end, contact in {(end, contact) for _, end, contact in places}:
            self._failed[end, contact] += tests

    def summary(self, lot: str) -> LotSummary:
        """Return what was counted."""
        tests, first, newest = self._verdicts()
        counts = np.bincount(newest, minlength=len(VERDICTS))
        lengths = np.array(self._length, dtype=float)
        return LotSummary(
            lots=(lot,),
            cables=len(first),
            tests=tests,
            undone=len(self._gone),
            first_pass=share(int(np.sum(first == 0)), len(first)),
            final=share(int(counts[0]), len(newest)),
            newest=tuple((word, int(count)) for word, count in zip(VERDICTS, counts, strict=True)),
            faults=_ranked(self._faults),
            places=tuple(FaultPlace(*place, tests) for place, tests in _ranked(self._places)),
            failed=tuple((end, contact, tests) for (end, contact), tests in _ranked(self._failed)),
            hours=tuple(sorted(self._hours.items())),
            lengths=Lengths(len(lengths), float(np.median(lengths)), float(lengths.min()), float(lengths.max()))
            if len(lengths)
            else None,
            reference_ohm=tuple(self._reference),
            contact_ohm=_thinned(self._ohm),
            drift=drift(self._ohm),
        )

    def _verdicts(self) -> tuple[int, Codes, Codes]:
        """Return how many tests stand, and the verdicts of each cable's first and of its newest test."""
        number, of = np.array(self._number, dtype=np.int64), np.array(self._of, dtype=np.int64)
        verdict = np.array(self._verdict, dtype=np.int8)
        if self._gone:
            stays = ~np.isin(number, np.array(self._gone, dtype=np.int64))
            number, of, verdict = number[stays], of[stays], verdict[stays]
        repeated = np.zeros(int(number.max(initial=0)) + 1, dtype=bool)
        repeated[of[of < len(repeated)]] = True
        return len(number), verdict[of == 0], verdict[~repeated[number]]


def _ranked(counts: Counter[Counted]) -> tuple[tuple[Counted, int], ...]:
    """Return what was counted, the most frequent first, then in the order of names."""
    return tuple(sorted(counts.items(), key=lambda item: (-item[1], str(item[0]))))


def _thinned(values: "array[float]") -> tuple[float, ...]:
    if len(values) <= MOST_POINTS:
        return tuple(values)
    return tuple(float(part.mean()) for part in np.array_split(np.array(values, dtype=float), MOST_POINTS))


def summarise(path: Path, lot: str) -> LotSummary:
    """Return the summary of one ledger, read in pieces; FileError names the place of a line that is none."""
    tally = Tally()
    for lines in _pieces(path):
        tally.add(lines)
    return tally.summary(lot)


def summarise_entries(entries: Sequence[Entry], lot: str) -> LotSummary:
    """Return the summary of a lot that is open."""
    tally = Tally()
    tally.add(entries)
    return tally.summary(lot)


def together(summaries: Sequence[LotSummary]) -> LotSummary:
    """Return several lots, of one bench or many, as one."""
    first = [summary.first_pass.count for summary in summaries if summary.first_pass]
    newest = Counter[str]()
    faults, hours = Counter[str](), Counter[str]()
    places, failed = Counter[tuple[str, str | None, str]](), Counter[tuple[str | None, str]]()
    for summary in summaries:
        newest.update(dict(summary.newest))
        faults.update(dict(summary.faults))
        hours.update(dict(summary.hours))
        places.update({(place.fault, place.end, place.contact): place.tests for place in summary.places})
        failed.update({(end, contact): tests for end, contact, tests in summary.failed})
    cables = sum(summary.cables for summary in summaries)
    return LotSummary(
        lots=tuple(lot for summary in summaries for lot in summary.lots),
        cables=cables,
        tests=sum(summary.tests for summary in summaries),
        undone=sum(summary.undone for summary in summaries),
        first_pass=share(sum(first), cables),
        final=share(newest["pass"], cables),
        newest=tuple((word, newest[word]) for word in VERDICTS),
        faults=_ranked(faults),
        places=tuple(FaultPlace(*place, tests) for place, tests in _ranked(places)),
        failed=tuple((end, contact, tests) for (end, contact), tests in _ranked(failed)),
        hours=tuple(sorted(hours.items())),
    )


def again_and_again(summary: LotSummary) -> tuple[tuple[str, str, int], ...]:
    """Return (end, contact, tests) that failed more often than chance and the other contacts explain.

    By chance, all contacts of an end that failed at all share its failures evenly; one that stands out by a binomial
    tail under CHANCE, all of them together (Bonferroni), points at a crimper's die or a habit of the hand.
    """
    named = []
    for side in ("near", "far"):
        known = [(contact, tests) for end, contact, tests in summary.failed if end == side]
        total = sum(tests for _, tests in known)
        places = max(len(known), FEWEST_PLACES)
        named += [
            (side, contact, tests)
            for contact, tests in known
            if tests >= AGAIN_AND_AGAIN and binomial_tail(tests, total, 1 / places) < CHANCE / places
        ]
    return tuple(named)


def binomial_tail(count: int, total: int, chance: float) -> float:
    """Return the chance of `count` or more out of `total`."""
    log = [
        math.lgamma(total + 1)
        - math.lgamma(k + 1)
        - math.lgamma(total - k + 1)
        + k * math.log(chance)
        + (total - k) * math.log1p(-chance)
        for k in range(count, total + 1)
    ]
    return min(1.0, math.fsum(map(math.exp, log)))


def _pieces(path: Path) -> Iterator[list[_Line]]:
    """Give the lines of a ledger, some thousands at a time; half a line at the end is still being written."""
    decoder = msgspec.json.Decoder(_Line)
    done = 0
    try:
        with path.open("rb") as file:
            rest = b""
            while content := file.read(PIECE_BYTES):
                whole, cut, after = (rest + content).rpartition(b"\n")
                rest = after
                if cut:
                    lines = _decoded(decoder, whole, path, done)
                    done += len(lines)
                    yield lines
    except OSError as error:
        raise FileError(f"{path}: cannot be read ({error.strerror})", "Check the name of the lot.") from error


def _decoded(decoder: "msgspec.json.Decoder[_Line]", whole: bytes, path: Path, done: int) -> list[_Line]:
    try:
        return decoder.decode_lines(whole)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        for number, line in enumerate(whole.split(b"\n"), done + 1):
            try:
                decoder.decode(line)
            except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
                raise FileError(f"{path}: line {number}: no line of a ledger ({error})", HINT) from error
        raise
