"""A photo taken after the capture: a record that follows it, from the command line; `verify` and the sheet say so."""

import json
import re
from pathlib import Path

import pytest

from tests.cli.running import run
from tests.phone.rules import jpeg
from tests.report.print.goldens import pdf_text
from wiremap.records.captures.capture import Job
from wiremap.records.captures.files import load
from wiremap.records.captures.judge_file import judge_file
from wiremap.records.captures.keep import keep


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder with captures and a photo, where one stands; keys are its own."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    boat = tmp_path / "boat"
    boat.mkdir()
    monkeypatch.chdir(boat)
    (boat / "plug.jpg").write_bytes(jpeg())
    return boat


def test_a_photo_added_later_is_a_record_that_follows(folder: Path) -> None:
    """The capture's bytes stay; the new record names it and the photo; both verify, until the photo is changed."""
    assert run("test", "--tester", "sim:far-3-6-exchanged", "--expect", "straight", "--save", "one.json").code == 3
    first = (folder / "one.json").read_bytes()
    done = run("judge", "one.json", "--job", "photo=plug.jpg", "--save", "two.json", "--json")
    assert done.code == 3
    assert done.objects()[0]["capture"] == "two.json"
    assert (folder / "one.json").read_bytes() == first
    record = json.loads((folder / "two.json").read_bytes().splitlines()[0])
    assert record["follows"] == json.loads(first.splitlines()[1])["digest"]
    assert [photo["file"] for photo in record["job"]["photos"]] == ["plug.jpg"]
    one, two, summary = run("verify", "one.json", "two.json", "--json").objects()
    assert (one["photos"], two["photos"]) == ({}, {"plug.jpg": "as-recorded"})
    assert summary["summary"]["sound"] == 2
    (folder / "plug.jpg").write_bytes(jpeg(32, 32))
    seen = run("verify", "one.json", "two.json")
    assert seen.code == 3
    assert "the photo plug.jpg was changed after it was recorded" in " ".join(seen.out.split())
    (folder / "plug.jpg").unlink()
    gone = run("verify", "two.json")
    assert gone.code == 0
    assert "the photo plug.jpg is not beside it" in " ".join(gone.out.split())


def test_what_else_is_said_with_a_capture_is_refused(folder: Path) -> None:
    """It is added to as it was judged, and only where something is added; a capture that was changed is none."""
    assert run("test", "--tester", "sim:patch", "--expect", "straight", "--save", "one.json").code == 0
    words = ("judge", "one.json", "--save", "two.json")
    for more, says in (
        ((), "is a capture already"),
        (("--job", "photo=plug.jpg", "--expect", "crossover"), "added to as it was judged"),
        (("--job", "cable=other"), "the capture says nothing"),
        (("--job", "photo=gone.jpg"), "cannot be read"),
    ):
        refused = run(*words, *more)
        assert refused.code in (2, 6)
        assert says in refused.err
    content = (folder / "one.json").read_bytes()
    (folder / "one.json").write_bytes(content.replace(b'"pass"', b'"fail"', 1))
    assert run(*words, "--job", "photo=plug.jpg").code == 6
    assert not (folder / "two.json").exists()


def test_the_sheet_of_a_record_with_a_later_photo_says_what_it_adds_to(folder: Path) -> None:
    """It adds to its own test's record; of a mended cable it still shows how that was found."""
    for options, name in ((("--tester", "sim:far-3-6-exchanged"), "found"), (("--tester", "sim:patch"), "only")):
        run("test", *options, "--expect", "straight", "--save", f"{name}.json")
    run("judge", "only.json", "--job", "photo=plug.jpg", "--save", "more.json")
    text = _page(folder, "more")
    digits = json.loads((folder / "only.json").read_bytes().splitlines()[1])["digest"][:15]
    assert f"adds to the record {digits}" in text
    found = load(folder / "found.json").capture
    assert found is not None
    keep(folder / "mended.json", judge_file(folder / "only.json"), Job(), follows=found.digest)
    assert "repeats the test" in _page(folder, "mended")
    for more, of in (("photo", "mended"), ("note", "photo")):
        run("judge", f"{of}.json", "--job", "photo=plug.jpg", "--job", f"note={more}", "--save", f"{more}.json")
    text = _sheet(folder, "note")
    assert "adds to the record" in text
    assert "As found" in text
    (folder / "only.json").unlink()
    (folder / "more").rename(folder / "before")
    assert "follows the record" in _page(folder, "more")


def _page(folder: Path, name: str) -> str:
    """Return the page for a phone, which has the facts of the record as the sheet has."""
    ran = run("report", f"{name}.json", "--make", "phone")
    assert ran.code in (0, 3), ran.err
    (made,) = (folder / name).glob("*.html")
    return made.read_text(encoding="utf-8")


def _sheet(folder: Path, name: str) -> str:
    ran = run("report", f"{name}.json", "--make", "sheet")
    assert ran.code in (0, 3), ran.err
    (made,) = (folder / name).glob("*.pdf")
    return re.sub(r"\s+", " ", pdf_text(made.read_bytes()))
