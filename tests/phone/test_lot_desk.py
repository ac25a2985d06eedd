"""The second desk of a lot: what becomes of each wish, what makes a new page, and that nothing is asked for in vain."""

from collections.abc import Sequence

from msgspec.structs import replace

from tests.bench.world import Cable
from wiremap.bench.handset import TOO_LATE
from wiremap.bench.sweep import Sweep, step
from wiremap.bench.sweep_events import Bell, Labelled, Labels, Last, Looked, Outcome, Plan, Pressed, Show
from wiremap.bench.sweep_page import Standing
from wiremap.errors import FileError, WiremapError
from wiremap.phone.lot.desk import LOT_STOPPED, PhoneDesk
from wiremap.phone.lot.keys import LotKey, LotWish, meant_for, of_lot
from wiremap.records.lots.ledger_entry import FORMAT, Entry
from wiremap.records.lots.so_far import LotSoFar

SWEEP = Sweep(Plan(Labels("R-"), 4, (), None), {"R-001": 1}, 2, phase="waiting", last=Last(1, "R-001", "pass"))


class Laptop:
    """The terminal's desk: notes what it is told; pressed: what its keys say next."""

    def __init__(self) -> None:
        self.told: list[str] = []
        self.pressed: list[Pressed | Labelled] = []

    def heard(self, wait_s: float) -> Sequence[Pressed | Labelled]:
        """Return what was pressed."""
        assert wait_s > 0
        found, self.pressed = self.pressed, []
        return found

    def page(self, sweep: Sweep) -> None:
        """Show a page."""
        self.told.append(f"page {sweep.phase}")

    def verdict(self, shown: Show, _: Sweep) -> None:
        """Show a verdict."""
        self.told.append(f"verdict {shown.last.verdict}")

    def ring(self, bell: Bell) -> None:
        """Ring."""
        self.told.append(f"ring {bell}")

    def ask_note(self, last: Last) -> str:
        """Return what is typed."""
        return f"typed on {last.label}"

    def trouble(self, error: WiremapError) -> None:
        """Say what went wrong."""
        self.told.append(error.what)


class Both:
    """Both desks, with a clock that stands until it is moved."""

    def __init__(self) -> None:
        self.now = 100.0
        self.laptop = Laptop()
        self.entries = [Entry(FORMAT, "test", 1, "2026-03-01T08:00:00Z", "R-001", verdict="pass")]
        self.desk = PhoneDesk(self.laptop, "rack", self.standing, self.entries, lambda: self.now)
        self.desk.page(SWEEP)

    def standing(self) -> Standing:
        """Return what a page says beside the sweep."""
        return Standing("rack", LotSoFar().counts(self.entries))

    def wish(self, what: LotKey, mark: str = "abcdefgh", text: str = "") -> LotWish:
        """Return the wish of a button as the page has it now."""
        return LotWish(mark, what, of_lot("rack", meant_for(SWEEP, what)), text)


def test_keys_and_thumbs_are_heard_one_after_the_other() -> None:
    """What a phone asked for comes alone, and what was pressed at the laptop is not lost by it."""
    both = Both()
    both.laptop.pressed = [Pressed("note")]
    answer = both.desk.ask(both.wish("skip"))
    assert both.desk.heard(0.03) == [Pressed("skip")]
    assert not answer.done()  # it is answered when it is done
    both.desk.page(replace(SWEEP, next_number=3))
    assert answer.result(0).ok
    assert answer.result(0).text == "Put the next cable in both sockets. Next: R-003."
    assert both.desk.heard(0.03) == [Pressed("note")]
    assert both.desk.ask_note(Last(1, "R-001", "pass")) == "typed on R-001"


def test_what_could_not_be_entered_is_not_said_to_be_done() -> None:
    """The disk is full while a note is entered: the phone reads why, and asks again when there is room."""
    both = Both()
    wish = both.wish("note", text="kinked")
    answer = both.desk.ask(wish)
    assert both.desk.heard(0.03) == [Pressed("note")]
    assert both.desk.ask_note(Last(1, "R-001", "pass")) == "kinked"
    both.desk.trouble(FileError("the disk is full.", "Make room on it."))
    both.desk.page(SWEEP)
    assert (answer.result(0).ok, answer.result(0).text) == (False, "the disk is full. Make room on it.")
    again = both.desk.ask(wish)
    assert both.desk.heard(0.03) == [Pressed("note")]
    both.desk.page(SWEEP)
    assert again.result(0).text == "Noted on R-001."


def test_a_wish_that_comes_twice_is_done_once() -> None:
    """With the same id it was done; a note that stands in the ledger is not entered again, whatever its id."""
    both = Both()
    first = both.desk.ask(both.wish("skip"))
    second = both.desk.ask(both.wish("skip"))
    assert both.desk.heard(0.03) == [Pressed("skip")]
    both.desk.page(replace(SWEEP, next_number=3))
    assert both.desk.heard(0.03) == []
    assert (first.result(0).ok, second.result(0).text) == (True, "Done before.")
    both.entries.append(Entry(FORMAT, "note", 2, "2026-03-01T08:00:00Z", "R-001", of=1, text="kinked"))
    noted = both.desk.ask(both.wish("note", "another-id", "kinked"))
    assert both.desk.heard(0.03) == []
    assert noted.result(0).text == "Noted before."


def test_a_wish_that_waited_too_long_is_refused() -> None:
    """While the tester hangs nobody hears: a test asked for then is not made minutes later; a note is noted."""
    both = Both()
    late, noted = both.desk.ask(both.wish("main")), both.desk.ask(both.wish("note", "another-id", "kinked"))
    both.now += 30.0
    assert both.desk.heard(0.03) == [Pressed("note")]
    both.desk.page(SWEEP)
    assert late.result(0).text == TOO_LATE
    assert noted.result(0).ok


def test_who_types_at_the_laptop_is_no_silence() -> None:
    """The tester is not asked meanwhile, so its age does not grow; else it does, from one look to the next."""
    both = Both()
    both.now += 30.0
    assert both.desk.alive_s == 100.0
    both.desk.typing(True)
    while_typed = both.desk.view.typing
    both.now += 300.0
    assert both.desk.alive_s == both.now
    both.desk.typing(False)
    assert (while_typed, both.desk.view.typing) == (True, False)
    both.desk.heard(0.03)
    assert both.desk.alive_s == both.now


def test_a_lot_that_is_stopped_leaves_nobody_waiting() -> None:
    """Whoever asked, and whoever asks then, reads that it is stopped; the last page says so."""
    both = Both()
    stop = both.desk.ask(both.wish("stop"))
    waits = both.desk.ask(both.wish("skip", "another-id"))
    assert both.desk.heard(0.03) == [Pressed("stop")]
    assert stop.result(0).ok
    both.desk.end()
    assert both.desk.view.ended
    late = both.desk.ask(both.wish("skip", "a-third-id"))
    for answer in (waits, late):
        assert (answer.result(0).ok, answer.result(0).text) == (False, LOT_STOPPED)


def test_looks_that_change_nothing_make_no_page() -> None:
    """A thousand looks at empty sockets are one page; a bell, a verdict and a line in the ledger are one more each."""
    both = Both()
    seen = []
    both.desk.on_view = lambda: seen.append(both.desk.view.version)
    sweep = step(SWEEP, Looked(frozenset(), 0.0))[0]
    both.desk.page(sweep)
    assert len(seen) == 1  # now it can be tested as a cable that is open everywhere
    for number in range(1, 1000):
        sweep = step(sweep, Looked(frozenset(), 0.03 * number))[0]
        both.desk.page(sweep)
    assert len(seen) == 1
    both.desk.ring("fail")
    case = Outcome("pass", Cable(1, "none").joined)
    both.desk.verdict(Show(Last(1, "R-001", "pass"), case), sweep)
    both.desk.ring("pass")
    both.entries.append(Entry(FORMAT, "skip", 2, "2026-03-01T08:00:00Z", "R-002"))
    both.desk.page(sweep)
    assert len(seen) == 5
    assert both.desk.view.ring[1] == "pass"
    assert both.laptop.told[-4:] == ["ring fail", "verdict pass", "ring pass", "page waiting"]
