from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from wiremap.bench.watch import Log, Wanted, begun_again, enough, heard, moved, open_now, places, with_end
from wiremap.bench.watch_page import clock, seconds, watch_page, watched_words
from wiremap.contact import far_contact, near_contact
from wiremap.reading.parts import Event
from wiremap.report.terminal.display import Terminal
from wiremap.report.words.faults import Ends
from wiremap.tester.answers import LatchedEvent

NEAR, FAR = near_contact("1"), far_contact("1")
NAMES = {0: NEAR, 1: near_contact("2"), 9: FAR, 10: far_contact("2")}
WANTED = Wanted(300.0, 3)


def opened(number: int, at_us: int, for_us: int | None, a: int = 0, b: int = 9) -> LatchedEvent:
    """Return an opening as the tester latches it."""
    return LatchedEvent(number, a, b, "OPEN", at_us, for_us)


def test_events_are_kept_under_the_cables_names() -> None:
    """An event is kept with the cable's contacts, in the order it came; one beside the cable is left out."""
    log, fresh = heard(Log(), [opened(1, 100, 2000), opened(2, 500, 10, 3, 12), opened(3, 900, None, 1, 10)], NAMES)
    assert fresh == 2
    assert log.events == (
        Event(1, NEAR, FAR, "opened", 100, 2000),
        Event(2, near_contact("2"), far_contact("2"), "opened", 900, None),
    )


def test_an_event_that_comes_again_with_its_length_is_one_event() -> None:
    """What was fetched while it lasted comes again when it is over: one event, now with its length."""
    log, _ = heard(Log(), [opened(1, 100, None)], NAMES)
    assert open_now(log) == {(NEAR, FAR)}
    log, fresh = heard(log, [opened(2, 100, 40_000)], NAMES)
    assert fresh == 0
    assert [event.for_us for event in log.events] == [40_000]
    assert open_now(log) == frozenset()


@settings(deadline=None, derandomize=True, database=None)
@given(st.lists(st.tuples(st.integers(1, 10_000), st.integers(1, 10_000)), max_size=20), st.data())
def test_events_come_out_the_same_however_they_are_fetched(spells: list[tuple[int, int]], data: st.DataObject) -> None:
    """Fetched in one go or one by one, while they last or after, the same events come out."""
    at_us, whole = 0, []
    for pause, lasts in spells:
        at_us += pause
        whole.append((at_us, lasts))
        at_us += lasts
    log, number = Log(), 0
    for at_us, lasts in whole:
        if data.draw(st.booleans()):
            number += 1
            log, _ = heard(log, [opened(number, at_us, None)], NAMES)
        number += 1
        log, _ = heard(log, [opened(number, at_us, lasts)], NAMES)
    assert [(event.at_us, event.for_us) for event in log.events] == whole
    assert [event.number for event in log.events] == list(range(1, len(whole) + 1))


def test_places_add_up() -> None:
    """By place: how often, the time in all, the longest, the last; the most frequent place first."""
    latched = [opened(1, 100, 2000), opened(2, 5000, 6000), opened(3, 9000, 50, 1, 10), opened(4, 20_000, None)]
    log, _ = heard(Log(), latched, NAMES)
    first, second = places(with_end(log, (NEAR, FAR), "far"))
    assert (first.a, first.count, first.total_us, first.longest_us, first.last_us) == (
        NEAR,
        3,
        8000,
        6000,
        20_000,
    )
    assert (first.lasting, first.end) == (True, "far")
    assert (second.a, second.count, second.lasting, second.end) == (near_contact("2"), 1, False, None)


def test_what_is_open_when_the_tester_measures_counts_on() -> None:
    """A contact that is open before and after a measurement is one opening; its joining afterwards ends it."""
    log, _ = heard(Log(), [opened(1, 1000, None)], NAMES)
    log = begun_again(log, 800_000, 4_000_000, frozenset())
    assert log.blind_us == 3_200_000
    log, fresh = heard(log, [LatchedEvent(1, 0, 9, "JOIN", 500, None)], NAMES)
    assert fresh == 0
    assert log.events == (Event(1, NEAR, FAR, "opened", 1000, 4_000_500 - 1000),)


def test_what_closed_while_the_tester_measured_ends_then() -> None:
    """A contact that closed unseen is entered as open until the watch went on, at the longest."""
    log, _ = heard(Log(), [opened(1, 1000, None)], NAMES)
    log = begun_again(log, 800_000, 4_000_000, {(NEAR, FAR)})
    assert log.events[0].for_us == 3_999_000
    log, fresh = heard(log, [opened(1, 200, 100)], NAMES)
    assert fresh == 1
    assert log.events[1].at_us == 4_000_200


def test_enough_is_time_and_movements() -> None:
    """A watch is enough after its whole time, less what the tester was blind for, and with all movements."""
    log = Log(moved_us=(1, 2, 3))
    assert enough(log, 300.0, WANTED)
    assert not enough(log, 299.0, WANTED)
    assert not enough(replace(log, blind_us=1_000_000), 300.0, WANTED)
    assert not enough(Log(moved_us=(1, 2)), 500.0, WANTED)
    assert len(moved(log, 9).moved_us) == 4


def test_times_are_said_as_people_say_them() -> None:
    """Short times in milliseconds, longer ones in seconds, moments in minutes and seconds."""
    assert [seconds(us) for us in (2100, 40_000, 310_000, 12_000_000)] == ["2.1 ms", "40.0 ms", "0.31 s", "12 s"]
    assert [clock(us) for us in (0, 127_900_000)] == ["0:00", "2:07"]


def test_the_page_says_how_it_stands_first() -> None:
    """The first lines say whether anything happened and how far it is; the last what to do, and the keys."""
    page = watch_page(Log(), 12.0, WANTED, Ends(), Terminal(80, 24))
    assert page.splitlines()[0] == "NO EVENT SO FAR"
    assert page.splitlines()[1] == "watched 0:12 of 5:00   moved 0 of 3"
    assert "press space each time" in page
    busy = watch_page(Log(blind_us=1_800_000), 60.0, WANTED, Ends(), Terminal(80, 24))
    assert busy.splitlines()[1] == "watched 0:58 of 5:00, blind for 1.80 s   moved 0 of 3"
    assert watched_words(Log(blind_us=1_800_000), 60_000_000) == "watched 58.2 of 60.0 s"
    log, _ = heard(Log(), [opened(1, 100, 2000)], NAMES)
    page = watch_page(with_end(log, (NEAR, FAR), "far"), 30.0, WANTED, Ends("helm", "mast"), Terminal(80, 24))
    assert page.splitlines()[0] == "1 EVENT"
    assert "2.0 a minute" in page
    assert "near 1 - far 1  opened once, 2.0 ms in all" in page
    assert "likeliest at the mast end" in page


def test_the_page_fits() -> None:
    """With many places the page still fits 80 x 24 and 40 x 16, and says that there are more."""
    log = Log()
    names = {k: near_contact(str(k)) for k in range(30)} | {k + 30: far_contact(str(k)) for k in range(30)}
    for k in range(30):
        log, _ = heard(log, [opened(k + 1, 1000 * k, 100, k, k + 30)], names)
    for width, height in ((80, 24), (40, 16)):
        lines = watch_page(log, 30.0, WANTED, Ends(), Terminal(width, height)).splitlines()
        assert len(lines) < height
        assert max(map(len, lines)) <= width
        assert any("30 places in all" in line for line in lines)
