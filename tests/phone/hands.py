"""A tester in virtual time with hands that plug cables, and a loop on it whose every view is held against the disk."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench.world import Cable, sides
from wiremap.bench.handset import Shot, What, Wish, wanted_with
from wiremap.bench.handset_book import HandsetBook
from wiremap.bench.handset_loop import HandsetLoop, HandsetView, WishAnswer
from wiremap.bench.mend.handset_mend import HandsetMend
from wiremap.bench.mend.shown import MendStep
from wiremap.bench.moving.movement import Moved, MovedSoFar, MovingView
from wiremap.errors import FileError, TesterError
from wiremap.judge.case import Case, JobNames, judge_case, requirements
from wiremap.reading.joined import Joined
from wiremap.reading.reading import Far, Reading
from wiremap.records.captures.check import Checked, check
from wiremap.records.captures.files import read_bounded
from wiremap.records.captures.work_list import work_list
from wiremap.records.keys import Key

LOOK_S, MEASURE_S, HUNG_S = 0.1, 2.5, 5.0
STRAIGHT = requirements("straight")


@dataclass
class HandTester:
    """The tester's side of the loop. gone: its line is broken. other: another one is plugged in.

    breaks: its line breaks while it measures. refuses: what is kept of it cannot be read. hung: called at each of three
    moments of a look that takes long. measured: which far end was asked for, each time.
    """

    now_s: float = 0.0
    cable: Cable | None = None
    gone: bool = False
    other: bool = False
    breaks: bool = False
    refuses: bool = False
    hung: Callable[[], None] | None = None
    measured: list[str] = field(default_factory=list)

    def _line(self) -> None:
        if self.gone:
            raise TesterError("the line to the tester broke.", "Plug it in again.")

    def look(self) -> Joined:
        """Look; it takes a moment."""
        self.now_s += LOOK_S
        for _ in range(3 if self.hung is not None else 0):
            self.now_s += HUNG_S
            assert self.hung is not None
            self.hung()
        self._line()
        return self.cable.joined if self.cable is not None else frozenset()

    def read(self, far_is: Far = "tester") -> Reading:
        """Measure what is in."""
        self.gone = self.gone or self.breaks
        self._line()
        self.now_s += MEASURE_S
        self.measured.append(far_is)
        if self.refuses:
            raise FileError("the calibration cannot be read", "Calibrate again.")
        return (self.cable or Cable(0, "nothing")).reading(int(self.now_s))

    def moved(self, view: MovingView) -> Moved:
        """Measure it while it is moved."""
        view.moving(MovedSoFar("watched", True, 0.0, 15.0))
        found = self.read()
        for second in range(15):
            view.moving(MovedSoFar("watched", False, float(second), 15.0))
        self.measured[-1] = "moved"
        return Moved(found, "watched", 15.0, 0)

    def reopen(self) -> None:
        """Connect again, when it is there."""
        self._line()
        if self.other:
            raise TesterError("the tester 8 was plugged in for 7", "Plug in the one you began with.")


class Hands:
    """A loop on such a tester, its book in a folder; `again` is the program started once more on what it left."""

    def __init__(
        self, folder: Path, tester: HandTester | None = None, key: Key | None = None, far: Far = "tester"
    ) -> None:
        self.folder = folder
        self.tester = tester or HandTester()
        self.key = key
        self.book = HandsetBook(folder / "state.json", folder / "captures", key)
        self.seen: list[HandsetView] = []
        self.wishes = 0
        handset = self.book.read("W-1")
        mend = HandsetMend(lambda shot: wanted_with(STRAIGHT, shot), _names, lambda _: {}, work_list().items)
        two_plugs = tuple(map(tuple, sides()))
        self.loop = HandsetLoop(
            self.tester, self.book, handset, self.judge, two_plugs, far, lambda: self.tester.now_s, mend
        )
        self.loop.on_view = self._look_at
        self.loop.begin()

    def again(self) -> "Hands":
        """Start the program once more, the cable being as it is."""
        return Hands(self.folder, self.tester, self.key)

    def judge(self, shot: Shot) -> Case:
        """Judge a test."""
        return judge_case(shot.reading, wanted_with(STRAIGHT, shot), _names(shot.label))

    def _look_at(self) -> None:
        """See a view; of its tests and wishes nothing is not on the disk."""
        view = self.loop.view
        kept = self.book.read("W-1")
        assert (kept.count, kept.shots, kept.label) == (view.handset.count, view.handset.shots, view.handset.label)
        if view.case is not None and view.handset.newest is not None:
            assert view.case.reading == view.handset.newest.reading
        self.seen.append(view)

    def view(self) -> HandsetView:
        """Return the newest view."""
        return self.loop.view

    @property
    def phases(self) -> list[str]:
        """Return the phases that were seen, without repeats."""
        found = [view.handset.phase for view in self.seen]
        return [phase for at, phase in enumerate(found) if at == 0 or found[at - 1] != phase]

    def shot(self) -> Shot:
        """Return the newest test."""
        newest = self.view().handset.newest
        assert newest is not None
        return newest

    def case(self) -> Case:
        """Return the newest test as it was judged."""
        found = self.view().case
        assert found is not None
        return found

    def step(self) -> MendStep:
        """Return the step of the repair that is on."""
        found = self.view().step
        assert found is not None
        return found

    def turns(self, count: int = 8) -> None:
        """Let the loop look a few times; eight are enough for a cable to be measured."""
        for _ in range(count):
            self.loop.turn(0.0)

    def plug(self, fault: str | None, number: int = 0) -> None:
        """Take out what is in, and plug in a cable; None = none."""
        self.tester.cable = None
        self.turns()
        if fault is not None:
            self.tester.cable = Cable(number, fault)
            self.turns()

    def wish(
        self, what: What, words: Sequence[str] = (), test: int | None = None, mark: str = "", photo: bytes = b""
    ) -> WishAnswer:
        """Ask for something, of the newest test where none is named, and return what became of it."""
        self.wishes += 1
        number = self.view().handset.count if test is None else test
        wish = Wish(mark or f"wish-{id(self)}-{self.wishes}", what, number, tuple(words))
        answer = self.loop.ask(wish, photo)
        self.turns(1)
        return answer.result(0)

    def captures(self) -> list[Checked]:
        """Return what is in the folder of captures: every file of it whole, and its digest and signature right."""
        names = sorted(self.book.folder.glob("*.json")) if self.book.folder.is_dir() else []
        found = [check(read_bounded(path), path.name, {}) for path in names]
        assert all(one.digest_holds and one.signature != "wrong" and one.verdict == "same" for one in found)
        return found


def _names(label: str) -> JobNames:
    return JobNames("helm", "mast", label)


def refused(answer: WishAnswer) -> str:
    """Return what a wish was refused with."""
    assert not answer.ok, answer
    return answer.text
