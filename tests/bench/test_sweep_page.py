import re
from typing import cast, get_args

import pytest
from msgspec.structs import replace

from tests.bench.lots import STRAIGHT
from tests.bench.world import Cable
from wiremap.bench.sweep import Phase, Sweep
from wiremap.bench.sweep_events import Labels, Last, Plan
from wiremap.bench.sweep_page import (
    COUNTED_AGAIN,
    MAIN_MEANS,
    MORE_KEYS,
    PROMPTS,
    Standing,
    progress,
    prompt,
    sweep_page,
)
from wiremap.judge.case import Case, JobNames, judge_case
from wiremap.records.lots.ledger import LeftBehind
from wiremap.records.lots.ledger_entry import FORMAT, Entry
from wiremap.records.lots.so_far import LotSoFar
from wiremap.report.terminal.display import Terminal
from wiremap.report.words.lots import found_said

ENTRIES = [
    Entry(FORMAT, "test", 1, "2026-03-01T08:00:00Z", "RACK-001", verdict="pass"),
    Entry(FORMAT, "test", 2, "2026-03-01T08:01:00Z", "RACK-002", verdict="fail"),
]
TERMINALS = [
    Terminal(80, 24),
    Terminal(80, 24, 256, True),
    Terminal(40, 16),
    Terminal(40, 16, 8, True),
]


def cable(fault: str) -> Case:
    """Return a cable of the rack, judged."""
    return judge_case(Cable(1, fault).reading(0), STRAIGHT, JobNames(cable="RACK-002"))


def standing(fault: str | None = "exchanged") -> Standing:
    """Return a lot of two cables, the second of which has a fault."""
    return Standing("rack", LotSoFar().counts(ENTRIES), cable(fault) if fault else None)


def sweep(phase: Phase, said: str = "") -> Sweep:
    """Return a sweep in a phase."""
    plan = Plan(Labels("RACK-"), 48, (), None)
    return Sweep(plan, {"RACK-001": 1, "RACK-002": 2}, 3, phase=phase, said=said, last=Last(2, "RACK-002", "fail"))


def plain(text: str) -> list[str]:
    """Return a page's lines without colours."""
    return re.sub(r"\x1b\[[0-9;]*m", "", text).splitlines()


@pytest.mark.parametrize("terminal", TERMINALS, ids=lambda t: f"{t.width}x{t.height}-{t.colours}")
def test_every_page_fits(terminal: Terminal) -> None:
    """Whatever the phase and the fault, the page is no wider and no higher than the terminal."""
    for phase in get_args(Phase):
        for fault in (None, "none", "exchanged", "short", "open-edge"):
            lines = plain(sweep_page(sweep(phase), standing(fault), terminal))
            assert len(lines) < (terminal.height or 0), (phase, fault)
            assert max(map(len, lines)) <= terminal.width, (phase, fault)


@pytest.mark.parametrize("terminal", TERMINALS, ids=lambda t: f"{t.width}x{t.height}-{t.colours}")
def test_progress_verdict_and_prompt_are_in_view(terminal: Terminal) -> None:
    """While a cable with a verdict is in: progress first, then the verdict, what to do and the keys last."""
    lines = plain(sweep_page(sweep("shown"), standing(), terminal))
    assert lines[0].startswith("rack   2 of 48 tested")
    if not terminal.blocks:
        assert lines[1].startswith("FAIL")
    assert any("Pair 3-6 is reversed" in line for line in lines)
    assert lines[-2].startswith("Take it out.")
    assert lines[-1].startswith("space")


def test_no_verdict_stands_while_another_cable_is_in() -> None:
    """From the moment another cable is seen until it has its own verdict, no verdict is on the page."""
    phases: tuple[Phase, ...] = ("seating", "not-seated", "measuring", "checking", "recording", "label")
    for phase in phases:
        lines = plain(sweep_page(sweep(phase), standing(), Terminal(80, 24)))
        assert not any("FAIL" in line or "RACK-002" in line for line in lines[1:]), phase


def test_the_last_verdict_stays_small_when_the_cable_is_out() -> None:
    """With empty sockets the last cable's verdict stays in one line, and the next label is named."""
    lines = plain(sweep_page(sweep("waiting"), standing(), Terminal(80, 24)))
    assert "Last: RACK-002  FAIL" in lines
    assert "Put the next cable in both sockets. Next: RACK-003." in lines


def test_yield_and_tally_are_in_the_first_line() -> None:
    """The first line says how far the lot is, its first-pass yield and the tally."""
    assert progress(sweep("waiting"), standing()) == ("rack   2 of 48 tested   first-pass yield 50 %   1 pass, 1 fail")


def test_a_yield_after_repair_stands_apart() -> None:
    """When a cable passed after repair, the first line has both yields; what still fails is named where hands wait."""
    mended = Entry(FORMAT, "test", 3, "2026-03-01T08:02:00Z", "RACK-002", verdict="pass", of=2)
    after = Standing("rack", LotSoFar().counts([*ENTRIES, mended]))
    assert "first-pass yield 50 %, after repair 100 %" in progress(sweep("waiting"), after)
    assert not any("Not passed" in line for line in plain(sweep_page(sweep("waiting"), after, Terminal(80, 24))))
    for phase in ("waiting", "done"):
        lines = plain(sweep_page(sweep(phase), standing(None), Terminal(80, 24)))
        assert "Not passed: RACK-002." in lines
        assert "When one is mended: press l, give its label, put it in." in lines


def test_a_retest_says_that_it_counts() -> None:
    """The verdict of a retest says that it counts and the one before stays; the first verdict of a label does not."""
    again = replace(sweep("shown"), last=Last(3, "RACK-002", "pass", 2))
    assert COUNTED_AGAIN in " ".join(plain(sweep_page(again, standing("none"), Terminal(80, 24))))
    assert COUNTED_AGAIN not in " ".join(plain(sweep_page(sweep("shown"), standing(), Terminal(80, 24))))


def test_every_phase_has_its_words() -> None:
    """Every phase says what to do, and a word it knows changes what it says."""
    for phase in get_args(Phase):
        assert prompt(sweep(phase))
        assert prompt(sweep(phase, "retest"))
    assert all(prompt(sweep(phase, said)).startswith(text) for (phase, said), text in PROMPTS.items())


def test_where_the_page_asks_for_a_key_it_names_it() -> None:
    """What the main key does is said where the page waits for it, in a place that has words, and only there."""
    for (phase, said), means in MAIN_MEANS.items():
        assert (phase, said) in PROMPTS
        assert f"Space: {means}." in prompt(sweep(phase, said))
    assert "Space" not in prompt(sweep("shown"))
    assert set(MORE_KEYS) <= set(PROMPTS)


def test_a_lost_tester_and_a_full_disk_say_why() -> None:
    """When the tester is gone or the disk full, the page says what happened, too."""
    lost = replace(standing(), trouble="/dev/ttyACM0: the line to the tester broke.")
    assert "/dev/ttyACM0: the line to the tester broke." in plain(sweep_page(sweep("lost"), lost, Terminal(80, 24)))


@pytest.mark.parametrize("terminal", TERMINALS, ids=lambda t: f"{t.width}x{t.height}-{t.colours}")
def test_what_was_found_of_a_lot_stands_until_its_first_verdict(terminal: Terminal) -> None:
    """A lot that was stopped in the middle says what was found, on every page until a verdict stands there."""
    found = found_said(LeftBehind(parts=2, cut_bytes=40, unshown=("RACK-003",)))
    for phase, fault, stands in (("clear", None, True), ("waiting", None, True), ("shown", "exchanged", False)):
        lines = plain(sweep_page(sweep(cast(Phase, phase)), replace(standing(fault), found=found), terminal))
        assert len(lines) < (terminal.height or 0)
        assert ("whose verdict nobody saw" in " ".join(" ".join(lines).split())) == stands
