"""How an open lot stands, counted line by line, so that its page costs the same however long the lot is.

What takes all lines at once, drift and places of faults, is in `statistics.py`.
"""

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Sequence

from msgspec import Struct

from wiremap.errors import spelled_out
from wiremap.judge.findings import VERDICTS, Verdict
from wiremap.reading.reading import Origin
from wiremap.records.lots.ledger_entry import Entry
from wiremap.records.lots.statistics import Share, share
from wiremap.records.lots.tally import CODES

LABELS_NAMED = 6


class LotCounts(Struct, frozen=True):
    """What the page of an open lot says of it; first_pass, final, newest and origins as of a LotSummary.

    cables: tested at least once. not_passed: how many labels do not pass; labels: the first LABELS_NAMED of them, in
    the order in which they first did not. Tests taken back do not count.
    """

    cables: int
    first_pass: Share | None
    final: Share | None
    newest: tuple[tuple[Verdict, int], ...]
    origins: tuple[tuple[Origin, int], ...]
    not_passed: int
    labels: tuple[str, ...]


class LotSoFar:
    """Counts the lines of a ledger, each of which is taken once."""

    def __init__(self) -> None:
        self._taken = 0
        self._counts: LotCounts | None = None
        self._tests: dict[int, tuple[Entry, list[Entry]]] = {}  # by number: a test that stands, and all of its cable
        self._cables = self._passed = 0
        self._newest, self._origins = Counter[Verdict](), Counter[Origin]()
        self._bad: list[int] = []  # of each cable that does not pass its first test that did not, in order

    def counts(self, entries: Sequence[Entry]) -> LotCounts:
        """Return how the lot stands; entries: of its ledger, which only ever grows."""
        if self._counts is None or len(entries) != self._taken:
            for entry in entries[self._taken :]:
                self._take(entry)
            self._taken = len(entries)
            self._counts = self._counted()
        return self._counts

    def _counted(self) -> LotCounts:
        return LotCounts(
            self._cables,
            share(self._passed, self._cables),
            share(self._newest["pass"], self._newest.total()),
            tuple((word, self._newest[word]) for word in VERDICTS),
            tuple(sorted((origin, count) for origin, count in self._origins.items() if count)),
            len(self._bad),
            tuple(spelled_out(self._tests[number][0].label, lines=False) for number in self._bad[:LABELS_NAMED]),
        )

    def _take(self, entry: Entry) -> None:
        """Take a test, or take one back."""
        if entry.kind == "test":
            cable = self._tests[entry.of][1] if entry.of in self._tests else []
            self._count(cable, -1)
            cable.append(entry)
            self._tests[entry.number] = entry, cable
            self._origins[entry.origin] += 1
        elif entry.kind == "undo" and entry.of in self._tests:
            gone, cable = self._tests.pop(entry.of)
            self._count(cable, -1)
            cable.remove(gone)
            self._origins[gone.origin] -= 1
        else:
            return
        self._count(cable, 1)

    def _count(self, cable: Sequence[Entry], by: int) -> None:
        """Count a cable with the tests it has, or, with -1, no longer."""
        if not cable:
            return
        if cable[0].of is None:
            self._cables += by
            self._passed += by * (cable[0].verdict == "pass")
        self._newest[_verdict(cable[-1])] += by
        if _verdict(cable[-1]) != "pass":
            first = next(test.number for test in cable if _verdict(test) != "pass")
            if by > 0:
                insort(self._bad, first)
            else:
                del self._bad[bisect_left(self._bad, first)]


def _verdict(test: Entry) -> Verdict:
    return VERDICTS[CODES[test.verdict]]
