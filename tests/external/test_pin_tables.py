"""Judgements against published pin tables: cables are made from the tables here, never from the patterns."""

import pytest

from tests.strategies import apart, cable, joined, plugs, reading_of
from wiremap.cable.limits import limits
from wiremap.cable.patterns import Pattern, pattern
from wiremap.judge.findings import Finding
from wiremap.judge.verdict import Diagnosis, judge

# ANSI/TIA-568 pin tables, contacts 1 to 8.
T568A = ("white-green", "green", "white-orange", "blue", "white-blue", "orange", "white-brown", "brown")
T568B = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")
# USOC (RJ61X) pairs 4-5, 3-6, 2-7, 1-8, contacts 1 to 8.
USOC = ("white-brown", "white-green", "white-orange", "blue", "white-blue", "orange", "green", "brown")
# IEEE 802.3 Table 40-12, contacts 1 to 8.
MDI = ("A+", "A-", "B+", "C+", "C-", "B-", "D+", "D-")
MDI_X = ("B+", "B-", "A+", "D+", "D-", "A-", "C+", "C-")
# IEC 61076-2-101, D-coded (TD+, RD+, TD-, RD-), and IEC 61076-2-109, X-coded.
M12D = ("A+", "B+", "A-", "B-")
M12X = ("A+", "A-", "B+", "B-", "D+", "D-", "C-", "C+")


def meeting(near: tuple[str, ...], far: tuple[str, ...]) -> dict[int, int]:
    """Return near contact -> far contact where the same conductor or signal is at both."""
    return {i: far.index(name) + 1 for i, name in enumerate(near, 1) if name in far}


def judged(arrives: dict[int, int], expect: Pattern) -> Diagnosis:
    """Return what is said of a cable with a whole screen."""
    return judge(reading_of(cable(expect, arrives), plugs(expect)), expect)


@pytest.mark.parametrize(
    ("near", "far", "name"),
    [
        (T568A, T568A, "straight"),
        (T568B, T568B, "straight"),
        (T568A, T568B, "crossover"),
        (T568B, T568A, "crossover"),
        (MDI, MDI, "straight"),
        (MDI, MDI_X, "crossover-all"),
        (M12D, MDI, "m12d-rj45"),
        (MDI, M12D, "rj45-m12d"),
        (M12D, MDI_X, "m12d-rj45-crossover"),
        (M12D, M12D, "m12d-m12d"),
        (M12X, MDI, "m12x-rj45"),
        (MDI, M12X, "rj45-m12x"),
        (M12X, M12X, "m12x-m12x"),
    ],
)
def test_a_cable_made_from_the_published_tables_passes(near: tuple[str, ...], far: tuple[str, ...], name: str) -> None:
    """Plugs filled by TIA-568, IEEE 802.3 Table 40-12 or IEC 61076-2-101 and -109 pass as the pattern of that name."""
    seen = judged(meeting(near, far), pattern(name))
    assert (seen.verdict, seen.findings) == ("pass", ())


def test_only_orange_and_green_change_places_in_a_crossover() -> None:
    """T568A against T568B judged as straight: the orange and green pairs crossed, blue and brown not named.

    Pin tables: ANSI/TIA-568. That blue and brown stay in a 10/100 crossover: common practice, no source.
    """
    seen = judged(meeting(T568B, T568A), pattern("straight"))
    assert seen.findings == (Finding("crossed-pairs", ("1", "2", "3", "6"), ("3", "6", "1", "2")),)
    assert {T568B[int(contact) - 1].removeprefix("white-") for contact in seen.findings[0].near} == {"orange", "green"}
    assert seen.nearest is not None
    assert (seen.nearest.pattern, seen.nearest.away) == ("crossover", 0)


def test_a_crossover_of_all_pairs_is_not_the_10_100_crossover() -> None:
    """MDI to MDI-X judged as the 10/100 crossover: pairs C and D (4-5 and 7-8) crossed (IEEE 802.3 Table 40-12)."""
    seen = judged(meeting(MDI, MDI_X), pattern("crossover"))
    assert seen.findings == (Finding("crossed-pairs", ("4", "5", "7", "8"), ("7", "8", "4", "5")),)


@pytest.mark.parametrize("pair", "ABCD")
def test_polarity_is_that_of_the_signals(pair: str) -> None:
    """Plus and minus of one signal exchanged at the far end are one reversed pair (IEEE 802.3 Table 40-12)."""
    other = {f"{pair}+": f"{pair}-", f"{pair}-": f"{pair}+"}
    seen = judged(meeting(MDI, tuple(other.get(signal, signal) for signal in MDI)), pattern("straight"))
    (found,) = seen.findings
    assert found.fault == "reversed-pair"
    assert {MDI[int(contact) - 1] for contact in found.near} == {f"{pair}+", f"{pair}-"}


def test_crossed_pairs_that_keep_plus_on_plus_exchange_no_polarity() -> None:
    """Whatever two signals change places, polarity is exchanged only where plus arrives at minus (Table 40-12)."""
    for one in "ABCD":
        for other in "ABCD":
            if one < other:
                swap = {f"{one}{sign}": f"{other}{sign}" for sign in "+-"} | {
                    f"{other}{sign}": f"{one}{sign}" for sign in "+-"
                }
                seen = judged(meeting(MDI, tuple(swap.get(signal, signal) for signal in MDI)), pattern("straight"))
                assert [(f.fault, f.polarity_exchanged) for f in seen.findings] == [("crossed-pairs", ())]


def test_m12_x_coded_contacts_7_and_8() -> None:
    """Contacts 7 and 8 go to 5 and 4 (IEC 61076-2-109); numbered straight on they are one reversed pair."""
    arrives = meeting(M12X, MDI)
    assert (arrives[7], arrives[8]) == (5, 4)
    seen = judged({**arrives, 7: 4, 8: 5}, pattern("m12x-rj45"))
    assert seen.findings == (Finding("reversed-pair", ("7", "8"), ("4", "5")),)


@pytest.mark.parametrize("other", [T568A, T568B])
def test_one_plug_in_the_telephone_order(other: tuple[str, ...]) -> None:
    """A plug filled as USOC against T568A or T568B is named as such (pin tables as published)."""
    assert judged(meeting(other, USOC), pattern("straight")).cause == "usoc"
    assert judged(meeting(USOC, other), pattern("straight")).cause == "usoc"


@pytest.mark.parametrize(
    "both", [USOC, ("white-orange", "orange", "white-green", "green", "white-blue", "blue", "white-brown", "brown")]
)
def test_continuity_cannot_see_split_pairs(both: tuple[str, ...]) -> None:
    """USOC, or pairs in sequence, at both ends pass continuity, and split pairs stand in what was not checked.

    Definition of the split pair: terms of TIA-568.
    """
    seen = judged(meeting(both, both), pattern("straight"))
    assert (seen.verdict, seen.findings) == ("pass", ())
    assert "split-pairs" in {item.what for item in seen.not_checked}


@pytest.mark.parametrize(
    ("name", "arrives"),
    [
        ("rollover", {n: 9 - n for n in range(1, 9)}),
        ("t1-crossover", {1: 4, 2: 5, 4: 1, 5: 2}),
        ("straight-2pair", {1: 1, 2: 2, 3: 3, 6: 6}),
        ("crossover-2pair", {1: 3, 2: 6, 3: 1, 6: 2}),
    ],
)
def test_other_known_orders(name: str, arrives: dict[int, int]) -> None:
    """Rollover is n to 9 - n, T1 crossover 1-4 2-5 4-1 5-2, 10/100 needs 1, 2, 3 and 6 (IEEE 802.3) alone."""
    assert judged(arrives, pattern(name)).verdict == "pass"


@pytest.mark.parametrize(
    ("name", "joins"),
    [
        ("loopback-100", ("near 1, near 3", "near 2, near 6")),
        ("loopback-all", ("near 1, near 3", "near 2, near 6", "near 4, near 7", "near 5, near 8")),
    ],
)
def test_loopback_plugs(name: str, joins: tuple[str, ...]) -> None:
    """A loopback plug joins each transmit contact to the receive contact of the same sign (IEEE 802.3 Table 40-12)."""
    expect = pattern(name)
    for join in joins:
        here, there = (int(place.split()[1]) - 1 for place in join.split(", "))
        assert MDI[here] == MDI_X[there]
    assert judge(reading_of(joined(apart(expect), *joins), plugs(expect)), expect).verdict == "pass"


def test_the_longest_run_is_no_fault() -> None:
    """A reel of 350 m at 9.38 ohm per 100 m of conductor (TIA-568) is joined, and so is 1000 m of AWG 24 out and back.

    AWG 24: 84.22 ohm/km, from the resistivity of IEC 60028 and the diameter of ASTM B258.
    """
    expect = pattern("straight")
    reel = 3.5 * 9.38
    reading = reading_of(cable(expect, {n: n for n in range(1, 9)}), plugs(expect), ohm=reel)
    assert judge(reading, expect).verdict == "pass"
    assert reel < 2 * 84.22 < limits().joined_ohm


def test_unbalance_limits_are_those_printed() -> None:
    """3 % of the sum, or 0.2 ohm whichever is greater (IEEE 802.3 and TIA-568, both from memory)."""
    assert (limits().unbalance_ratio, limits().unbalance_floor_ohm) == (0.03, 0.2)
