import pytest

from wiremap.bench.sweep_events import DeskKey, Labelled, Pressed
from wiremap.bench.typed import HAND_S, TYPE_LABEL, Typed, typed


def hear(*typing: tuple[float, str]) -> list[Pressed | Labelled | str]:
    """Return what a typing, given as (seconds, characters), means, after a quiet moment."""
    state = Typed()
    heard: list[Pressed | Labelled | str] = []
    for at_s, text in (*typing, (typing[-1][0] + 1.0, "")):
        state, events = typed(state, text, at_s)
        heard += events
    return heard


@pytest.mark.parametrize(
    ("key", "means"),
    [(" ", "main"), ("r", "retest"), ("R", "retest"), ("n", "note"), ("s", "skip"), ("u", "undo"), ("q", "stop")],
)
def test_single_keys(key: str, means: DeskKey) -> None:
    """A key pressed by itself counts after a moment without another one."""
    assert hear((1.0, key)) == [Pressed(means)]


def test_enter_is_the_main_key() -> None:
    """Enter alone, as a pedal may send it, is the main key, at once."""
    assert typed(Typed(), "\r", 1.0)[1] == (Pressed("main"),)


def test_a_scanned_label_is_one_label() -> None:
    """What a reader types within milliseconds and ends with Enter is a label, whatever keys are in it."""
    assert hear((1.0, "RUNS-012\r")) == [Labelled("RUNS-012")]
    assert hear((1.0, "RU"), (1.01, "NS-0"), (1.02, "12"), (1.03, "\n")) == [Labelled("RUNS-012")]


def test_what_a_terminal_would_obey_is_spelled_out() -> None:
    """The separator that some readers send within a code, and anything worse, stands in the label as text."""
    assert hear((1.0, "01\x1d21\x1b[H\r")) == [Labelled(r"01\x1d21\x1b[H")]


def test_short_labels_are_labels() -> None:
    """A label of one digit, or of one letter that is no key, is a label."""
    assert hear((1.0, "7\r")) == [Labelled("7")]
    assert hear((1.0, "11\r")) == [Labelled("11")]


def test_two_labels_in_one_breath() -> None:
    """Two labels read one right after the other stay two."""
    assert hear((1.0, "A-1\rA-2\r")) == [Labelled("A-1"), Labelled("A-2")]


def test_lines_from_a_pipe() -> None:
    """Lines from a pipe mean what keys and labels mean: an empty line is the main key."""
    assert hear((1.0, "\n"), (2.0, "r\n"), (3.0, "A-1\n")) == [Pressed("main"), Pressed("retest"), Labelled("A-1")]


def test_a_key_held_down_is_one_key() -> None:
    """A key that repeats because it is held down, with a glove say, is one press."""
    assert hear((1.0, " "), (1.03, " "), (1.06, " ")) == [Pressed("main")]


def test_a_hand_on_the_keyboard_does_nothing() -> None:
    """Several different keys at once, without an Enter, mean nothing."""
    assert hear((1.0, "sun")) == []


def test_two_keys_by_hand_are_two_keys() -> None:
    """Two keys with a moment between are two."""
    assert hear((1.0, "u"), (1.0 + 2 * HAND_S, "r")) == [Pressed("undo"), Pressed("retest")]


def test_the_key_for_a_label_by_hand() -> None:
    """One key asks for a label that is typed; keys without a meaning are passed over."""
    assert hear((1.0, "l")) == [TYPE_LABEL]
    assert hear((1.0, "x")) == []
