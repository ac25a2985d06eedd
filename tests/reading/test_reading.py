"""A Reading is sound when it exists, and its JSON form gives it back."""

import contextlib
import json
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.reading.as_json import to_json
from wiremap.calibration import Calibration
from wiremap.contact import far_contact, near_contact
from wiremap.errors import FileError
from wiremap.reading.parts import Capacitance, Echo, Event, ForeignVoltage, Tester, Trace
from wiremap.reading.reading import Ohm, Reading, from_builtins, from_json, square, to_builtins

quiet = settings(deadline=None, derandomize=True, database=None)
NEAR, FAR, NEAR_SCREEN, FAR_SCREEN = near_contact("1"), far_contact("1"), near_contact("S"), far_contact("S")
PLACES = (NEAR, NEAR_SCREEN, FAR, FAR_SCREEN)


def reading(**changes: Any) -> Reading:
    """Return a reading of a cable with one conductor and a screen that has everything a reading can have."""
    matrix = square(PLACES, {(NEAR, FAR): 0.42, (NEAR_SCREEN, FAR_SCREEN): "joined"}, "open")
    found = Reading(
        "2026-03-01T08:30:00Z",
        Tester("WIREMAP", "BENCH-18", "0007", "1.0", ("RES", "CAP"), 0.5),
        Calibration("0007", "2026-01-02T10:00:00Z", square_numbers(2.0), nvp=0.68),
        "tester",
        ("1", "S"),
        ("1", "S"),
        matrix,
        square(PLACES, {(NEAR, FAR): 0.45}, None),
        Capacitance(square_numbers(2.5), (1.0, None, 3.0, 4.0), None, 9.5, True, 3, 0.25),
        (Echo(NEAR, NEAR_SCREEN, (812, None), 6667.0, -35.5, 330.0, 1, (0.0, 1300.0)),),
        (Trace(NEAR, NEAR_SCREEN, -100.0, 250.0, (0, -5, 17)),),
        (ForeignVoltage(NEAR, -4800, "dc"),),
        (Event(1, NEAR, FAR, "opened", 1500, None),),
    )
    return replace(found, **changes)


def square_numbers(value: float) -> tuple[tuple[float | None, ...], ...]:
    """Return a symmetric matrix of capacitances over the four places."""
    return tuple(tuple(0.0 if i == j else value * (1 + abs(i - j)) for j in range(4)) for i in range(4))


def test_json_gives_the_reading_back() -> None:
    """Everything a reading has comes back from its JSON, not measured as null, and no NaN or inf is in it."""
    content = to_json(reading())
    assert from_json(content) == reading()
    plain = json.loads(content, parse_constant=pytest.fail)
    assert plain["format"] == 1
    assert plain["low_level_ohm"][0][1] is None
    assert from_builtins(to_builtins(reading())) == reading()


@quiet
@given(
    st.lists(
        st.one_of(
            st.sampled_from(["open", "joined", None]),
            st.floats(min_value=0, max_value=1e15, allow_nan=False, allow_infinity=False),
        ),
        min_size=6,
        max_size=6,
    )
)
def test_every_ohm_comes_back_exactly(values: list[Ohm]) -> None:
    """Any finite resistance from 0 is the same number after JSON."""
    pairs = [(a, b) for i, a in enumerate(PLACES) for b in PLACES[i + 1 :]]
    matrix = square(PLACES, dict(zip(pairs, values, strict=True)), None)
    assert from_json(to_json(reading(resistance_ohm=matrix))).resistance_ohm == matrix


def broken_matrix(i: int, j: int, value: Any) -> Any:
    """Return the matrix with one cell, on one side of the diagonal alone, changed."""
    rows = [list(row) for row in reading().resistance_ohm]
    rows[i][j] = value
    return tuple(map(tuple, rows))


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"taken_utc": "yesterday"}, "taken_utc"),
        ({"twisted": ((NEAR, FAR),)}, "twisted"),
        ({"twisted": ((NEAR,), (NEAR,))}, "twisted"),
        ({"twisted": ((),)}, "twisted"),
        ({"twisted": ((near_contact("7"),),)}, "twisted"),
        ({"near_contacts": ()}, "near_contacts"),
        ({"near_contacts": ("1", "1")}, "near_contacts"),
        ({"far_contacts": ("1", "long name")}, "far_contacts"),
        ({"far_contacts": ("1",)}, "resistance_ohm"),
        ({"resistance_ohm": ()}, "resistance_ohm"),
        ({"resistance_ohm": broken_matrix(0, 1, 5.0)}, "between near 1 and near S"),
        ({"resistance_ohm": broken_matrix(2, 2, 1.0)}, "between far 1 and far 1"),
        (
            {"resistance_ohm": square(PLACES, {(NEAR, FAR): -0.1}, None)},
            "between near 1 and far 1",
        ),
        (
            {"resistance_ohm": square(PLACES, {(NEAR, FAR): math.nan}, None)},
            "between near 1 and far 1",
        ),
        (
            {"resistance_ohm": square(PLACES, {(NEAR, FAR): math.inf}, None)},
            "between near 1 and far 1",
        ),
        (
            {"resistance_ohm": square(PLACES, {(NEAR, FAR): True}, None)},
            "between near 1 and far 1",
        ),
        ({"low_level_ohm": broken_matrix(0, 1, 5.0)}, "low_level_ohm"),
        ({"capacitance": replace(Capacitance(None, None, None, None, False, 1), repeats=0)}, "repeats"),
        ({"capacitance": Capacitance(None, (1.0,), None, None, False, 1)}, "single_pf"),
        ({"capacitance": Capacitance(square_numbers(math.nan), None, None, None, False, 1)}, "two_terminal_pf"),
        ({"echoes": (Echo(NEAR, near_contact("9"), (1,), 1.0, 0.0, 330.0),)}, "contact"),
        ({"echoes": (Echo(NEAR, NEAR_SCREEN, (1,), 0.0, 0.0, 330.0),)}, "tick_ps"),
        ({"echoes": (Echo(NEAR, NEAR_SCREEN, (-1,), 1.0, 0.0, 330.0),)}, "ticks"),
        ({"echoes": (Echo(NEAR, NEAR_SCREEN, (1,), 1.0, math.inf, 330.0),)}, "launch_ps"),
        ({"echoes": (Echo(NEAR, NEAR_SCREEN, (1,), 1.0, 0.0, 330.0, 2),)}, "polarity"),
        ({"echoes": (Echo(NEAR, NEAR_SCREEN, (1,), 1.0, 0.0, 330.0, 1, (math.nan,)),)}, "dither_ps"),
        ({"traces": (Trace(NEAR, NEAR_SCREEN, 0.0, -1.0, ()),)}, "dt_ps"),
        ({"traces": (Trace(NEAR, NEAR_SCREEN, math.nan, 1.0, ()),)}, "t0_ps"),
        ({"events": (Event(1, NEAR, FAR, "opened", -1, None),)}, "at_us"),
        ({"foreign": (ForeignVoltage(near_contact("7"), 1, "dc"),)}, "contact"),
        ({"tester": Tester("a", "b", "c", "d", (), math.nan)}, "resolution_ohm"),
        ({"tester": Tester("a", "b", "c", "d", (), 0.02, math.nan)}, "low_level_sd_ohm"),
        ({"tester": Tester("a", "b", "c", "d", (), 0.02, 0.6, 10**7)}, "highest_mv"),
    ],
)
def test_an_unsound_reading_cannot_exist(changes: dict[str, Any], place: str) -> None:
    """Wrong shapes, asymmetry, negative and non-finite numbers and unknown contacts are refused by name."""
    with pytest.raises(FileError, match=place) as caught:
        reading(**changes)
    assert caught.value.hint


def test_too_many_contacts_are_refused() -> None:
    """More than 64 contacts in all are refused before their matrix is looked at."""
    names = tuple(f"c{number}" for number in range(40))
    with pytest.raises(FileError, match="contacts is 80"):
        Reading(None, None, None, "tester", names, names, ())


def test_ends_may_have_no_reading() -> None:
    """A plug that joins its own contacts has no far end, and time, tester and calibration may be unknown."""
    found = Reading(None, None, None, "open", ("1", "2"), (), square((NEAR, near_contact("2")), {}, "open"))
    assert from_json(to_json(found)) == found


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (b'"serial":"0007"', b'"serial":"0007","more":1', "more"),
        (b'"far":"tester"', b'"far":"tester","far":"open"', "twice"),
        (b'"far":"tester"', b'"far":"moon"', "far"),
        (b'"format":1', b'"format":2', "format"),
        (b'"format":1', b'"format":true', "format"),
        (b'"format":1', b'"format":1,"extra":{}', "extra"),
        (b"0.42", b"NaN", "NaN"),
        (b"0.42", b"-1", "between"),
        (b"0.42", b"1e999", "between"),
        (b"0.42", b"9" * 5000, "JSON"),
        (b"0.42", b"[" * 100_000, "JSON"),
        (b'"taken_utc":', b'"taken":', "taken"),
        (b'"repeats":3', b'"repeats":"3"', "repeats"),
    ],
)
def test_json_that_is_no_reading_is_refused(old: bytes, new: bytes, said: str) -> None:
    """Keys that are unknown or stand twice, wrong types, NaN, huge numbers and deep nesting are refused."""
    content = to_json(reading())
    assert old in content
    with pytest.raises(FileError, match=said) as caught:
        from_json(content.replace(old, new, 1))
    assert caught.value.hint


@quiet
@given(st.binary(max_size=200))
def test_any_bytes_are_a_reading_or_refused(content: bytes) -> None:
    """Whatever the bytes are, there is a reading or an error with a hint."""
    for attempt in (content, b"{" + content, to_json(reading())[: len(content)] + content):
        with contextlib.suppress(FileError):
            assert from_json(attempt).near_contacts
