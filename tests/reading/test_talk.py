"""Text of testers with a language of their own: described, learnt, recognised, and what is refused."""

import random
from pathlib import Path

import pytest

from tests.reading.strangers import KNOWN, MARKS, QUIET, Stranger, jumper, spoken
from tests.reading.talk_counts import count_cables, count_damaged, count_others, count_unaided, taught
from wiremap.errors import FileError
from wiremap.reading.talk.heard import reading_of, recognised, understood
from wiremap.reading.talk.language import Language, language_text, read_language
from wiremap.reading.talk.learning import Learning, after_listening, no_screen

NAMED = "scan {n}\n    F1 F2 F3 F4\nN1: 1 0 0 0\nN2: 0 1 0 0\nN3: 0 0 0 1\nN4: 0 0 1 0\n"
BARE = "scan {n}\n1 0 0 0\n0 1 0 0\n0 0 0 1\n0 0 1 0\n"
NOTHING = "scan {n}\n    F1 F2 F3\nN1: 0 0 0\nN2: 0 0 0\nN3: 0 0 0\n"


def scans(text: str, count: int = 3) -> bytes:
    """Return so many scans as bytes."""
    return "".join(text.format(n=number) for number in range(count)).encode()


@pytest.mark.parametrize("tester", KNOWN, ids=lambda tester: tester.name)
def test_every_form_is_learnt_with_one_wire_or_two(tester: Stranger) -> None:
    """Near 1 to far 2, and where that leaves two ways a second wire, give the language of each form."""
    language, wires = taught(tester, MARKS[0])
    assert wires <= 2
    assert language.count == tester.count


def test_small_counts() -> None:
    """What the long check counts, in little: nothing is read wrong."""
    count_cables(2, 80)
    count_damaged(2, 30)
    count_unaided(2, 50)
    count_others(2, 30)


def test_a_description_is_written_and_read_again(tmp_path: Path) -> None:
    """Every learnt language is the same after it was a file."""
    for tester in KNOWN[::6]:
        language, _ = taught(tester, MARKS[0])
        path = tmp_path / "mine.toml"
        path.write_text(language_text(language, "mine"), encoding="utf-8")
        assert read_language(path) == language


def test_own_names_are_described(tmp_path: Path) -> None:
    """A tester that prints its pins is read by a list of them."""
    path = tmp_path / "pins.toml"
    path.write_text(
        'format = 1\n[rows]\nform = "links"\n[scan]\nbegin = "scan #"\n'
        '[contacts]\nnear = ["D2", "D3"]\nfar = ["A0", "A1"]\ncount = 2\n',
        encoding="utf-8",
    )
    said = understood(scans("scan {n}\nD2 -> A1\nD3 -> A0\n", 6), "log.txt", read_language(path))
    assert {(a.name, b.name) for a, b in said.wires.joined} == {("1", "2"), ("2", "1")}


@pytest.mark.parametrize(
    ("toml", "what"),
    [
        ('format = 1\n[rows]\nform = "prose"\n', "rows.form"),
        ("format = 1\n[contacts]\nfirst = 2\n", "contacts.first"),
        ("format = 1\n[colour]\nx = 1\n", "colour"),
        ('format = 1\n[contacts]\nnear = ["D2"]\n', "together"),
        ("format = 2\n", "format"),
    ],
)
def test_a_wrong_description_is_refused(tmp_path: Path, toml: str, what: str) -> None:
    """The file and the key are named."""
    path = tmp_path / "mine.toml"
    path.write_text(toml, encoding="utf-8")
    with pytest.raises(FileError, match=r"mine\.toml") as refused:
        read_language(path)
    assert what in refused.value.what


def test_both_ends_named_are_believed_unaided() -> None:
    """The wires are as named, near to near is not measured, and joined is no ohms."""
    said = recognised(scans(NAMED), "log.txt")
    assert {(a.name, b.name) for a, b in said.wires.joined} == {("1", "1"), ("2", "2"), ("3", "4"), ("4", "3")}
    reading = reading_of(said, "table")
    assert reading.resistance_ohm[0][4:] == ("joined", "open", "open", "open")
    assert reading.resistance_ohm[0][1] is None
    assert reading.heard is not None
    assert reading.heard.alike == 3
    assert "N1: 1 0 0 0" in reading.heard.lines


@pytest.mark.parametrize(
    ("text", "count", "what"),
    [
        (BARE, 3, "can be"),
        (NAMED, 1, "no scan came twice in a row alike"),
        (NOTHING, 3, "nothing is joined, or everything is"),
        ("scan {n}\nN1->F2\n", 6, "can be"),
    ],
)
def test_what_is_not_certain_is_refused(text: str, count: int, what: str) -> None:
    """No end named, one scan, constant cells, links whose numbering is not shown."""
    with pytest.raises(FileError) as refused:
        recognised(scans(text, count), "log.txt", 8)
    assert what in refused.value.what
    assert "log.txt" in refused.value.what


def test_two_cables_in_one_log_are_refused() -> None:
    """Which of them is meant is not guessed."""
    other = NAMED.replace("N1: 1 0 0 0", "N1: 0 0 0 0")
    with pytest.raises(FileError, match="2 different cables"):
        recognised(scans(NAMED) + scans(other), "log.txt")


def test_the_last_line_of_a_live_text_is_none_without_its_end() -> None:
    """Half a row is not read, and so the scan is not whole."""
    text = scans(NAMED, 2)
    assert recognised(b"x\n" + text + b"scan", "line", live=True).times == 2
    with pytest.raises(FileError):
        recognised(b"x\n" + text[:-3], "line", live=True)


def heard_of(tester: Stranger, near: str, far: str) -> bytes:
    """Return what a tester prints of one wire."""
    return spoken(tester, jumper(tester, near, far), 6, MARKS[0], QUIET, random.Random(1))


def test_a_screen_that_is_not_there_is_said() -> None:
    """Of nine contacts it is asked which is the screen; who has none says so."""
    nine = next(tester for tester in KNOWN if tester.name == "spaces, nine, last")
    state = after_listening(Learning(), heard_of(nine, "1", "2"), live=False)
    assert state.wire[0] == "S"
    assert no_screen(state).step == "learnt"
    assert no_screen(state).language.screen == "none"


def test_a_wrong_wire_is_told() -> None:
    """Where something else was joined, nothing is learnt and the wire is wanted again."""
    state = after_listening(Learning(), heard_of(KNOWN[0], "3", "3"), live=False)
    assert state.step == "wire"
    assert "near 1 to far 2" in state.why


def test_alike_is_asked_for_as_often_as_described() -> None:
    """One scan is enough where the description says so."""
    once = Language(form="cells", separator="space", alike=1)
    assert understood(scans(BARE, 1), "log.txt", once).times == 1
