"""What is said of a bus's terminators is true: every count, place, break, exchange and number asked for, read back."""

import re
from itertools import product

import pytest

from tests.judge.wiring.test_terminators import BUS, COUNTS, bus
from wiremap.errors import UsageError
from wiremap.judge.case import Case, JobNames, Requirements, judge_case, requirements
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page
from wiremap.report.wire_rows import wire_rows
from wiremap.report.words.cases import sentences, what_next

NUMBERS = {"no": 0, "none": 0, "a": 1, "one": 1, "two": 2, "three": 3, "four": 4}
NUMBER = "|".join(NUMBERS)
SOUND = (2, 3, 4, 5)
ORDERS = (SOUND, (3, 2, 4, 5), (2, 3, 5, 4), (4, 5, 2, 3), (2, 4, 3, 5))
ASKED = (None, 0, 1, 2, 3)


def said_of(case: Case) -> str:
    """Return everything that is said of a cable before its wire map, in one text."""
    return " ".join(sentences(case))


def judged(
    near: int, far: int, asked: int | None = None, order: tuple[int, ...] = SOUND, broken: int | None = None
) -> Case:
    """Return a bus lead, judged."""
    return judge_case(bus(order, near, far, broken), Requirements(BUS, terminators=asked), JobNames("helm", "mast"))


def after(moves: str, near: int, far: int) -> tuple[int, int]:
    """Return the terminators there are at each end once what the words say is done."""
    there = {"helm": near, "mast": far}
    for verb, number, end in re.findall(
        rf"\b(fit|take out) (?:(the|all (?:{NUMBER})|{NUMBER})(?: of the (?:{NUMBER}))?) terminators? at the (\w+) end",
        moves,
        re.IGNORECASE,
    ):
        count = 1 if number == "the" else NUMBERS[number.split()[-1]]
        there[end] += count if verb.lower() == "fit" else -count
    return there["helm"], there["mast"]


@pytest.mark.parametrize("asked", ASKED)
@pytest.mark.parametrize(("near", "far"), COUNTS)
def test_what_is_said_of_a_sound_lead_is_true(near: int, far: int, asked: int | None) -> None:
    """Counts, ends, ohms and moves in the sentence, the advice and the notes are those of the cable."""
    case = judged(near, far, asked)
    count, right = near + far, (0, 2) if asked is None else (asked,)
    said, advice = said_of(case), what_next(case)
    assert (case.diagnosis.verdict == "pass") == (count in right)
    number = re.search(rf"\b({NUMBER}) terminator", said, re.IGNORECASE)
    assert number
    assert NUMBERS[number[1].lower()] == count
    for found in re.finditer(rf"({NUMBER}) at the helm end, ({NUMBER}) at the mast end", said):
        assert (NUMBERS[found[1]], NUMBERS[found[2]]) == (near, far)
    for found in re.finditer(rf"({NUMBER}) (?:is|are) (missing|too many) at the (\w+) end", said):
        there = {"helm": near, "mast": far}
        there[found[3]] += NUMBERS[found[1]] * (1 if found[2] == "missing" else -1)
        assert sum(there.values()) in right
        assert asked != 2 or there == {"helm": 1, "mast": 1}
    if count:
        ohms = re.search(r"(\d+) ohm at the helm end, (\d+) ohm at the mast end", said)
        assert ohms
        assert all(abs(int(ohm) - 120 / count) <= 3 for ohm in ohms.groups())
    ends_up = after(advice, near, far)
    if ends_up != (near, far):
        assert sum(ends_up) in {0: (0,), 1: (1,), 2: (2,), None: (2,)}[asked]
        assert sum(ends_up) != 2 or ends_up == (1, 1)
        assert advice.startswith("Power off. ")
    elif count not in right:
        assert re.search(r"Fit (?:one|two|three) where the job wants|take out (?:one|two)\b", advice), advice


@pytest.mark.parametrize("asked", ASKED)
@pytest.mark.parametrize(("near", "far"), COUNTS)
def test_the_notes_of_the_wire_map_are_true(near: int, far: int, asked: int | None) -> None:
    """A line of the wire map names the wrong terminators and where, never the bare word."""
    case = judged(near, far, asked)
    notes = {row.near: row.notes for row in wire_rows(case) if row.notes}
    if case.diagnosis.verdict == "pass":
        assert not notes
        return
    assert set(notes) == {"4", "5"}
    for note in (text for texts in notes.values() for text in texts):
        assert len(note) <= 41
        for part in note.split(", "):
            if found := re.fullmatch(rf"(helm|mast): ({NUMBER})(?: terminators?)?", part):
                assert NUMBERS[found[2]] == {"helm": near, "mast": far}[found[1]]
                assert NUMBERS[found[2]] != 1 or asked in (0, 1)
        if bare := re.fullmatch(rf"({NUMBER}) terminators?, not (\d)", note):
            assert (NUMBERS[bare[1]], int(bare[2])) == (near + far, asked)


@pytest.mark.parametrize(("order", "broken"), list(product(ORDERS, (None, 2, 4, 5))))
def test_breaks_and_exchanges_beside_terminators(order: tuple[int, ...], broken: int | None) -> None:
    """Whatever else is wrong, an end that is named holds what is said of it, and moves end with one at each end."""
    for (near, far), asked in product(COUNTS, (None, 1, 2)):
        case = judged(near, far, asked, order, broken)
        wrong = [finding for finding in case.diagnosis.findings if finding.fault == "terminators"]
        assert [finding.value for finding in wrong] == (
            [] if near + far in ((0, 2) if asked is None else (asked,)) else [near + far]
        )
        rows = [note for row in wire_rows(case) for text in row.notes for note in text.split(", ")]
        for note in rows:
            if found := re.fullmatch(rf"(helm|mast): ({NUMBER})(?: terminators?)?", note):
                assert NUMBERS[found[2]] == {"helm": near, "mast": far}[found[1]], (order, broken, near, far)


def test_both_at_one_end_are_moved() -> None:
    """Two terminators at one end pass by their number, and the page says where one belongs."""
    case = judged(2, 0)
    assert case.diagnosis.verdict == "pass"
    assert "two at the helm end, none at the mast end" in said_of(case)
    assert after(what_next(case), 2, 0) == (1, 1)
    assert "move" not in said_of(judged(1, 1))
    assert what_next(judged(1, 1)) == "Label it and use it."


def test_seen_from_one_end_no_end_is_named() -> None:
    """With the far plug in nothing, what is said names no end to fit or take out at."""
    for near, far in COUNTS:
        case = judge_case(bus(SOUND, near, far, where="open"), Requirements(BUS, terminators=2))
        assert not re.search(r"(?:missing|many|out|fit).* at the (?:near|far) end", said_of(case) + what_next(case))


def test_a_number_of_terminators_belongs_to_a_bus() -> None:
    """Terminators of what is no bus, and a number that no bus has, are refused."""
    with pytest.raises(UsageError, match="straight has none"):
        requirements("straight", terminators=2)
    with pytest.raises(UsageError, match="9 terminators"):
        requirements("m12a-5pole", terminators=9)


def test_the_page_of_a_missing_terminator_fits() -> None:
    """The ohms and the end stand on the page, 80 by 24 and 40 by 16, as whole words."""
    for terminal in (Terminal(80, 24), Terminal(40, 16)):
        text = page(judged(1, 0), terminal)
        flat = " ".join(text.split())
        assert "one is missing at the mast end" in flat
        assert "120 ohm at the helm end" in flat
        assert ("mast: no" if terminal.width == 40 else "mast: no terminator") in flat
        lines = text.splitlines()
        assert len(lines) < (terminal.height or 0)
        assert all(len(line) <= terminal.width for line in lines)
