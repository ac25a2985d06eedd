import pytest

from wiremap.bench.stable import STILL_S, after, seat
from wiremap.reading.joined import Joined

SIDES = (tuple(range(8)), tuple(range(9, 17)))
STRAIGHT = frozenset((contact, contact + 9) for contact in range(8))


def without(*near: int) -> frozenset[tuple[int, int]]:
    """Return a straight cable with conductors missing."""
    return frozenset(pair for pair in STRAIGHT if pair[0] not in near)


def test_it_is_steady_when_two_looks_agree_for_long_enough() -> None:
    """A cable is steady when it looks the same for a quarter of a second, and not before."""
    steady = after(None, STRAIGHT, 1.0)
    assert not steady.settled
    steady = after(steady, STRAIGHT, 1.0 + STILL_S / 2)
    assert not steady.settled
    steady = after(steady, STRAIGHT, 1.0 + STILL_S)
    assert steady.settled


def test_a_bounce_begins_anew() -> None:
    """One look that differs, and the waiting begins anew, also when it then looks as before."""
    steady = after(after(None, STRAIGHT, 1.0), STRAIGHT, 1.2)
    steady = after(steady, without(3), 1.21)
    steady = after(steady, STRAIGHT, 1.22)
    assert steady.since_s == 1.22
    assert not after(steady, STRAIGHT, 1.3).settled


def test_one_look_alone_is_never_steady() -> None:
    """A single look is not believed, however long ago it was."""
    assert not after(None, STRAIGHT, 0.0).settled


@pytest.mark.parametrize(
    ("joined", "says"),
    [
        (frozenset(), "nothing"),
        (STRAIGHT, "in"),
        (None, "in"),
        (without(3), "in"),
        (without(0), "not-seated"),
        (without(0, 1, 2), "not-seated"),
        (without(7), "not-seated"),
        (without(5, 6, 7), "not-seated"),
        (without(0, 7), "in"),
        (without(2, 3), "in"),
        (without(*range(7)), "not-seated"),
        (frozenset({(0, 1)}), "not-seated"),
    ],
)
def test_a_plug_that_is_not_home_misses_contacts_from_one_edge_on(joined: Joined, says: str) -> None:
    """Contacts missing from an edge of a plug on mean that it is not home; missing elsewhere, that the cable is bad."""
    assert seat(joined, SIDES) == says


def test_without_an_expectation_anything_joined_is_in() -> None:
    """When nobody said what cable to expect, a plug is never called not home."""
    assert seat(without(0), ()) == "in"
