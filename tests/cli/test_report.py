"""`wiremap report`: which files it makes, where, and of which captures it makes none."""

import json
from pathlib import Path

import pytest

from tests.cli.running import run
from tests.reading.as_json import to_json
from tests.records.samples import content, plain_record, published_key, reading
from tests.report.print.goldens import pdf_text
from wiremap.records.canonical import encode
from wiremap.records.captures.seal import seal


@pytest.fixture
def capture(tmp_path: Path) -> Path:
    """Return a signed capture in a file."""
    path = tmp_path / "helm-01.json"
    path.write_bytes(content(key=published_key()))
    return path


def test_all_files_are_made_beside_each_other(capture: Path, tmp_path: Path) -> None:
    """Sheet, pictures, label and phone page get the capture's name in the folder that was chosen, and are listed."""
    folder = tmp_path / "sheets"
    folder.mkdir()
    code, out, err = run("report", str(capture), "--save", str(folder), "--paper", "letter")
    assert code == 0
    endings = (".pdf", "-map.png", "-map.svg", "-label.pdf", "-label.png", ".html")
    assert out.splitlines() == [str(folder / f"helm-01{ending}") for ending in endings]
    assert sorted(path.name for path in folder.iterdir()) == sorted(f"helm-01{ending}" for ending in endings)
    assert "neither shows that the tester was honest" in err
    text = pdf_text((folder / "helm-01.pdf").read_bytes())
    assert "PASS" in text
    assert "helm-01" in text


def test_what_is_asked_for_is_made(capture: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """--make chooses; without --save the files go where the user stands; --json lists them."""
    monkeypatch.chdir(tmp_path)
    code, out, _ = run("report", str(capture), "--make", "label,phone", "--json")
    said = json.loads(out)
    assert code == 0
    assert (said["command"], said["verdict"]) == ("report", "pass")
    assert said["files"] == ["helm-01-label.pdf", "helm-01-label.png", "helm-01.html"]
    assert all((tmp_path / name).is_file() for name in said["files"])


def test_nothing_is_written_over(capture: Path, tmp_path: Path) -> None:
    """A file, or a link, that is there is left as it is, and no other file is made."""
    outside = tmp_path / "outside.html"
    for name in ("file", "link"):
        folder = tmp_path / name
        folder.mkdir()
        there = folder / "helm-01-label.png"
        if name == "file":
            there.write_bytes(b"mine")
        else:
            there.symlink_to(outside)
        code, _, err = run("report", str(capture), "--make", "label", "--save", str(folder))
        assert code == 6
        assert "is there already" in err
        assert "hint:" in err
        assert [path.name for path in folder.iterdir()] == ["helm-01-label.png"]
    assert (tmp_path / "file" / "helm-01-label.png").read_bytes() == b"mine"
    assert not outside.exists()


def test_no_sheet_of_what_is_not_sound(tmp_path: Path) -> None:
    """Of a changed record, a foreign signature, or a verdict that does not follow, no sheet is made."""
    plain = plain_record(reading((0, 1, 5, 3, 4, 2, 6, 7)))
    plain["diagnosis"]["verdict"] = "pass"
    edited = encode(plain) + b"\n"
    good = content(key=published_key())
    bad = {
        "changed": good.replace(b"helm-01", b"helm-02"),
        "signature": good.replace(b'"signature":"', b'"signature":"00')[:-4] + b'"}\n',
        "verdict": edited + seal(edited),
        "reading": to_json(reading()),
        "junk": b"junk",
    }
    folder = tmp_path / "sheets"
    folder.mkdir()
    for name, made in bad.items():
        path = tmp_path / f"{name}.json"
        path.write_bytes(made)
        code, out, err = run("report", str(path), "--save", str(folder))
        assert (code, out) == (6, ""), name
        assert "hint:" in err
    assert list(folder.iterdir()) == []


def test_wrong_use_has_a_hint(capture: Path, tmp_path: Path) -> None:
    """Unknown kinds and papers are wrong use; a folder that is not there is said before anything is drawn."""
    assert run("report", str(capture), "--make", "poster")[0] == 2
    assert run("report", str(capture), "--paper", "a5")[0] == 2
    code, _, err = run("report", str(capture), "--save", str(tmp_path / "none"))
    assert code == 6
    assert "no such folder" in err
