"""A tester in the hand on the disk: its state before it is shown, its captures and photos in their folder."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.handset import Handset, KeptShot, Shot
from wiremap.errors import FileError
from wiremap.judge.case import Case
from wiremap.reading.reading import from_builtins, to_builtins
from wiremap.records.captures.capture import Job, Photo, Work, file_stem, to_bytes
from wiremap.records.captures.keep import record_of
from wiremap.records.captures.seal import digest
from wiremap.records.handset_file import FORMAT, HINT, HandsetFile, KeptEntry, ShotEntry, read_handset, write_handset
from wiremap.records.keys import Key
from wiremap.records.new_file import as_file_error, make_folder, write_new

MOST_OF_ONE_NAME = 1000


class HandsetBook(Struct, frozen=True):
    """Where it is kept. path: of the state; folder: of captures and photos. key: that signs, None = none does.

    job, work: what the options said of every cable.
    """

    path: Path
    folder: Path
    key: Key | None = None
    job: Job = Job()
    work: tuple[Work, ...] = ()

    def read(self, label: str) -> Handset:
        """Return what was kept, or a new one with this label; FileError where what is there cannot be read."""
        file = read_handset(self.path)
        if file is None:
            return Handset(label)
        try:
            shots = tuple(map(_shot_kept, file.shots))
        except (FileError, ValueError) as error:
            raise FileError(f"{self.path}: {error}", HINT) from error
        return Handset(file.label, "starting", file.count, shots, file.done, "", file.mending, file.before)

    def write(self, handset: Handset) -> None:
        """Keep it; when this returns it is on the disk. FileError where it cannot be."""
        shots = tuple(map(_kept_as, handset.shots))
        write_handset(
            self.path,
            HandsetFile(FORMAT, handset.label, handset.count, shots, handset.done, handset.mending, handset.before),
        )

    def photo(self, content: bytes) -> tuple[str, str]:
        """Write a photo, named by its digest, and return (file, digest); one that is there is the same.

        FileError where it cannot be written, or another file has its name.
        """
        mark = digest(content)
        name = f"photo-{mark.removeprefix('sha256:')[:16]}.jpg"
        if not self._write_once(name, content):
            raise FileError(
                f"{self.folder / name}: is another file than this photo.", "Move it away, and send it again."
            )
        return name, mark

    def capture(self, shot: Shot, case: Case) -> KeptShot:
        """Write a capture of a test and return what it is.

        Its name and bytes follow from the test alone, so one that was written before a crash is found again. A test
        that was kept before gets a record that follows the earlier one, which stays as it is.
        """
        photos = tuple(Photo(file, mark) for file, mark in shot.photos)
        note = "; ".join(text for text in (self.job.note, shot.note) if text)
        new_plug = shot.re_terminated or self.job.re_terminated
        job = replace(self.job, cable=shot.label, photos=(*self.job.photos, *photos), note=note, re_terminated=new_plug)
        work = tuple(Work(item, done) for item, done in shot.work) or self.work
        follows = shot.kept.digest if shot.kept is not None else shot.follows
        plain = record_of(case, job, work, follows=follows, now=shot.at)
        content = to_bytes(plain, self.key)
        make_folder(self.folder)
        stem = file_stem(plain)
        for number in range(1, MOST_OF_ONE_NAME):
            name = f"{stem}.json" if number == 1 else f"{stem}-{number}.json"
            if self._write_once(name, content):
                line = content.partition(b"\n")[0] + b"\n"
                return KeptShot(name, digest(line), len(shot.told), len(shot.photos))
        raise FileError(f"{self.folder}: has {MOST_OF_ONE_NAME} captures named {stem}", "Give another --save folder.")

    def _write_once(self, name: str, content: bytes) -> bool:
        """Write a file that is not there yet; return whether the name now has this content."""
        make_folder(self.folder)
        path = self.folder / name
        with as_file_error(path):
            try:
                write_new(path, content)
            except FileExistsError:
                return path.is_file() and not path.is_symlink() and path.read_bytes() == content
        return True


def _kept_as(shot: Shot) -> ShotEntry:
    kept = shot.kept
    return ShotEntry(
        shot.number,
        shot.at.isoformat(),
        shot.label,
        to_builtins(shot.reading),
        shot.told,
        shot.photos,
        KeptEntry(kept.file, kept.digest, kept.told, kept.photos) if kept is not None else None,
        shot.re_terminated,
        shot.note,
        shot.work,
        shot.follows,
    )


def _shot_kept(entry: ShotEntry) -> Shot:
    at = datetime.fromisoformat(entry.at)
    kept = entry.kept
    return Shot(
        entry.number,
        at if at.tzinfo else at.replace(tzinfo=UTC),
        entry.label,
        from_builtins(entry.reading),
        entry.told,
        entry.photos,
        KeptShot(kept.file, kept.digest, kept.told, kept.photos) if kept is not None else None,
        entry.re_terminated,
        entry.note,
        entry.work,
        entry.follows,
    )


Judge = Callable[[Shot], Case]
