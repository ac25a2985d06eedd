"""Weaker witnesses of split pairs, where not all conductors were measured against each other."""

import pytest

from tests.judge.run import witness_checks
from tests.judge.run.witness_checks import detected
from tests.judge.simulated import PAIRS

SPLIT = (("3", "6"), ("4", "5"))
# No two conductors of a pair at the contacts of an expected pair.
ALL_SPLIT = ("white-orange", "green", "white-green", "white-brown", "blue", "orange", "white-blue", "brown")


@pytest.mark.parametrize(("kind", "lengths_m"), [("UTP", (1.2, 5.0, 30.0)), ("F/UTP", (2.5, 30.0))])
def test_four_lengths_by_capacitance(kind: str, lengths_m: tuple[float, ...]) -> None:
    """Of four capacitances the two of the split pairs stand out, from 1 m (screened 2 m) up."""
    for length_m in lengths_m:
        found = detected(length_m, kind, "lengths")
        assert found is not None
        assert (found.method, found.split, found.verdict) == ("lengths", SPLIT, "confirmed")


@pytest.mark.parametrize("kind", ["UTP", "F/UTP"])
def test_launch_impedance(kind: str) -> None:
    """The launch impedance shows which pairs are split, from a metre up and whatever the length."""
    for length_m in (1.2, 30.0):
        found = detected(length_m, kind, "launch")
        assert found is not None
        assert (found.method, found.split, found.verdict) == ("launch", SPLIT, "confirmed")
    assert detected(0.6, kind, "launch") is None


def test_echo_times_never_confirm() -> None:
    """Echo times speak from 10 m up only, and never confirm: a good cable of high skew may look the same."""
    assert detected(6.0, "UTP", "echoes") is None
    found = detected(30.0, "UTP", "echoes")
    assert found is not None
    assert (found.split, found.verdict) == (SPLIT, "likely")


@pytest.mark.parametrize(("kind", "means"), [("UTP", "ratio"), ("F/UTP", "ratio"), ("UTP", "launch")])
def test_all_pairs_split(kind: str, means: str) -> None:
    """When all four pairs are split the four lengths agree; length by capacitance over length by echo still tells."""
    blind = detected(20.0, kind, "lengths", ALL_SPLIT)
    assert blind is not None
    assert blind.verdict != "confirmed"
    found = detected(20.0, kind, means, ALL_SPLIT)
    assert found is not None
    assert (found.method, found.split, found.pairs) == (means, PAIRS, ())
    assert found.verdict in ("confirmed", "likely")


@pytest.mark.parametrize("means", ["lengths", "launch", "echoes", "ratio"])
def test_sound_pairs(means: str) -> None:
    """No witness calls a pair of a sound cable split."""
    found = detected(30.0, "UTP", means, "T568B")
    assert found is not None
    assert (found.split, found.pairs) == ((), PAIRS)


def test_too_short_is_not_checked() -> None:
    """Below its own shortest length each witness keeps silent."""
    assert detected(0.5, "UTP", "lengths") is None
    assert detected(1.2, "F/UTP", "lengths") is None


def test_false_alarms() -> None:
    """On sound cables of high skew no confirmed pairing is wrong."""
    witness_checks.false_alarms(3, 400)


def test_short_cords() -> None:
    """Against a good cord of their kind short cords are paired rightly where it is confirmed."""
    witness_checks.short_cords(3, 400)


def test_weaker_witnesses() -> None:
    """No weaker witness confirms a split on a sound cable."""
    witness_checks.weaker_witnesses(3, 40)
