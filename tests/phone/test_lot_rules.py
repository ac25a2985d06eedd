"""What phones may send of a lot, and what of it they are shown: strictly read, and never as HTML."""

import html
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.bench.lots import STRAIGHT
from tests.bench.world import Cable
from tests.phone.asking import Boat
from tests.phone.rules import jpeg
from wiremap.bench.sweep import Phase, Sweep
from wiremap.bench.sweep_events import Labels, Last, Outcome, Plan
from wiremap.bench.sweep_page import Standing
from wiremap.judge.case import JobNames, judge_case
from wiremap.phone.app import app_of
from wiremap.phone.guard import Here
from wiremap.phone.lot.desk import LotView
from wiremap.phone.lot.fragment import lot_event, lot_fragment
from wiremap.phone.lot.keys import LotWish
from wiremap.phone.wishes import lot_wish_sent
from wiremap.records.lots.ledger_entry import FORMAT, Entry
from wiremap.records.lots.so_far import LotSoFar

WISH = {"id": "abcdefgh", "what": "skip", "test": 0, "words": ["next  R-001", ""], "age": 0.5}
EVIL = "<img src=x onerror=alert(1)>'\""


@pytest.fixture
def boat(tmp_path: Path) -> Boat:
    """Return a lot that is served, with a phone at the door."""
    found = Boat(tmp_path)
    found.served.page, found.served.wish, found.served.takes_photos = lot_event, lot_wish_sent, False
    found.app = app_of(found.served, Here(("boat.test:8712",)))
    return found


def test_a_wish_of_a_lot_is_read_as_it_was_sent(boat: Boat) -> None:
    """What was pressed, what the button was meant for, what was typed, how old it is."""
    cookie = boat.enter()
    assert boat.post("/do", WISH, cookie).status == 200
    assert boat.post("/do", WISH | {"what": "note", "words": ["7", "kinked"]}, cookie).status == 200
    asked: list[object] = [wish for wish, _ in boat.loop.asked]
    assert asked == [
        LotWish("abcdefgh", "skip", "next  R-001", "", 0.5),
        LotWish("abcdefgh", "note", "7", "kinked", 0.5),
    ]


@pytest.mark.parametrize(
    "change",
    [
        {"what": "again"},
        {"what": "keep"},
        {"what": "q"},
        {"what": ""},
        {"test": 1},
        {"words": ["a", "b", "c"]},
        {"words": ["a", "x" * 501]},
        {"words": ["a", "two\nlines"]},
        {"words": ["a", "\u001b[2J"]},
        {"words": "next"},
        {"age": -0.1},
        {"age": 1e999},
        {"id": "short"},
        {"more": 1},
    ],
)
def test_nonsense_is_refused(boat: Boat, change: dict[str, object]) -> None:
    """What is not exactly a wish of a lot is none: other keys, other words, letters that a terminal would obey."""
    cookie = boat.enter()
    assert boat.post("/do", WISH | change, cookie).status == 400
    assert boat.loop.asked == []


def test_a_lot_takes_no_photos(boat: Boat) -> None:
    """There is no such route, and nobody but a phone that is in may press."""
    cookie = boat.enter()
    photo = [*cookie, ("content-type", "image/jpeg")]
    assert boat.ask("POST", "/photo?test=0&id=abcdefgh", photo, jpeg()).status == 404
    assert boat.post("/do", WISH).status == 401
    assert boat.loop.asked == []


@pytest.mark.parametrize(
    ("phase", "scanned", "large"),
    [
        ("waiting", False, "R-003"),
        ("measuring", False, "R-003"),
        ("waiting", True, "No label yet"),
        ("reference", False, "Reference cord"),
        ("reference", True, "Reference cord"),
        ("done", False, "Done"),
    ],
)
def test_whose_turn_it_is_stands_large(phase: Phase, scanned: bool, large: str) -> None:
    """The label that comes next, the reference cord, or that the lot is done; the last verdict only beside no cable."""
    plan = Plan(Labels("R-", scanned=scanned), 4, (), None)
    sweep = Sweep(plan, {"R-001": 1, "R-002": 2}, 3, phase=phase, last=Last(2, "R-002", "fail"))
    page = lot_fragment(LotView(1, sweep, Standing("rack", LotSoFar().counts([]))))
    assert f'<h1 class="name">{large}</h1>' in page
    assert ("Last: R-002 FAIL" in page) == (phase != "measuring")
    assert '<header class="none">' in page


def test_what_comes_from_outside_is_text_on_the_page() -> None:
    """Labels, the lot's name, trouble: whatever stands in them is shown, and is no HTML."""
    entry = Entry(FORMAT, "test", 1, "2026-03-01T08:00:00Z", EVIL, verdict="fail")
    case = judge_case(Cable(1, "exchanged").reading(0), STRAIGHT, JobNames(EVIL, EVIL, EVIL))
    standing = Standing(EVIL, LotSoFar().counts([entry]), case, EVIL)
    sweep = Sweep(Plan(Labels(EVIL), 4, (), None), {EVIL: 1}, 2, phase="shown", last=Last(1, EVIL, "fail"))
    sweep = replace(sweep, outcome=Outcome("fail", frozenset()), label=EVIL)
    for phase in ("shown", "waiting", "lost", "done", "label"):
        page = lot_fragment(LotView(1, replace(sweep, phase=phase), standing))
        assert "<img" not in page
        assert EVIL not in page
        assert html.escape(EVIL, quote=True) in page
