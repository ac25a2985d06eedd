"""Whole judgements of what is measured beside continuity: ohms, leaks, voltages, equipment, events, terminators."""

import math

import pytest
from msgspec.structs import replace

from tests.judge.bench_readings import EIGHT, STRAIGHT, faults, missing, rj45, rounded
from tests.judge.run.nodal import two_terminal
from tests.strategies import BENCH, apart, joined, plugs, reading_of
from wiremap.cable.patterns import pattern
from wiremap.contact import far_contact, near_contact
from wiremap.judge.findings import Finding
from wiremap.judge.verdict import judge
from wiremap.reading.parts import Event, ForeignVoltage
from wiremap.reading.reading import Ohm, Reading

COARSE = replace(BENCH, resolution_ohm=2.0)
APART = (near_contact("3"), far_contact("3"))
PORT_TIED = "port whose unused pairs are tied"


@pytest.mark.parametrize(
    ("ohm", "found"), [(0.79, False), (0.81, True), (180.0, True), (200.1, True), (10_000.0, True)]
)
def test_high_resistance(ohm: float, found: bool) -> None:
    """A conductor 0.5 ohm over the median of its cable (0.3 ohm) has a bad contact; up to 10 kohm it is no open."""
    seen = judge(rj45(changed={("near 5", "far 5"): ohm}), STRAIGHT)
    high = [rounded(finding) for finding in seen.findings if finding.fault == "high-resistance"]
    assert bool(high) == found
    if found:
        assert high == [Finding("high-resistance", ("5",), ("5",), value=ohm, limit=0.8, unit="ohm")]
        assert (seen.verdict, faults(seen)) == ("fail", ["high-resistance"])


def test_a_break_with_something_wet_across_it() -> None:
    """An expected conductor above 10 kohm is open, and the leak across it is said beside it."""
    seen = judge(rj45(changed={("near 5", "far 5"): 40_000.0}), STRAIGHT)
    assert seen.findings == (
        Finding("open", ("5",), ("5",)),
        Finding("leakage", ("5",), ("5",), value=40_000.0, limit=1e6, unit="ohm"),
    )
    assert seen.verdict == "fail"


def test_long_cables_have_wider_steps() -> None:
    """On a long run a tenth of the median is allowed: 18.7 ohm a conductor (200 m) does not accuse one of 20 ohm."""
    long = {(f"near {n}", f"far {n}"): 18.7 for n in EIGHT}
    assert judge(rj45(changed={**long, ("near 1", "far 1"): 20.0, ("near 2", "far 2"): 20.0}), STRAIGHT).findings == ()
    assert faults(judge(rj45(changed={**long, ("near 1", "far 1"): 20.6}), STRAIGHT)) == ["high-resistance"]


def test_a_coarse_tester_says_what_it_cannot_see() -> None:
    """A tester with steps of 2 ohm accuses no conductor of less than three uncertainties, and says so."""
    coarse = replace(rj45(changed={("near 5", "far 5"): 2.0}), tester=COARSE)
    seen = judge(coarse, STRAIGHT)
    assert seen.findings == ()
    assert missing(seen)["resistance"] == missing(seen)["resistance-unbalance"] == "resolution"
    assert 3 * 2.0 / math.sqrt(12) == pytest.approx(1.732, abs=1e-3)
    assert faults(judge(replace(rj45(changed={("near 5", "far 5"): 4.0}), tester=COARSE), STRAIGHT)) == [
        "high-resistance"
    ]


def test_resistance_unbalance() -> None:
    """A pair is unbalanced by more than 0.2 ohm and 3 % of the sum of its conductors; the definition is named."""
    seen = judge(rj45(changed={("near 7", "far 7"): 0.55}), STRAIGHT)
    assert tuple(map(rounded, seen.findings)) == (
        Finding(
            "resistance-unbalance",
            ("7", "8"),
            ("7", "8"),
            value=0.25,
            limit=0.2,
            unit="ohm",
            detail="(Rmax - Rmin) / (Rmax + Rmin)",
        ),
    )
    assert judge(rj45(changed={("near 7", "far 7"): 0.45}), STRAIGHT).findings == ()
    long = {(f"near {n}", f"far {n}"): 10.0 for n in EIGHT}
    assert judge(rj45(changed={**long, ("near 7", "far 7"): 10.6}), STRAIGHT).findings == ()
    assert faults(judge(rj45(changed={**long, ("near 7", "far 7"): 10.65}), STRAIGHT)) == ["resistance-unbalance"]


def test_a_film_on_a_contact() -> None:
    """A resistance that falls when the test current rises is a film: clean or replace, not pass."""
    seen = judge(rj45(low_level={("near 2", "far 2"): 4.0}), STRAIGHT)
    assert tuple(map(rounded, seen.findings)) == (
        Finding("contact-film", ("2",), ("2",), value=4.0, limit=0.8, unit="ohm"),
    )
    assert seen.verdict == "fail"
    assert judge(rj45(low_level={("near 2", "far 2"): "open"}), STRAIGHT).findings == (
        Finding("contact-film", ("2",), ("2",)),
    )
    assert missing(judge(rj45(low_level={("near 2", "far 2"): None}), STRAIGHT))["contact-film"] == "not-measured"


@pytest.mark.parametrize(
    ("step_ohm", "sd_ohm", "limit_ohm"),
    [(0.02, None, 0.8), (1.0, None, 0.3 + 3 * math.sqrt(2 / 12)), (0.02, 0.04, 0.8), (0.02, 0.4, 2.3)],
)
def test_a_fall_within_the_testers_own_scatter_is_no_film(
    step_ohm: float, sd_ohm: float | None, limit_ohm: float
) -> None:
    """From 0.5 ohm on, three uncertainties of two steps (as before a tester could say more), five said deviations."""
    tester = replace(BENCH, resolution_ohm=step_ohm, low_level_sd_ohm=sd_ohm)
    for part, verdict in ((0.99, ()), (1.01, ("contact-film",))):
        reading = replace(rj45(low_level={("near 2", "far 2"): part * limit_ohm}), tester=tester)
        found = [finding for finding in judge(reading, STRAIGHT).findings if finding.fault == "contact-film"]
        assert tuple(finding.fault for finding in found) == verdict
        assert all(finding.limit == pytest.approx(limit_ohm, rel=1e-3) for finding in found)


def test_leakage() -> None:
    """Contacts that leak into each other are one finding with the lowest resistance, and the verdict is undecided."""
    wet: dict[tuple[str, str], Ohm] = {
        ("near 1", "near 2"): 300e3,
        ("near 1", "far 2"): 300e3,
        ("far 3", "far 2"): 50e3,
    }
    seen = judge(rj45(changed=wet), STRAIGHT)
    assert seen.findings == (Finding("leakage", ("1", "2", "3"), ("1", "2", "3"), value=50e3, limit=1e6, unit="ohm"),)
    assert seen.verdict == "undecided"
    assert faults(judge(rj45(changed={("near 1", "near 2"): 1e6}), STRAIGHT)) == []


def test_foreign_voltage() -> None:
    """A voltage that was there names contact and volts, and nothing else is judged."""
    nothing = reading_of(apart(STRAIGHT), plugs(STRAIGHT), ohm=None)
    blank = tuple(tuple(0.0 if i == j else None for j in range(18)) for i in range(18))
    refused = replace(
        nothing,
        resistance_ohm=blank,
        low_level_ohm=None,
        foreign=(ForeignVoltage(near_contact("4"), 48_000, "dc"), ForeignVoltage(far_contact("7"), -310, "dc")),
    )
    seen = judge(refused, STRAIGHT)
    assert seen.verdict == "undecided"
    assert [(f.fault, f.near, f.far, f.value, f.unit, f.detail) for f in seen.findings] == [
        ("foreign-voltage", ("4",), (), 48.0, "V", "dc"),
        ("foreign-voltage", (), ("7",), -0.31, "V", "dc"),
    ]
    assert missing(seen)["continuity"] == "faults"
    assert judge(refused, None).verdict == "undecided"
    bounded = replace(rj45(), foreign=(ForeignVoltage(near_contact("4"), -4_000, "dc"),))
    for highest_mv, low in ((4_000, 4.0), (4_001, None), (None, None)):
        tester = replace(BENCH, highest_mv=highest_mv)
        assert [finding.low for finding in judge(replace(bounded, tester=tester), STRAIGHT).findings] == [low]
    small = replace(rj45(), foreign=(ForeignVoltage(near_contact("4"), 300, "dc"),))
    assert judge(small, STRAIGHT).verdict == "pass"
    probing = replace(rj45(), foreign=(ForeignVoltage(near_contact("4"), 40, "probing"),))
    assert faults(judge(probing, STRAIGHT)) == ["foreign-voltage"]
    cell = replace(rj45(), foreign=(ForeignVoltage(near_contact("4"), 450, "cell"),))
    assert (judge(cell, STRAIGHT).verdict, faults(judge(cell, STRAIGHT))) == ("undecided", ["leakage"])


def port(kind: str, end: str, loop_ohm: float = 1.0) -> Reading:
    """Return the reading of a cable whose one plug is in a switched-off port; nothing arrives at the other socket.

    The windings have centre taps with 75 ohm to a common point where the port ties unused pairs together.
    """
    parts = []
    pairs = [("1", "2"), ("3", "6")] if kind != "four pairs" else list(STRAIGHT.near_pairs)
    number = {contact: i for i, contact in enumerate("12345678")}
    for k, (plus, minus) in enumerate(pairs):
        parts += [(number[plus], 8 + k, loop_ohm / 2), (number[minus], 8 + k, loop_ohm / 2)]
        if kind == PORT_TIED:
            parts.append((8 + k, 12, 75.0))
    if kind == PORT_TIED:
        parts += [(3, 4, 0.1), (3, 12, 75.0), (6, 7, 0.1), (6, 12, 75.0)]
    ohm = two_terminal(13, parts)
    changed: dict[tuple[str, str], Ohm] = {
        (f"{end} {a}", f"{end} {b}"): float(ohm[number[a], number[b]])
        for a in number
        for b in number
        if a < b and ohm[number[a], number[b]] < math.inf
    }
    return reading_of(apart(STRAIGHT), plugs(STRAIGHT), changed=changed)


@pytest.mark.parametrize("kind", ["four pairs", "two pairs", PORT_TIED])
@pytest.mark.parametrize("end", ["near", "far"])
@pytest.mark.parametrize("loop_ohm", [1.0, 38.0])
def test_equipment_left_attached(kind: str, end: str, loop_ohm: float) -> None:
    """Pairs that are loops with nothing low between them are windings: equipment, undecided, no short listed."""
    for expect in (STRAIGHT, None):
        seen = judge(port(kind, end, loop_ohm), expect)
        assert (seen.verdict, faults(seen)) == ("undecided", ["equipment-attached"])
        assert len(seen.findings[0].near if end == "near" else seen.findings[0].far) >= 4
        assert missing(seen)["continuity"] == "faults"


def test_shorts_within_pairs_of_a_whole_cable_are_no_equipment() -> None:
    """When the conductors arrive at the far end, pairs that are joined are shorts."""
    seen = judge(rj45(None, "near 1, near 2", "near 3, near 6"), STRAIGHT)
    assert (seen.verdict, faults(seen)) == ("fail", ["short", "short"])
    one = judge(reading_of(joined(apart(STRAIGHT), "near 1, near 2"), plugs(STRAIGHT)), STRAIGHT)
    assert (one.verdict, "short" in faults(one)) == ("fail", True)


def test_equipment_that_the_tester_recognised() -> None:
    """When the tester refused because equipment is attached, that is what is said."""
    blank = tuple(tuple(0.0 if i == j else None for j in range(18)) for i in range(18))
    refused = replace(rj45(), far="equipment", resistance_ohm=blank, low_level_ohm=None)
    seen = judge(refused, STRAIGHT)
    assert (seen.verdict, faults(seen)) == ("undecided", ["equipment-attached"])


def test_intermittent() -> None:
    """Joints that came and went while watched are faults, counted for each two contacts."""
    events = (Event(1, *APART, "opened", 5_000, 2_000), Event(2, *APART, "opened", 9_000, 100))
    seen = judge(replace(rj45(), events=events), STRAIGHT)
    assert seen.findings == (Finding("intermittent", ("3",), ("3",), value=2.0, unit="events"),)
    assert seen.verdict == "fail"


@pytest.mark.parametrize("terminators", [((0, 60.0),), ((1, 120.0),), ((0, 120.0), (1, 120.0)), ()])
def test_a_bus_cable_with_terminators(terminators: tuple[tuple[int, float], ...]) -> None:
    """Between 4 and 5 of the bus 120 ohm is a terminator (ISO 11898-2), 60 ohm two, 40 ohm three, and none a short."""
    expect = pattern("m12a-5pole")

    def bus(parts: tuple[tuple[int, float], ...]) -> Reading:
        network = [(n, 5 + n, 0.3) for n in range(5)]
        network += [(5 * end + 3, 5 * end + 4, ohm) for end, ohm in parts]
        ohm = two_terminal(10, network)
        names = [f"{end} {n}" for end in ("near", "far") for n in range(1, 6)]
        changed: dict[tuple[str, str], Ohm] = {
            (names[i], names[j]): float(ohm[i, j]) for i in range(10) for j in range(i) if ohm[i, j] < math.inf
        }
        return reading_of(apart(expect), plugs(expect), changed=changed)

    count = len(terminators) if terminators != ((0, 60.0),) else 2
    seen = judge(bus(terminators), expect)
    assert seen.terminators is not None
    assert seen.terminators.count == count
    assert seen.verdict == ("fail" if count == 1 else "pass")
    three = judge(bus((*terminators, (0, 40.0))), expect)
    assert (three.verdict, [finding.fault for finding in three.findings]) == ("fail", ["terminators"])
    assert three.findings[0].value == count + 3
