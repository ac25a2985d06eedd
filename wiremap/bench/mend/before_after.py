"""The captures of a repair: the cable as it was found, and as it is in the end, a record that follows the first."""

from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.mend.events import Answered, Asked, Did, Mend, TakenBack, Tested
from wiremap.bench.mend.known import learned
from wiremap.bench.mend.mend_book import MendBook
from wiremap.bench.moving.movement import moved_words
from wiremap.errors import FileError
from wiremap.judge.case import Case
from wiremap.records.captures.capture import Job, Work, read_capture
from wiremap.records.captures.files import read_bounded
from wiremap.records.captures.keep import keep
from wiremap.records.keys import Key


class Captures(Struct):
    """The captures of a repair, before and after.

    path: where they are kept, a folder or the file of the one after; None = none is kept. key: what they are signed
    with, None = nothing. job: as it was stated at first. work: the work list as it was stated at first.
    """

    path: Path | None
    key: Key | None
    job: Job
    work: tuple[Work, ...]

    def before(self, book: MendBook, case: Case) -> FileError | None:
        """Keep the cable as it was found, once; return why it could not be kept there (it is kept elsewhere then)."""
        if self.path is None or book.file.before or case.diagnosis.verdict == "pass":
            return None
        path = self.path if self.path.is_dir() else self.path.with_name(f"{self.path.stem}-before.json")
        kept, trouble = keep(path, case, replace(self.job, re_terminated=""), (), self.key)
        if kept is not None:
            book.keep_before(kept.absolute())
        return trouble

    def after(self, book: MendBook, case: Case) -> tuple[Path | None, FileError | None]:
        """Keep the cable as it is now, as a record that follows the one before; return where, and why not there."""
        if self.path is None:
            return None, None
        follows = None
        if book.file.before:
            follows = read_capture(read_bounded(Path(book.file.before)), book.file.before).digest
        return keep(self.path, case, self._job(book.mend), self._work(book.mend), self.key, follows)

    def _job(self, mend: Mend) -> Job:
        ends = {end for end, _ in learned(mend).made}
        new = "both" if len(ends) > 1 else next(iter(ends), self.job.re_terminated)
        said = "; ".join(answers(mend))
        return replace(self.job, re_terminated=new, note="; ".join(text for text in (self.job.note, said) if text))

    def _work(self, mend: Mend) -> tuple[Work, ...]:
        ticked = learned(mend).ticked
        if not ticked:
            return self.work
        return tuple(Work(text, name in ticked) for name, text in mend.work)


def answers(mend: Mend) -> Iterator[str]:
    """Give what was said and done on the way, as it was said, for the record."""
    for event in mend.events:
        match event:
            case Answered(asked, word):
                about = " ".join([*([asked.end] if asked.end else []), *asked.contacts])
                yield f"{asked.kind}{f' {about}' if about else ''}: {word}"
            case Tested(seen, of=Asked(kind, end, contacts)) if kind != "move-one":
                yield " ".join(["tested alone:", kind, *([f"up to {contacts[0]}"] if contacts else [])])
            case Tested(seen, True, how, seconds, looks, of) if how:
                alone = f" {of.end} alone" if of is not None else ""
                yield f"moved{alone}: {moved_words(how, seconds, looks, seen.events).rstrip('.').lower()}"
            case Did("not-moved"):
                yield "not tested while it was moved"
            case Did(work, end):
                yield f"{work}{f' {end}' if end else ''}"
            case TakenBack():
                yield "taken back"
