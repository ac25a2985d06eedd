"""`wiremap judge` with no file: both plugs read through their clear bodies; and what is kept of it."""

import json
from pathlib import Path

import pytest

from tests.cli.running import run
from tests.report.print.goldens import pdf_text

T568B = "1=white-orange,2=orange,3=white-green,4=blue,5=white-blue,6=green,7=white-brown,8=brown"
TURNED = T568B.replace("3=white-green", "3=green").replace("6=green", "6=white-green")
IN_SEQUENCE = T568B.replace("4=blue", "4=green").replace("6=green", "6=blue")
WHITES = "1=white,2=orange,3=white,4=blue,5=white,6=green,7=white,8=brown"


def eyes(near: str, far: str, *more: str, expect: str = "straight") -> tuple[str, ...]:
    """Return the words of a judgement by eye."""
    return "judge", "--near-colours", near, "--far-colours", far, "--expect", expect, *more


def test_right_colours_are_no_measurement() -> None:
    """In place of PASS the page says what it is, and what to do; JSON and exit code say pass."""
    done = run(*eyes(T568B, T568B))
    assert (done.code, done.err) == (0, "")
    assert done.out.startswith("COLOURS RIGHT, NOT MEASURED   SEEN, NOT MEASURED   straight")
    assert "PASS" not in done.out
    assert "Next: Measure it before you rely on it" in done.out
    assert "colour, as read" in done.out
    said = " ".join(done.out.split())
    assert "Not checked: opens, shorts, split pairs, length," in said
    assert "(seen, not measured)" in said
    (found,) = run(*eyes(T568B, T568B, "--json")).objects()
    assert (found["verdict"], found["origin"], found["findings"]) == ("pass", "eyes", [])
    assert {item["what"] for item in found["not_checked"]} >= {"opens", "shorts", "split-pairs", "length"}
    assert {service["answer"] for service in found["services"]} == {"wire map allows it"}
    assert all("opens-not-measured" in service["reasons"] for service in found["services"])


def test_a_wrong_plug_is_named_with_its_card() -> None:
    """The end that is wrong is known, since both were seen; what endangers equipment stands first as ever."""
    done = run(*eyes(T568B, TURNED, "--job", "near=helm", "--job", "far=mast"))
    assert done.code == 3
    said = " ".join(done.out.split())
    assert "Pair 3-6 is reversed. Next: The mast end is wrong (over 99 %). Re-terminate the mast end as T568B" in said
    card = run("pinout", *eyes(T568B, TURNED)[1:])
    assert card.code == 0
    assert "RJ45, far end: T568B" in card.out
    assert "!       3  white-green     contact 6     6" in card.out
    assert run("pinout", *eyes(T568B, T568B)[1:]).code == 2
    danger = run(*eyes(T568B, T568B.replace("4=blue", "4=white-green").replace("3=white-green", "3=blue")))
    assert danger.out.startswith("DO NOT CONNECT")
    split = run(*eyes(IN_SEQUENCE, IN_SEQUENCE))
    assert split.code == 3
    assert "Pairs 3-6 and 4-5 are split" in split.out
    assert "at risk: 10BASE-T" in split.out


def test_what_cannot_be_told_apart_says_what_to_read() -> None:
    """Plain-white mates are undecided, with how to follow them; so are contacts that nobody read."""
    done = run(*eyes(WHITES, WHITES, "--colours", "plain-white"))
    assert done.code == 4
    said = " ".join(done.out.split())
    assert "White conductors look alike: follow each to the colour it is twisted with, in both plugs (--near" in said
    assert "1 white ? " in said
    followed = WHITES.replace("1=white", "1=white with orange").replace("3=white", "3=white with green")
    followed = followed.replace("5=white", "5=white with blue")
    assert run(*eyes(followed, followed, "--colours", "plain-white")).code == 0
    some = run(*eyes("1=white-orange,2=orange", "1=white-orange,2=orange"))
    assert some.code == 4
    assert (
        "Next: Read contacts 3, 4, 5, 6, 7 and 8 too (--near-colours, --far-colours; - where it is empty)"
        in " ".join(some.out.split())
    )
    assert "Nothing is wrong with it as straight, as far as its colours were read." in some.out


def test_what_is_in_one_plug_only_is_said() -> None:
    """A conductor that one plug alone has is named, with its contact; a contact that is empty in both likewise."""
    done = run(*eyes(T568B, T568B.replace("8=brown", "8=-")))
    said = " ".join(done.out.split())
    assert "Brown (near 8) sits nowhere in the plug at the far end: cut off there, or misread. Far 8 is empty." in said
    assert "The far end is wrong (over 99 %). Re-terminate the far end as T568B (contact 8 changes)." in said
    both = T568B.replace("5=white-blue", "5=-")
    said = " ".join(run(*eyes(both, both)).out.split())
    assert "Contact 5 is empty in both plugs. Next: See whether the cable has a conductor for contact 5" in said
    two = T568B.replace("4=blue", "4=-").replace("5=white-blue", "5=-").replace("7=white-brown,8=brown", "7=-,8=-")
    assert run(*eyes(two, two, expect="straight-2pair")).code == 0
    more = run(*eyes(T568B, T568B, expect="straight-2pair"))
    assert "and more. Measure it before you rely on it" in " ".join(more.out.split())


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("judge",), "--near-colours is missing"),
        (("judge", "--near-colours", T568B, "--expect", "straight"), "--far-colours is missing"),
        (("judge", "--near-colours", T568B, "--far-colours", T568B), "--expect is missing"),
        (eyes("1=white", "1=white"), "no conductor 'white'"),
        (eyes("1=blue,2=blue", "1=blue"), "blue was read in contacts 1, 2"),
        (eyes(T568B, T568B, expect="loopback-100"), "one plug"),
        (eyes(T568B, T568B, "--near-adapter", "m12d-rj45"), "adapters"),
        (eyes(T568B, T568B, "--near-order", "T568A"), "contact 1 was seen as white-orange"),
    ],
)
def test_what_is_not_enough_is_wrong_use(words: tuple[str, ...], says: str) -> None:
    """With neither a file nor both plugs' colours, or with colours that cannot be, exit 2 says what to give."""
    done = run(*words)
    assert (done.code, done.out) == (2, "")
    assert says in done.err
    assert "\n\nhint: " in done.err


def test_what_was_seen_is_kept_and_never_looks_measured(tmp_path: Path) -> None:
    """A capture by eye holds the colours, verifies, is judged again alike; all that is printed says what it is."""
    kept = tmp_path / "eye.json"
    done = run(*eyes(T568B, T568B, "--save", str(kept), "--job", "cable=EYE-1", "--job", "near=helm"))
    assert done.code == 0
    assert f"Kept:{kept}" in "".join(done.out.split())
    record = json.loads(kept.read_bytes().splitlines()[0])
    assert record["reading"]["origin"] == "eyes"
    assert record["rules"]["told"] == {"near_colours": T568B, "far_colours": T568B}
    checked = run("verify", str(kept))
    assert checked.code == 0
    assert "SEEN, NOT MEASURED; " in checked.out
    assert "COLOURS RIGHT, NOT MEASURED again from the reading" in checked.out
    again = run("judge", str(kept))
    assert again.out.splitlines()[3:20] == done.out.splitlines()[3:20]
    assert run("judge", str(kept), str(kept)).out.startswith("COLOURS RIGHT, NOT MEASURED")
    assert run("report", str(kept), "--save", str(tmp_path)).code == 0
    sheet = " ".join(pdf_text((tmp_path / "eye.pdf").read_bytes()).split())
    assert "COLOURS RIGHT, NOT MEASURED" in sheet.replace(
        "COLOURS RIGHT, EYE-1 NOT MEASURED", "COLOURS RIGHT, NOT MEASURED"
    )
    for text in (sheet, (tmp_path / "eye.html").read_text(encoding="utf-8")):
        assert "SEEN, NOT MEASURED" in text
        assert "Which conductor sits in which contact, by the colours read." in text
        assert "Nothing was measured" in text
        assert "looked at as straight" in text
        assert "tester made on the bench" not in text
        assert "PASS" not in text
    assert "SEEN, NOT MEASURED" in pdf_text((tmp_path / "eye-label.pdf").read_bytes())


def test_conductors_that_nobody_is_known_to_use_are_judged_all_the_same() -> None:
    """A four-wire plug with the blue pair in place of the green one is as true as any other, and is judged."""
    near = "1=white-orange,2=white-blue,3=orange,4=blue"
    words = ("--colours", "tia")
    assert run(*eyes(near, near, *words, expect="m12d-m12d")).code == 0
    done = run(*eyes(near, near.replace("3=orange,4=blue", "3=blue,4=orange"), *words, expect="m12d-m12d"))
    assert done.code == 3
    assert "Contacts 3 and 4 are exchanged." in done.out


def test_a_kept_look_is_judged_again_with_what_is_said_now(tmp_path: Path) -> None:
    """Of a capture by eye what is said now goes before what was told then; of the rest that stands, colours too."""
    kept = tmp_path / "eye.json"
    assert run(*eyes(T568B, TURNED, "--save", str(kept))).code == 3
    closed = run("judge", str(kept), "--closed", "far=60")
    assert "The far end is wrong (over 99 %)." in closed.out
    assert "!    3  white-green        6    belongs at 3" in closed.out
    assert run("judge", str(kept), "--far-colours", T568B).code == 0
    ordered = run(*eyes(T568B, T568B, "--near-order", "T568B"))
    assert "     1  white-orange       1    ok" in ordered.out


def test_a_table_becomes_a_capture_from_a_file_and_from_standard_input(tmp_path: Path) -> None:
    """`-` reads a table or a reading; --save keeps it with its origin; a capture to which nothing is added is not kept
    a second time."""
    table = b"1,0,0,0\n0,1,0,0\n0,0,1,0\n0,0,0,1\n"
    kept = tmp_path / "kept.json"
    words = ("--expect", "m12d-m12d", "--cells", "continuity")
    done = run("judge", "-", *words, "--save", str(kept), typed=table)
    assert done.code == 0
    assert f"Kept:{kept}" in "".join(done.out.split())
    record = json.loads(kept.read_bytes().splitlines()[0])
    assert record["reading"]["origin"] == "table"
    assert run("verify", str(kept)).code == 0
    assert run("report", str(kept), "--save", str(tmp_path)).code == 0
    assert "FROM A TABLE" in pdf_text((tmp_path / "kept-label.pdf").read_bytes())
    again = run("judge", str(kept), "--save", str(tmp_path / "again.json"))
    assert again.code == 2
    assert "is a capture already" in again.err
    reading = json.dumps(record["reading"]).encode()
    assert run("judge", "-", "--expect", "m12d-m12d", typed=reading).code == 0
    (found,) = run("judge", "-", *words, "--json", typed=table).objects()
    assert found["source"] == "standard input"
    empty = run("judge", "-", *words, typed=b"")
    assert empty.code == 6
    assert "standard input: is empty" in empty.err
    several = run("judge", "-", str(kept), *words, "--save", str(tmp_path), typed=table)
    assert several.code == 2


def test_a_table_of_the_testers_contacts_is_judged_through_adapters(tmp_path: Path) -> None:
    """A table over the tester's eight contacts, of an M12 cable in adapters, is judged in the cable's own contacts."""
    file = tmp_path / "sensor.csv"
    # IEC 61076-2-101 and IEC 61918: M12 D 1, 2, 3, 4 are RJ45 1, 3, 2, 6.
    rows = [[int(near == far and near in (1, 2, 3, 6)) for far in range(1, 9)] for near in range(1, 9)]
    file.write_text("\n".join(",".join(map(str, row)) for row in rows) + "\n", encoding="utf-8")
    through = ("--near-adapter", "m12d-rj45", "--far-adapter", "m12d-rj45")
    done = run("judge", str(file), "--expect", "m12d-m12d", *through)
    assert done.code == 0
    assert "4  blue" in done.out
    one = run("judge", str(file), "--expect", "m12d-rj45", "--near-adapter", "m12d-rj45")
    assert one.code == 0
    wrong = run("judge", str(file), "--expect", "m12d-m12d", "--near-adapter", "m12d-m12d")
    assert wrong.code == 6
    other = run("judge", str(file), "--expect", "m12d-rj45", "--near-adapter", "rollover")
    assert other.code == 2
    kept = tmp_path / "kept.json"
    assert run("judge", str(file), "--expect", "m12d-m12d", *through, "--save", str(kept)).code == 0
    refused = run("judge", str(kept), *through)
    assert refused.code == 2
    assert "is a capture" in refused.err


def test_what_cannot_be_kept_is_refused_before_anything_is_measured(tmp_path: Path) -> None:
    """Before the tester is even opened: no folder, a file that is there, another ending, a folder that is none."""
    there = tmp_path / "there.json"
    there.write_text("{}", encoding="utf-8")
    nobody = ("--tester", "socket://127.0.0.1:9", "--expect", "straight", "--save")
    for path, says in (
        (tmp_path / "none" / "x.json", "no such folder"),
        (there, "is there already"),
        (tmp_path / "x.pdf", "no such folder"),
        (tmp_path / "none", "no such folder"),
        (there / "x.json", "no such folder"),
    ):
        for command in ("test", "watch"):
            done = run(command, *nobody, str(path))
            assert done.code == 6, path
            assert says in done.err
            assert "\n\nhint: " in done.err
    assert run("test", *nobody, str(tmp_path)).code == 5  # a folder is fine, the tester is not there
    assert [path.name for path in tmp_path.iterdir()] == ["there.json"]
    assert there.read_text(encoding="utf-8") == "{}"
