"""What somebody may do to a capture, and that it shows."""

import json
import sys
from datetime import timedelta, timezone
from pathlib import Path
from typing import Any

import msgspec
import pytest

from tests.records.captures.nonsense import nonsense_is_refused_or_judged
from tests.records.captures.tampering import every_cut_is_caught, every_flip_is_caught, is_caught
from tests.records.samples import START, content, lot, plain_record, published_key, reading, small_content
from wiremap.cable.terminations import termination
from wiremap.errors import FileError
from wiremap.records.canonical import encode
from wiremap.records.captures.capture import Job, Lot, read_capture, save, to_bytes
from wiremap.records.captures.chain import BREAKS, ChainState, chain
from wiremap.records.captures.check import capture_files, check
from wiremap.records.captures.files import load
from wiremap.records.captures.seal import digest, seal

KNOWN = {published_key().public: "test"}


@pytest.fixture(scope="module")
def signed() -> bytes:
    """Return a signed capture."""
    return content(key=published_key())


def resealed(plain: dict[str, Any]) -> bytes:
    """Return a record with a new digest, as somebody without the key would write it."""
    line = encode(plain) + b"\n"
    return line + seal(line)


def plain_of(made: bytes) -> dict[str, Any]:
    """Return the record of a capture as plain values."""
    found: dict[str, Any] = json.loads(made.partition(b"\n")[0])
    return found


def test_flipped_bits_are_caught() -> None:
    """Every single bit of a signed capture, flipped, is caught."""
    made = small_content(published_key())
    assert len(made) <= 8000  # so that all flips are tried in a moment; most of it is the limits it was judged by
    assert every_flip_is_caught(made, KNOWN) == 8 * len(made)


def test_cuts_and_pastes_are_caught(signed: bytes) -> None:
    """Bytes left out, doubled, put in or turned round are caught."""
    assert every_cut_is_caught(signed, KNOWN, 1, 300) == 300


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("job", {"cable": "helm-02"}),
        ("made_utc", "2025-03-01T09:30:00Z"),
        ("utc_offset_min", 60),
        ("software", "other 1.0"),
        ("work", []),
        ("before", "sha256:" + "0" * 64),
        ("limits", {"joined_ohm": 1e6}),
    ],
)
def test_a_changed_record_does_not_keep_its_signature(signed: bytes, key: str, value: object) -> None:
    """A renamed job, another time or other limits need a new digest, and the signature does not go with it."""
    plain = plain_of(signed)
    assert plain[key] != value
    line = encode(plain | {key: value}) + b"\n"
    old = json.loads(signed.partition(b"\n")[2])
    assert is_caught(line + encode(old) + b"\n", KNOWN)
    assert check(line + encode(old | {"digest": digest(line)}) + b"\n", "x", KNOWN).signature == "wrong"
    assert is_caught(line + seal(line), KNOWN)


def test_a_swapped_reading_shows_even_without_a_signature() -> None:
    """A reading put into another record is judged otherwise than the record says."""
    sound, exchanged = plain_of(content()), plain_of(content(reading((0, 1, 5, 3, 4, 2, 6, 7))))
    found = check(resealed(sound | {"reading": exchanged["reading"]}), "x", {})
    assert (found.verdict, found.verdict_then, found.verdict_now) == ("verdict-differs", "pass", "fail")
    other = plain_of(content(reading((1, 0, 2, 3, 4, 5, 6, 7))))
    assert check(resealed(exchanged | {"reading": other["reading"]}), "x", {}).verdict == "findings-differ"


def test_an_edited_verdict_shows_even_without_a_signature() -> None:
    """A verdict, or the contacts of a fault, changed in the record do not follow from the reading any more."""
    plain = plain_of(content(reading((0, 1, None, 3, 4, 5, 6, 7))))
    assert plain["diagnosis"]["verdict"] == "fail"
    plain["diagnosis"]["verdict"] = "pass"
    assert check(resealed(plain), "x", {}).verdict == "verdict-differs"
    plain["diagnosis"]["verdict"] = "fail"
    plain["diagnosis"]["findings"][0]["near"] = ["4"]
    assert check(resealed(plain), "x", {}).verdict == "findings-differ"
    wrong: tuple[object, ...] = ("none", [1], {}, [{"fault": []}], [{"near": 3}])
    for findings in wrong:
        plain["diagnosis"]["findings"] = findings
        assert check(resealed(plain), "x", {}).verdict == "findings-differ"
    plain = plain_of(content())
    plain["diagnosis"]["findings"] = "none"
    assert check(resealed(plain), "x", {}).verdict == "findings-differ"


def test_rules_that_cannot_be_are_said() -> None:
    """A record whose rules, limits or contacts make no sense is reported, never a crash."""
    plain = plain_of(content())
    changes: list[dict[str, Any]] = [
        {"rules": {"screen": "sideways"}},
        {"rules": {"require": ["colour of the sea"]}},
        {"limits": {"joined_ohm": -1}},
        {"limits": {"unheard_of": 1}},
        {"near_order": msgspec.to_builtins(termination("m12d-T568B"))},
    ]
    for change in changes:
        assert check(resealed(plain | change), "x", {}).verdict == "cannot-be-judged"
    wrong_kinds: list[dict[str, Any]] = [
        {"rules": {"require": "length"}},
        {"rules": {"require": [1]}},
        {"rules": {"told": 5}},
        {"rules": []},
        {"made_utc": "2026-13-01T09:30:00Z"},
        {"made_utc": "2026-03-01T09:30:00Z\n"},
        {"utc_offset_min": 1440},
        {"lot": {"name": "x", "number": 0}},
    ]
    for change in wrong_kinds:
        with pytest.raises(FileError, match="x: line 1"):
            check(resealed(plain | change), "x", {})


def states(captures: list[bytes]) -> tuple[ChainState, ...]:
    """Return the chain's state of captures in this order."""
    links = [check(made, f"{number}.json", {}).link() for number, made in enumerate(captures)]
    return chain([link for link in links if link is not None])


def test_a_whole_lot_holds_in_any_order_of_files() -> None:
    """The chain of a lot is in the records, not in the names of the files."""
    captures = lot(6)
    assert states(captures) == ("holds",) * 6
    assert states(captures[::-1]) == ("holds",) * 6


@pytest.mark.parametrize("gone", range(5))
def test_a_removed_capture_leaves_a_gap(gone: int) -> None:
    """Whichever capture is taken out of a lot, but the last, the one after it says so."""
    captures = lot(6)
    found = states(captures[:gone] + captures[gone + 1 :])
    assert found[gone] == "before-missing"
    assert sum(state in BREAKS for state in found) == 1


def test_what_is_cut_off_the_end_leaves_no_gap() -> None:
    """The last capture taken away leaves no gap; that is a limit of the chain, and it is said."""
    assert states(lot(6)[:-1]) == ("holds",) * 5


def test_reordered_captures_show() -> None:
    """Two captures whose places are exchanged, by writing them anew, break the chain around them."""
    plains = [plain_of(made) for made in lot(6)]
    plains[2]["before"], plains[3]["before"] = plains[3]["before"], plains[2]["before"]
    plains[2]["lot"], plains[3]["lot"] = plains[3]["lot"], plains[2]["lot"]
    found = states([resealed(plain) for plain in plains])
    assert any(state in BREAKS for state in found)
    renumbered = [plain_of(made) for made in lot(6)]
    renumbered[5]["lot"] = {"name": "rack", "number": 4}
    assert states([resealed(plain) for plain in renumbered])[5] == "number-wrong"


def test_a_second_capture_in_one_place_shows() -> None:
    """Two captures that name the same one before them, or two firsts of one lot, are both marked."""
    captures = lot(3)
    second = plain_of(captures[1])
    assert states([*captures, resealed(second | {"software": "x"})]).count("before-twice") == 2
    first = plain_of(captures[0])
    assert states([*captures, resealed(first | {"software": "x"})]).count("before-twice") == 2


def test_other_breaks_of_a_chain() -> None:
    """Copies, other lots, wrong first numbers and times that run backwards have each their word."""
    captures = lot(3)
    assert states([*captures, captures[1]]) == ("holds", "holds", "holds", "copy")
    assert states([captures[2]]) == ("alone",)
    assert states([content()]) == ("single",)
    last = plain_of(captures[2])
    other_lot = resealed(last | {"lot": {"name": "other", "number": 3}})
    assert states([*captures[:2], other_lot])[2] == "number-wrong"
    early = resealed(last | {"made_utc": "2020-01-01T00:00:00Z"})
    assert states([*captures[:2], early])[2] == "out-of-order"
    assert states([content(lot=Lot("rack", 7))]) == ("number-wrong",)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"note":""', b'"note":"","note":""'),
        (b'"format":1,"job"', b'"format":1.0,"job"'),
        (b'"format":1,"job"', b'"format":1e0,"job"'),
        (b'"format":1,"job"', b'"format":true,"job"'),
        (b'"format":1,"job"', b'"format":2,"job"'),
        (b'"joined_ohm":200', b'"joined_ohm":200.0'),
        (b'"joined_ohm":200', b'"joined_ohm":2e2'),
        (b'"joined_ohm":200', b'"joined_ohm":9007199254740993'),
        (b'"joined_ohm":200', b'"joined_ohm":-0'),
        (b"0.43", b"0.430000000000000000001"),
        (b"0.43", b"1e999"),
        (b"helm-01", b"helm\\u002d01"),
        (b"helm-01", b"\xff\xfe"),
        (b"helm-01", b"\\ud800"),
        (b'"software":', b' "software":'),
        (b'"software":', b'"softwere":'),
        (b'"note":""', b'"more":"","note":""'),
        (b'"features":["RES"]', b'"extra":1,"features":["RES"]'),
        (b'"before":null', b'"before":"sha256:0"'),
        (b'"resistance_ohm":[[0,', b'"resistance_ohm":[[1,'),
    ],
)
def test_a_record_not_written_as_it_must_be_is_refused(signed: bytes, old: bytes, new: bytes) -> None:
    """Duplicate and unknown keys, other spellings of numbers and texts, and huge numbers never pass for a record.

    The digest is made to fit, so that only the form can tell.
    """
    line = signed.partition(b"\n")[0] + b"\n"
    assert old in line
    changed = line.replace(old, new, 1)
    with pytest.raises(FileError, match=r"x\.json: line 1") as caught:
        read_capture(changed + seal(changed), "x.json")
    assert caught.value.hint


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"sha256:', b'"sha256:0'),
        (b'"sha256:', b'"SHA256:'),
        (b'"key":', b'"kay":'),
        (b'"signature":"', b'"signature":"0'),
        (b'{"digest"', b'{"a":1,"digest"'),
        (b'{"digest"', b'{"digest":null,"digest"'),
        (b"}\n", b" }\n"),
        (b"}\n", b"}"),
        (b"}\n", b"}\n\n"),
        (b"}\n", b"}\n{}\n"),
        (b"}\n", b"}\r\n"),
    ],
)
def test_a_seal_not_written_as_it_must_be_is_refused(signed: bytes, old: bytes, new: bytes) -> None:
    """A seal with other keys, other values, blanks, or anything after it is refused."""
    first, _, rest = signed.partition(b"\n")
    assert old in rest
    with pytest.raises(FileError, match=r"x\.json") as caught:
        read_capture(first + b"\n" + rest.replace(old, new, 1), "x.json")
    assert caught.value.hint
    with pytest.raises(FileError):
        check(first + b"\n" + rest.replace(old, new, 1), "x.json", KNOWN)


@pytest.mark.parametrize(
    "nested",
    [b"[" * 200_000, b'{"a":' * 200_000, b"[" * 900 + b"]" * 900, b'{"before":' + b"[" * 5000 + b"]" * 5000 + b"}"],
)
def test_deep_nesting_is_refused(tmp_path: Path, nested: bytes) -> None:
    """Nesting deeper than any record is an error with a hint, in a file of any kind."""
    for made in (nested, nested + b"\n" + b'{"digest":"sha256:' + b"0" * 64 + b'"}\n'):
        path = tmp_path / "deep.json"
        path.write_bytes(made)
        with pytest.raises(FileError):
            load(path)
        with pytest.raises(FileError):
            read_capture(made, "x")


def test_nonsense_is_refused_or_judged() -> None:
    """Random values in random places of a record, with a digest that fits, are refused with a hint or judged."""
    refused, judged = nonsense_is_refused_or_judged(1, 120)
    assert refused + judged == 120
    assert refused > 40
    assert judged > 10


def test_a_huge_file_is_refused_unread(tmp_path: Path) -> None:
    """A file of 3 GB, one line or zeros, is refused without being read."""
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.write(b"1,")
        file.truncate(3_000_000_000)
    with pytest.raises(FileError, match="larger than"):
        load(path)


@pytest.mark.skipif(sys.platform == "win32", reason="symbolic links need rights there")
def test_links_are_neither_written_through_nor_followed(tmp_path: Path) -> None:
    """A symbolic link in the place of a capture is left alone, and a folder's links are not looked at."""
    inside, outside = tmp_path / "inside", tmp_path / "outside"
    inside.mkdir()
    outside.mkdir()
    (outside / "other.json").write_bytes(content())
    (inside / "link.json").symlink_to(outside / "new.json")
    (inside / "folder").symlink_to(outside, target_is_directory=True)
    (inside / "seen.json").symlink_to(outside / "other.json")
    with pytest.raises(FileError, match="is there already"):
        save(inside / "link.json", plain_record())
    assert not (outside / "new.json").exists()
    assert list(capture_files(inside)) == []


@pytest.mark.parametrize(
    "label",
    ["../../outside", "/etc/passwd", "..", ".", "", "a/b\\c", "\0\n\t", "C:\\x", "~root", "x" * 500, "é ü 日本", "-rf"],
)
def test_a_label_never_leads_out_of_the_folder(tmp_path: Path, label: str) -> None:
    """Whatever a cable is called, its capture is a plain file in the folder that was chosen."""
    folder = tmp_path / "chosen"
    folder.mkdir()
    made = save(folder, plain_record(job=Job(cable=label)))
    assert made.parent == folder
    assert made.suffix == ".json"
    assert [path.name for path in tmp_path.iterdir()] == ["chosen"]
    assert list(folder.iterdir()) == [made]
    loaded = load(made).record
    assert loaded is not None
    assert loaded.job.cable == label


def test_times_are_told_with_their_offset() -> None:
    """A capture made five hours ahead of UTC keeps UTC and the offset."""
    plain = plain_record(now=START.astimezone(timezone(timedelta(hours=5, minutes=30))))
    assert (plain["made_utc"], plain["utc_offset_min"]) == ("2026-03-01T09:30:00Z", 330)
    assert to_bytes(plain) != to_bytes(plain_record())
