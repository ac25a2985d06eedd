"""Whole judgements: a reading in, verdict, findings and what was not checked out."""

import json
import random
import subprocess
import sys
from typing import cast

import pytest
from msgspec.structs import replace

from tests.judge.bench_readings import EIGHT, STRAIGHT, faults, missing, rj45
from tests.judge.test_electrical_verdict import COARSE
from tests.judge.wiring.oracle import mirrored, said
from tests.strategies import apart, cable, joined, plugs, reading_of, spoiled_nets, two_plug_patterns
from wiremap.cable.limits import limits
from wiremap.cable.patterns import Pattern, ScreenRule, pattern, pattern_names
from wiremap.errors import UsageError
from wiremap.judge.findings import CHECKS, Finding, NotChecked
from wiremap.judge.verdict import Options, judge, to_builtins
from wiremap.judge.wiring.nearest import Nearest
from wiremap.reading.reading import Ohm, Reading

CROSSOVER = pattern("crossover")


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
        "leakage": "continuity-only",
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
    """Judging loads no serial line, no command line, no pictures and no arrays."""
    heavy = ("serial", "typer", "matplotlib", "numpy", "rich")
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
