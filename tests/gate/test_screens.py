"""Hostile texts on what is drawn while somebody works: pages of lots, watches, repairs, and what phones show."""

from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.bench.lots import STRAIGHT
from tests.bench.world import Cable
from tests.gate.texts import HOSTILE, check_html, check_text
from tests.phone.hands import Hands
from wiremap.bench.handset import Handset, KeptShot, Shot
from wiremap.bench.handset_loop import HandsetView
from wiremap.bench.mend.mend_page import mend_page, work_page
from wiremap.bench.mend.shown import Choice, MendStep, WorkLine
from wiremap.bench.sweep import Phase, Sweep
from wiremap.bench.sweep_events import Labels, Last, Outcome, Plan
from wiremap.bench.sweep_page import Standing, sweep_page
from wiremap.bench.watch import Log, Wanted, heard, with_end
from wiremap.bench.watch_page import watch_page
from wiremap.cable.colours import colour_set
from wiremap.cli.output import for_terminal
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import spelled_out
from wiremap.judge.case import Case, JobNames, judge_case
from wiremap.phone.fragment import fragment
from wiremap.phone.lot.desk import LotView
from wiremap.phone.lot.fragment import lot_fragment
from wiremap.phone.mend_fragment import mend_section
from wiremap.ranges import LONGEST_TEXT
from wiremap.records.lots.ledger_entry import FORMAT, Entry
from wiremap.records.lots.so_far import LotSoFar
from wiremap.report.terminal.display import OWN_STYLE, Terminal
from wiremap.report.words.faults import Ends
from wiremap.tester.answers import LatchedEvent

TERMINALS = (Terminal(80, 24), Terminal(40, 16), Terminal(80, 24, 256, True))
NAMES = tuple(HOSTILE)
PHASES: tuple[Phase, ...] = ("waiting", "shown", "seating", "label", "known-label", "reference", "lost", "full", "done")


def case_of(text: str) -> Case:
    """Return a cable with a fault, called so at both ends and itself."""
    return judge_case(Cable(1, "exchanged").reading(0), STRAIGHT, JobNames(text, text, text))


def on_terminals(draw: Callable[[Terminal], str]) -> None:
    """Fail where a page, as a terminal gets it, has what that would obey, or more rows or columns than it has."""
    for where in TERMINALS:
        page = for_terminal(draw(where), where)
        check_text(page, styled=where.colours > 0)
        assert page.count("\n") < (where.height or 24), page
        too_wide = [line for line in OWN_STYLE.sub("", page).split("\n") if len(line) > where.width]
        assert not too_wide, too_wide


def lots(text: str) -> list[tuple[Sweep, Standing]]:
    """Return a lot in several phases with this text for all that is somebody's."""
    entry = Entry(FORMAT, "test", 1, "2026-03-01T08:00:00Z", text, verdict="fail")
    standing = Standing(text, LotSoFar().counts([entry]), case_of(text), text, text)
    sweep = Sweep(Plan(Labels(text), 4, (), None), {text: 1}, 2, last=Last(1, text, "fail"), label=text)
    sweep = replace(sweep, outcome=Outcome("fail", frozenset()))
    return [(replace(sweep, phase=phase), standing) for phase in PHASES]


@pytest.mark.parametrize("name", NAMES)
def test_a_lot_on_a_terminal_and_on_a_phone(name: str) -> None:
    """Labels, the lot's name, what was found and what went wrong, in every phase."""
    for sweep, standing in lots(HOSTILE[name]):
        on_terminals(partial(sweep_page, sweep, standing))
        check_html(lot_fragment(LotView(1, sweep, standing)))


@pytest.mark.parametrize("name", NAMES)
def test_a_test_in_the_hand_and_one_that_is_kept(name: str) -> None:
    """Label, ends, trouble, notes, work, photos and the capture's file, before, after and while it is kept."""
    text = HOSTILE[name]
    case = case_of(text)
    now = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
    shot = Shot(
        1, now, text, case.reading, photos=((text, text),), re_terminated="far", note=text, work=((text, True),)
    )
    for kept in (None, KeptShot(text, text, 0, 1)):
        handset = Handset(text, "shown", 1, (replace(shot, kept=kept),), trouble=text)
        for view in (
            HandsetView(1, handset, case),
            HandsetView(1, handset, case, True, unfinished="2026-03-01T09:30:00Z"),
        ):
            check_html(fragment(view))


def steps(folder: Path) -> list[MendStep]:
    """Return the steps of a repair: what is asked, the card, the move."""
    hands = Hands(folder)
    hands.plug("exchanged")
    hands.wish("mend")
    found = []
    for _ in range(12):
        step = hands.view().step
        if step is None:
            break
        found.append(step)
        if step.kind == "ask":
            hands.wish("answer", ["unread"] if not step.choices else [step.choices[0].word])
        else:
            hands.wish("did")
            hands.turns()
    assert {"ask", "card"} <= {step.kind for step in found}
    return found


@pytest.mark.parametrize("name", NAMES)
def test_a_repair_on_a_terminal_and_on_a_phone(name: str, tmp_path: Path) -> None:
    """Every sentence of it may have the name of an end in it; what colours and work are called is read as one line."""
    text = HOSTILE[name]
    called = spelled_out(text, lines=False)[:LONGEST_TEXT]
    for plain in steps(tmp_path):
        step = replace(
            plain,
            dangers=(text,),
            wrong=(text, text),
            now=text,
            choices=tuple(Choice(choice.word, called) for choice in plain.choices),
            work=(WorkLine(called, called, True),),
            cautions=(text,),
        )
        on_terminals(partial(mend_page, step, title=text, trouble=text))
        on_terminals(partial(work_page, step.work))
        check_html(mend_section(step, colour_set("tia")))


@pytest.mark.parametrize("name", NAMES)
def test_a_watch(name: str) -> None:
    """The names of the ends stand on its page."""
    text = HOSTILE[name]
    near, far = near_contact("1"), far_contact("1")
    log, _ = heard(Log(), [LatchedEvent(1, 0, 9, "OPEN", 100, 2000)], {0: near, 9: far})
    log = with_end(log, (near, far), "near")
    for looking in (None, (near, far)):
        on_terminals(partial(_watched, log, Ends(text, text), looking))


def _watched(log: Log, ends: Ends, looking: tuple[Contact, Contact] | None, where: Terminal) -> str:
    return watch_page(log, 9.0, Wanted(60.0, 3), ends, where, looking)
