"""A tester that knows joined from open, and no ohms, at the near end of a run whose far plug is in something."""

import pytest

from wiremap.cable.patterns import pattern
from wiremap.contact import far_contact, near_contact
from wiremap.judge.verdict import judge
from wiremap.reading.reading import Far, Ohm, Reading, square

NAMES = tuple("12345678")


def through(far: Far, *joined: tuple[str, str]) -> Reading:
    """Return what such a tester says of eight near contacts."""
    contacts = (*map(near_contact, NAMES), *map(far_contact, NAMES))
    words: dict[tuple[object, object], Ohm] = {(near_contact(a), near_contact(b)): "joined" for a, b in joined}
    near = contacts[:8]
    rows = {(a, b): words.get((a, b), "open") for a in near for b in near if a < b}
    return Reading(None, None, None, far, NAMES, NAMES, square(contacts, rows, None))


def test_conductors_joined_at_the_far_end_are_not_open() -> None:
    """Where all near contacts but one are joined through the far plug, that one is open, and no loop has ohms."""
    alive = [name for name in NAMES if name != "4"]
    seen = judge(through("joined", *((a, b) for a in alive for b in alive if a < b)), pattern("straight"))
    assert [(one.fault, one.near) for one in seen.findings] == [("open", ("4",))]
    assert [(loop.pair, loop.ohm) for loop in seen.loops] == [(("4", "5"), None)]
    missing = {(item.what, item.why) for item in seen.not_checked}
    assert ("resistance-unbalance", "continuity-only") in missing


@pytest.mark.parametrize("whole", [(("1", "2"), ("3", "6"), ("4", "5"), ("7", "8")), (("1", "2"), ("3", "6"))])
def test_windings_that_close_are_not_open(whole: tuple[tuple[str, str], ...]) -> None:
    """Of equipment a pair whose loop is joined is no open; the others are likely open."""
    seen = judge(through("equipment", *whole), pattern("straight"))
    said = [one.near for one in seen.findings if one.fault == "open"]
    assert said == [pair for pair in pattern("straight").near_pairs if pair not in whole and pair[::-1] not in whole]
