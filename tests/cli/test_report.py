"""`wiremap report`: which files it makes, where, and of which captures it makes none."""

import json
from pathlib import Path

import pytest

from tests.cli.running import run
from tests.reading.as_json import to_json
from tests.records.samples import content, plain_record, published_key, reading
from tests.report.print.goldens import pdf_text
from wiremap.errors import FileError
from wiremap.records import new_file
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
    """--make chooses; without --save the files go into a new folder named as the capture; --json lists them."""
    monkeypatch.chdir(tmp_path)
    code, out, _ = run("report", str(capture), "--make", "label,phone", "--json")
    said = json.loads(out)
    assert code == 0
    assert (said["command"], said["verdict"]) == ("report", "pass")
    assert said["files"] == [f"helm-01/{name}" for name in ("helm-01-label.pdf", "helm-01-label.png", "helm-01.html")]
    assert all((tmp_path / name).is_file() for name in said["files"])
    assert sorted(path.name for path in tmp_path.iterdir()) == ["helm-01", "helm-01.json"]


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
    """Unknown kinds and papers are wrong use; a folder that cannot be is said before anything is drawn."""
    assert run("report", str(capture), "--make", "poster")[0] == 2
    assert run("report", str(capture), "--paper", "a5")[0] == 2
    in_the_way = tmp_path / "file"
    in_the_way.write_text("mine", encoding="utf-8")
    for folder in (in_the_way, in_the_way / "sheets"):
        code, _, err = run("report", str(capture), "--save", str(folder))
        assert code == 6
        assert "is no folder" in err


def test_many_captures_have_a_folder_each(capture: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each capture gets a folder; one that cannot be read is reported, the rest go on, and the code is 6."""
    monkeypatch.chdir(tmp_path)
    other = tmp_path / "helm-02.json"
    other.write_bytes(capture.read_bytes())
    junk = tmp_path / "junk.json"
    junk.write_text("junk", encoding="utf-8")
    code, out, err = run("report", str(capture), str(junk), str(other), "--make", "phone")
    assert code == 6
    assert out.splitlines() == ["helm-01/helm-01.html", "helm-02/helm-02.html"]
    assert "junk.json" in err
    assert not (tmp_path / "junk").exists()
    again = run("report", str(capture), str(other), "--make", "phone", "--save", "both", "--json").objects()
    assert [one.get("files") for one in again] == [["both/helm-01.html"], ["both/helm-02.html"], None]
    assert again[-1]["summary"] == {"made": 2, "unreadable": 0, "broken": 0}


def test_all_files_are_written_or_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When a file cannot be written those before it are taken away again, and so is a folder that was made for them."""
    new, old = tmp_path / "new", tmp_path / "old"
    old.mkdir()
    old.joinpath("mine").write_bytes(b"mine")
    write = new_file.write_new

    def full(path: Path, content: bytes, mode: int = 0o644) -> None:
        if path.name == "b":
            raise OSError(28, "No space left on device")
        write(path, content, mode)

    monkeypatch.setattr(new_file, "write_new", full)
    for folder in (new, old):
        with pytest.raises(FileError, match="No space left"):
            new_file.write_new_files(folder, {"a": b"1", "b": b"2"})
    assert not new.exists()
    assert [path.name for path in old.iterdir()] == ["mine"]
