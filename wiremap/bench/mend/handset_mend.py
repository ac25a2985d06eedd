"""A guided repair with a tester in the hand: what a thumb reports of it, its step, what its record says."""

from collections.abc import Callable

from msgspec.structs import replace

from wiremap.bench.handset import Handset, KeptShot, Shot
from wiremap.bench.mend.before_after import answers
from wiremap.bench.mend.events import Answered, Mend, MendEvent, TakenBack, Tested, Ticked, reported
from wiremap.bench.mend.known import learned
from wiremap.bench.mend.machine import done, left_out, what_now
from wiremap.bench.mend.mend_book import MendBook, begun, gone_on
from wiremap.bench.mend.shown import MendStep, moving_shown, step_shown
from wiremap.bench.mend.stage import Stage
from wiremap.bench.moving.movement import Moved, MovedSoFar
from wiremap.contact import ENDS
from wiremap.errors import FileError, UsageError
from wiremap.judge.case import JobNames, Requirements
from wiremap.judge.plugs.evidence import UNREAD
from wiremap.reading.reading import Far, Reading
from wiremap.records.mend_file import MendFile, mend_path, read_mend

OVER = ("passed", "stopped")
Words = dict[str, str | bool | int | tuple[str, ...]]


class HandsetMend:
    """The repair that is on, if one is; `book` and `stage` are None where none is.

    so_far: how far the test of a cable that is moved has come, None = none is going on.
    """

    def __init__(
        self,
        wanted: Callable[[Shot], Requirements],
        names: Callable[[str], JobNames],
        options: Callable[[str], Words],
        work: tuple[tuple[str, str], ...],
    ) -> None:
        """Make it. wanted: what is required and known of the cable of a test; names, options: of a label, the options
        as `wiremap mend` keeps them; work: the work list."""
        self._wanted = wanted
        self._names = names
        self._options = options
        self._work = work
        self.book: MendBook | None = None
        self.stage: Stage | None = None
        self.so_far: MovedSoFar | None = None

    @property
    def far(self) -> Far | None:
        """Return what the far plug is in, as it was said in the repair; None where none is on, or nothing was said."""
        reading = learned(self.book.mend).reading if self.book is not None else None
        return reading.far if reading is not None else None

    def go_on(self, handset: Handset) -> None:
        """Go on with the repair that was on when the program ended."""
        if handset.mending and handset.newest is not None:
            self._open(handset.newest, read_mend(mend_path(handset.newest.label)))

    def begin(self, shot: Shot, goes_on: bool) -> None:
        """Begin the repair of the cable of a test; goes_on: go on with the one of its label, where it is not over.

        Whether this is the cable of that one is for the user to say: two without a label share a file.
        """
        kept = read_mend(mend_path(shot.label)) if goes_on else None
        self._open(shot, None if kept is None or kept.over else kept)

    def unfinished(self, shot: Shot) -> str:
        """Return when the repair of a test's label was begun, ISO 8601 in UTC; "" where none is, or it is over."""
        try:
            kept = read_mend(mend_path(shot.label))
        except FileError:
            return ""
        return kept.entries[0].at_utc if kept is not None and kept.entries and not kept.over else ""

    def _open(self, shot: Shot, kept: MendFile | None) -> None:
        path = mend_path(shot.label)
        leads = kept.options.get("leads", ()) if kept is not None else ()
        ends = tuple(end for end in ENDS if isinstance(leads, tuple) and end in leads)
        mend = Mend(self._wanted(shot), self._names(shot.label), True, False, self._work, leads=ends)
        if kept is not None:
            self.book = gone_on(path, kept, mend)
        else:
            self.book = begun(path, mend, self._options(shot.label))
        self.stage = what_now(self.book.mend)

    def leave(self) -> None:
        """Show no repair any more; its file stays."""
        self.book = self.stage = None

    def step(self) -> MendStep | None:
        """Return what the repair shows now, None where none is on."""
        if self.book is None or self.stage is None:
            return None
        if self.so_far is not None:
            return moving_shown(self.book.mend, self.stage, self.so_far)
        return step_shown(self.book.mend, self.stage)

    def tested(self, reading: Reading, movement: Moved | None = None) -> bool:
        """Report a test; return whether its capture is to be kept: the first of a repair, and the last."""
        assert self.book is not None
        first = not any(isinstance(event, Tested) for event in self.book.mend.events)
        part = self.stage.asked if self.stage is not None and self.stage.kind in ("move", "part") else None
        event = Tested(reading, of=part)
        if movement is not None:
            event = Tested(reading, True, movement.how, round(movement.seconds, 1), movement.looks, part)
        return self._report(event) or first

    def report(self, what: str, words: tuple[str, ...]) -> bool:
        """Report what was said or done; return whether the repair is over by it. UsageError where it does not fit."""
        event = self._event(what, words)
        if event is None:
            raise UsageError(f"{what} {' '.join(words)}: does not fit what is asked now", "Look at the page again.")
        return self._report(event)

    def _report(self, event: MendEvent) -> bool:
        assert self.book is not None
        stage = what_now(reported(self.book.mend, event))  # what cannot be judged is not kept
        self.book.report(event)
        self.stage = stage
        if stage.kind in OVER and not self.book.file.over:
            self.book.end()
            return True
        return False

    def _event(self, what: str, words: tuple[str, ...]) -> MendEvent | None:
        """Return what was reported, None where it does not fit the step that is shown."""
        stage, step = self.stage, self.step()
        if stage is None or step is None or stage.kind in OVER:
            return None
        if what == "undo" and step.undo:
            return TakenBack()
        if what == "tick" and len(words) == 1 and words[0] in [line.name for line in step.work]:
            return Ticked(words[0])
        if what == "answer" and stage.asked is not None and len(words) == 1 and words[0] in (*stage.choices, UNREAD):
            return Answered(stage.asked, words[0])
        if what == "not-moved" and stage.can_wait:
            return left_out(stage)
        if what == "did" and step.ready and stage.work is not None:
            return done(stage)
        return None

    def described(self, shot: Shot, before: str | None) -> Shot:
        """Return a test with what its record says of the repair; before: digest of the capture it began with."""
        assert self.book is not None
        known, said = learned(self.book.mend), "; ".join(answers(self.book.mend))
        ends = {end for end, _ in known.made}
        work = tuple((text, name in known.ticked) for name, text in self._work) if known.ticked else ()
        new_plug = "both" if len(ends) > 1 else next(iter(ends), "")
        found = replace(shot, re_terminated=new_plug, note=said, work=work, follows=before or shot.follows)
        if shot.kept is not None and (found.note, found.work) != (shot.note, shot.work):
            found = replace(found, kept=KeptShot(shot.kept.file, shot.kept.digest, -1, shot.kept.photos))
        return found
