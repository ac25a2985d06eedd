"""The one thread that speaks to the tester while phones look on: it looks, measures, keeps, and carries out wishes."""

import queue
import threading
from collections.abc import Callable
from concurrent.futures import Future
from datetime import datetime
from typing import Protocol

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench import handset as state
from wiremap.bench.driver import LOOK_EVERY_S, RETRY_S
from wiremap.bench.handset import Handset, Shot, Wish
from wiremap.bench.handset_book import HandsetBook, Judge
from wiremap.bench.mend.handset_mend import HandsetMend
from wiremap.bench.mend.shown import MendStep
from wiremap.bench.moving.movement import Moved, MovedSoFar, MovingView
from wiremap.bench.stable import NOT_SEATED_S, Steady, after, seat
from wiremap.cable.colours import ColourSet
from wiremap.cable.mistakes import EMPTY
from wiremap.contact import End
from wiremap.errors import ProgramError, TesterError, UsageError, WiremapError
from wiremap.judge.case import Case
from wiremap.judge.plugs.evidence import UNREAD
from wiremap.reading.joined import Joined
from wiremap.reading.reading import Far, Reading
from wiremap.records.broken import keeping


class HandsetSockets(Protocol):
    """The tester's side. Every call may raise TesterError when the tester is gone."""

    def look(self) -> Joined:
        """Return what is joined now."""

    def read(self, far_is: Far = "tester") -> Reading:
        """Return what the tester sees, measured in full."""

    def moved(self, view: MovingView) -> Moved:
        """Return what the tester sees while the cable is moved; view: who looks on."""

    def reopen(self) -> None:
        """Connect again."""


class HandsetView(Struct, frozen=True):
    """What phones see.

    version: goes up with every change. case: of the newest test. is_out: the cable of that test may be in the sockets
    no more. step: of the guided repair, None where none is on. unfinished: when the repair of that test's label was
    begun, in UTC, where it is not over; "" = none. sees: whether a cable is seen to come and go; else only a thumb
    tests.
    """

    version: int
    handset: Handset
    case: Case | None
    is_out: bool = False
    step: MendStep | None = None
    unfinished: str = ""
    sees: bool = True


class WishAnswer(Struct, frozen=True):
    """What became of a wish. ok: it was carried out, or had been before."""

    ok: bool
    text: str


class HandsetLoop:
    """Owns the tester and the state; others put wishes and photos in, and get views."""

    def __init__(
        self,
        tester: HandsetSockets,
        book: HandsetBook,
        handset: Handset,
        judge: Judge,
        sides: tuple[tuple[int, ...], ...],
        far: Far,
        clock: Callable[[], float],
        mend: HandsetMend,
    ) -> None:
        self._tester = tester
        self._book = book
        self._handset = handset
        self._judge = judge
        self._sides = sides
        self._far: Far = far
        self._clock = clock
        self._mend = mend
        self._asked: queue.Queue[tuple[Wish, bytes, Future[WishAnswer], float]] = queue.Queue()
        self._steady: Steady | None = None
        self._tested: Joined = frozenset()
        self._stop = threading.Event()
        self._halted = False  # a repair's test could not be judged: it waits for a thumb
        self._case: Case | None = None
        self._retry_s = 0.0
        self.alive_s = clock()
        self.view = HandsetView(0, handset, None)
        self.on_view: Callable[[], None] = lambda: None

    def ask(self, wish: Wish, photo: bytes = b"") -> "Future[WishAnswer]":
        """Put a wish in, with the photo it is about; the future says what became of it."""
        answer: Future[WishAnswer] = Future()
        self._asked.put((wish, photo, answer, self._clock()))
        return answer

    def stop(self) -> None:
        """End `run` soon."""
        self._stop.set()

    def run(self) -> None:
        """Look and measure until it is stopped."""
        try:
            with keeping():
                self.begin()
                while not self._stop.is_set():
                    self.turn(LOOK_EVERY_S)
        except WiremapError as error:
            self._lost(error)

    def begin(self) -> None:
        """Show what was kept, and go on with the repair that was on."""
        if self._handset.newest is not None:
            self._case = self._judge(self._handset.newest)
        self._mend.go_on(self._handset)
        self._show()

    def turn(self, wait_s: float) -> None:
        """Carry out the wishes that wait, after waiting for one at most so long; then look once."""
        self.alive_s = self._clock()
        try:
            wish, photo, answer, since_s = self._asked.get(timeout=wait_s)
        except queue.Empty:
            pass
        else:
            answer.set_result(self._carried_out(wish, photo, self._clock() - since_s))
        try:
            self._look()
        except TesterError as error:
            self._lost(error)
        except WiremapError as error:
            self._troubled(error)

    def _look(self) -> None:
        now = self._clock()
        if self._handset.phase == "lost":
            if now < self._retry_s:
                return
            self._retry_s = now + RETRY_S
            self._tester.reopen()
            self._steady, self._tested = None, frozenset()
            self._to(replace(self._handset, phase="starting", trouble=""))
        self._steady = after(self._steady, self._tester.look(), self._clock())
        joined = self._steady.joined
        if self._mend.stage is not None and self._mend.stage.kind == "measure" and not self._halted:
            self._measure(joined)
        elif self._far != "tester":  # what comes and goes is not seen: only a thumb tests
            self._to(replace(self._handset, phase="shown" if self._handset.newest else "nothing"))
        elif not self._steady.settled:
            if joined != self._tested:
                self._to(replace(self._handset, phase="moving"))
        elif joined is not None and not joined:
            self._tested = frozenset()
            self._to(replace(self._handset, phase="nothing"))
        elif joined == self._tested or self._mend.stage is not None:
            self._to(replace(self._handset, phase="shown" if self._handset.newest else "nothing"))
        elif seat(joined, self._sides) == "in" or self._steady.age_s >= NOT_SEATED_S:
            self._measure(joined)

    def _measure(self, joined: Joined, moved: bool = False) -> None:
        """Test what is in: measured, judged, on the disk, then shown."""
        self._halted = False
        self._to(replace(self._handset, phase="measuring", trouble=""))
        movement = self._moved() if moved else None
        reading = movement.reading if movement else self._tester.read(self._mend.far or self._far)
        now = datetime.now().astimezone().replace(microsecond=0)
        found = state.after_test(self._handset, reading, now)
        assert found.newest is not None
        self._tested = joined
        with keeping(reading):
            case = self._judge(found.newest)
        self._write(found, case)
        if self._mend.stage is not None:
            self._after_mend(self._mend.tested(reading, movement))

    def _measure_part(self) -> None:
        """Test a part of the cable for its repair; it is no test of the cable, and none that could be kept."""
        self._to(replace(self._handset, phase="measuring", trouble=""))
        reading = self._tester.read()
        with keeping(reading):
            over = self._mend.tested(reading)
        self._tested = self._steady.joined if self._steady else frozenset()
        self._to(replace(self._handset, phase="shown"))
        self._after_mend(over)

    def _moved(self) -> Moved:
        try:
            return self._tester.moved(self)
        finally:
            self._mend.so_far = None

    def stops(self, wait_s: float) -> bool:
        """Wait while a cable is tested and moved; nobody stops it from a phone."""
        self.alive_s = self._clock()
        return self._stop.wait(wait_s)

    def moving(self, so_far: MovedSoFar) -> None:
        """Show how far a test of a cable that is moved has come, second by second."""
        before, self._mend.so_far = self._mend.so_far, so_far
        if before is None or (before.still, int(before.seconds), before.events) != (
            so_far.still,
            int(so_far.seconds),
            so_far.events,
        ):
            self._show()

    def event(self) -> None:
        """Ring for nothing: the page shows what came and went."""

    def _after_mend(self, keep: bool) -> None:
        """Keep what a repair wants kept of the newest test: the cable as it was found, and as it is at the end."""
        shot = self._handset.newest
        assert shot is not None
        if keep:
            shot = self._mend.described(shot, self._handset.before)
            self._write(state.with_shot(self._handset, shot))
            self._keep(shot)
            newest = self._handset.newest
            if self._handset.before is None and newest is not None and newest.kept is not None:
                self._write(replace(self._handset, before=newest.kept.digest))
        self._show()

    def _lost(self, error: WiremapError) -> None:
        self._retry_s = self._clock() + RETRY_S
        self._to(replace(self._handset, phase="lost", trouble=error.said))

    def _troubled(self, error: WiremapError) -> None:
        """Say what went wrong; what is in the sockets counts as tested, so that it is not tried without an end."""
        self._tested, self._halted = self._steady.joined if self._steady else frozenset(), True
        self._to(replace(self._handset, phase="shown", trouble=error.said))

    def _to(self, handset: Handset) -> None:
        if handset != self._handset:
            self._handset = handset
            self._show()

    def _write(self, handset: Handset, case: Case | None = None) -> None:
        """Keep a state, and only then let it be seen."""
        self._book.write(handset)
        self._handset = handset
        self._case = case or self._case
        self._show()

    def _show(self) -> None:
        is_out = self._handset.phase != "shown" and self._handset.newest is not None
        step, newest = self._mend.step(), self._handset.newest
        unfinished = self._mend.unfinished(newest) if newest is not None and step is None else ""
        sees, version = self._far == "tester", self.view.version + 1
        self.view = HandsetView(version, self._handset, self._case, is_out, step, unfinished, sees)
        self.on_view()

    def _carried_out(self, wish: Wish, photo: bytes, waited_s: float) -> WishAnswer:
        if wish.id in self._handset.done:
            return WishAnswer(True, "Done before.")
        if wish.is_late(waited_s):
            return WishAnswer(False, state.TOO_LATE)
        try:
            with keeping():
                text = self._photo(wish, photo) if photo else self._do(wish)
                self._write(state.after_wish(self._handset, wish))
        except TesterError as error:
            self._lost(error)
            return WishAnswer(False, error.said)
        except (WiremapError, ProgramError) as error:
            self._to(replace(self._handset, trouble=error.said))
            return WishAnswer(False, error.said)
        return WishAnswer(True, text)

    def _photo(self, wish: Wish, content: bytes) -> str:
        state.shot_of(self._handset, wish.test)
        name, digest = self._book.photo(content)
        found = state.with_photo(self._handset, wish.test, name, digest)
        self._write(found)
        shot = state.shot_of(found, wish.test)
        if shot.kept is not None:
            self._keep(shot)
            return f"Photo kept with test {shot.number}, in a record that follows the one before."
        return f"Photo taken for test {shot.number}; Keep puts its digest into the record."

    def _do(self, wish: Wish) -> str:
        match wish.what:
            case "again":
                if wish.test != self._handset.count:
                    return f"Test {self._handset.count} is newer than what you saw."
                self._measure(self._steady.joined if self._steady else frozenset())
                return "Tested."
            case "keep":
                kept = self._keep(state.shot_of(self._handset, wish.test))
                return f"Kept as {kept}."
            case "label":
                if self._mend.stage is not None:
                    raise UsageError("a repair is on", "Leave it before you go on to the next cable.")
                left, wanted = (*wish.words, "", "")[:2]
                moved_on = f"{left or 'No label'} was left before. " if left != self._handset.label else ""
                self._write(state.labelled(self._handset, left, wanted))
                return f"{moved_on}The next test is {self._handset.label or 'without a label'}."
            case "colour":
                return self._colour(wish)
            case _:
                return self._mending(wish)

    def _keep(self, shot: Shot) -> str:
        if shot.is_kept:
            assert shot.kept is not None
            return shot.kept.file
        kept = self._book.capture(shot, self._judge(shot))
        self._write(state.with_shot(self._handset, replace(shot, kept=kept)))
        return kept.file

    def _colour(self, wish: Wish) -> str:
        if len(wish.words) != 3 or wish.words[0] not in ("near", "far"):
            raise UsageError(f"{' '.join(wish.words)}: is no colour at a contact", "Tap a contact, then a colour.")
        end: End = "near" if wish.words[0] == "near" else "far"
        _, contact, colour = wish.words
        shot = state.shot_of(self._handset, wish.test)
        before = self._judge(shot)
        contacts = before.shown.near_contacts if end == "near" else before.shown.far_contacts
        if contact not in contacts or before.colours is None or colour not in looks(before.colours):
            raise UsageError(f"{colour} at {end} {contact}: not of this cable", "Tap a contact, then a colour.")
        found = state.with_colour(self._handset, wish.test, end, contact, colour)
        case = self._judge(state.shot_of(found, wish.test))  # refused before it is kept, where it fits no cable
        self._write(found, case if wish.test == found.count else None)
        return f"{colour} at contact {contact} of the {end} end."

    def _mending(self, wish: Wish) -> str:
        if wish.what == "leave":
            self._mend.leave()
            self._write(replace(self._handset, mending=False, before=None))
            return "The repair is kept; it can be gone on with."
        if wish.what == "mend":
            shot = state.shot_of(self._handset, wish.test)
            self._mend.begin(shot, wish.words == ("go-on",))
            self._write(replace(self._handset, mending=True, before=None))
            self._after_mend(self._mend.tested(shot.reading))
            return "The repair begins."
        if wish.test != self._handset.count:
            return f"Test {self._handset.count} is newer than what you saw."
        if wish.what == "did" and self._mend.stage is not None and self._mend.stage.kind == "move":
            self._measure(self._steady.joined if self._steady else frozenset(), moved=True)
            return "Tested while it was moved."
        if wish.what == "did" and self._mend.stage is not None and self._mend.stage.kind == "part":
            self._measure_part()
            return "That part is tested."
        if self._mend.report(wish.what, wish.words):
            self._after_mend(keep=True)
        self._show()
        return "Noted."


def looks(colours: ColourSet) -> tuple[str, ...]:
    """Return what may be said to be in a contact: the colours of the cable, nothing, or that it cannot be told."""
    return (*dict.fromkeys(colour.looks for colour in colours.conductors), EMPTY, UNREAD)
