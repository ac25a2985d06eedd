"""What the ledgers of lots say: yield, faults, drift, length, rate. Any number of lines, read in pieces."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from statistics import NormalDist
from typing import TypeVar

import msgspec
import numpy as np
from msgspec import Struct

from wiremap.errors import FileError, spelled_out
from wiremap.files import CHECK_NAME, check_size, opened
from wiremap.judge.findings import VERDICTS, Verdict
from wiremap.reading.reading import Origin
from wiremap.records.lots.drift import Drift, drift
from wiremap.records.lots.ledger_entry import HINT, LARGEST_LEDGER_BYTES, Entry, LedgerFault
from wiremap.records.lots.tally import PASSED, Counts, Floats, LedgerLine, Tally, Tests

Counted = TypeVar("Counted")
PIECE_BYTES = 1_000_000
MOST_POINTS = 2000
AGAIN_AND_AGAIN = 3
FEWEST_PLACES = 4  # the conductor contacts of the smallest plug, where fewer have failed
CHANCE = 0.001  # of naming a contact by chance, all contacts of a lot together


class Share(Struct, frozen=True):
    """`count` out of `total`, and the 95 % confidence interval of the share (Wilson)."""

    count: int
    total: int
    low: float
    high: float


class FaultPlace(Struct, frozen=True):
    """How many tests found this fault at this contact; end None = not known which."""

    fault: str
    end: str | None
    contact: str
    tests: int


class FailedLabel(msgspec.Struct, frozen=True, gc=False):
    """A label of which a test did not pass: what was found, and where it stands now.

    found: "fail" when any of its tests failed, else "undecided". faults: of all its tests that did not pass, each
    once, in the order in which they were found. now: verdict of its newest test. Tests taken back do not count.
    """

    lot: str
    label: str
    found: Verdict
    faults: tuple[LedgerFault, ...]
    now: Verdict

    @property
    def mended(self) -> bool:
        """Whether it passed in the end."""
        return self.now == "pass"


class Lengths(Struct, frozen=True):
    """Lengths measured in a lot, metres."""

    count: int
    median_m: float
    low_m: float
    high_m: float


class LotSummary(Struct, frozen=True):
    """One lot, or several together.

    lots: names. planned: how many cables the plan wants, None = no number. cables: tested at least once. tests: all of
    them, retests included; undone: taken back, counted nowhere else. first_pass: cables that passed their first test;
    final: that passed their newest, after repair. newest: how many cables stand at each verdict. faults: (fault,
    tests that found it), the most frequent first. places: the same by contact. failed: (end, contact, tests with any
    fault there); end None = not known which. hours: ("YYYY-MM-DDTHH", tests). origins: (where readings come from,
    tests). failed_labels: those that still do not pass first. The rest is of one lot only, empty or None where several
    were put together: lengths; reference_ohm: of each test of the reference cord; contact_ohm: of each test that
    passed, in a long lot the means of MOST_POINTS stretches of it; its drift.
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
    origins: tuple[tuple[Origin, int], ...] = ()
    failed_labels: tuple[FailedLabel, ...] = ()
    planned: int | None = None
    lengths: Lengths | None = None
    reference_ohm: tuple[float, ...] = ()
    contact_ohm: tuple[float, ...] = ()
    drift: Drift | None = None


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


def summary_of(tally: Tally, lot: str, planned: int | None = None) -> LotSummary:
    """Return what the lines of one lot say; planned: how many cables it is to have, None = no number."""
    tests = tally.tests()
    contact_ohm, drifted = _contact_ohm(tests)  # first, since it takes the most memory
    following = tests.next_numbers()
    newest = tests.verdict[following[tests.number] == 0]
    first = tests.verdict[tests.of == 0]
    counts = np.bincount(newest, minlength=len(VERDICTS))
    lengths = tests.length_m[~np.isnan(tests.length_m)]
    faults, places, failed = _fault_counts(tests)
    return LotSummary(
        lots=(spelled_out(lot, lines=False),),
        cables=len(first),
        tests=len(tests.number),
        undone=len(tally.undone),
        first_pass=share(int(np.sum(first == PASSED)), len(first)),
        final=share(int(counts[PASSED]), len(newest)),
        newest=tuple((word, int(count)) for word, count in zip(VERDICTS, counts, strict=True)),
        faults=_ranked(faults),
        places=tuple(FaultPlace(*place, count) for place, count in _ranked(places)),
        failed=tuple((end, contact, count) for (end, contact), count in _ranked(failed)),
        hours=tuple(sorted(_counted(tests.hour, tests.hours))),
        origins=tuple(sorted(_counted(tests.origin, tests.origins))),
        failed_labels=_failed_labels(tests, following, lot),
        planned=planned,
        lengths=Lengths(len(lengths), float(np.median(lengths)), float(lengths.min()), float(lengths.max()))
        if len(lengths)
        else None,
        reference_ohm=tuple(tally.reference_ohm),
        contact_ohm=contact_ohm,
        drift=drifted,
    )


def _counted(codes: Counts, names: Sequence[Counted]) -> list[tuple[Counted, int]]:
    """Return the names that a column of their indices has, each with how often."""
    counts = np.bincount(codes, minlength=len(names))
    return [(name, int(count)) for name, count in zip(names, counts, strict=True) if count]


def _fault_counts(
    tests: Tests,
) -> tuple[Counter[str], Counter[tuple[str, str | None, str]], Counter[tuple[str | None, str]]]:
    """Return how many tests found each fault, each fault at each end and contact, any fault at each end and contact."""
    by_fault, by_place, by_contact = (
        Counter[str](),
        Counter[tuple[str, str | None, str]](),
        Counter[tuple[str | None, str]](),
    )
    for faults, count in _counted(tests.faults, tests.fault_lists):
        places: set[tuple[str, str | None, str]] = set()
        for fault in faults:
            end: str | None = None if fault.end == "run" else fault.end
            contacts = fault.far if end == "far" or not fault.near else fault.near
            places.update((fault.fault, end, contact) for contact in contacts)
        for name in {fault.fault for fault in faults}:
            by_fault[name] += count
        for place in places:
            by_place[place] += count
        for contact_of in {(end, contact) for _, end, contact in places}:
            by_contact[contact_of] += count
    return by_fault, by_place, by_contact


def _failed_labels(tests: Tests, following: Counts, lot: str) -> tuple[FailedLabel, ...]:
    """Return the labels of which a test did not pass, those that still do not pass first, then in order of testing."""
    rows = np.flatnonzero(tests.verdict != PASSED)
    newest = tests.number[rows]
    while (later := following[newest]).any():
        newest = np.where(later > 0, later, newest)
    now = np.zeros(len(following), dtype=np.int8)
    now[tests.number] = tests.verdict
    found: dict[int, FailedLabel] = {}
    columns = (newest, now[newest], tests.verdict[rows], tests.faults[rows])
    for label, key, stands, verdict, faults in zip(tests.labels, *(column.tolist() for column in columns), strict=True):
        before = found.get(key)
        one = FailedLabel(lot, label, VERDICTS[verdict], tests.fault_lists[faults], VERDICTS[stands])
        found[key] = one if before is None else _same_label(before, one)
    mended = [label for label in found.values() if label.now == "pass"]
    return (*(label for label in found.values() if label.now != "pass"), *mended)


def _same_label(before: FailedLabel, after: FailedLabel) -> FailedLabel:
    """Return what two tests of one label that did not pass found together."""
    worse: Verdict = "fail" if "fail" in (before.found, after.found) else "undecided"
    faults = tuple(dict.fromkeys((*before.faults, *after.faults)))
    return FailedLabel(before.lot, before.label, worse, faults, before.now)


def _ranked(counts: Counter[Counted]) -> tuple[tuple[Counted, int], ...]:
    """Return what was counted, the most frequent first, then in the order of names."""
    return tuple(sorted(counts.items(), key=lambda item: (-item[1], str(item[0]))))


def _contact_ohm(tests: Tests) -> tuple[tuple[float, ...], Drift]:
    """Return the resistances of the tests that passed, thinned, and whether they drift."""
    ohm = tests.contact_ohm[(tests.verdict == PASSED) & ~np.isnan(tests.contact_ohm)]
    return _thinned(ohm), drift(ohm)


def _thinned(values: Floats) -> tuple[float, ...]:
    if len(values) <= MOST_POINTS:
        return tuple(values.tolist())
    return tuple(float(part.mean()) for part in np.array_split(values, MOST_POINTS))


def summarise(path: Path, lot: str, planned: int | None = None) -> LotSummary:
    """Return the summary of one ledger, read in pieces; FileError names the place of a line that is none."""
    tally = Tally()
    for lines in _pieces(path):
        tally.add(lines)
    return summary_of(tally, lot, planned)


def summarise_entries(entries: Sequence[Entry], lot: str) -> LotSummary:
    """Return the summary of a lot whose ledger has these lines."""
    tally = Tally()
    tally.add(entries)
    return summary_of(tally, lot)


def together(summaries: Sequence[LotSummary]) -> LotSummary:
    """Return several lots, of one bench or many, as one; one alone as it is."""
    if len(summaries) == 1:
        return summaries[0]
    first = [summary.first_pass.count for summary in summaries if summary.first_pass]
    newest = Counter[str]()
    faults, hours, origins = Counter[str](), Counter[str](), Counter[Origin]()
    places, failed = Counter[tuple[str, str | None, str]](), Counter[tuple[str | None, str]]()
    for summary in summaries:
        newest.update(dict(summary.newest))
        faults.update(dict(summary.faults))
        hours.update(dict(summary.hours))
        origins.update(dict(summary.origins))
        places.update({(place.fault, place.end, place.contact): place.tests for place in summary.places})
        failed.update({(end, contact): tests for end, contact, tests in summary.failed})
    cables = sum(summary.cables for summary in summaries)
    planned = [summary.planned for summary in summaries if summary.planned is not None]
    return LotSummary(
        lots=tuple(lot for summary in summaries for lot in summary.lots),
        planned=sum(planned) if len(planned) == len(summaries) else None,
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
        origins=tuple(sorted(origins.items())),
        failed_labels=tuple(
            sorted((label for summary in summaries for label in summary.failed_labels), key=lambda label: label.mended)
        ),
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


def _pieces(path: Path) -> Iterator[list[LedgerLine]]:
    """Give the lines of a ledger, some thousands at a time; half a line at the end is still being written."""
    decoder = msgspec.json.Decoder(LedgerLine)
    done = 0
    try:
        with opened(path) as file:
            check_size(file, path, LARGEST_LEDGER_BYTES, HINT)
            rest = b""
            while content := file.read(PIECE_BYTES):
                whole, cut, after = (rest + content).rpartition(b"\n")
                rest = after
                if cut:
                    lines = _decoded(decoder, whole, path, done)
                    done += len(lines)
                    yield lines
    except OSError as error:
        raise FileError(f"{path}: cannot be read ({error.strerror})", CHECK_NAME) from error


def _decoded(decoder: "msgspec.json.Decoder[LedgerLine]", whole: bytes, path: Path, done: int) -> list[LedgerLine]:
    try:
        return decoder.decode_lines(whole)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        for number, line in enumerate(whole.split(b"\n"), done + 1):
            try:
                decoder.decode(line)
            except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
                raise FileError(f"{path}: line {number}: no line of a ledger ({error})", HINT) from error
        raise
