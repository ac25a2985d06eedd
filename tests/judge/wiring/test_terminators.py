"""Terminators of a bus against breaks and exchanged conductors, every combination, by a nodal analysis of its own."""

import math
from itertools import permutations, product

import numpy as np
import pytest

from tests.judge.run.nodal import two_terminal
from wiremap.cable.patterns import pattern
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.judge.findings import Finding
from wiremap.judge.verdict import Diagnosis, Options, judge
from wiremap.reading.parts import Tester
from wiremap.reading.reading import Far, Ohm, Reading, square

BUS = pattern("m12a-5pole")
NAMES = "12345"
PLACES = (*map(near_contact, NAMES), *map(far_contact, NAMES))
TESTER = Tester("WIREMAP", "BENCH-18", "1", "1", ("RES", "LOW", "FOREIGN"), 0.02)
PER_CONDUCTOR_OHM = 0.8


def bus(
    order: tuple[int, ...],
    near: int,
    far: int,
    broken: int | None = None,
    bad: int | None = None,
    where: Far = "tester",
    extra: tuple[tuple[int, int, float], ...] = (),
) -> Reading:
    """Return a reading of a bus lead. Terminators sit across the conductors white and blue, inside the cable.

    order: which conductor (2 to 5) is in each far contact 2 to 5; the near plug is right. near, far: how many
    terminators at each end. broken: a conductor cut in the run. bad: one with 50 ohm more. Nodes: 0-9 the contacts;
    each conductor's two ends are its contacts.
    """
    at_far = {conductor: contact for contact, conductor in zip(range(2, 6), order, strict=True)}
    network = [(0, 5, 0.3)]
    for conductor in range(2, 6):
        if conductor != broken:
            ohm = PER_CONDUCTOR_OHM + (50.0 if conductor == bad else 0.0)
            network.append((conductor - 1, 4 + at_far[conductor], ohm))
    network += [(3, 4, 120.0)] * near + [(4 + at_far[4], 4 + at_far[5], 120.0)] * far + list(extra)
    shown = two_terminal(10, network)
    seen: dict[tuple[Contact, Contact], Ohm] = {}
    for i in range(10):
        for j in range(i):
            if where == "open" and i >= 5:
                continue
            seen[PLACES[i], PLACES[j]] = round(float(shown[i, j]) / 0.02) * 0.02 if shown[i, j] < math.inf else "open"
    otherwise: Ohm = None if where == "open" else "open"
    return Reading(None, TESTER, None, where, tuple(NAMES), tuple(NAMES), square(PLACES, seen, otherwise))


def order_faults(seen: Diagnosis) -> tuple[Finding, ...]:
    """Return the findings without those of terminators."""
    return tuple(finding for finding in seen.findings if finding.fault != "terminators")


ORDERS = tuple(permutations(range(2, 6)))
COUNTS = tuple((near, far) for near, far in product(range(4), repeat=2) if near + far <= 3)


@pytest.mark.parametrize("order", ORDERS)
def test_every_order_break_and_count_is_told_apart(order: tuple[int, ...]) -> None:
    """Terminators none to three, in any order, with any conductor broken: faults as without them, and all counted."""
    for broken in (None, 2, 3, 4, 5):
        bare = judge(bus(order, 0, 0, broken), BUS)
        for near, far in COUNTS:
            seen = judge(bus(order, near, far, broken), BUS)
            assert order_faults(seen) == order_faults(bare), (order, near, far, broken)
            assert seen.terminators is not None
            assert seen.terminators.count == near + far, (order, near, far, broken)
            if seen.terminators.near is not None:
                assert (seen.terminators.near, seen.terminators.far) == (near, far), (order, near, far, broken)
            wrong = [finding for finding in seen.findings if finding.fault == "terminators"]
            assert [finding.value for finding in wrong] == ([] if near + far in (0, 2) else [near + far])


@pytest.mark.parametrize(("near", "far"), COUNTS)
def test_the_end_of_a_terminator_is_named(near: int, far: int) -> None:
    """On a sound lead each terminator's end is known, and the finding names an end where that alone is wrong."""
    seen = judge(bus((2, 3, 4, 5), near, far), BUS)
    assert seen.terminators is not None
    assert (seen.terminators.near, seen.terminators.far) == (near, far)
    ends = [finding.end for finding in seen.findings]
    if near + far == 1:
        assert ends == ["far" if near else "near"]
    if near + far == 3:
        assert ends == [None if 0 in (near, far) else "near" if near > far else "far"]


@pytest.mark.parametrize("bad", [2, 3, 4, 5])
@pytest.mark.parametrize(("near", "far"), COUNTS)
def test_a_bad_conductor_beside_terminators(bad: int, near: int, far: int) -> None:
    """A conductor with 50 ohm too much is that, and no terminator."""
    seen = judge(bus((2, 3, 4, 5), near, far, bad=bad), BUS)
    assert [(one.fault, one.near) for one in order_faults(seen)] == [("high-resistance", (str(bad),))]
    assert seen.terminators is not None
    assert seen.terminators.count == near + far


@pytest.mark.parametrize(("near", "far"), COUNTS)
def test_a_short_beside_terminators(near: int, far: int) -> None:
    """A short of the bus, or of the power, is one whatever the terminators are."""
    for a, b in ((3, 4), (1, 2), (2, 3)):
        seen = judge(bus((2, 3, 4, 5), near, far, extra=((a, b, 0.4),)), BUS)
        assert [finding.fault for finding in order_faults(seen)] == ["short"], (a, b)
    loaded = judge(bus((2, 3, 4, 5), near, far, extra=((1, 2, 60.0),)), BUS)
    assert [(one.fault, one.near) for one in order_faults(loaded)] == [("short", ("2", "3"))]


@pytest.mark.parametrize(("near", "far"), COUNTS)
def test_terminators_seen_from_one_end(near: int, far: int) -> None:
    """With the far plug in nothing the count is still seen, and no end is named."""
    seen = judge(bus((2, 3, 4, 5), near, far, where="open"), BUS)
    assert seen.terminators is not None
    assert (seen.terminators.count, seen.terminators.near, seen.terminators.far) == (near + far, None, None)
    assert [finding.end for finding in seen.findings] == ([] if near + far in (0, 2) else [None])


def test_as_many_terminators_as_the_job_wants() -> None:
    """A job may want one terminator, or demand both: another number is then the fault."""
    assert judge(bus((2, 3, 4, 5), 1, 0), BUS, Options(terminators=1)).verdict == "pass"
    none = judge(bus((2, 3, 4, 5), 0, 0), BUS, Options(terminators=2))
    assert [(one.fault, one.value, one.limit) for one in none.findings] == [("terminators", 0.0, 2.0)]


def test_joined_or_open_says_nothing_of_terminators() -> None:
    """Where the reading says joined or open and no ohms, terminators are not checked."""
    reading = bus((2, 3, 4, 5), 0, 0)
    rows = np.array(reading.resistance_ohm, dtype=object)
    rows[3, 4] = rows[4, 3] = rows[8, 9] = rows[9, 8] = None
    bare = Reading(None, TESTER, None, "tester", tuple(NAMES), tuple(NAMES), tuple(map(tuple, rows.tolist())))
    seen = judge(bare, BUS)
    assert seen.terminators is None
    assert "terminators" in [item.what for item in seen.not_checked]
