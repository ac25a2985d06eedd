from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from tests.tester.peers import Dialogue, Reply, on_pty, sound, triangle
from wiremap.bench.sockets import TesterSockets, sides
from wiremap.cable.patterns import pattern
from wiremap.errors import TesterError
from wiremap.judge.findings import Verdict
from wiremap.reading.reading import Reading
from wiremap.tester.looking import agrees, closed, departed
from wiremap.tester.measure import measure, open_tester

SOCKET = [f'"{k}"' for k in (1, 2, 3, 4, 5, 6, 7, 8, "S")]
OK_NOTHING = sound("OK")


def introduction(*features: str, serial: int = 7) -> list[tuple[str, Reply]]:
    """Return what a tester with two RJ45 sockets says first."""
    first: list[tuple[str, Reply]] = [
        ("*IDN?", b"WIREMAP,BENCH-18,%d,1.0.0\n" % serial),
        ("TESTer:FEATures? {tag}", sound("OK", "RES", *features)),
        ("TESTer:CONTacts? {tag}", sound("OK", 9, 9, *SOCKET, *SOCKET)),
        ("TESTer:RESolution? {tag}", sound("OK", 20)),
    ]
    return [*first, ("WATCh:STOP? {tag}", OK_NOTHING)] if "WATCH" in features else first


def rows(*joined: tuple[int, int]) -> list[int]:
    """Return bitmaps of what is joined, a row a contact."""
    bits = [0] * 18
    for a, b in joined:
        bits[a] |= 1 << b
        bits[b] |= 1 << a
    return bits


def scan(*joined: tuple[int, int]) -> Reply:
    """Return the answer of a scan that sees these pairs joined."""
    return sound("OK", 18, *triangle(dict.fromkeys(joined, 200), 18))


def judge(reading: Reading) -> tuple[Verdict, object]:
    """Judge nothing."""
    return "pass", reading


@contextmanager
def sockets(dialogue: Dialogue) -> Iterator[TesterSockets]:
    """Open a tester that follows a dialogue."""
    with on_pty(dialogue) as address, TesterSockets(address, judge) as opened:
        yield opened


def test_without_a_watch_every_look_is_a_scan() -> None:
    """A tester that cannot watch is scanned at every look."""
    resistance = "MEASure:ARRay:RESistance? {tag}"
    with sockets([*introduction(), (resistance, scan()), (resistance, scan((0, 9), (1, 10)))]) as opened:
        assert opened.look() == frozenset()
        assert opened.look() == frozenset({(0, 9), (1, 10)})


def test_a_watch_sees_a_cable_come() -> None:
    """With a watch, what was latched since says what is joined now, and what went again is not."""
    come = sound("OK", 2, 0, 2, 1, 1, 10, "JOIN", 500, "9.91E37", 2, 2, 11, "JOIN", 700, "9.91E37")
    gone = sound("OK", 3, 0, 1, 3, 1, 10, "JOIN", 500, 9000)
    dialogue: Dialogue = [
        *introduction("WATCH"),
        ("WATCh:STARt? {tag}", sound("OK", 18, *rows())),
        ("FETCh:EVENt? {tag},0", come),
        ("FETCh:EVENt? {tag},2", gone),
    ]
    with sockets(dialogue) as opened:
        assert opened.look() == frozenset()
        assert opened.look() == frozenset({(0, 9), (1, 10)})
        assert opened.look() == frozenset({(1, 10)})


def test_a_watch_that_begins_while_a_plug_bounces_is_begun_again() -> None:
    """What a watch finds joined when it begins is believed when it finds it twice."""
    dialogue: Dialogue = [
        *introduction("WATCH"),
        ("WATCh:STARt? {tag}", sound("OK", 18, *rows((0, 9)))),
        ("WATCh:STOP? {tag}", OK_NOTHING),
        ("WATCh:STARt? {tag}", sound("OK", 18, *rows((0, 9), (1, 10)))),
        ("WATCh:STOP? {tag}", OK_NOTHING),
        ("WATCh:STARt? {tag}", sound("OK", 18, *rows((0, 9), (1, 10)))),
    ]
    with sockets(dialogue) as opened:
        assert opened.look() == frozenset({(0, 9), (1, 10)})


def test_a_watch_that_lost_events_begins_anew() -> None:
    """When the tester dropped events, what is joined is scanned again rather than guessed."""
    dialogue: Dialogue = [
        *introduction("WATCH"),
        ("WATCh:STARt? {tag}", sound("OK", 18, *rows())),
        ("FETCh:EVENt? {tag},0", sound("OK", 1, 3, 1, 1, 1, 10, "JOIN", 500, "9.91E37")),
        ("WATCh:STOP? {tag}", OK_NOTHING),
        ("WATCh:STARt? {tag}", sound("OK", 18, *rows())),
    ]
    with sockets(dialogue) as opened:
        assert opened.look() == frozenset()
        assert opened.look() == frozenset()


def test_a_voltage_stops_the_looks() -> None:
    """When the tester refuses because of a voltage, the look says so, and the next one asks anew."""
    dialogue: Dialogue = [
        *introduction("WATCH"),
        ("WATCh:STARt? {tag}", sound("OK", 18, *rows())),
        ("FETCh:EVENt? {tag},0", sound("FOREIGN", 1, 4, 48_000, "DC")),
        ("WATCh:STARt? {tag}", sound("FOREIGN", 1, 4, 48_000, "DC")),
    ]
    with sockets(dialogue) as opened:
        assert opened.look() == frozenset()
        assert opened.look() is None
        assert opened.look() is None


def test_a_measurement_ends_the_watch() -> None:
    """The tester stops watching before it measures; what the scan saw is what the last look saw."""
    dialogue: Dialogue = [
        *introduction("WATCH"),
        ("WATCh:STARt? {tag}", sound("OK", 18, *rows())),
        ("FETCh:EVENt? {tag},0", sound("OK", 1, 0, 1, 1, 1, 10, "JOIN", 500, "9.91E37")),
        ("WATCh:STOP? {tag}", OK_NOTHING),
        ("MEASure:ARRay:RESistance? {tag}", scan((0, 9))),
    ]
    with sockets(dialogue) as opened:
        opened.look()
        seen = opened.look()
        outcome = opened.measure()
        assert outcome.joined == seen == frozenset({(0, 9)})


def test_another_tester_is_not_gone_on_with() -> None:
    """After it was unplugged the lot goes on with the same tester only."""
    with on_pty(introduction() + introduction(serial=8)) as address, TesterSockets(address, judge) as opened:
        assert opened.serial == "7"
        with pytest.raises(TesterError, match="the tester 8 was plugged in for 7"):
            opened.reopen()
        with pytest.raises(TesterError, match="not connected"):
            opened.look()


def test_a_tester_left_watching_is_stopped_at_the_start() -> None:
    """A watch that a killed program left running is ended when the tester is opened."""
    with on_pty(introduction("WATCH")) as address, open_tester(address) as tester:
        assert "WATCH" in tester.tester.features


def test_a_scan_agrees_with_a_look_where_resistance_is_between() -> None:
    """A conductor of some kilohms may be called joined or not; one of few ohms may not be missing."""
    values = triangle({(0, 9): 200, (1, 10): 3_000_000}, 18)
    with (
        on_pty([*introduction(), ("MEASure:ARRay:RESistance? {tag}", sound("OK", 18, *values))]) as address,
        open_tester(address) as tester,
    ):
        reading = measure(tester)
    assert agrees(reading, frozenset({(0, 9)}))
    assert agrees(reading, frozenset({(0, 9), (1, 10)}))
    assert not agrees(reading, frozenset({(1, 10)}))
    assert not agrees(reading, frozenset({(0, 9), (2, 11)}))
    assert not agrees(reading, None)


def test_nets_are_closed_and_depart() -> None:
    """Contacts joined through others are joined; a piece that came off is joined to nothing it was joined to."""
    assert closed([(0, 9), (9, 1), (3, 4)]) == {(0, 1), (0, 9), (1, 9), (3, 4)}
    assert departed([(0, 9), (1, 10)], [(0, 9)], [(1, 2)]) == {(1, 10), (1, 2)}


def test_sides_are_the_contacts_a_plug_should_join() -> None:
    """The contacts of each plug that should be joined, in plug order: without the screen, and joins for a loopback."""
    assert sides(None) == ()
    assert sides(pattern("straight")) == (tuple(range(8)), tuple(range(9, 17)))
    assert sides(pattern("crossover-2pair")) == ((0, 1, 2, 5), (9, 10, 11, 14))
    assert sides(pattern("loopback-100")) == ((0, 1, 2, 5),)
    assert sides(pattern("m12d-rj45")) == ((0, 1, 2, 3), (5, 6, 7, 10))
