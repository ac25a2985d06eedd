"""A commissioning begun or gone on with: which board it is, its record, the tester, the technician's keys."""

from contextlib import ExitStack
from pathlib import Path

from msgspec.structs import replace

from wiremap.bench.commission.course import SAYS_WHO, Course, answered, by_tester, course_from, said
from wiremap.bench.commission.page import end_page, step_page
from wiremap.bench.commission.probes import board_kinds, probed
from wiremap.cli.keyboard import Keyboard
from wiremap.cli.output import EXIT, ring, talk, terminal, write, write_json
from wiremap.cli.screen import Screen
from wiremap.errors import TesterError, UsageError
from wiremap.reading.parts import Tester
from wiremap.records.commissions import (
    BOARD_KINDS,
    BoardKind,
    Commission,
    commission_path,
    forget_going,
    going_path,
    read_commission,
    write_commission,
)
from wiremap.tester.measure import OpenTester, RefusedError, open_tester

KEY_WAIT_S = 0.2
BACKSPACES, ENTERS, STOP = "\x7f\b", "\r\n", "q"


class StopsError(Exception):
    """The technician stops, or there is nobody who could type; it can go on later."""


class CommissionDesk:
    """Shows a page a step, drawn anew in place on a terminal, and hears lines."""

    def __init__(self, keyboard: Keyboard, as_json: bool) -> None:
        self._keyboard = keyboard
        self._json = as_json
        self._screen = Screen(as_json)
        self._typed: list[str] = []

    def show(self, course: Course, typing: str = "", measuring: bool = False) -> None:
        """Show the step that is asked."""
        if not self._json:
            self._screen.page(step_page(course, self._screen.terminal, typing, measuring))
        elif not typing and not measuring:
            write_json(_asked(course))

    def line(self, course: Course) -> str:
        """Return the next line that is typed; StopsError for the one that stops, and at the end of the input."""
        line = ""
        self.show(course)
        while True:
            for letter in self._letters():
                if letter in ENTERS:
                    if line.strip().lower() == STOP:
                        raise StopsError
                    return line
                line = line[:-1] if letter in BACKSPACES else line + letter if letter.isprintable() else line
            if self._screen.draws:
                self.show(course, line)

    def _letters(self) -> "list[str]":
        """Return what was typed, up to the end of a line."""
        while not self._typed:
            if not self._keyboard.is_open:
                raise StopsError
            self._typed = list(self._keyboard.read(KEY_WAIT_S))
        ends = [place for place, letter in enumerate(self._typed) if letter in ENTERS]
        count = ends[0] + 1 if ends else len(self._typed)
        taken, self._typed = self._typed[:count], self._typed[count:]
        return taken

    def leave(self) -> None:
        """Go below the page."""
        self._screen.leave()


def commission_board(
    address: str | None, board: str | None, anew: bool, bell: bool, as_json: bool, keyboard: Keyboard
) -> int:
    """Begin a commissioning or go on with one, until it is over or the technician stops; return the exit code."""
    if board is not None and board not in BOARD_KINDS:
        raise UsageError(f"--board {board}: not known", "Give one of " + ", ".join(BOARD_KINDS) + ".")
    start = _start(address, board, anew)
    if start.commission.found and start.step is not None:
        begun, last = start.commission.found[0].at_utc[:10], len(start.commission.found)
        talk(f"Going on after {last} of its steps, the first of {begun}; --anew begins with the first step again.")
    desk = CommissionDesk(keyboard, as_json)
    course, over = _gone_through(start, address, desk, bell)
    desk.leave()
    return _ended(course.commission, over, as_json, bell)


def _start(address: str | None, told: BoardKind | None, anew: bool) -> Course:
    """Return the course to begin with: of the tester that answers, else of the kind of board that was told."""
    tester, kinds = _who_answers(address, told)
    if tester is None:
        assert told is not None
        kept = None if anew else read_commission(going_path(told))
        return course_from(kept or Commission(told))
    going = read_commission(going_path(tester.model, tester.serial))
    found = going or read_commission(commission_path(tester.model, tester.serial))
    kind = told or (found.board if found is not None else kinds[0] if len(kinds) == 1 else None)
    if kind is None:
        raise UsageError(
            "a bare tester answers, and it does not know whether it has its clamps",
            "Say --board bare-clamped where all eighteen dual diodes are fitted, else --board bare.",
        )
    if kind not in kinds or (found is not None and not anew and found.board != kind):
        raise UsageError(
            f"--board {kind}: what answers there is {' or '.join(kinds)}"
            + (f", commissioned as {found.board}" if found is not None else ""),
            "Leave --board out, or begin anew with --anew.",
        )
    typed = None if anew or found is not None else read_commission(going_path(kind))
    course = course_from(Commission(kind) if anew else found or typed or Commission(kind))
    course = answered(course, tester)
    if typed is not None:  # before it answered
        write_commission(going_path(tester.model, tester.serial), course.commission)
        forget_going(going_path(kind))
    return course


def _who_answers(address: str | None, told: BoardKind | None) -> tuple[Tester | None, tuple[BoardKind, ...]]:
    """Return the tester that answers and what board it can be; None where none does and the board was told."""
    try:
        with open_tester(address) as device:
            kinds = board_kinds(device)
            if not kinds:
                raise UsageError(
                    f"the tester {device.tester.model} with {', '.join(device.tester.features)} is no board of those "
                    "that can be commissioned",
                    "Bench boards and bare boards can (firmware_sim/README.md).",
                )
            return device.tester, kinds
    except TesterError as error:
        if told is None:
            raise UsageError(
                f"no tester answers ({error.what}), and which board it is was not said",
                "Say --board bench, bare-clamped or bare; the first steps need no program on it.",
            ) from error
        return None, ()


def _gone_through(course: Course, address: str | None, desk: CommissionDesk, bell: bool) -> tuple[Course, bool]:
    """Go through the steps; return where it stands and whether it is over. What was found is kept after each step."""
    while course.step is not None:
        try:
            line = desk.line(course)
        except StopsError:
            return course, False
        before = course
        course = said(course, line.lower() if len(line.strip()) == 1 else line)
        if before.step is not None and before.step.probe and not line.strip() and before.doubtful is None:
            desk.show(course, measuring=True)
            course = _measured(course, address)
            if bell:
                ring("fail" if course.doubtful or course.trouble else "pass")
        _keep(before.commission, course.commission)
    return course, True


def _measured(course: Course, address: str | None) -> Course:
    """Return the course after the tester measured the step that is asked, or with what went wrong."""
    step = course.step
    assert step is not None
    try:
        with ExitStack() as opened:
            device: OpenTester = opened.enter_context(open_tester(address))
            if course.commission.board not in board_kinds(device) and step.name != SAYS_WHO:
                raise UsageError("another board answers there", "Plug in the one that is being commissioned.")
            course = answered(course, device.tester)
            return by_tester(course, probed(step.probe, device))
    except RefusedError:
        return replace(course, trouble="The tester refuses: it sees a voltage or equipment. Unplug everything else.")
    except (TesterError, UsageError) as error:
        return replace(course, trouble=f"{error.what}. {error.hint}")


def _keep(before: Commission, after: Commission) -> None:
    """Keep what was found, where it belongs; one that is over stands as the tester's record."""
    if after == before:
        return
    going = going_path(after.model, after.serial) if after.serial else going_path(after.board)
    if not after.over or not after.serial:
        write_commission(going, after)
    else:
        write_commission(commission_path(after.model, after.serial), after)
        forget_going(going)
    if after.serial and not before.serial:
        forget_going(going_path(after.board))


def _ended(commission: Commission, over: bool, as_json: bool, bell: bool) -> int:
    """Say where it stands, and return the exit code."""
    kept: Path = (
        commission_path(commission.model, commission.serial) if commission.serial else going_path(commission.board)
    )
    judged = commission.judged if over else "undecided"
    if as_json:
        wrong = [] if commission.failed is None else [figure.name for figure in commission.failed.wrong]
        write_json(
            {
                "command": "commission",
                "board": commission.board,
                "serial": commission.serial,
                "over": over,
                "verdict": judged,
                "failed": None if commission.failed is None else commission.failed.step,
                "wrong": wrong,
                "not_measured": [found.step for found in commission.missing],
            }
        )
    elif over:
        write(end_page(commission, terminal(), f"Kept: {kept}"))
    if not over:
        talk("What was found so far is kept; the same command goes on with it.")
    elif bell:
        ring(judged)
    return EXIT[judged]


def _asked(course: Course) -> "dict[str, object]":
    """Return a step as JSON has it."""
    step = course.step
    assert step is not None
    sought = None if step.probe else step.figures[len(course.typed)]
    return {
        "command": "commission",
        "step": step.name,
        "figure": None if sought is None else sought.name,
        "unit": None if sought is None else sought.unit,
        "doubtful": None if course.doubtful is None else [figure.name for figure in course.doubtful.wrong],
        "trouble": course.trouble,
    }
