"""Whole judgements: a reading in, verdict, findings and what was not checked out."""

import json
import math
import random
import subprocess
import sys
from collections.abc import Mapping
from typing import cast

import pytest
from msgspec.structs import replace

from tests.judge.run.nodal import two_terminal
from tests.judge.wiring.oracle import mirrored, said
from tests.strategies import BENCH, apart, cable, joined, plugs, reading_of, spoiled_nets, two_plug_patterns
from wiremap.cable.limits import limits
from wiremap.cable.patterns import Pattern, ScreenRule, pattern, pattern_names
from wiremap.contact import far_contact, near_contact
from wiremap.errors import UsageError
from wiremap.judge.findings import CHECKS, Finding, NotChecked
from wiremap.judge.verdict import Diagnosis, Options, judge, to_builtins
from wiremap.judge.wiring.nearest import Nearest
from wiremap.reading.parts import Event, ForeignVoltage
from wiremap.reading.reading import Ohm, Reading

STRAIGHT = pattern("straight")
CROSSOVER = pattern("crossover")
EIGHT = {n: n for n in range(1, 9)}
COARSE = replace(BENCH, resolution_ohm=2.0)
APART = (near_contact("3"), far_contact("3"))
PORT_TIED = "port whose unused pairs are tied"


def rj45(
    arrives: Mapping[int, int] | None = None,
    *groups: str,
    screen: bool = True,
    changed: Mapping[tuple[str, str], Ohm] | None = None,
    low_level: Mapping[tuple[str, str], Ohm] | None = None,
) -> Reading:
    """Return a bench reading of an RJ45 cable, straight unless said otherwise."""
    nets = joined(cable(STRAIGHT, EIGHT if arrives is None else arrives, screen), *groups)
    return reading_of(nets, plugs(STRAIGHT), changed=changed, low_level=low_level)


def faults(diagnosis: Diagnosis) -> list[str]:
    """Return the faults found, in order."""
    return [finding.fault for finding in diagnosis.findings]


def rounded(finding: Finding) -> Finding:
    """Return the finding with its numbers to a microohm."""
    value, limit = (None if number is None else round(number, 6) for number in (finding.value, finding.limit))
    return replace(finding, value=value, limit=limit)


def missing(diagnosis: Diagnosis) -> dict[str, str]:
    """Return what was not checked, with the reasons."""
    return {item.what: item.why for item in diagnosis.not_checked}


@pytest.mark.parametrize("name", pattern_names())
def test_every_pattern_is_met_by_a_cable_made_so(name: str) -> None:
    """A cable that is as the pattern has it passes, and no other pattern of the same plugs is met by it."""
    expect = pattern(name)
    made = cable(expect, dict(expect.conductors)) if expect.far_connector else joined(apart(expect), *_groups(expect))
    reading = reading_of(made, plugs(expect))
    passed = judge(reading, expect)
    assert (passed.verdict, passed.findings, passed.nearest, passed.cause) == ("pass", (), None, None)
    for other in map(pattern, pattern_names()):
        if plugs(other) == plugs(expect) and (other.conductors, other.joins) != (expect.conductors, expect.joins):
            assert judge(reading, other).verdict == "fail", other.name


def _groups(expect: Pattern) -> list[str]:
    return [", ".join(f"near {contact}" for contact in row) for _, row in expect.joins]


def test_a_crossover_copied_from_its_near_end() -> None:
    """A crossover cable whose second plug is a copy of the first is straight, and that is the one cause."""
    seen = judge(rj45(), CROSSOVER)
    assert seen.verdict == "fail"
    assert seen.findings == (Finding("crossed-pairs", ("1", "2", "3", "6"), ("1", "2", "3", "6")),)
    assert (seen.nearest, seen.cause) == (Nearest("straight", 0), "straight")


def test_a_crossover_where_straight_is_wanted() -> None:
    """The other way round the cable is a sound crossover."""
    seen = judge(rj45({**EIGHT, 1: 3, 2: 6, 3: 1, 6: 2}), STRAIGHT)
    assert faults(seen) == ["crossed-pairs"]
    assert (seen.verdict, seen.nearest, seen.cause) == ("fail", Nearest("crossover", 0), None)


def test_3_and_6_exchanged() -> None:
    """Contacts 3 and 6 exchanged in a crossover are one reversed pair."""
    seen = judge(rj45({**EIGHT, 1: 3, 2: 6, 3: 2, 6: 1}), CROSSOVER)
    assert seen.findings == (Finding("reversed-pair", ("3", "6"), ("2", "1")),)
    assert seen.verdict == "fail"


def test_the_blue_pair_reversed() -> None:
    """The blue pair reversed is one reversed pair."""
    seen = judge(rj45({**EIGHT, 4: 5, 5: 4}), STRAIGHT)
    assert seen.findings == (Finding("reversed-pair", ("4", "5"), ("5", "4")),)


def test_a_plug_turned_over() -> None:
    """A plug turned over is found as such whatever the pattern, at either end."""
    assert judge(rj45({n: 9 - n for n in EIGHT}), STRAIGHT).cause == "plug-turned-over"
    route = {int(a): int(b) for a, b in CROSSOVER.conductors}
    far_turned = judge(rj45({a: 9 - b for a, b in route.items()}), CROSSOVER)
    near_turned = judge(rj45({9 - a: b for a, b in route.items()}), CROSSOVER)
    assert far_turned.cause == near_turned.cause == "plug-turned-over"
    assert far_turned.verdict == near_turned.verdict == "fail"


@pytest.mark.parametrize(
    ("arrives", "cause"),
    [
        ({n: n + 1 for n in range(1, 8)}, "shifted-by-one"),
        ({n: n - 1 for n in range(2, 9)}, "shifted-by-one"),
        ({**EIGHT, 4: 6, 6: 4}, "in-sequence"),
        ({**EIGHT, 1: 2, 2: 1, 3: 6, 6: 3, 7: 8, 8: 7}, "solid-first"),
        ({**EIGHT, 1: 3, 3: 1}, "half-crossed"),
        ({**EIGHT, 2: 6, 6: 2}, "half-crossed"),
        ({**EIGHT, 1: 7, 7: 1}, None),
        ({**EIGHT, 4: 5, 5: 4}, None),
    ],
)
def test_causes(arrives: dict[int, int], cause: str | None) -> None:
    """Mistakes that people make have a name when they explain everything that is wrong (common practice, no source)."""
    seen = judge(rj45(arrives), STRAIGHT)
    assert (seen.verdict, seen.cause) == ("fail", cause)


def test_no_cause_when_something_else_is_wrong_as_well() -> None:
    """A short, or one conductor more out of place, takes the name away."""
    turned = {n: 9 - n for n in EIGHT}
    assert judge(rj45(turned, "near 1, near 2"), STRAIGHT).cause is None
    assert judge(rj45({**turned, 1: 7, 2: 8}), STRAIGHT).cause is None


def test_an_open_screen() -> None:
    """An open screen is a finding only where it is demanded; else it stands in what was not checked."""
    reading = rj45(screen=False)
    seen = judge(reading, STRAIGHT)
    assert (seen.verdict, seen.findings, missing(seen)["screen"]) == ("pass", (), "not-asked")
    demanded = judge(reading, STRAIGHT, Options(screen="both"))
    assert (demanded.verdict, faults(demanded)) == ("fail", ["screen-open"])
    assert judge(rj45(), STRAIGHT, Options(screen="both")).verdict == "pass"
    assert judge(rj45(), STRAIGHT, Options(screen="near")).findings[0].end == "far"
    one_end = judge(reading, STRAIGHT, Options(screen="near"))
    assert (one_end.verdict, missing(one_end)["screen"]) == ("pass", "which-end")


@pytest.mark.parametrize("rule", ["any", "both", "near", "far", "none"])
def test_shorts(rule: ScreenRule) -> None:
    """Two conductors joined are a short, one joined to the screen is a screen short, whatever the screen must do."""
    seen = judge(rj45(None, "near 4, near 7"), STRAIGHT)
    assert seen.findings == (Finding("short", ("4", "7"), ("4", "7")),)
    seen = judge(rj45(None, "near 4, near S"), STRAIGHT, Options(screen=rule))
    assert seen.findings[0] == Finding("screen-short", ("4", "S"), ("4", "S"))
    assert seen.verdict == "fail"


def test_a_four_conductor_m12_cable() -> None:
    """An M12 D-coded cable filled in sequence has its inner conductors exchanged, and the mistake has a name."""
    expect = pattern("m12d-rj45")
    seen = judge(reading_of(cable(expect, {1: 1, 2: 2, 3: 3, 4: 6}), plugs(expect)), expect)
    assert seen.findings == (Finding("miswire", ("2", "3"), ("2", "3")),)
    assert seen.cause == "in-sequence"
    straight = reading_of(cable(expect, {1: 1, 2: 3, 3: 2, 4: 6}), plugs(expect))
    mirrored_plug = judge(reading_of(cable(expect, {1: 1, 4: 3, 3: 2, 2: 6}), plugs(expect)), expect)
    assert (faults(mirrored_plug), mirrored_plug.cause) == (["reversed-pair"], "wrong-side")
    crossed = judge(straight, pattern("m12d-rj45-crossover"))
    assert (crossed.nearest, crossed.cause) == (Nearest("m12d-rj45", 0), "straight")


def test_a_reading_of_near_by_far_alone() -> None:
    """Near by far alone is enough for a verdict; shorts of what reaches nothing stand in what was not checked."""
    contacts = tuple("12345678")
    nets = [frozenset({("near", c), ("far", c)}) for c in contacts]
    seen = judge(reading_of(nets, (contacts, contacts), ohm="joined", tester=None, near_far_only=True), STRAIGHT)
    assert seen.verdict == "pass"
    assert missing(seen) == {
        "screen": "not-measured",
        "shorts": "near-far-only",
        "resistance": "continuity-only",
        "resistance-unbalance": "continuity-only",
        "contact-film": "not-measured",
        "foreign-voltage": "not-measured",
        "split-pairs": "not-measured",
        "length": "not-measured",
    }
    shorted = [frozenset({("near", "1"), ("near", "2"), ("far", "1"), ("far", "2")}), *nets[2:]]
    seen = judge(reading_of(shorted, (contacts, contacts), tester=None, near_far_only=True), STRAIGHT)
    assert seen.findings == (Finding("short", ("1", "2"), ("1", "2")),)


def test_what_was_not_measured_is_not_called_open() -> None:
    """A contact with a gap in its row is not open, and continuity that was measured in part is undecided."""
    gap = judge(rj45({n: n for n in range(1, 8)}, changed={("near 8", "far 8"): None}), STRAIGHT)
    assert (gap.verdict, gap.findings, missing(gap)["continuity"]) == ("undecided", (), "not-measured")
    other = judge(rj45({**EIGHT, 1: 2, 2: 1}, changed={("near 8", "far 7"): None}), STRAIGHT)
    assert (other.verdict, faults(other)) == ("fail", ["reversed-pair"])
    within = judge(rj45(changed={("near 8", "near 7"): None}), STRAIGHT)
    assert (within.verdict, missing(within)["shorts"]) == ("pass", "not-measured")


def test_the_far_end_open() -> None:
    """With the far plug in nothing, continuity is not judged: shorts at the near end are seen, an open is not said."""
    nothing = apart(STRAIGHT)
    seen = judge(reading_of(nothing, plugs(STRAIGHT), far_is="open"), STRAIGHT)
    assert (seen.verdict, seen.findings, missing(seen)["continuity"]) == ("undecided", (), "far-end-open")
    seen = judge(reading_of(joined(nothing, "near 4, near 7"), plugs(STRAIGHT), far_is="open"), STRAIGHT)
    assert (seen.verdict, seen.findings) == ("fail", (Finding("short", ("4", "7")),))
    loopback = pattern("loopback-100")
    plug = joined(apart(loopback), *_groups(loopback))
    assert judge(reading_of(plug, plugs(loopback), far_is="open"), loopback).verdict == "pass"


def test_required_checks() -> None:
    """A required check that was not made turns pass into undecided; a fault stays one; an unknown check is refused."""
    assert judge(rj45(), STRAIGHT, Options(require=("split-pairs",))).verdict == "undecided"
    assert judge(rj45(), STRAIGHT, Options(require=("screen", "shorts", "contact-film"))).verdict == "pass"
    for never in ("intermittent", "capacitance"):
        seen = judge(rj45(), STRAIGHT, Options(require=(never,)))
        assert (seen.verdict, missing(seen)[never]) == ("undecided", "not-measured")
    loopback = pattern("loopback-100")
    plug = reading_of(joined(apart(loopback), *_groups(loopback)), plugs(loopback))
    assert judge(plug, loopback).verdict == "pass"
    assert judge(plug, loopback, Options(require=("length",))).verdict == "undecided"
    assert judge(rj45({**EIGHT, 1: 2, 2: 1}), STRAIGHT, Options(require=("length",))).verdict == "fail"
    with pytest.raises(UsageError, match="there is no check 'colour'") as caught:
        Options(require=("colour",))
    assert all(check in caught.value.hint for check in CHECKS)


def test_contacts_that_do_not_fit() -> None:
    """A reading of other plugs is a wrong request that lists the contacts of both."""
    with pytest.raises(UsageError, match=r"1, 2, 3, 4, 5, 6, 7, 8, S do not fit 'm12d-rj45', whose near plug has 1, 2"):
        judge(rj45(), pattern("m12d-rj45"))


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


def test_without_expectation_a_sound_cable_is_undecided() -> None:
    """Without an expectation nothing passes; the nearest pattern is named."""
    seen = judge(rj45())
    assert (seen.verdict, seen.expect, seen.nearest, seen.findings) == ("undecided", None, Nearest("straight", 0), ())
    assert judge(rj45({**EIGHT, 1: 3, 2: 6, 3: 1, 6: 2})).nearest == Nearest("crossover", 0)


def test_without_expectation_a_wrong_order_is_undecided() -> None:
    """An order that no known pattern has may be meant: undecided, and how many conductors are away is said."""
    seen = judge(rj45({**EIGHT, 3: 6, 6: 3}))
    assert (seen.verdict, seen.nearest) == ("undecided", Nearest("straight", 2))
    assert seen.findings == (Finding("reversed-pair", ("3", "6"), ("6", "3"), certainty="likely"),)


@pytest.mark.parametrize(
    ("reading", "fault", "away"),
    [
        (rj45({n: n for n in range(1, 8)}), "open", 1),
        (rj45(None, "near 4, near 5"), "short", 2),
        (rj45(None, "near 4, near S"), "screen-short", 1),
        (rj45({}), "open", 8),
    ],
)
def test_without_expectation_what_fits_no_pattern_fails(reading: Reading, fault: str, away: int) -> None:
    """An open or a short fits no pattern, whatever was meant: fail."""
    seen = judge(reading)
    assert (seen.verdict, seen.nearest) == ("fail", Nearest("straight", away))
    assert fault in faults(seen)


def test_without_expectation_four_conductors_are_two_pairs() -> None:
    """A cable with four conductors on 1, 2, 3 and 6 is a two-pair cable, not an eight-conductor one with opens."""
    assert judge(rj45({n: n for n in (1, 2, 3, 6)})).nearest == Nearest("straight-2pair", 0)


def test_nothing_is_known_of_other_plugs() -> None:
    """Contacts that no pattern has are undecided and not an error."""
    contacts = (("1", "2", "3"), ("1", "2", "3"))
    seen = judge(reading_of([], contacts))
    assert (seen.verdict, seen.nearest) == ("undecided", None)


def test_limits_can_be_others() -> None:
    """The limits used are those given: the same reading fails by narrower ones."""
    reading = rj45(changed={("near 5", "far 5"): 0.7})
    narrow = replace(limits(), step_ohm=0.3, unbalance_floor_ohm=9.0)
    assert judge(reading, STRAIGHT, Options(limits=replace(limits(), unbalance_floor_ohm=9.0))).verdict == "pass"
    assert faults(judge(reading, STRAIGHT, Options(limits=narrow))) == ["high-resistance"]


def test_a_diagnosis_as_json() -> None:
    """A diagnosis is plain JSON: what was not made is absent, an unknown place is null."""
    plain = to_builtins(judge(rj45({**EIGHT, 1: 3, 2: 6, 3: 2, 6: 1}), STRAIGHT))
    assert json.loads(json.dumps(plain)) == plain
    assert list(plain) == ["format", "verdict", "expect", "findings", "not_checked"]
    assert plain["findings"] == [
        {
            "fault": "crossed-pairs",
            "near": ["1", "2", "3", "6"],
            "far": ["3", "6", "2", "1"],
            "end": None,
            "at_m": None,
            "certainty": "confirmed",
            "polarity_exchanged": ["3-2", "6-1"],
        }
    ]
    plain = to_builtins(judge(rj45(), CROSSOVER))
    assert plain["nearest"] == {"pattern": "straight", "away": 0}
    assert plain["cause"] == "straight"
    assert plain["not_checked"] == [
        {"what": "split-pairs", "why": "not-measured"},
        {"what": "length", "why": "not-measured"},
    ]


def test_judging_is_light() -> None:
    """Judging loads no serial line, no command line, no pictures and no decoder."""
    heavy = ("serial", "typer", "matplotlib", "msgspec", "rich")
    code = f"import sys, wiremap.judge.verdict; sys.exit(', '.join(set({heavy!r}) & set(sys.modules)) or 0)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def turned(reading: Reading) -> Reading:
    """Return the reading of the same cable turned end for end."""
    near, far = len(reading.near_contacts), len(reading.far_contacts)
    order = (*range(near, near + far), *range(near))

    def rows(matrix: tuple[tuple[Ohm, ...], ...]) -> tuple[tuple[Ohm, ...], ...]:
        return tuple(tuple(matrix[i][j] for j in order) for i in order)

    return replace(
        reading,
        near_contacts=reading.far_contacts,
        far_contacts=reading.near_contacts,
        resistance_ohm=rows(reading.resistance_ohm),
        low_level_ohm=rows(reading.low_level_ohm) if reading.low_level_ohm else None,
    )


def said_with_numbers(finding: Finding, mirror: bool) -> tuple[object, ...]:
    """Return all that a finding says, so that two are equal when they mean the same."""
    other: dict[object, object] = {"near": "far", "far": "near"} if mirror else {}
    what = mirrored(finding) if mirror else said(finding)
    return (*what, other.get(finding.end, finding.end), finding.certainty, finding.value, finding.limit, finding.detail)


def random_reading(choose: random.Random, expect: Pattern) -> Reading:
    """Return a reading of a spoiled cable with poor contacts, films, leaks and gaps."""
    near, far = plugs(expect)
    contacts = [*(f"near {c}" for c in near), *(f"far {c}" for c in far)]
    changed: dict[tuple[str, str], Ohm] = {}
    low: dict[tuple[str, str], Ohm] = {}
    for a, b in expect.conductors:
        if choose.random() < 0.1:
            changed[f"near {a}", f"far {b}"] = choose.choice((0.2, 0.6, 1.0, 14.0, 900.0, 5e4, "open", "joined"))
        if choose.random() < 0.05:
            low[f"near {a}", f"far {b}"] = choose.choice((0.2, 1.3, 20.0, "open", None))
    for _ in range(choose.choice((0, 0, 1, 3))):
        a, b = choose.sample(contacts, 2)
        changed[a, b] = choose.choice((0.1, 70.0, 120.0, 3e3, 2e5, None, "joined", "open"))
    return reading_of(spoiled_nets(choose, expect), (near, far), changed=changed, low_level=low)


def test_turning_the_cable_mirrors_what_is_said() -> None:
    """A cable turned end for end, poor contacts and leaks and gaps included, gives the mirror of all that is said."""
    choose = random.Random(17)
    other: dict[str | None, ScreenRule | None] = {"near": "far", "far": "near", "both": "both", None: None}
    seen = set()
    for expect in two_plug_patterns() * 12:
        rule = choose.choice(list(other))
        reading = random_reading(choose, expect)
        here = judge(reading, expect, Options(screen=cast(ScreenRule | None, rule)))
        there = judge(turned(reading), expect.swapped(), Options(screen=other[rule]))
        assert here.verdict == there.verdict
        assert set(here.not_checked) == set(there.not_checked)
        assert {said_with_numbers(f, mirror=False) for f in here.findings} == {
            said_with_numbers(f, mirror=True) for f in there.findings
        }
        seen |= set(faults(here))
    assert seen >= {"open", "short", "crossed-pairs", "high-resistance", "leakage", "contact-film", "screen-open"}


def test_a_verdict_is_what_its_findings_are() -> None:
    """Whatever was read, with or without a pattern: pass without findings, fail with a sure one, else undecided."""
    choose = random.Random(23)
    verdicts = set()
    for expect in two_plug_patterns() * 12:
        reading = replace(random_reading(choose, expect), far=choose.choice(("tester", "tester", "open", "remote")))
        for wanted in (expect, None):
            seen = judge(reading, wanted)
            sure = [f for f in seen.findings if f.certainty == "confirmed" and f.fault != "leakage"]
            stopped = "equipment-attached" in faults(seen)
            if seen.verdict == "pass":
                assert wanted is not None
                assert not seen.findings
                assert "continuity" not in missing(seen)
            assert (seen.verdict == "fail") == (bool(sure) and not stopped)
            verdicts.add(seen.verdict)
    assert verdicts == {"pass", "fail", "undecided"}


def test_not_checked_is_said_once() -> None:
    """No check stands twice in what was not checked."""
    for reading in (rj45(), replace(rj45(), tester=COARSE), replace(rj45(), tester=None)):
        seen = judge(reading, STRAIGHT)
        assert len(missing(seen)) == len(seen.not_checked)
    assert NotChecked("length", "not-measured") in judge(rj45(), STRAIGHT).not_checked
