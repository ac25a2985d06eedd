"""Captures are written whole, never over another, and read back as they were."""

import copy
import errno
import json
import os
import stat
import sys
import threading
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.reading.as_json import to_json
from tests.reading.mutated import full_reading
from tests.records.captures.saving import killed_saves
from tests.records.samples import content, lot, plain_record, published_key, reading
from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import pattern, pattern_names
from wiremap.cable.terminations import termination
from wiremap.errors import FileError, UsageError
from wiremap.records.canonical import encode
from wiremap.records.captures import schema
from wiremap.records.captures.capture import Job, Lot, Photo, Work, job_from_words, read_capture, save, to_bytes
from wiremap.records.captures.check import check
from wiremap.records.captures.files import load
from wiremap.records.captures.seal import seal
from wiremap.records.new_file import write_new

GOLDEN = Path(__file__).parents[2] / "golden"
quiet = settings(deadline=None, derandomize=True, database=None, max_examples=60)
PLAIN = json.loads(json.dumps(plain_record()))


def test_a_capture_comes_back(tmp_path: Path) -> None:
    """Job, work, pattern, colours, limits, reading and diagnosis come back from a capture as they were."""
    job = Job("Survey catamaran", "berth 4", "helm-01", "helm", "mast", "me", "rain \u2614", ())
    plain = plain_record(
        near_order=termination("T568A"), colours=colour_set("plain-white"), job=job, lot=Lot("rack", 1)
    )
    loaded = load(save(tmp_path, plain))
    found = loaded.record
    assert found is not None
    assert loaded.reading == reading()
    assert (found.job, found.lot) == (job, Lot("rack", 1))
    assert (found.expect, found.near_order) == (pattern("straight"), termination("T568A"))
    assert found.colours == colour_set("plain-white")
    assert found.work == (Work("Plug re-terminated.", True),)
    assert (found.diagnosis, found.limits) == (plain["diagnosis"], plain["limits"])


def test_every_pattern_that_ships_comes_back() -> None:
    """A record holds each pattern in full and gives it back."""
    for name in pattern_names():
        assert read_capture(to_bytes(plain_record(expect=pattern(name))), "x").record.expect == pattern(name)


@quiet
@given(
    st.floats(min_value=0, max_value=1e15, allow_nan=False),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=30),
)
def test_numbers_and_texts_come_back_exactly(ohm: float, text: str) -> None:
    """Every finite resistance and every text in a record is the same after writing and reading."""
    plain = copy.deepcopy(PLAIN)
    plain["job"]["note"] = text
    plain["reading"]["resistance_ohm"][0][8] = plain["reading"]["resistance_ohm"][8][0] = ohm
    found = read_capture(to_bytes(plain), "x").record
    assert found.job.note == text
    assert found.reading["resistance_ohm"][0][8] == ohm


def test_the_file_is_two_lines(tmp_path: Path) -> None:
    """A capture is two lines of JSON: the record, and the seal with digest and, when signed, key and signature."""
    first, second = save(tmp_path, plain_record(), published_key()).read_bytes().splitlines()
    assert json.loads(first)["format"] == 1
    assert list(json.loads(second)) == ["digest", "key", "signature"]
    assert list(json.loads(save(tmp_path, plain_record()).read_bytes().splitlines()[1])) == ["digest"]


def test_the_schema_that_ships_is_that_of_the_types() -> None:
    """capture.schema.json says what the types say; write it anew with schema.FILE.write_text(schema.text())."""
    shipped = json.loads(schema.FILE.read_text(encoding="utf-8"))
    assert in_order(shipped) == in_order(json.loads(schema.text()))


def in_order(value: object) -> object:
    """Return a schema with its choices in one order; versions of msgspec name them in orders of their own."""
    if isinstance(value, dict):
        return {key: in_order(one) for key, one in value.items()}
    if isinstance(value, list):
        return sorted((in_order(one) for one in value), key=lambda one: json.dumps(one, sort_keys=True))
    return value


def test_captures_fit_the_schema_and_tampered_ones_do_not() -> None:
    """Both lines of captures fit the schema that ships; unknown keys and wrong kinds do not."""
    shipped = json.loads(schema.FILE.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(shipped)
    validator = jsonschema.Draft202012Validator(shipped)
    made = [
        content(near_order=termination("T568B"), colours=colour_set("tia")),
        content(key=published_key()),
        *lot(2),
        *(path.read_bytes() for path in sorted(GOLDEN.glob("capture-*.json"))),
    ]
    for line in (line for capture in made for line in capture.splitlines()):
        validator.validate(json.loads(line))
    record, mark = (json.loads(line) for line in made[1].splitlines())
    bad = [
        record | {"more": 1},
        record | {"made_utc": 5},
        record | {"before": "sha256:0"},
        record | {"job": {"boat": "x"}},
        record | {"reading": record["reading"] | {"far": "moon"}},
        mark | {"key": "0"},
        mark | {"more": 1},
        {"digest": mark["digest"], "key": mark["key"]},
    ]
    for value in bad:
        assert not validator.is_valid(value), value


def test_a_key_that_nobody_knows_is_refused_wherever_it_stands() -> None:
    """In the record, in the reading, and in everything in them that has keys of its own."""
    plain = plain_record(
        full_reading(True),
        expect=pattern("m12a-5pole"),
        near_order=termination("T568B"),
        colours=colour_set("tia"),
        lot=Lot("rack", 1),
        job=Job(photos=(Photo("plug.jpg", "sha256:" + "0" * 64),)),
    )
    whole = json.loads(to_bytes(plain).partition(b"\n")[0])
    free = ("rules", "diagnosis", "limits", "materials", "remotes", "kinds")  # looked at where they are used
    objects = [one for key, part in whole.items() if key not in free for one in with_keys(part)]
    assert len(objects) > 30
    for each in (whole, *objects):
        each["strange"] = None
        line = encode(whole) + b"\n"
        with pytest.raises(FileError, match="strange") as caught:
            read_capture(line + seal(line), "x")
        assert caught.value.hint
        del each["strange"]
    assert encode(whole) == to_bytes(plain).partition(b"\n")[0]


def with_keys(plain: Any) -> Iterator[dict[str, Any]]:
    """Give every object in a value, itself included."""
    if isinstance(plain, dict):
        yield plain
    for part in plain.values() if isinstance(plain, dict) else plain if isinstance(plain, list) else ():
        yield from with_keys(part)


@pytest.mark.parametrize("path", sorted(GOLDEN.glob("capture-*.json")), ids=lambda path: path.name)
def test_every_format_ever_shipped_is_read(path: Path) -> None:
    """The sample of each format that was ever written is read, its signature holds, and its verdict follows."""
    found = check(path.read_bytes(), path.name, {published_key().public: "test"})
    assert (found.digest_holds, found.signature, found.verdict) == (True, "known", "same")


def test_samples_of_readings_are_read() -> None:
    """The sample readings in JSON and CSV are read, and say the same of the cable."""
    from_json, from_csv = (load(GOLDEN / f"reading-1.{ending}").reading for ending in ("json", "csv"))
    assert from_json == reading()
    assert from_csv.resistance_ohm[0][8:] == from_json.resistance_ohm[0][8:]


def test_a_record_without_later_keys_is_read() -> None:
    """A record written before a key was known is read with that key's default; a key missing is an error."""
    plain = plain_record()
    del plain["job"]["site"]
    del plain["reading"]["events"]
    assert read_capture(to_bytes(plain), "x").record.job.site == ""
    for key in ("reading", "diagnosis", "limits", "made_utc"):
        with pytest.raises(FileError, match=key):
            to_bytes({name: value for name, value in plain.items() if name != key})


def test_a_file_that_is_there_is_never_written_over(tmp_path: Path) -> None:
    """In a folder the second capture of one label and second gets a number; a named file is refused."""
    first, second, third = (save(tmp_path, plain_record()) for _ in range(3))
    assert [path.name for path in (first, second, third)] == [
        "helm-01-20260301T093000Z.json",
        "helm-01-20260301T093000Z-2.json",
        "helm-01-20260301T093000Z-3.json",
    ]
    before = first.read_bytes()
    with pytest.raises(FileError, match="is there already"):
        save(first, plain_record(job=Job(cable="other")))
    assert first.read_bytes() == before


def test_where_nothing_can_be_written_it_says_so(tmp_path: Path) -> None:
    """A folder that is not there, and a name that is no capture's, are refused with a hint, and nothing is left."""
    for path in (tmp_path / "none" / "x.json", tmp_path / "none", tmp_path / "x.txt"):
        with pytest.raises(FileError) as caught:
            save(path, plain_record())
        assert caught.value.hint
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_permission_says_so(tmp_path: Path) -> None:
    """A folder that may not be written is refused with the system's reason."""
    tmp_path.chmod(0o500)
    with pytest.raises(FileError, match="cannot be written"):
        save(tmp_path, plain_record())
    tmp_path.chmod(0o700)


def test_a_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk is full nothing of the capture is left, and the system's reason is said."""

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="No space left"):
        save(tmp_path, plain_record())
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("links", [True, False])
def test_two_writers_of_one_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool) -> None:
    """Of many writers of one name one wins and its file is whole, with hard links and without."""
    if not links:

        def none(_from: object, _to: object) -> None:
            raise OSError(errno.EOPNOTSUPP, "no hard links here")

        monkeypatch.setattr(os, "link", none)
    won: list[int] = []
    ready = threading.Barrier(8)

    def write(number: int) -> None:
        ready.wait(60)
        try:
            write_new(tmp_path / "one.json", bytes([number]) * 100_000)
        except FileExistsError:
            return
        won.append(number)

    threads = [threading.Thread(target=write, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(won) == 1
    assert (tmp_path / "one.json").read_bytes() == bytes(won) * 100_000
    assert [path.name for path in tmp_path.iterdir()] == ["one.json"]


def test_a_folder_of_many_writers_keeps_every_capture(tmp_path: Path) -> None:
    """Eight writers of the same label and second into one folder keep eight captures."""
    threads = [threading.Thread(target=save, args=(tmp_path, plain_record(job=Job(cable="x")))) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(list(tmp_path.glob("*.json"))) == 8


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_a_killed_writer_leaves_no_half_file(tmp_path: Path) -> None:
    """Killed at random moments, a writer leaves whole captures only, and all that it had reported."""
    whole, killed = killed_saves(tmp_path, 1, 30)
    assert whole == 30
    assert killed > 1


@pytest.mark.skipif(sys.platform == "win32", reason="permissions of POSIX")
def test_captures_can_be_read_by_others_as_the_user_wants(tmp_path: Path) -> None:
    """A capture has the permissions that the user's mask leaves, as any file they make."""
    path = save(tmp_path, plain_record())
    mask = os.umask(0)
    os.umask(mask)
    assert stat.S_IMODE(path.stat().st_mode) == 0o644 & ~mask


def test_a_time_without_a_zone_is_refused() -> None:
    """A record's time must say its offset."""
    with pytest.raises(UsageError, match="no zone"):
        plain_record(now=datetime(2026, 3, 1))


def test_jobs_are_read_from_words(tmp_path: Path) -> None:
    """KEY=VALUE words make a job; a photo is kept by name and digest; unknown and doubled keys are refused."""
    photo = tmp_path / "old plug.jpg"
    photo.write_bytes(b"abc")
    assert job_from_words(["re-terminated=far"]) == Job(re_terminated="far")
    with pytest.raises(UsageError, match="re-terminated=mast: not known"):
        job_from_words(["re-terminated=mast"])
    job = job_from_words(["cable=a=b", "who=", f"photo={photo}"])
    assert (job.cable, job.who) == ("a=b", "")
    assert job.photos[0].file == "old plug.jpg"
    assert job.photos[0].digest.endswith("f20015ad")
    for words in (["boat=x"], ["cable"], ["cable=1", "cable=2"]):
        with pytest.raises(UsageError):
            job_from_words(words)
    with pytest.raises(FileError, match="cannot be read"):
        job_from_words([f"photo={tmp_path / 'none.jpg'}"])


def test_files_are_told_by_content(tmp_path: Path) -> None:
    """A capture, a reading in JSON and one in CSV are told from each other whatever the file is called."""
    for number, made in enumerate((content(), to_json(reading()), b"\n " + to_json(reading()))):
        path = tmp_path / f"{number}.dat"
        path.write_bytes(made)
        loaded = load(path)
        assert loaded.reading == reading()
        assert (loaded.record is None) == (number > 0)


@pytest.mark.parametrize("made", [b"", b"  \n", b"{}", b"[]", b"{", b'{"before":null}\n{}\n', b"\x00" * 50])
def test_files_that_are_nothing_are_refused_by_name(tmp_path: Path, made: bytes) -> None:
    """Empty, cut and foreign files are refused with their name and a hint."""
    path = tmp_path / "x.json"
    path.write_bytes(made)
    with pytest.raises(FileError, match=r"x\.json") as caught:
        load(path)
    assert caught.value.hint
    with pytest.raises(FileError, match="cannot be read"):
        load(tmp_path)
    with pytest.raises(FileError, match="cannot be read"):
        load(tmp_path / "none.json")


def test_a_changed_capture_is_not_judged(tmp_path: Path) -> None:
    """A capture whose record was changed is refused before it is judged."""
    path = tmp_path / "x.json"
    path.write_bytes(content().replace(b"helm-01", b"helm-02"))
    with pytest.raises(FileError, match="changed after it was written"):
        load(path)
