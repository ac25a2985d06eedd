"""What a board says of itself, when it makes no sense; and which testers are boards that are commissioned."""

from typing import cast

import pytest

from wiremap.bench.commission.probes import BARE_FEATURES, BENCH_FEATURES, board_kinds, own_figures
from wiremap.reading.parts import Tester
from wiremap.tester.answers import Answer, FrameError
from wiremap.tester.line import Line
from wiremap.tester.measure import OpenTester

NINE = tuple("12345678S")


def answer(*fields: str) -> Answer:
    """Return an answer with these fields."""
    return Answer(1, "OK", fields, b"raw")


def test_groups_are_read_by_their_words() -> None:
    """In any order, groups that nobody knows yet among them."""
    assert own_figures(answer("ZERO", "1", "-24", "NEW", "0", "TIMES", "3", "1", "2", "3")) == {
        "ZERO": (-24,),
        "NEW": (),
        "TIMES": (1, 2, 3),
    }
    assert own_figures(answer()) == {}


@pytest.mark.parametrize(
    "fields",
    [
        ("ZERO",),
        ("ZERO", "1"),
        ("ZERO", "2", "1"),
        ("ZERO", "1", "x"),
        ("ZERO", "1", "1.5"),
        ("ZERO", "-1", "1"),
        ("ZERO", "x", "1"),
        ("zero", "1", "1"),
        ("5", "1", "1"),
        ("ZERO", "1", "1", "ZERO", "1", "1"),
        ("ZERO", "1", "9.91E37"),
        ("ZERO", "1", "1" * 16),
        ("ZERO", "100", *["1"] * 100),
    ],
)
def test_figures_that_make_no_sense_are_refused(fields: tuple[str, ...]) -> None:
    """With the line as it came, so that it is asked once more."""
    with pytest.raises(FrameError) as error:
        own_figures(answer(*fields))
    assert error.value.raw == b"raw"


@pytest.mark.parametrize(
    ("features", "near", "kinds"),
    [
        (BENCH_FEATURES, NINE, ("bench",)),
        (BENCH_FEATURES | {"WATCH", "SIM"}, NINE, ("bench",)),
        (BENCH_FEATURES | {"ECHO", "TRACE"}, NINE, ()),
        (BENCH_FEATURES - {"LOW"}, NINE, ()),
        (BENCH_FEATURES, NINE[:8], ()),
        (BARE_FEATURES | {"SIM"}, NINE, ("bare-clamped", "bare")),
        (BARE_FEATURES, ("1", "2"), ()),
        ({"CONT"}, NINE, ()),
        (set(), NINE, ()),
    ],
)
def test_which_testers_are_boards(features: set[str], near: tuple[str, ...], kinds: tuple[str, ...]) -> None:
    """By their features and nine contacts a side; what is somebody else's is none."""
    tester = Tester("WIREMAP", "MINE", "1", "1.0", tuple(sorted(features)))
    assert board_kinds(OpenTester(cast(Line, None), tester, near, NINE)) == kinds
