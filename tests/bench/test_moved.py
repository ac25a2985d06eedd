"""A cable that is tested while it is moved: by looks of a tester that cannot watch, in time that the test makes."""

from collections.abc import Callable, Sequence
from typing import Any, cast

import pytest
from msgspec.structs import replace

from tests.records.samples import reading
from wiremap.bench.moving import moved
from wiremap.bench.moving.movement import Moved, MovedSoFar, MovingStoppedError, how_moved, moved_words
from wiremap.bench.watch import Log
from wiremap.bench.watcher import Watched, WatchEnd
from wiremap.cable.patterns import Pattern
from wiremap.contact import far_contact, near_contact
from wiremap.errors import TesterError
from wiremap.reading.parts import Event, Tester
from wiremap.reading.reading import Far, Reading
from wiremap.tester.listening import Listener, UnsettledError
from wiremap.tester.measure import OpenTester, RefusedError

SOUND = frozenset((contact, contact + 8) for contact in range(8))
LOOK_S = 0.5


class Hand:
    """Who moves the cable: sees all pages, and stops after so many."""

    def __init__(self, patience: int = 1000) -> None:
        self.patience = patience
        self.pages: list[MovedSoFar] = []
        self.rung = 0

    def stops(self, wait_s: float) -> bool:
        """Stop when the patience is at its end."""
        assert wait_s >= 0
        return len(self.pages) > self.patience

    def moving(self, so_far: MovedSoFar) -> None:
        """Keep the page."""
        self.pages.append(so_far)

    def event(self) -> None:
        """Count the bell."""
        self.rung += 1


def tried(
    monkeypatch: pytest.MonkeyPatch, seen: Sequence[frozenset[tuple[int, int]]], hand: Hand, seconds: float = 4.0
) -> Moved:
    """Return what comes of looks that see this, half a second each; the last stays."""
    now_s, count = 0.0, 0

    def look(*_: Any) -> frozenset[tuple[int, int]]:
        nonlocal now_s, count
        now_s += LOOK_S
        count += 1
        return seen[min(count, len(seen)) - 1]

    monkeypatch.setattr(moved, "look", look)
    return moved.while_moved(_tester(), reading, (None, None), hand, lambda: now_s, seconds)


def _tester() -> OpenTester:
    names = tuple("12345678")
    return OpenTester(cast(Any, None), Tester("own", "looks only", "1", "1", ("RES",), 0.05), names, names)


def test_a_sound_cable_is_looked_at_for_all_the_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four seconds of looks: how many and for how long is said, first at rest; nothing came."""
    hand = Hand()
    seen = tried(monkeypatch, [SOUND], hand)
    assert (seen.how, seen.seconds, seen.looks, seen.reading.events) == ("looked", 4.0, 8, ())
    assert [page.still for page in hand.pages] == [True] + [False] * 8
    assert [page.seconds for page in hand.pages[1:]] == [LOOK_S * number for number in range(8)]
    assert hand.rung == 0
    assert moved_words(seen.how, seen.seconds, seen.looks, ()) == "Looked at 8 times in 4 s: nothing came and went."


def test_what_opens_and_joins_is_an_event_with_its_contacts_and_length(monkeypatch: pytest.MonkeyPatch) -> None:
    """Open for two looks it is one event of a second; two contacts that meet are one; what lasts has no length."""
    hand = Hand()
    opened, met = SOUND - {(2, 10)}, SOUND | {(0, 1), (0, 9), (1, 8), (8, 9)}
    seen = tried(monkeypatch, [SOUND, opened, opened, SOUND, SOUND, met], hand)
    first, *others = seen.reading.events
    assert first == Event(1, near_contact("3"), far_contact("3"), "opened", 1_000_000, 1_000_000)
    assert {event.change for event in others} == {"joined"}
    assert {event.for_us for event in others} == {None}
    assert {(event.a, event.b) for event in others} >= {(near_contact("1"), near_contact("2"))}
    assert hand.rung == 2
    assert "near 3 - far 3 came and went, once" in moved_words("looked", 4.0, 8, (first,))


def test_at_least_five_looks_are_taken_and_stopping_leaves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """However short the time, it is looked at five times; who stops it has tested nothing."""
    assert tried(monkeypatch, [SOUND], Hand(), seconds=0.1).looks == moved.LEAST_LOOKS
    with pytest.raises(MovingStoppedError):
        tried(monkeypatch, [SOUND], Hand(patience=3))


def test_a_voltage_that_comes_up_is_no_sound_cable(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tester that refuses to look ends it with what feeds the cable."""

    def refuses(*_: Any) -> frozenset[tuple[int, int]]:
        raise RefusedError(None, ())

    monkeypatch.setattr(moved, "look", refuses)
    with pytest.raises(TesterError, match="there is a voltage"):
        moved.while_moved(_tester(), reading, (None, None), Hand(), _stands(), 1.0)


def _stands() -> Callable[[], float]:
    return lambda: 0.0


def test_only_a_tester_that_says_so_watches() -> None:
    """It is known before it is moved which of the two it will be."""
    assert how_moved(Tester("own", "watches", "1", "1", ("RES", "WATCH"), 0.05)) == "watched"
    assert how_moved(_tester().tester) == "looked"
    assert how_moved(None) == "looked"


class Prints(Listener):
    """A tester that prints its own text: what each of its scans says, in order."""

    def __init__(self, scans: Sequence[Reading | UnsettledError]) -> None:
        self._scans = list(scans)

    def reading(self, far: Far, near_adapter: Pattern | None, far_adapter: Pattern | None) -> Reading:
        """Return the next scan, the last again and again."""
        assert (far, near_adapter, far_adapter) == ("tester", None, None)
        scan = self._scans.pop(0) if len(self._scans) > 1 else self._scans[0]
        if isinstance(scan, UnsettledError):
            raise scan
        return scan


def _counted(step_s: float = 0.5) -> Callable[[], float]:
    times = iter(range(10_000))
    return lambda: next(times) * step_s


def test_a_tester_that_prints_is_listened_to_and_scans_that_disagree_are_no_pass() -> None:
    """An opening in one of its scans is an event; where its scans do not agree it says so, and nothing is passed."""
    opened = reading((0, 1, None, 3, 4, 5, 6, 7))
    seen = moved.while_moved(Prints([reading(), opened, reading()]), reading, (None, None), Hand(), _counted(), 2.0)
    assert [(event.a, event.b, event.change) for event in seen.reading.events] == [
        (near_contact("3"), far_contact("3"), "opened")
    ]
    unsettled = Prints([reading(), UnsettledError("two scans of different cables", "")])
    with pytest.raises(TesterError, match="did not agree: two scans of different cables"):
        moved.while_moved(unsettled, reading, (None, None), Hand(), _counted(), 2.0)


@pytest.mark.parametrize(
    ("end", "error"), [("stopped", MovingStoppedError), ("refused", TesterError), ("lost", TesterError)]
)
def test_a_watch_that_does_not_last_is_no_test(
    monkeypatch: pytest.MonkeyPatch, end: WatchEnd, error: type[Exception]
) -> None:
    """Stopped, refused for a voltage, or without its tester: nothing is known of the cable, and nothing is reported."""
    monkeypatch.setattr(moved, "watch", lambda *_: Watched(Log(), 1_000_000, end))
    watches = replace(_tester(), tester=Tester("own", "watches", "1", "1", ("RES", "WATCH"), 0.05))
    with pytest.raises(error):
        moved.while_moved(watches, reading, (None, None), Hand(), _stands(), 1.0)


def test_time_in_which_the_tester_was_blind_does_not_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """Seventeen seconds by, two of them blind: it was watched for fifteen."""
    log = Log(blind_us=2_000_000)
    monkeypatch.setattr(moved, "watch", lambda *_: Watched(log, 17_000_000, "enough"))
    watches = replace(_tester(), tester=Tester("own", "watches", "1", "1", ("RES", "WATCH"), 0.05))
    seen = moved.while_moved(watches, reading, (None, None), Hand(), _stands())
    assert (seen.how, seen.seconds, seen.looks, seen.reading.events) == ("watched", 15.0, 0, ())
