"""A capture: the record of one test, and its file of two lines, record and seal."""

import contextlib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

import msgspec

from wiremap.cable.colours import ColourSet
from wiremap.cable.limits import Limits, limits_from_builtins
from wiremap.cable.patterns import MOST_TERMINATORS, Pattern
from wiremap.cable.terminations import Termination
from wiremap.errors import FileError, UsageError
from wiremap.files import opened
from wiremap.judge.verdict import JUDGING
from wiremap.ranges import check_moment
from wiremap.reading.reading import Reading, from_builtins, to_builtins
from wiremap.records.canonical import HINT, LARGEST_RECORD_BYTES, decode, encode
from wiremap.records.captures.seal import DIGEST, Seal, digest, read_seal, seal
from wiremap.records.keys import Key
from wiremap.records.new_file import as_file_error, check_folder, check_new, write_new, write_new_file

FORMAT = 1
LARGEST_PHOTO_BYTES = 100_000_000
Digest = Annotated[str, msgspec.Meta(pattern=f"^{DIGEST.pattern}$")]
Moment = Annotated[str, msgspec.Meta(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$")]
Offset = Annotated[int, msgspec.Meta(gt=-24 * 60, lt=24 * 60)]
Count = Annotated[int, msgspec.Meta(ge=1)]
JOB_KEYS = ("vessel", "site", "cable", "near", "far", "who", "note", "re-terminated")
NewPlug = Literal["near", "far", "both"]
RE_TERMINATED: tuple[NewPlug, ...] = get_args(NewPlug)


class Photo(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A photo that belongs to the record: its file name, without a folder, and the digest of its bytes."""

    file: str
    digest: Digest


class Job(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What was tested, where and by whom, in the technician's words; "" = not said.

    near, far: names of the ends. re_terminated: at which end a new plug was put on before the test.
    """

    vessel: str = ""
    site: str = ""
    cable: str = ""
    near: str = ""
    far: str = ""
    who: str = ""
    note: str = ""
    photos: tuple[Photo, ...] = ()
    re_terminated: NewPlug | Literal[""] = ""


class Work(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One line of the work list: the technician's word, not a measurement."""

    item: str
    done: bool


class Lot(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The lot a capture belongs to, and its number in it from 1."""

    name: str
    number: Count


class Rules(msgspec.Struct, frozen=True):
    """What else the judge was told, as far as every version must understand it; told: what the user knew.

    terminators: how many a bus was to have, None = as many as its pattern allows.
    """

    screen: str | None = None
    require: tuple[str, ...] = ()
    told: dict[str, str | tuple[str, ...]] = msgspec.field(default_factory=dict)
    terminators: Annotated[int, msgspec.Meta(ge=0, le=MOST_TERMINATORS)] | None = None


class Record(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The first line of a capture.

    before: digest of the lot's capture before this one, None for the first and for single captures.
    made_utc: "YYYY-MM-DDTHH:MM:SSZ"; utc_offset_min: local time less UTC, minutes. software: what wrote it.
    expect: the pattern in full, None = none was given. near_order, colours: what the near plug holds and what that
    looks like, None = not known. rules: what else the judge was told, see Rules. limits: every threshold used.
    materials, remotes, kinds: what a metre of cable was taken for, the remotes, and the kinds of cable that were
    thought of; empty where nothing was judged by them.
    reading: the raw reading with tester and calibration. diagnosis: what was said of it then. judging: the number of
    the rules it was judged by (`wiremap.judge.verdict.JUDGING` at the time); 1 where a record does not say.
    follows: digest of the capture whose test this one repeats, of the same cable after a repair say, or, where the
    reading is the same, whose record it adds a photo or a note to; None = of none.
    """

    format: int
    before: Digest | None
    made_utc: Moment
    utc_offset_min: Offset
    software: str
    job: Job
    lot: Lot | None
    work: tuple[Work, ...]
    expect: Pattern | None
    near_order: Termination | None
    colours: ColourSet | None
    rules: dict[str, Any]
    limits: dict[str, float]
    reading: dict[str, Any]
    diagnosis: dict[str, Any]
    judging: Count = 1
    materials: dict[str, Any] = msgspec.field(default_factory=dict)
    remotes: dict[str, Any] = msgspec.field(default_factory=dict)
    kinds: dict[str, Any] = msgspec.field(default_factory=dict)
    follows: Digest | None = None

    def own_limits(self) -> Limits:
        """Return the limits it was judged with; FileError names a value that is not allowed."""
        return _limits_in(msgspec.json.encode((self.limits, self.materials, self.remotes, self.kinds)))


@lru_cache(maxsize=16)
def _limits_in(content: bytes) -> Limits:
    """Return the limits that stand in some JSON; captures of one version nearly always carry the same."""
    thresholds, materials, remotes, kinds = msgspec.json.decode(content)
    return limits_from_builtins(thresholds, materials, remotes, kinds)


class Capture(msgspec.Struct, frozen=True):
    """A capture as read: its record, the reading in it, the seal as it stands, and the record's line, LF included."""

    record: Record
    reading: Reading
    seal: Seal
    line: bytes

    @property
    def digest(self) -> str:
        """Return the digest of the record's line as it is, whatever the seal says."""
        return digest(self.line)


def record(
    reading: Reading,
    diagnosis: Mapping[str, Any],
    *,
    expect: Pattern | None,
    rules: Mapping[str, Any],
    limits: Limits,
    now: datetime,
    software: str,
    near_order: Termination | None = None,
    colours: ColourSet | None = None,
    job: Job | None = None,
    work: Sequence[Work] = (),
    lot: Lot | None = None,
    before: str | None = None,
    follows: str | None = None,
) -> dict[str, Any]:
    """Return the record of one test as plain values.

    diagnosis, rules: plain values. now: with its time zone, which gives the offset. before: digest of the
    capture before it in its lot. follows: digest of the capture whose test this one repeats.
    """
    offset = now.utcoffset()
    if offset is None:
        raise UsageError(f"the time {now.isoformat()} has no zone", "Give a time with its offset from UTC.")
    plain: dict[str, Any] = msgspec.to_builtins(
        Record(
            FORMAT,
            before,
            now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
            round(offset.total_seconds() / 60),
            software,
            job or Job(),
            lot,
            tuple(work),
            expect,
            near_order,
            colours,
            dict(rules),
            limits.to_builtins(),
            to_builtins(reading),
            dict(diagnosis),
            JUDGING,
            limits.materials.to_builtins() if sees_the_run(reading) else {},
            limits.remotes.to_builtins() if reading.far == "remote" else {},
            {kind.name: kind.to_builtins() for kind in limits.kinds} if sees_the_run(reading) else {},
            follows,
        )
    )
    return plain


def sees_the_run(reading: Reading) -> bool:
    """Whether anything was measured that says what lies between the plugs, and so asks what a metre of cable is."""
    return reading.capacitance is not None or bool(reading.echoes) or bool(reading.traces)


def to_bytes(plain: Mapping[str, Any], key: Key | None = None) -> bytes:
    """Return the two lines of a capture file, signed when a key is given."""
    line = encode(plain) + b"\n"
    read_record(line[:-1], "record")
    return line + seal(line, key)


def save(path: Path, plain: Mapping[str, Any], key: Key | None = None) -> Path:
    """Write a capture file and return its path; when this returns, it is on the disk.

    path: a folder, where the name is made from label and time, or a file that does not exist. A file that is
    there is never written over. FileError when it cannot be written.
    """
    content = to_bytes(plain, key)
    if not path.is_dir():
        check_ending(path)
        write_new_file(path, content)
        return path
    stem = file_stem(plain)
    for number in range(1, 10_000):
        found = path / (f"{stem}.json" if number == 1 else f"{stem}-{number}.json")
        with as_file_error(found), contextlib.suppress(FileExistsError):
            write_new(found, content)
            return found
    raise FileError(f"{path}: has 9999 captures named {stem}", "Keep them in another folder.")


def check_save(path: Path) -> None:
    """Refuse, before anything is measured, a path that `save` could not write to; FileError says why."""
    if path.is_dir():
        check_folder(path)
    else:
        check_ending(path)
        check_new(path)


def check_ending(path: Path) -> None:
    """Refuse what is neither a folder that is there nor the name of a capture."""
    if path.suffix != ".json":
        raise FileError(f"{path}: no such folder", "Make the folder first, or give a file name ending in .json.")


def file_stem(plain: Mapping[str, Any]) -> str:
    """Return a file name, without its ending, from a record's cable label and time: letters, digits, - and _ only."""
    label = unicodedata.normalize("NFC", plain["job"]["cable"])
    safe = "".join(letter if letter.isalnum() or letter in "-_" else "-" for letter in label)[:40].strip("-")
    return f"{safe or 'cable'}-{re.sub('[-:]', '', plain['made_utc'])}"


def read_capture(content: bytes, source: str) -> Capture:
    """Return the capture in a file's bytes; FileError when it is none.

    Both lines must be as RFC 8785 writes them. Whether the seal holds is not decided here: compare
    `capture.digest` with `capture.seal.digest`.
    """
    if len(content) > LARGEST_RECORD_BYTES:
        raise FileError(f"{source}: is larger than {LARGEST_RECORD_BYTES} bytes", HINT)
    first, _, rest = content.partition(b"\n")
    if not rest.endswith(b"\n") or b"\n" in rest[:-1]:
        raise FileError(f"{source}: a capture has two lines, each ending with a line feed", HINT)
    found, reading = read_record(first, f"{source}: line 1")
    return Capture(found, reading, read_seal(rest[:-1], f"{source}: line 2"), first + b"\n")


def read_record(line: bytes, place: str) -> tuple[Record, Reading]:
    """Return the record in a line (its LF left off), and its reading; FileError names what is wrong, and where."""
    plain = decode(line, place)
    if not isinstance(plain, dict) or plain.get("format") != FORMAT or isinstance(plain["format"], bool):
        found = plain.get("format") if isinstance(plain, dict) else type(plain).__name__
        raise FileError(
            f"{place}: format is {found!r}", f"This version reads format {FORMAT}; a newer wiremap may read more."
        )
    try:
        found = msgspec.convert(plain, Record)
        msgspec.convert(found.rules, Rules)
        check_moment("made_utc", found.made_utc)
    except (ValueError, RecursionError) as error:
        raise FileError(f"{place}: {error}", "The place is named after '$'. " + HINT) from error
    try:
        return found, from_builtins(found.reading)
    except FileError as error:
        raise FileError(f"{place}: {error.what}", error.hint) from error


def job_from_words(words: Sequence[str]) -> Job:
    """Return the job that `--job KEY=VALUE` words name; photo=FILE keeps the file's name and digest."""
    values: dict[str, str] = {}
    photos = []
    for word in words:
        key, equals, value = word.partition("=")
        if not equals or key not in (*JOB_KEYS, "photo"):
            raise UsageError(
                f"--job {word}: not known", "Give KEY=VALUE; keys: " + ", ".join((*JOB_KEYS, "photo")) + "."
            )
        if key in values:
            raise UsageError(f"--job {key} is given twice", "Give each key once; photo may be repeated.")
        if key == "photo":
            photos.append(_photo(Path(value)))
        else:
            values[key] = value
    plug = values.pop("re-terminated", None)
    if plug not in (None, *RE_TERMINATED):
        raise UsageError(f"--job re-terminated={plug}: not known", "Give near, far or both.")
    new_plug: NewPlug | Literal[""] = next((known for known in RE_TERMINATED if known == plug), "")
    return Job(**values, photos=tuple(photos), re_terminated=new_plug)


def _photo(path: Path) -> Photo:
    try:
        with opened(path) as file:
            content = file.read(LARGEST_PHOTO_BYTES + 1)
    except OSError as error:
        raise FileError(f"{path}: cannot be read ({error.strerror})", "Check the name of the photo.") from error
    if len(content) > LARGEST_PHOTO_BYTES:
        raise FileError(f"{path}: is larger than {LARGEST_PHOTO_BYTES} bytes", "Keep a smaller copy of the photo.")
    return Photo(path.name, digest(content))
