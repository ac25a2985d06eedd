"""A lot's second desk: what the terminal shows, phones see, and what they ask for comes in as if it were pressed."""

import queue
import secrets
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.driver import Desk
from wiremap.bench.handset import MOST_DONE, TOO_LATE
from wiremap.bench.handset_loop import WishAnswer
from wiremap.bench.sweep import Sweep
from wiremap.bench.sweep_events import Bell, Labelled, Last, Pressed, Show
from wiremap.bench.sweep_page import Standing
from wiremap.errors import UsageError, WiremapError, spelled_out
from wiremap.phone.lot.keys import LotWish, called, event_for, now_said, seen_in_lot
from wiremap.records.lots.ledger_entry import Entry
from wiremap.report.words.faults import capital

LOT_STOPPED = "The lot is stopped. The same command on the laptop goes on with it."


class LotView(Struct, frozen=True):
    """What phones see of a lot. version: goes up with every change. ring: the bell that rang last, and its own number,
    "" before the first. typing: somebody types at the laptop. ended: the lot is stopped."""

    version: int
    sweep: Sweep | None = None
    standing: Standing | None = None
    ring: tuple[str, Bell | Literal[""]] = ("", "")
    typing: bool = False
    ended: bool = False


class PhoneDesk:
    """A desk that stands beside another one. Wishes come from the server's thread, all else from the sweep's."""

    def __init__(
        self,
        desk: Desk,
        lot: str,
        standing: Callable[[], Standing],
        entries: Sequence[Entry],
        clock: Callable[[], float],
    ) -> None:
        """Make it. desk: the terminal's; standing: what it says beside the sweep's state; entries: of the ledger, as
        they grow. clock: seconds."""
        self._desk = desk
        self._lot = lot
        self._standing = standing
        self._entries = entries
        self._clock = clock
        self._asked: queue.Queue[tuple[LotWish, Future[WishAnswer], float]] = queue.Queue()
        self._pending: tuple[LotWish, Future[WishAnswer]] | None = None
        self._done: list[str] = []
        self._trouble = ""
        self._sweep: Sweep | None = None
        self._shown: tuple[object, ...] = ()
        self._run = secrets.token_hex(4)
        self._rings = 0
        self._heard_s = clock()
        self.view = LotView(0)
        self.on_view: Callable[[], None] = lambda: None

    @property
    def alive_s(self) -> float:
        """Return when the tester was heard last; while somebody types nobody asks it."""
        return self._clock() if self.view.typing else self._heard_s

    def ask(self, wish: LotWish, photo: bytes = b"") -> "Future[WishAnswer]":
        """Put a wish in; the future says what became of it. Photos are none of a lot's."""
        assert not photo
        answer: Future[WishAnswer] = Future()
        if self.view.ended:
            answer.set_result(WishAnswer(False, LOT_STOPPED))
        else:
            self._asked.put((wish, answer, self._clock()))
        return answer

    def heard(self, wait_s: float) -> Sequence[Pressed | Labelled]:
        """Return what one phone asked for, else what was pressed or scanned at the laptop."""
        self._heard_s = self._clock()
        while not self._asked.empty():
            event = self._taken(*self._asked.get())
            if event is not None:
                return [event]
        return self._desk.heard(wait_s)

    def page(self, sweep: Sweep) -> None:
        """Show where the lot stands, here and there; what a phone asked for before is done by now, and answered."""
        self._desk.page(sweep)
        self._sweep = sweep
        self._heard_s = self._clock()
        if self._pending is not None:
            (wish, answer), self._pending = self._pending, None
            if not self._trouble:
                self._done = [*self._done, wish.id][-MOST_DONE:]
            answer.set_result(WishAnswer(not self._trouble, self._trouble or _answered(wish, sweep)))
        self._trouble = ""
        if _what_shows(sweep, self._entries) != self._shown:
            self._show()

    def verdict(self, shown: Show, sweep: Sweep) -> None:
        """Show a verdict that is on the disk."""
        self._desk.verdict(shown, sweep)
        self._sweep = sweep
        self._show()

    def ring(self, bell: Bell) -> None:
        """Ring a pattern, in the hand first."""
        self._rings += 1
        self._show(ring=(f"{self._run}-{self._rings}", bell))
        self._desk.ring(bell)

    def ask_note(self, last: Last) -> str:
        """Return the note a phone sent, else what is typed at the laptop."""
        if self._pending is not None and self._pending[0].what == "note":
            return spelled_out(self._pending[0].text.strip(), lines=False)
        return self._desk.ask_note(last)

    def trouble(self, error: WiremapError) -> None:
        """Say what went wrong and what to do."""
        self._desk.trouble(error)
        self._trouble = f"{error.what} {error.hint}"
        self._show()

    def typing(self, is_on: bool) -> None:
        """Say that somebody types at the laptop, so that the lot waits; or that it goes on."""
        self._show(typing=is_on)

    def end(self) -> None:
        """Show that the lot is stopped, and answer whoever still asks."""
        self._show(ended=True)
        while not self._asked.empty():
            self._asked.get()[1].set_result(WishAnswer(False, LOT_STOPPED))

    def _taken(self, wish: LotWish, answer: "Future[WishAnswer]", since_s: float) -> Pressed | Labelled | None:
        """Return the event of a wish, None where it is refused, or was done before."""
        sweep = self._sweep
        if sweep is None or wish.is_late(self._clock() - since_s):
            answer.set_result(WishAnswer(False, TOO_LATE))
            return None
        if wish.id in self._done:
            answer.set_result(WishAnswer(True, "Done before."))
            return None
        try:
            wish = replace(wish, seen=seen_in_lot(self._lot, wish.seen))
            if wish.what == "note" and self._is_noted(wish):
                answer.set_result(WishAnswer(True, "Noted before."))
                return None
            event = event_for(sweep, wish)
        except UsageError as error:
            answer.set_result(WishAnswer(False, f"{capital(error.what)}. {error.hint}"))
            return None
        if event == Pressed("stop"):
            answer.set_result(WishAnswer(True, LOT_STOPPED))
        else:
            self._pending = (wish, answer)
        return event

    def _is_noted(self, wish: LotWish) -> bool:
        """Whether the ledger has this note: one that was sent again after the laptop was gone is entered once."""
        text = spelled_out(wish.text.strip(), lines=False)
        return any(
            entry.kind == "note" and str(entry.of) == wish.seen and entry.text == text for entry in self._entries
        )

    def _show(self, ring: tuple[str, Bell] | None = None, typing: bool = False, ended: bool = False) -> None:
        sweep = self._sweep
        standing = self._standing() if sweep is not None else None
        self._shown = _what_shows(sweep, self._entries) if sweep is not None else ()
        self.view = LotView(self.view.version + 1, sweep, standing, ring or self.view.ring, typing, ended)
        self.on_view()


def _answered(wish: LotWish, sweep: Sweep) -> str:
    if wish.what == "note" and sweep.last is not None:
        return f"Noted on {called(sweep.last)}."
    return now_said(sweep)


def _what_shows(sweep: Sweep, entries: Sequence[Entry]) -> tuple[object, ...]:
    """Return all of a lot that a page depends on, so that a look which changes nothing makes no new page."""
    steady = sweep.steady
    joined = None if steady is None else steady.joined == frozenset()
    stands = (sweep.phase, sweep.said, sweep.label, sweep.of, sweep.next_number, sweep.last, sweep.insertion)
    return (*stands, sweep.plan.count, len(entries), joined)
