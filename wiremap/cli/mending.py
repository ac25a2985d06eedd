"""A guided repair begun or gone on with: its options, its file, the tester, the captures before and after."""

import time
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.mend.before_after import Captures, answers
from wiremap.bench.mend.events import Mend, Tested
from wiremap.bench.mend.mend_book import MendBook, begun, gone_on
from wiremap.bench.mend.shown import step_shown
from wiremap.bench.mend.stage import Stage
from wiremap.bench.moving.movement import Moved, MovingView
from wiremap.cable.patterns import Pattern
from wiremap.cli.choices import adapters, language_of_tester
from wiremap.cli.keyboard import Keyboard
from wiremap.cli.mend_desk import MendDesk, StoppedError, run_mend, say_where
from wiremap.cli.options import CableOptions
from wiremap.cli.output import EXIT, EXIT_OF_ERROR, talk, talk_error, write_json
from wiremap.contact import End
from wiremap.errors import FileError, TesterError
from wiremap.judge.case import Case
from wiremap.reading.reading import Far, Reading
from wiremap.reading.table_cells import CellMeaning
from wiremap.records.captures.capture import check_save
from wiremap.records.captures.files import looks_like_capture, read_bounded
from wiremap.records.captures.judge_file import judge_content
from wiremap.records.captures.keep import job_of
from wiremap.records.captures.work_list import work_list
from wiremap.records.keys import choose_key
from wiremap.records.mend_file import MendFile, mend_path, read_mend

if TYPE_CHECKING:
    from wiremap.tester.listening import Listener
    from wiremap.tester.measure import OpenTester

NOT_KEPT = ("save", "key", "as_json", "services")  # options of one run, not of the repair


class Start(Struct, frozen=True):
    """What a repair begins with beside the cable's options. far: what the far plug is in at the first test. leads:
    ends where a lead is between the tester and the cable. by_eye: the plugs are looked into, nothing is measured."""

    file: Path | None
    tester: str | None
    far: Far
    cells: CellMeaning | None
    talks: Path | None
    leads: tuple[End, ...] = ()
    by_eye: bool = False


class Bench:
    """The tester of a repair, opened again where its line broke."""

    def __init__(self, start: Start, sides: tuple[Pattern | None, Pattern | None], moved_s: float) -> None:
        """Make it; moved_s: so long the cable is tested while it is moved, seconds."""
        self._start = start
        self._moved_s = moved_s
        self._sides = sides
        self._language = language_of_tester(start.talks, start.tester)
        self._open = ExitStack()
        self._device: OpenTester | Listener | None = None
        self._first = True

    def __enter__(self) -> "Bench":
        self._opened()
        return self

    def __exit__(self, *_: object) -> None:
        self._open.close()

    def measure(self, far: Far) -> Reading:
        """Return what the tester sees now; TesterError where it does not answer, and it is opened anew next time."""
        from wiremap.records.calibrations import calibration_of
        from wiremap.records.commissions import refuse_failed
        from wiremap.tester.listening import Listener
        from wiremap.tester.measure import measure

        far = self._start.far if self._first else far
        device = self._opened()
        try:
            if isinstance(device, Listener):
                seen = device.reading(far, *self._sides)
            else:
                refuse_failed(device.tester)
                known = calibration_of(device.tester)
                seen = measure(device, far, near_adapter=self._sides[0], far_adapter=self._sides[1], calibration=known)
        except TesterError:
            self._open.close()
            self._device = None
            raise
        self._first = False
        return seen

    def while_moved(self, view: MovingView) -> Moved:
        """Return what the tester sees while the cable is moved; TesterError where it goes away."""
        from wiremap.bench.moving.moved import while_moved

        def measure() -> Reading:
            return self.measure("tester")

        try:
            return while_moved(self._opened(), measure, self._sides, view, time.monotonic, self._moved_s)
        except TesterError:
            self._open.close()
            self._device = None
            raise

    def _opened(self) -> "OpenTester | Listener":
        from wiremap.tester.listening import open_any

        if self._device is None:
            self._device = self._open.enter_context(open_any(self._start.tester, self._language))
        return self._device


def mend_cable(start: Start, cable: CableOptions, moved_s: float, bell: bool, keyboard: Keyboard) -> int:
    """Begin a repair, or go on with one; return the exit code of the cable as it is then."""
    path = mend_path(job_of(cable.job)[1].cable)
    kept = read_mend(path)
    try:
        if kept is not None and (kept.over or not _goes_on(keyboard, path, kept)):
            kept = None
    except StoppedError:
        say_where(path)
        return EXIT["undecided"]
    if kept is not None:
        start, cable = _options_of(kept, start, cable)
    _, names, work = job_of(cable.job)
    if cable.save is not None:
        check_save(cable.save)
    captures = Captures(cable.save, choose_key(cable.key) if cable.save else None, job_of(cable.job)[0], work)
    wanted = cable.requirements()
    both = bool(wanted.statements.near_colours and wanted.statements.far_colours)
    by_eye = (both or start.by_eye) and start.file is None and start.tester is None
    live = not by_eye and (start.file is None or start.tester is not None)
    mend = Mend(wanted, names, live, by_eye, work_list().items, leads=start.leads)
    read = _read(start, cable, mend) if start.file is not None else None
    if read is not None:
        mend = replace(mend, wanted=read.requirements, names=read.names)
    book = gone_on(path, kept, mend) if kept is not None else begun(path, mend, words_kept(start, cable))
    with ExitStack() as opened:
        sides = adapters(cable.near_adapter, cable.far_adapter)
        tester = opened.enter_context(Bench(start, sides, moved_s)) if live else None
        if read is not None and kept is None:
            book.report(Tested(read.reading))
            if start.file is not None and looks_like_capture(read_bounded(start.file)):
                book.keep_before(start.file.absolute())
        desk = MendDesk(keyboard, cable.as_json, bell, names.cable)

        def after_test(stage: Stage) -> None:
            trouble = captures.before(book, stage.case) if stage.case is not None else None
            if trouble is not None:
                talk_error(trouble)

        stage = run_mend(book, tester, desk, after_test)
    desk.leave()
    return _ended(book, stage, captures, cable)


def _ended(book: MendBook, stage: Stage, captures: Captures, cable: CableOptions) -> int:
    """Keep what is to be kept, say where, and return the exit code."""
    over = stage.kind in ("passed", "stopped")
    kept, trouble = None, None
    if stage.case is not None and over:
        kept, trouble = captures.after(book, stage.case)
    if cable.as_json and stage.case is not None:
        from wiremap.report.content import content

        said = content(stage.case, "mend", book.mend.names.cable) | {"step": stage.kind, "over": over}
        said |= {"said": list(answers(book.mend)), "now": step_shown(book.mend, stage).now}
        write_json(said | ({"capture": str(kept)} if kept is not None else {}))
    elif kept is not None:
        talk(f"Kept: {kept}")
    if over:
        book.end()
    elif book.mend.events:
        say_where(book.path)
    if trouble is not None:
        talk_error(trouble)
        return EXIT_OF_ERROR[trouble.kind]
    return EXIT[stage.case.diagnosis.verdict if stage.case is not None else "undecided"]


def _goes_on(keyboard: Keyboard, path: Path, kept: MendFile) -> bool:
    """Ask whether an unfinished repair goes on; without a terminal it does."""
    if not keyboard.is_terminal:
        return True
    began = f", begun {kept.entries[0].at_utc}," if kept.entries else ""
    talk(f"A repair that is not over{began} is kept in {path}.")
    talk("space: go on with it.   b: begin anew (what was reported of it is dropped).   q: stop.")
    while True:
        key = keyboard.read(0.2).lower()
        if key[:1] in (" ", "\r", "\n"):
            return True
        if key[:1] == "b":
            return False
        if key[:1] == "q":
            raise StoppedError
        if not keyboard.is_open:
            return True


def words_kept(start: Start, cable: CableOptions) -> dict[str, str | bool | int | tuple[str, ...]]:
    """Return the words of the options that a repair is begun with, as they are kept."""
    found: dict[str, str | bool | int | tuple[str, ...]] = {}
    values = {name: getattr(cable, name) for name in cable.__struct_fields__ if name not in NOT_KEPT}
    values |= {name: getattr(start, name) for name in start.__struct_fields__}
    for name, value in values.items():
        if isinstance(value, Path):
            found[name] = str(value.absolute())
        elif isinstance(value, list):
            found[name] = tuple(value)
        elif value is not None:
            found[name] = value
    return found


def _options_of(kept: MendFile, start: Start, cable: CableOptions) -> tuple[Start, CableOptions]:
    """Return the options that a repair was begun with; what this run is told of its own stays."""
    ours = set(CableOptions.__struct_fields__) - set(NOT_KEPT)
    words: dict[str, Any] = {
        name: list(value) if isinstance(value, tuple) else value for name, value in kept.options.items()
    }
    try:
        cable = replace(cable, **{name: value for name, value in words.items() if name in ours})
        theirs: dict[str, Any] = {name: words.get(name) for name in Start.__struct_fields__}
        theirs["by_eye"] = bool(theirs["by_eye"])
        theirs["leads"] = tuple(theirs["leads"] or ())
        for name in ("file", "talks"):
            theirs[name] = Path(theirs[name]) if theirs[name] else None
        began = Start(**theirs)
    except (TypeError, ValueError) as error:
        raise FileError(f"the repair's options cannot be read ({error})", "Begin it anew.") from error
    return replace(began, tester=start.tester or began.tester), cable


def _read(start: Start, cable: CableOptions, mend: Mend) -> Case:
    """Return the reading of the file that a repair begins with, judged as `wiremap judge` does."""
    assert start.file is not None
    language = language_of_tester(start.talks, None)
    sides = adapters(cable.near_adapter, cable.far_adapter)
    content = read_bounded(start.file)
    return judge_content(content, str(start.file), mend.wanted, start.cells, mend.names, sides, language)
