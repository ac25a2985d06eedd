import pytest

from tests.tester.peers import Dialogue, introduction, on_pty, sound
from tests.tester.watches import events_are_caught, nothing_is_invented
from wiremap.errors import TesterError
from wiremap.tester.measure import RefusedError, open_tester
from wiremap.tester.watching import Watch

STOP = ("WATCh:STOP? {tag}", sound("OK"))
START = ("WATCh:STARt? {tag}", sound("OK", 4, 4, 8, 1, 2))


def test_events_are_caught_through_the_line() -> None:
    """Openings of 2 ms and more arrive with their contacts and lengths, 99 of 100 at least, and none is invented."""
    assert "none invented" in events_are_caught(seed=1, count=40)


def test_a_quiet_cable_gives_no_event() -> None:
    """A quiet cable, watched through noise, gives no event."""
    assert "no event in" in nothing_is_invented(seed=1, count=10)


def watching(dialogue: Dialogue) -> Watch:
    """Begin to watch a peer of four contacts that follows a dialogue, fetch twice, and return the watch."""
    with on_pty([*introduction(("RES", "WATCH")), STOP, START, *dialogue]) as address, open_tester(address) as tester:
        watch = Watch(tester)
        watch.start()
        watch.fetch()
        watch.fetch()
        return watch


def test_a_watch_says_what_was_joined() -> None:
    """A watch begins with what is joined, and acknowledges what it fetched."""
    dialogue: Dialogue = [
        ("FETCh:EVENt? {tag},0", sound("OK", 2, 0, 2, 1, 1, 3, "OPEN", 5, 9, 2, 2, 4, "OPEN", 7, "9.91E37")),
        ("FETCh:EVENt? {tag},2", sound("OK", 2, 1, 0)),
    ]
    watch = watching(dialogue)
    assert watch.joined == {(0, 2), (1, 3)}
    assert watch.lost == 1
    assert watch.blind_us == 0  # not said


def test_a_watch_says_what_it_did_not_see() -> None:
    """The time in which the tester was too busy comes with every answer, as a sum since the start."""
    dialogue: Dialogue = [
        ("FETCh:EVENt? {tag},0", sound("OK", 1, 0, 1, 1, 1, 3, "OPEN", 5, 9, 120)),
        ("FETCh:EVENt? {tag},1", sound("OK", 1, 0, 0, 3500)),
    ]
    assert watching(dialogue).blind_us == 3500


def test_more_events_than_one_answer_holds() -> None:
    """When an answer holds only some of the events, the rest is fetched at once."""
    dialogue: Dialogue = [
        ("FETCh:EVENt? {tag},0", sound("OK", 2, 0, 1, 1, 1, 3, "OPEN", 5, 9)),
        ("FETCh:EVENt? {tag},1", sound("OK", 2, 0, 1, 2, 1, 3, "OPEN", 25, 9)),
        ("FETCh:EVENt? {tag},2", sound("OK", 2, 0, 0)),
    ]
    assert watching(dialogue).lost == 0


def test_a_damaged_answer_loses_no_event() -> None:
    """Events in an answer that arrived damaged come again, since they were not acknowledged."""

    def damaged(tag: int) -> bytes:
        answer = sound("OK", 1, 0, 1, 1, 1, 3, "OPEN", 5, 9)
        assert callable(answer)
        return answer(tag).replace(b"OPEN", b"OPEM")

    dialogue: Dialogue = [
        ("FETCh:EVENt? {tag},0", damaged),
        ("FETCh:EVENt? {tag},0", sound("OK", 1, 0, 1, 1, 1, 3, "OPEN", 5, 9)),
        ("FETCh:EVENt? {tag},1", sound("OK", 1, 0, 0)),
    ]
    assert watching(dialogue).lost == 0


def test_a_voltage_ends_the_watch() -> None:
    """A voltage that comes up while watching is a refusal, as it is before a measurement."""
    with pytest.raises(RefusedError) as refused:
        watching([("FETCh:EVENt? {tag},0", sound("FOREIGN", 1, 2, 12_000, "DC"))])
    assert refused.value.foreign[0].millivolts == 12_000


def test_contacts_that_do_not_exist() -> None:
    """An event of a contact the tester does not have is damaged: asked again, then an error."""
    wrong = ("FETCh:EVENt? {tag},0", sound("OK", 1, 0, 1, 1, 1, 9, "OPEN", 5, 9))
    with pytest.raises(TesterError, match="a contact that the tester does not have"):
        watching([wrong, wrong])


@pytest.mark.parametrize("after", [(2, 3, 0, 8), (5, 1, 0, 8), (5, 3, 0, 7)])
def test_a_watch_that_runs_backwards_is_no_watch(after: tuple[int, ...]) -> None:
    """Numbers of events, of lost ones and of blind microseconds only grow; a tester that began anew says so by them."""
    fetched = ("FETCh:EVENt? {tag},0", sound("OK", 5, 3, 1, 5, 1, 3, "OPEN", 10, 5, 8))
    with pytest.raises(TesterError, match="runs backwards, asked 'FETCh:EVENt\\?'"):
        watching([fetched, ("FETCh:EVENt? {tag},5", sound("OK", *after))])
