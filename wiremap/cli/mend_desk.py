"""The technician's side of a guided repair: pages, keys for one hand, the bell; and the loop of its steps."""

import time
from collections.abc import Callable
from typing import Protocol

from msgspec.structs import replace

from wiremap.bench.mend.events import Answered, Asked, Mend, MendEvent, TakenBack, Tested, Ticked, reported
from wiremap.bench.mend.machine import done, left_out, what_now
from wiremap.bench.mend.mend_book import MendBook
from wiremap.bench.mend.mend_page import choice_keys, mend_page, work_key, work_page
from wiremap.bench.mend.shown import MendStep, measuring_shown, moving_shown, step_shown
from wiremap.bench.mend.stage import Stage
from wiremap.bench.moving.movement import Moved, MovedSoFar, MovingStoppedError, MovingView
from wiremap.cli.keyboard import Keyboard
from wiremap.cli.output import ring, talk, write_json
from wiremap.cli.screen import Screen
from wiremap.errors import TesterError, WiremapError
from wiremap.judge.findings import Verdict
from wiremap.reading.reading import Far, Reading

WAIT_S = 0.2
READY_KEYS = " \r\n"


class Measures(Protocol):
    """The tester's side of a repair. Every call may raise TesterError."""

    def measure(self, far: Far) -> Reading:
        """Return what the tester sees now, the far plug being in what was said."""

    def while_moved(self, view: MovingView) -> Moved:
        """Return what the tester sees while the cable is moved."""


class MendDesk:
    """Shows a page a step, drawn anew in place on a terminal, and hears keys."""

    def __init__(self, keyboard: Keyboard, as_json: bool, bell: bool, title: str) -> None:
        self._keyboard = keyboard
        self._screen = Screen(as_json)
        self._json = as_json
        self._bell = bell
        self._title = title
        self._typed: list[str] = []
        self.trouble = ""

    @property
    def draws(self) -> bool:
        """Whether a page takes the place of the one before."""
        return self._screen.draws

    def show(self, step: MendStep) -> None:
        """Show a step."""
        if self._json:
            if step.progress is None:
                choices = choice_keys(step)
                write_json({"command": "mend", "step": step.kind, "now": step.now, "choices": choices})
            return
        self._screen.page(mend_page(step, self._screen.terminal, self._title, self.trouble))

    def show_work(self, step: MendStep) -> None:
        """Show the work list."""
        if not self._json:
            self._screen.page(work_page(step.work, self._screen.terminal))

    def key(self) -> str:
        """Return the next key, "" = there will be none any more."""
        while not self._typed:
            if not self._keyboard.is_open:
                return ""
            self._typed = list(self._keyboard.read(WAIT_S))
        return self._typed.pop(0).lower()

    def forget(self) -> None:
        """Draw the next page in any case, and drop what was typed before it."""
        self._screen.forget()
        if self._keyboard.is_terminal:
            self._typed = []

    def stops(self, wait_s: float) -> bool:
        """Wait, and return whether the key that stops was pressed on a terminal; what a pipe holds waits for a page."""
        if not self._keyboard.is_terminal:
            time.sleep(wait_s)
            return False
        return "q" in self._keyboard.read(wait_s).lower()

    def ring(self, stage: Stage) -> None:
        """Ring for the verdict of a test."""
        if stage.case is not None:
            self.ring_for(stage.case.diagnosis.verdict)

    def ring_for(self, verdict: Verdict) -> None:
        """Ring as for a verdict, where that is wanted."""
        if self._bell:
            ring(verdict)

    def leave(self) -> None:
        """Go below the page."""
        self._screen.leave()


class MovingDesk:
    """Shows how far a test of a cable that is moved has come, and hears whether it is stopped."""

    def __init__(self, desk: MendDesk, mend: Mend, stage: Stage) -> None:
        self._desk = desk
        self._mend = mend
        self._stage = stage
        self._shown: tuple[bool, int] | None = None

    def stops(self, wait_s: float) -> bool:
        """Wait, and return whether the key that stops was pressed."""
        return self._desk.stops(wait_s)

    def moving(self, so_far: MovedSoFar) -> None:
        """Show how far it is."""
        news = (so_far.still, len(so_far.events))
        if self._desk.draws or news != self._shown:
            self._desk.show(moving_shown(self._mend, self._stage, so_far))
        self._shown = news

    def event(self) -> None:
        """Ring for what came and went."""
        self._desk.ring_for("fail")


class StoppedError(Exception):
    """The technician stops; the repair can go on later."""


def run_mend(book: MendBook, tester: Measures | None, desk: MendDesk, after_test: Callable[[Stage], None]) -> Stage:
    """Go through a repair until it is over or the technician stops; return where it stands.

    after_test: called with what follows from every test, when that is kept. WiremapError where nothing can be judged.
    """
    stage = what_now(book.mend)
    try:
        while stage.kind not in ("passed", "stopped"):
            event = _next(book.mend, stage, tester, desk)
            stage = what_now(
                reported(book.mend, event)
            )  # what cannot be judged is not kept, so that nothing hangs on it
            book.report(event)
            if isinstance(event, Tested):
                after_test(stage)
                desk.ring(stage)
    except StoppedError:
        return stage
    desk.show(step_shown(book.mend, stage))
    return stage


def _next(mend: Mend, stage: Stage, tester: Measures | None, desk: MendDesk) -> MendEvent:
    """Show a step and return what was reported; StoppedError where there is no key any more, or the one that stops."""
    while True:
        step = step_shown(mend, stage)
        if stage.kind == "measure" and tester is not None and not desk.trouble:
            desk.show(step)
            try:
                return Tested(tester.measure(_far(mend)))
            except TesterError as error:
                _troubled(desk, error)
                continue
        desk.show(replace(step, ready=step.ready or ("try again" if desk.trouble else "")))
        key = desk.key()
        if key in ("", "q"):
            raise StoppedError
        if key in READY_KEYS and desk.trouble:
            desk.trouble = ""
            continue
        event = _pressed(mend, stage, step, key, tester, desk)
        if event is not None:
            return event


def _troubled(desk: MendDesk, error: WiremapError) -> None:
    desk.trouble = error.said


def _far(mend: Mend) -> Far:
    """Return what the far plug is in, as it was said last."""
    from wiremap.bench.mend.known import learned

    reading = learned(mend).reading
    return "tester" if reading is None else reading.far


def _pressed(
    mend: Mend, stage: Stage, step: MendStep, key: str, tester: Measures | None, desk: MendDesk
) -> MendEvent | None:
    """Return what a key reports, None where it reports nothing."""
    if key == "u" and step.undo:
        return TakenBack()
    if key == "w" and step.work and stage.kind in ("card", "do"):
        return _worked(step, desk)
    if stage.kind == "ask" and stage.asked is not None:
        word = choice_keys(step).get(key)
        return None if word is None else Answered(stage.asked, word)
    if key == "x" and step.by_colours:
        return Answered(Asked("card", stage.end), "no")
    if stage.can_wait and key == "n":
        return left_out(stage)
    if key not in READY_KEYS or not step.ready:
        return None
    if stage.kind in ("move", "part"):
        assert tester is not None
        return _tested(mend, stage, tester, desk)
    return done(stage)


def _tested(mend: Mend, stage: Stage, tester: Measures, desk: MendDesk) -> MendEvent | None:
    """Test the cable while it is moved, or a part of it; None where that is stopped, or the tester goes away."""
    try:
        if stage.kind == "part":
            desk.show(measuring_shown(mend, stage))
            return Tested(tester.measure("tester"), of=stage.asked)
        seen = tester.while_moved(MovingDesk(desk, mend, stage))
        return Tested(seen.reading, True, seen.how, round(seen.seconds, 1), seen.looks, stage.asked)
    except MovingStoppedError:
        return None
    except TesterError as error:
        _troubled(desk, error)
        return None
    finally:
        desk.forget()


def _worked(step: MendStep, desk: MendDesk) -> MendEvent | None:
    """Show the work list until a line is ticked or it is left."""
    desk.show_work(step)
    key = desk.key()
    keys = {work_key(number): line.name for number, line in enumerate(step.work)}
    return Ticked(keys[key]) if key in keys else None


def say_where(path: object) -> None:
    """Say that a repair is kept, and how it goes on."""
    talk(f"The repair is kept in {path}; the same command goes on with it.")
