"""`wiremap verify`: one line a file, the exit code, and what is said of each."""

import json
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.cli.running import run
from tests.records.samples import content, lot, plain_record, published_key, reading
from wiremap.records.captures.capture import to_bytes
from wiremap.records.keys import public_pem
from wiremap.records.lots.ledger import open_ledger
from wiremap.records.lots.rebuild import capture_name


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the user a home without keys, and a folder for captures."""
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
    made = tmp_path / "captures"
    made.mkdir()
    return made


def test_one_line_a_file_and_a_summary(folder: Path) -> None:
    """A sound lot is one line a capture, a summary, and exit code 0; what a digest cannot show is said on stderr."""
    for number, made in enumerate(lot(3), 1):
        (folder / f"{number}.json").write_bytes(made)
    code, out, err = run("verify", str(folder))
    lines = out.splitlines()
    assert code == 0
    assert [line.split()[0] for line in lines[:3]] == ["SOUND"] * 3
    assert all("not signed; chain holds; PASS again from the reading" in line for line in lines[:3])
    assert lines[3] == "3 sound"
    assert "neither shows that the tester was honest" in err


def test_a_gap_in_a_lot_is_named(folder: Path) -> None:
    """The capture after one that was removed says that the one before it is missing; exit code 3."""
    for number, made in enumerate(lot(4), 1):
        if number != 2:
            (folder / f"{number}.json").write_bytes(made)
    code, out, _ = run("verify", str(folder))
    assert code == 3
    wrong = [line for line in out.splitlines() if line.startswith("NOT SOUND")]
    assert len(wrong) == 1
    assert "3.json" in wrong[0]
    assert "the capture before it is missing" in wrong[0]
    assert out.splitlines()[-1] == "2 sound, 1 not sound"


def test_what_is_cut_off_the_end_shows_against_the_ledger(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last capture of a lot taken away is missed by the lot's ledger, given the lot or its captures."""
    captures = folder / "captures"
    captures.mkdir()
    for number, made in enumerate(lot(3), 1):
        (captures / capture_name(number, f"rack-{number:02}")).write_bytes(made)
    with open_ledger(folder):
        pass
    for given in (folder, captures):
        assert run("verify", str(given))[0] == 0
    (captures / "00003-rack-03.json").unlink()
    monkeypatch.chdir(captures)
    for given in (folder, captures, Path()):
        code, out, _ = run("verify", str(given))
        assert code == 3
        assert "line 3 of the ledger names the capture 00003-rack-03.json, which is missing" in out
        assert out.splitlines()[-1] == "2 sound, 1 not sound"
    (folder / "ledger.jsonl").write_bytes(b"junk\n")
    code, _, err = run("verify", str(folder))
    assert code == 6
    assert "ledger.jsonl" in err


def test_changed_and_unreadable_files(folder: Path) -> None:
    """A changed record is not sound (3), a file that is no capture is unreadable (6), and the rest go on."""
    (folder / "1.json").write_bytes(content().replace(b"helm-01", b"helm-02"))
    (folder / "2.json").write_bytes(b"not a capture")
    (folder / "3.json").write_bytes(content())
    code, out, err = run("verify", str(folder / "1.json"))
    assert code == 3
    assert "changed after it was written" in out
    code, out, err = run("verify", str(folder))
    assert code == 6
    assert "2.json" in err
    assert out.splitlines()[-1] == "1 sound, 1 not sound, 1 unreadable"
    code, out, err = run("verify", "--json", str(folder))
    objects = [json.loads(line) for line in out.splitlines()]
    assert code == 6
    assert objects[0]["error"]["kind"] == "file"
    assert [item["sound"] for item in objects[1:3]] == [False, True]
    assert objects[3]["summary"] == {"sound": 1, "not_sound": 1, "unreadable": 1}


def test_json_says_it_all(folder: Path) -> None:
    """One capture is one object, with every state a program may ask for."""
    path = folder / "x.json"
    path.write_bytes(content(reading((0, 1, None, 3, 4, 5, 6, 7)), key=published_key()))
    code, out, _ = run("verify", "--json", str(path))
    found = json.loads(out)
    assert code == 0
    assert (found["format"], found["command"], found["source"]) == (1, "verify", str(path))
    assert (found["digest_holds"], found["signature"], found["key"]) == (True, "unknown", published_key().public)
    assert (found["chain"], found["verdict"], found["verdict_again"]) == ("single", "fail", "fail")
    assert (found["calibration"], found["own_limits"], found["problems"]) == ("none", False, [])


def test_other_rules_are_a_note_and_the_same_rules_a_fault(folder: Path) -> None:
    """A verdict that does not follow ends with 3; judged by rules of another number it ends with 0 and a note."""
    path, plain = folder / "x.json", plain_record()
    plain["diagnosis"] = plain["diagnosis"] | {"verdict": "fail"}
    path.write_bytes(to_bytes(plain))
    assert run("verify", str(path))[0] == 3
    path.write_bytes(to_bytes(plain | {"judging": 1}))
    code, out, _ = run("verify", str(path))
    assert code == 0
    assert "by today's rules: PASS" in out
    assert json.loads(run("verify", "--json", str(path))[1])["judging"] == 1


def test_trust_and_required_signatures(folder: Path, tmp_path: Path) -> None:
    """With --trust only that key's captures are sound; --require-signature wants a key that is known."""
    signed, unsigned, key = folder / "signed.json", folder / "unsigned.json", tmp_path / "yard.pem"
    signed.write_bytes(content(key=published_key()))
    unsigned.write_bytes(content())
    key.write_bytes(public_pem(published_key().public))
    code, out, _ = run("verify", str(signed), "--trust", str(key))
    assert code == 0
    assert "signed with the key 'yard'" in out
    assert run("verify", str(unsigned), "--trust", str(key))[0] == 3
    assert run("verify", str(signed), "--trust", "0" * 64)[0] == 3
    assert run("verify", str(signed))[0] == 0
    assert run("verify", str(unsigned))[0] == 0
    code, out, _ = run("verify", str(signed), "--require-signature")
    assert code == 3
    assert "no signature of a key that is trusted" in out
    known = tmp_path / "home" / "keys" / "known"
    known.mkdir(parents=True)
    (known / "yard.pem").write_bytes(key.read_bytes())
    assert run("verify", str(signed), "--require-signature")[0] == 0


def test_the_public_key_is_printed(folder: Path) -> None:
    """--public-key prints a PEM file, the same every time."""
    code, first, _ = run("verify", "--public-key")
    assert code == 0
    assert first.startswith("-----BEGIN PUBLIC KEY-----")
    assert run("verify", "--public-key")[1] == first
    assert folder.is_dir()


def test_wrong_use_has_a_hint(folder: Path) -> None:
    """Nothing given is wrong use (2); an empty folder and a key that is none are files that cannot be used (6)."""
    assert run("verify")[0] == 2
    for words in ([str(folder)], [str(folder / "none.json")], [str(folder), "--trust", str(folder / "none.pem")]):
        code, _, err = run("verify", *words)
        assert code == 6
        assert "hint:" in err


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_a_bar_shows_how_far_it_is(folder: Path) -> None:
    """At a terminal many captures have a bar on the way, which is gone when the lines come."""
    pexpect = pytest.importorskip("pexpect")
    for number, made in enumerate(lot(60), 1):
        (folder / f"{number:02}.json").write_bytes(made)
    ran = pexpect.spawn(
        sys.executable, ["-m", "wiremap", "verify", str(folder)], encoding="utf-8", timeout=60, dimensions=(24, 200)
    )
    ran.expect("Verifying")
    ran.expect("60 sound")
    ran.expect(pexpect.EOF)
    ran.close()
    assert ran.exitstatus == 0


def test_two_cores_say_the_same(folder: Path) -> None:
    """On two cores `verify` and `judge` say of the same files the same, in the same order, with the same exit code."""
    for number, made in enumerate(lot(12, published_key()), 1):
        (folder / f"{number:02}.json").write_bytes(made if number != 5 else made.replace(b"rack-05", b"rack-06"))
    (folder / "junk.json").write_bytes(b"junk")
    for words in (("verify", str(folder)), ("judge", *map(str, sorted(folder.iterdir())))):
        for more in ((), ("--json",)):
            assert run(*words, *more) == run(*words, *more, "--cores", "2")


def test_a_capture_of_tomorrow_is_a_remark(tmp_path: Path) -> None:
    """A capture whose clock was ahead is sound, and that it is of the future is said; an hour is nobody's fault."""
    now = datetime.now(UTC)
    for name, ahead, is_said in (("past", -400, False), ("now", 0, False), ("soon", 0.5, False), ("ahead", 30, True)):
        made_utc = f"{now + timedelta(hours=ahead):%Y-%m-%dT%H:%M:%SZ}"
        path = tmp_path / f"{name}.json"
        path.write_bytes(to_bytes(plain_record() | {"made_utc": made_utc}))
        ran = run("verify", str(path))
        assert ran.code == 0
        assert ran.out.startswith("SOUND")
        assert ("by this machine's clock it was made in the future" in ran.out) == is_said, name
