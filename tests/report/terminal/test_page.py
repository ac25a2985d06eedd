"""The page of one cable: whole on 80 x 24, clear without colour, one line a conductor."""

import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.strategies import cable, joined, plugs, random_nets, reading_of, spoiled_nets
from wiremap.cable.patterns import ScreenRule, pattern, pattern_names
from wiremap.cable.terminations import termination
from wiremap.judge.case import Case, JobNames, Requirements, judge_case
from wiremap.judge.findings import NotChecked
from wiremap.report.terminal.big_letters import big
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import MARKED, NEXT_IS_CUT, line, page
from wiremap.report.wire_rows import row_words, wire_rows
from wiremap.report.words.faults import VERDICT_WORDS

PLAIN = Terminal(80, 24)
BLOCKS = Terminal(80, 24, 0, True)
COLOURED = Terminal(80, 24, 256, True)
SMALL, SMALL_COLOURED = Terminal(40, 16), Terminal(40, 16, 256, True)  # a telephone's, keyboard up
BOAT = JobNames("helm", "mast", "mast camera")
SGR = re.compile(r"\x1b\[[0-9;]*m")


def judged_cable(name: str, seed: int, shorts: int, screen: ScreenRule | None = None, told: bool = True) -> Case:
    """Build a random cable for a pattern's plugs and judge it; told: whether the pattern is asked for."""
    expect = pattern(name)
    choose = random.Random(seed)
    if expect.far_connector is None or choose.random() < 0.5:
        nets = random_nets(choose, *plugs(expect), shorts)
    else:
        nets = spoiled_nets(choose, expect)
    return judge_case(reading_of(nets, plugs(expect)), Requirements(expect if told else None, screen), BOAT)


def straight(*groups: str, arrives: dict[int, int] | None = None, screen: bool = True, told: bool = True) -> Case:
    """Judge a cable against straight: near contact -> far contact, further contacts joined ("near 1, near 2")."""
    expect = pattern("straight")
    nets = joined(cable(expect, arrives or {n: n for n in range(1, 9)}, screen), *groups)
    return judge_case(reading_of(nets, plugs(expect)), Requirements(expect if told else None), BOAT)


def body(text: str) -> list[str]:
    """Return the lines of the wire map, its heading left out."""
    lines = text.splitlines()
    start = next(i for i, one in enumerate(lines) if re.match("  .*colour[, ]", one)) + 1
    return lines[start : next((i for i, one in enumerate(lines[start:], start) if not one.strip()), len(lines))]


@given(
    st.sampled_from(pattern_names()),
    st.integers(0, 2**32),
    st.integers(0, 6),
    st.sampled_from([None, "any", "both", "near", "far", "none"]),
    st.booleans(),
)
@settings(deadline=None, derandomize=True, database=None, max_examples=60)
def test_any_page_fits_its_terminal(name: str, seed: int, shorts: int, screen: ScreenRule | None, told: bool) -> None:
    """Whatever is wrong, a page is no wider than its terminal and leaves a line of it for the prompt."""
    case = judged_cable(name, seed, shorts, screen, told)
    for terminal in (PLAIN, BLOCKS, COLOURED, SMALL, SMALL_COLOURED):
        lines = SGR.sub("", page(case, terminal, ("Kept: mast-camera-20260301T083000Z.json",))).splitlines()
        assert max(map(len, lines)) <= terminal.width
        assert terminal.height
        assert len(lines) < terminal.height
        assert any("Next: " in one for one in lines)


@given(st.sampled_from(pattern_names()), st.integers(0, 2**32), st.integers(0, 6))
@settings(deadline=None, derandomize=True, database=None, max_examples=60)
def test_what_a_page_has_no_room_for_is_not_left_out_without_a_word(name: str, seed: int, shorts: int) -> None:
    """What stands on an endless page stands on one of the terminal's height, or that says so, unless it is full."""
    case = judged_cable(name, seed, shorts)
    for terminal in (PLAIN, SMALL):
        assert says_what_is_left_out(case, terminal)


def says_what_is_left_out(case: Case, terminal: Terminal) -> bool:
    """Whether a page has all that an endless one has, or says that it has not, or has no line left to say it."""
    lines = page(case, terminal).splitlines()
    shown = " ".join(" ".join(lines).split())
    whole = page(case, replace(terminal, height=None)).split("\n\n")
    is_whole = all(" ".join(part.split()) in shown for part in whole)
    is_full = len(lines) + 1 == terminal.height
    return is_whole or is_full or re.search(r"taller window shows|marked ! below", shown, re.IGNORECASE) is not None


def test_a_page_of_any_height_says_what_it_left_out() -> None:
    """A crossover cable where straight is wanted, and a good one, from eight lines to forty."""
    turned = {n: n for n in range(1, 9)} | {1: 3, 2: 6, 3: 1, 6: 2}
    for case in (straight(arrives=turned), straight()):
        for height in range(8, 41):
            for width in (40, 80):
                assert says_what_is_left_out(case, Terminal(width, height)), page(case, Terminal(width, height))


def test_a_set_up_that_takes_many_words_leaves_the_verdict_on_a_small_page() -> None:
    """A bus without its adapters named: what to do next is longer than 40 x 16, and gives way before the verdict."""
    bus = straight(
        *("near 4, near 5, far 4, far 5", "near 2, far 2", "near 3, far 3"), arrives={2: 2, 3: 3, 4: 4, 5: 5}
    )
    long = " ".join(["Is it a bus with plugs of another kind in adapters? Say so and test again."] * 9)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("wiremap.report.terminal.page.what_next", lambda _: long)
        lines = page(bus, SMALL).splitlines()
    assert lines[0].startswith("FAIL")
    assert len(lines) == 15
    assert lines[-1] == NEXT_IS_CUT


def test_a_small_page_calls_no_contact_ok_that_was_not_asked_for() -> None:
    """Eight conductors arrive and nothing was asked of the screen, which is open: eight are ok, not nine."""
    small = Terminal(40, 12)
    text = " ".join(page(straight(screen=False), small).split())
    assert "All 8 contacts are ok. Screen: not asked for." in text
    one = {n: n for n in range(1, 8)}  # 8 is open
    text = " ".join(page(straight(arrives=one, screen=False), small).split())
    assert "The other 7 are ok. Screen: not asked for." in text
    assert "All 9 contacts are ok." in " ".join(page(straight(), Terminal(40, 9)).split())


def test_a_small_page_says_of_one_contact_that_it_is_ok() -> None:
    """Three of five conductors are exchanged, the screen was not asked for: one is ok, in words for one."""
    case = judged_cable("m12a-5pole", 0, 0)
    texts = [" ".join(page(case, Terminal(80, height)).split()) for height in range(8, 17)]
    assert any("The other one is ok. Screen: not asked for." in text for text in texts)
    assert not any("other 1 " in text for text in texts)


def test_narrow_wire_map_cuts_no_colour_and_no_word() -> None:
    """In 40 columns every colour is told from every other, and what is wrong with a contact is cut between words."""
    for case in (straight(), straight(arrives={n: n for n in range(1, 8)}), straight("near 4, near 5")):
        rows = [row for row in wire_rows(case) if row.near is not None]
        lines = body(SGR.sub("", page(case, Terminal(40, 40, 256, True))))[: len(rows)]
        for row, shown in zip(rows, lines, strict=True):
            assert shown[1:].split()[:2] == [row.near, row.said.replace("white-", "w-")]
            note = row_words(row, case)[3]
            start = next(length for length in range(len(note), 0, -1) if shown.endswith(f" {note[:length]}"))
            assert not note[start : start + 1].isalnum(), shown


@given(st.sampled_from(pattern_names()), st.integers(0, 2**32), st.integers(0, 6))
@settings(deadline=None, derandomize=True, database=None, max_examples=60)
def test_every_contact_that_is_wrong_is_marked(name: str, seed: int, shorts: int) -> None:
    """Every near contact of a finding has a marked line, and every far one stands in a marked line."""
    case = judged_cable(name, seed, shorts)
    rows = wire_rows(case)
    marked_near = {row.near for row in rows if row.notes}
    marked_far = {far for row in rows if row.notes for far in row.far}
    unmarked = {row.near for row in rows if not row.notes}
    assert not marked_near & unmarked
    for finding in case.diagnosis.findings:
        assert set(finding.near) <= marked_near
        if finding.fault != "open":
            assert set(finding.far) <= marked_far
    assert len([row for row in rows if row.near]) == len({row.near for row in rows if row.near})


@given(st.integers(0, 2**32), st.integers(0, 4))
@settings(deadline=None, derandomize=True, database=None, max_examples=40)
def test_lines_say_what_was_measured(seed: int, shorts: int) -> None:
    """Each line has the far contacts that its near contact is joined with in the cable itself, and no others."""
    expect = pattern("straight")
    nets = random_nets(random.Random(seed), *plugs(expect), shorts)
    case = judge_case(reading_of(nets, plugs(expect)), Requirements(expect), BOAT)
    joined_far = {
        near: {far for end, far in net if end == "far"} for net in nets for end_near, near in net if end_near == "near"
    }
    for row in wire_rows(case):
        if row.near is not None:
            assert set(row.far) == joined_far[row.near]
    shown = {far for row in wire_rows(case) for far in row.far}
    lonely = {far for net in nets if all(end == "far" for end, _ in net) for _, far in net}
    unsaid = set(expect.far_contacts) - shown - {"S"}  # nothing is asked of the screen
    assert unsaid <= lonely
    for row in wire_rows(case):  # a far contact may go unsaid only beside the open near contact it belongs to
        if row.near in unsaid:
            unsaid.discard(row.near)
            assert row.far == ()
    assert not unsaid


@given(st.sampled_from(pattern_names()), st.integers(0, 2**32), st.integers(0, 4))
@settings(deadline=None, derandomize=True, database=None, max_examples=40)
def test_colour_adds_nothing_but_colour(name: str, seed: int, shorts: int) -> None:
    """Without its colours and swatches the coloured page is the page of a terminal that has none."""
    case = judged_cable(name, seed, shorts)
    plain = page(case, BLOCKS)
    assert "\x1b" not in plain
    stripped = SGR.sub("", page(case, COLOURED).replace("    \x1b[0m", "\x1b[0m"))
    assert stripped.split() == plain.split()


@pytest.mark.parametrize("word", VERDICT_WORDS.values())
def test_verdicts_have_large_letters(word: str) -> None:
    """Every verdict can be written in letters three lines high, all lines of one length."""
    assert len({len(row) for row in big(word)}) == 1
    assert all(row.strip() for row in big(word))


def test_the_verdict_comes_first() -> None:
    """The first line is the verdict with what was not checked; the next lines are what is wrong and what to do."""
    case = straight(arrives={1: 1, 2: 2, 3: 6, 4: 4, 5: 5, 6: 3, 7: 7, 8: 8})
    lines = page(case, PLAIN).splitlines()
    assert lines[0].startswith("FAIL   mast camera, straight   not checked: ")
    assert "split pairs, length" in " ".join(lines[:2])
    said = " ".join(lines[:6])
    assert said.index("Pair 3-6 is reversed.") < said.index("Next: It can be either end")


def test_large_letters_stand_on_the_first_lines() -> None:
    """Where the terminal shows blocks the verdict is three lines high, with what was not checked beside it."""
    lines = page(straight(), BLOCKS).splitlines()
    assert all(line.startswith(f" {letters}".rstrip()) for line, letters in zip(lines, big("PASS"), strict=False))
    assert "not checked: " in " ".join(lines[:3])


def test_narrow_terminal_has_a_small_verdict() -> None:
    """On 40 columns the verdict is a word, and no line is wider than the terminal."""
    lines = page(straight(), Terminal(40, 24, 0, True)).splitlines()
    assert lines[0].startswith("PASS")
    assert max(map(len, lines)) <= 40


def test_wire_map_of_a_reversed_pair() -> None:
    """Each line has near contact, colour, far contact and what is wrong; wrong lines are marked without colour."""
    case = straight(arrives={1: 1, 2: 2, 3: 3, 4: 5, 5: 4, 6: 6, 7: 7, 8: 8})
    rows = [row.split() for row in body(page(case, PLAIN))]
    assert rows[0] == ["1", "white-orange", "1", "ok"]
    assert rows[3] == [MARKED, "4", "blue", "5", "belongs", "at", "4"]
    assert rows[4] == [MARKED, "5", "white-blue", "4", "belongs", "at", "5"]
    assert len(rows) == 9


def test_opens_and_lost_far_contacts() -> None:
    """A missing wire is one line; a far contact that nothing arrives at while its own goes elsewhere has its own."""
    rows = [row.split() for row in body(page(straight(arrives={1: 1, 2: 2, 3: 3, 4: 4, 5: 5, 6: 6, 7: 7}), PLAIN))]
    assert rows[7] == [MARKED, "8", "brown", "-", "open"]
    assert len(rows) == 9
    moved = [row.split() for row in body(page(straight(arrives={1: 3, 2: 6, 4: 4, 5: 5, 7: 7, 8: 8}), PLAIN))]
    assert [MARKED, "3", "white-green", "-", "open"] in moved
    assert [MARKED, "-", "1,", "2", "open"] in moved


def test_shorts_name_each_other() -> None:
    """A short is said in the line of each of its contacts; one to the screen is said so."""
    rows = [row.split() for row in body(page(straight("near 3, near 6"), PLAIN))]
    assert rows[2] == [MARKED, "3", "white-green", "3,", "6", "shorted", "to", "6"]
    assert rows[5] == [MARKED, "6", "green", "3,", "6", "shorted", "to", "3"]
    rows = [row.split() for row in body(page(straight("near 2, near S"), PLAIN))]
    assert rows[1][-3:] == ["shorted", "to", "screen"]


def test_screen_that_nobody_asked_for_is_no_fault() -> None:
    """An open screen is listed as not checked, its line not marked, unless it was asked for."""
    case = straight(screen=False)
    assert case.diagnosis.verdict == "pass"
    last = body(page(case, PLAIN))[-1].split()
    assert last == ["S", "screen", "-", "not", "asked", "for"]


def test_the_near_order_gives_the_colours() -> None:
    """Colours follow the order told for the near plug, and the heading says whether they were told."""
    case = straight()
    assert "colour, if T568B" in page(case, PLAIN)
    expect = pattern("straight")
    reading = reading_of(cable(expect, {n: n for n in range(1, 9)}), plugs(expect))
    told = judge_case(reading, Requirements(expect, near_order=termination("T568A")), BOAT)
    text = page(told, PLAIN)
    assert "colour (T568A)" in text
    assert body(text)[0].split() == ["1", "white-green", "1", "ok"]


def test_loopback_joins_stand_in_the_far_column() -> None:
    """A plug that joins its own contacts shows the near contact each is joined with."""
    expect = pattern("loopback-100")
    nets = joined([frozenset([("near", str(n))]) for n in range(1, 9)], "near 1, near 3", "near 2, near 6")
    contacts = (tuple("12345678"), tuple("12345678"))
    nets += [frozenset([("far", str(n))]) for n in range(1, 9)]
    rows = [
        row.split() for row in body(page(judge_case(reading_of(nets, contacts), Requirements(expect), BOAT), PLAIN))
    ]
    assert rows[0] == ["1", "white-orange", "helm", "3", "ok"]
    assert rows[3] == ["6", "green", "helm", "2", "ok"]
    assert len(rows) == 4


def test_reasons_go_before_a_line_does() -> None:
    """On a low terminal the reasons for what was not checked give way; verdict, next step and map stay."""
    case = straight(arrives={n: 9 - n for n in range(1, 9)})
    lines = page(case, Terminal(80, 15)).splitlines()
    assert len(lines) < 15
    assert lines[0].startswith("FAIL")
    assert "not in this reading" not in " ".join(lines)
    assert len([row for row in lines if row.startswith(MARKED)]) == 8


def test_one_line_for_a_list() -> None:
    """In a list of many a cable is one line: verdict, source, what is wrong, how much more."""
    assert line(straight(), "a.json") == "PASS       a.json  Every conductor arrives where straight wants it."
    bad = straight("near 1, near 2", arrives={n: n for n in range(1, 8)})
    assert line(bad, "b.json") == "FAIL       b.json  Contacts 1 and 2 are shorted together. And 1 more."


def test_a_page_never_claims_more_than_was_checked() -> None:
    """What was not checked stands on the page of a cable that passes, too."""
    case = straight()
    more = replace(case.diagnosis, not_checked=(NotChecked("length", "too-short"),))
    text = page(replace(case, diagnosis=more), PLAIN)
    assert "not checked: length" in text.splitlines()[0]
    assert "Not checked: length (the cable is too short for it)." in text
