"""The technician's side of a lot: the page on the terminal, bells, keys and scanned labels."""

import sys
import time
from collections.abc import Callable, Sequence
from typing import Protocol

from msgspec.structs import replace

from wiremap.bench.lot_book import LotBook
from wiremap.bench.sweep import Sweep
from wiremap.bench.sweep_events import Bell, Labelled, Last, Pressed, Show
from wiremap.bench.sweep_page import Standing, idle_sentence, least_rows, prompt, sweep_page
from wiremap.bench.typed import Typed, typed
from wiremap.cli.keyboard import Keyboard
from wiremap.cli.output import talk, write, write_json
from wiremap.cli.screen import Screen
from wiremap.errors import WiremapError, spelled_out
from wiremap.judge.case import Case
from wiremap.judge.findings import VERDICTS, Verdict
from wiremap.records.lots.so_far import LotSoFar
from wiremap.report.content import content
from wiremap.report.lot_rows import brief
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import line
from wiremap.report.words.lots import found_said, in_one_line

BELL_TIMES: dict[Bell, tuple[float, ...]] = {  # seconds before each bell; told apart without looking
    "pass": (0.0,),
    "undecided": (0.0, 0.3),
    "fail": (0.0, 0.15, 0.15),
    "not-seated": (0.0, 0.6),
    "moved": (0.0, 0.1),
}


class CodeShown(Protocol):
    """What a terminal shows of phones that are served."""

    def lines(self, where: Terminal, rows: int) -> list[str]:
        """Return the lines below the page, at most so many."""

    def say(self) -> None:
        """Say them once, where nothing is drawn."""


class LotDesk:
    """Shows a page that is drawn anew on a terminal; elsewhere one line a cable, and what to do on stderr."""

    def __init__(
        self,
        lot: str,
        book: LotBook,
        keyboard: Keyboard,
        as_json: bool,
        bell: bool,
        idle_s: float | None = None,
        code: CodeShown | None = None,
    ) -> None:
        """Make it; idle_s: the lot stops when no cable was put in or tested for so long, None = it never does. code:
        of phones that are served, None = none are."""
        self._lot = lot
        self._book = book
        self._so_far = LotSoFar()
        self._keyboard = keyboard
        self._json = as_json
        self._bell = bell
        self._typed = Typed()
        self._case: Case | None = None
        self._trouble = self._found = ""
        self._shown = ""
        self._done = False
        self._screen = Screen(as_json)
        self._idle_s = idle_s
        self._code = code
        self.on_typing: Callable[[bool], None] = lambda _: None
        self._progress = (0, 0)
        self._progress_s = time.monotonic()

    def heard(self, wait_s: float) -> Sequence[Pressed | Labelled]:
        """Return what was pressed or scanned; a lot that is done ends where no key can come any more."""
        if self._done and not self._keyboard.is_open and self._code is None:
            return [Pressed("stop")]
        if self._idle_s is not None and time.monotonic() - self._progress_s > self._idle_s:
            self._screen.leave()
            talk(idle_sentence(self._idle_s))
            return [Pressed("stop")]
        text = self._keyboard.read(wait_s)
        self._typed, events = typed(self._typed, text, time.monotonic())
        found: list[Pressed | Labelled] = []
        for event in events:
            if isinstance(event, str):
                label = self._typed_at("Label: ")
                found += [Labelled(spelled_out(label, lines=False))] if label else []
            else:
                found.append(event)
        return found

    def page(self, sweep: Sweep) -> None:
        """Show where the lot stands, when that has changed."""
        self._done = sweep.phase == "done"
        progress = (sweep.insertion, len(self._book.ledger.entries))
        if progress != self._progress:
            self._progress, self._progress_s = progress, time.monotonic()
        if not self._screen.draws:
            if self._code is not None:
                self._code.say()
            told = prompt(sweep)
            if told != self._shown and sweep.phase not in ("checking", "recording"):
                talk(told)
                self._shown = told
            return
        where, standing, code = self._screen.terminal, self.standing(), list[str]()
        if self._code is not None and where.height is not None:
            code = self._code.lines(where, where.height - 1 - least_rows(sweep, standing, where))
            where = replace(where, height=where.height - len(code))
        self._screen.page(sweep_page(sweep, standing, where) + "".join(f"{line}\n" for line in code))

    def standing(self) -> Standing:
        """Return what a page says beside the sweep's own state."""
        counts = self._so_far.counts(self._book.ledger.entries)
        return Standing(self._lot, counts, self._case, self._trouble, self._found)

    def verdict(self, shown: Show, sweep: Sweep) -> None:
        """Show a verdict that is on the disk."""
        case = shown.outcome.test
        assert isinstance(case, Case)
        case = replace(case, names=replace(case.names, cable=shown.last.label or "reference cord"))
        self._case = case
        self._trouble = ""
        entry = self._book.ledger.entries[shown.last.number - 1]
        if self._json:
            said = content(case, "batch", self._lot)
            more = {"label": shown.last.label, "number": shown.last.number, "of": shown.last.of, "kind": entry.kind}
            write_json(said | more | {"capture": str(self._book.ledger.captures_folder / (entry.file or ""))})
        elif not self._screen.draws:
            write(line(case, case.names.cable) + "\n")
        else:
            self.page(sweep)

    def ring(self, bell: Bell) -> None:
        """Ring a pattern."""
        if not self._bell or not sys.stderr.isatty():
            return
        for pause_s in BELL_TIMES[bell]:
            time.sleep(pause_s)
            sys.stderr.write("\a")
            sys.stderr.flush()

    def ask_note(self, last: Last) -> str:
        """Ask for a note on a test."""
        return self._typed_at(f"Note on {last.label}: ")

    def _typed_at(self, question: str) -> str:
        """Return what is typed, "" = nothing; the lot waits meanwhile."""
        self.on_typing(True)
        self._screen.forget()
        try:
            return self._keyboard.ask(question)
        finally:
            self.on_typing(False)

    def trouble(self, error: WiremapError) -> None:
        """Say what went wrong and what to do."""
        self._trouble = error.said
        if not self._screen.draws:
            talk(f"wiremap: {error.what}\n\nhint: {error.hint}")

    def found(self) -> None:
        """Say what was put right when the lot was opened; on a page it stands until the next verdict."""
        self._found = found_said(self._book.ledger.found)
        if self._found and not self._screen.draws:
            talk(self._found)

    def farewell(self) -> tuple[Verdict, ...]:
        """Say how the lot stands, and return the verdicts that its cables stand at."""
        from wiremap.records.lots.statistics import summarise_entries

        summary = summarise_entries(self._book.ledger.entries, self._lot)
        self._screen.leave()
        if self._json:
            write_json({"summary": {"lot": self._lot, **brief(summary)}})
        else:
            talk(in_one_line(summary))
        return tuple(verdict for verdict in VERDICTS if dict(summary.newest)[verdict])
