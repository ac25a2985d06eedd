"""A remote at the far end: what its resistors promise, and what is read from the near end alone."""

import random
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.judge.wiring.remote_design import hottest_watt, series_resistance_seen_ohm, smallest_gap_ohm
from tests.judge.wiring.remote_trials import CONTACTS, EXPECTED, Ohms, decode_many
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.cable.remotes import POE_REFUSED_BELOW_OHM, remote_set
from wiremap.contact import far_contact, near_contact
from wiremap.errors import UsageError
from wiremap.judge.verdict import judge
from wiremap.judge.wiring.far_end import as_both_ends, joined_conductor_ohms
from wiremap.judge.wiring.laid_reading import laid_as
from wiremap.judge.wiring.layout import lay_near_plug
from wiremap.judge.wiring.remote import RemoteSeen, read_remote
from wiremap.reading.parts import Tester
from wiremap.reading.reading import Far, Ohm, Reading, square

KNOWN = remote_set()
RULES = limits()
STRAIGHT = pattern("straight")
E96 = tuple(round(100 * 10 ** (step / 96)) for step in range(96))


def through(letter: str, route: dict[str, str], run_ohm: float = 5.0, spread: float = 0.0, seed: int = 0) -> Ohms:
    """Return what lies between near contacts, each conductor alone, resistors off by up to `spread`."""
    choose = random.Random(seed)
    values = dict(KNOWN.remote(letter).resistors)
    behind = {near: values[far] * (1 + choose.uniform(-spread, spread)) + run_ohm for near, far in route.items()}
    found: Ohms = {}
    for a in CONTACTS:
        for b in CONTACTS:
            if a != b:
                found[a, b] = behind[a] + behind[b] if a in behind and b in behind else "open"
    return found


def read(ohm: Ohms) -> RemoteSeen:
    """Read a remote on a RJ45 run that should be straight."""
    return read_remote(CONTACTS, CONTACTS, ohm, RULES, EXPECTED)


def test_values_are_e96_and_no_power_source_takes_them_for_a_device() -> None:
    """Every value is of E96 (IEC 60063, from memory), and any two in series are below 14.5 kohm (IEEE 802.3, ditto)."""
    for remote in KNOWN.remotes:
        values = [ohm for _, ohm in remote.resistors]
        assert all(ohm / 10 in E96 for ohm in values)
        assert all(a + b < POE_REFUSED_BELOW_OHM for a, b in combinations(values, 2))
        assert max(values) < 7500.0
    assert len(E96) == 96


def test_the_margin_between_values() -> None:
    """With 1 % parts, 0.3 % besides and 20 ohm of run no value looks like another, nor 200 ohm more like the next."""
    assert smallest_gap_ohm(KNOWN, KNOWN.deviation) > 0.0
    assert smallest_gap_ohm(KNOWN, 0.01) > 7.0
    assert series_resistance_seen_ohm(KNOWN, KNOWN.deviation) > RULES.joined_ohm


def test_how_warm_a_remote_gets() -> None:
    """At 57 V over two or four pairs, however crossed, no resistor has more than its watt; with breaks up to 1.2 W."""
    for remote in KNOWN.remotes:
        assert hottest_watt(remote, 2, 2) < KNOWN.rated_watt
        assert hottest_watt(remote, 4, 4) < KNOWN.rated_watt
        assert hottest_watt(remote, 1, 2) < KNOWN.rated_watt
        assert hottest_watt(remote, 1, 4) < 1.2
    one = KNOWN.remote("A")
    assert hottest_watt(one, 1, 1) == pytest.approx(57.0**2 * 1690 / (1400 + 1690) ** 2)
    assert "NEVER INTO EQUIPMENT" in KNOWN.label


def test_few_joined_contacts_look_like_a_third() -> None:
    """Of the 672 pairs of a remote's contacts that may stand in parallel, 4 can look like a third contact."""
    alike = 0
    deviation, more = KNOWN.deviation, KNOWN.resistance_of_run_ohm
    for remote in KNOWN.remotes:
        values = {contact: ohm for contact, ohm in remote.resistors if contact != "S"}
        for single, ohm in values.items():
            for a, b in combinations([contact for contact in values if contact != single], 2):
                parallel = values[a] * values[b] / (values[a] + values[b])
                low, high = sorted((parallel, ohm))
                alike += low * (1 + deviation) + more > high * (1 - deviation)
    assert alike == 4


@given(
    st.sampled_from("ABCD"),
    st.permutations(CONTACTS[:8]),
    st.integers(3, 8),
    st.floats(0.0, 14.0),
    st.integers(0, 2**32),
)
@settings(deadline=None, derandomize=True, database=None, max_examples=150)
def test_three_conductors_or_more_are_exact(
    letter: str, order: list[str], count: int, run_ohm: float, seed: int
) -> None:
    """Three or more separate conductors in the right places tell the remote and the mapping, whatever the rest."""
    route = {contact: contact for contact in order[:count]}
    seen = read(through(letter, route, run_ohm, 0.01, seed))
    assert seen.letter == letter
    if seen.certainty == "exact":
        assert {net.near[0]: net.far[0][0] for net in seen.nets} == route
        assert set(seen.unreached) == set(CONTACTS) - set(route)
    else:
        assert seen.why == "ambiguous"
        assert count < 7
        assert all((route[net.near[0]],) in net.far for net in seen.nets)


def test_every_order_of_all_conductors_is_read() -> None:
    """With all eight through, any order is read exactly, for each remote."""
    choose = random.Random(2)
    for letter in "ABCD":
        for seed in range(40):
            order = choose.sample(CONTACTS[:8], 8)
            route = dict(zip(CONTACTS[:8], order, strict=True))
            seen = read(through(letter, route, choose.uniform(0, 14), 0.01, seed))
            assert (seen.letter, seen.certainty) == (letter, "exact")
            assert {net.near[0]: net.far[0][0] for net in seen.nets} == route


def test_two_conductors_are_likely_and_one_says_nothing() -> None:
    """Two give only a sum: likely when it fits, which remote unknown; one, or none, is undecided."""
    two = read(through("C", {"4": "4", "5": "5"}))
    assert (two.certainty, two.why, two.letter) == ("likely", "two-conductors", None)
    crossed = read(through("C", {"4": "7", "5": "8"}))
    assert crossed.certainty == "undecided"
    for route in ({}, {"4": "4"}):
        assert read(through("C", route)).certainty == "undecided"


def test_within_a_short_the_order_is_not_told() -> None:
    """Contacts that a short joins are read as a set; which of them goes where is not said."""
    ohm = through("B", EXPECTED)
    values = dict(KNOWN.remote("B").resistors)
    together = 1 / (1 / values["3"] + 1 / values["6"])
    for contact in CONTACTS:
        for joined in ("3", "6"):
            if contact not in ("3", "6"):
                ohm[joined, contact] = ohm[contact, joined] = together + values[contact] + 10.0
    ohm["3", "6"] = ohm["6", "3"] = 0.4
    seen = read(ohm)
    assert seen.certainty == "exact"
    assert next(net for net in seen.nets if len(net.near) > 1).far == (("3", "6"),)


def test_what_is_no_remote_is_not_taken_for_one() -> None:
    """Resistances that no star gives, or values of no remote, are undecided, never a mapping."""
    choose = random.Random(6)
    for _ in range(50):
        ohm: Ohms = {}
        for a, b in combinations(CONTACTS, 2):
            ohm[a, b] = ohm[b, a] = choose.uniform(300.0, 14000.0)
        assert read(ohm).certainty == "undecided"
    equal: Ohms = dict.fromkeys(through("A", EXPECTED), 4000.0)
    assert read(equal).certainty == "undecided"


def test_no_wrong_mapping_is_called_exact() -> None:
    """Of random runs with opens and shorts, none that is called exact is wrong; with none through nothing is said."""
    result = decode_many(3, 600)
    assert result.wrong == 0
    assert result.shares()["exact"] > 0.6
    assert all(certainty == "undecided" for (through_count, certainty) in result.counts if through_count < 2)


def reading(ohm: dict[tuple[str, str], Ohm], far: Far) -> Reading:
    """Return a reading of near contacts only."""
    places = [*map(near_contact, CONTACTS), *map(far_contact, CONTACTS)]
    values = {(near_contact(a), near_contact(b)): value for (a, b), value in ohm.items()}
    rows = tuple(
        tuple(None if not (a.end == b.end == "near") and a != b else cell for b, cell in zip(places, row, strict=True))
        for a, row in zip(places, square(places, values, "open"), strict=True)
    )
    tester = Tester("WIREMAP", "BENCH-18", "1", "1.0", ("RES", "FOREIGN"), 0.02)
    return Reading(None, tester, None, far, CONTACTS, CONTACTS, rows)


def test_a_run_judged_through_a_remote() -> None:
    """Through a remote a reversed pair fails, a sound run passes, and resistance, pairs and length stay unchecked."""
    sound = judge(reading(through("D", EXPECTED), "remote"), STRAIGHT)
    assert sound.verdict == "pass"
    assert sound.remote is not None
    assert sound.remote.letter == "D"
    assert {item.what for item in sound.not_checked} >= {"resistance", "split-pairs", "length"}
    reversed_pair = EXPECTED | {"4": "5", "5": "4"}
    found = judge(reading(through("D", reversed_pair), "remote"), STRAIGHT)
    assert found.verdict == "fail"
    assert [finding.fault for finding in found.findings] == ["reversed-pair"]
    two = judge(reading(through("D", {"1": "1", "2": "2"}), "remote"), STRAIGHT)
    assert two.verdict == "undecided"


def test_an_open_through_a_remote() -> None:
    """A conductor that does not reach the remote is open at both ends of it, and nothing else is wrong."""
    seen = judge(reading(through("A", {c: c for c in CONTACTS if c != "7"}), "remote"), STRAIGHT)
    assert seen.verdict == "fail"
    assert [(finding.fault, finding.near, finding.far) for finding in seen.findings] == [("open", ("7",), ("7",))]


def test_a_joining_plug_gives_each_conductor() -> None:
    """With all far contacts joined each conductor's resistance follows from the loops, and unbalance is seen."""
    own = {c: 2.0 + 0.02 * n for n, c in enumerate(CONTACTS)}
    own["5"] = 4.0
    loops: dict[tuple[str, str], Ohm] = {(a, b): own[a] + own[b] for a in own for b in own if a != b}
    seen = reading(loops, "joined")
    assert joined_conductor_ohms(
        laid_as(seen, lay_near_plug(pattern("straight"), seen.near_contacts, seen.far_contacts), RULES)
    ) == pytest.approx(own)
    found = judge(seen, STRAIGHT)
    assert found.verdict == "fail"
    assert [finding.fault for finding in found.findings] == ["resistance-unbalance"]
    assert {loop.pair: loop.ohm for loop in found.loops}["1", "2"] == pytest.approx(own["1"] + own["2"])
    broken = {pair: "open" if "3" in pair else value for pair, value in loops.items()}
    assert "open" in [finding.fault for finding in judge(reading(broken, "joined"), STRAIGHT).findings]


def test_equipment_closes_loops_and_hides_the_rest() -> None:
    """With equipment at the far end a pair is a loop or open; the verdict is never more than undecided."""
    loops: dict[tuple[str, str], Ohm] = {}
    for a, b in combinations(CONTACTS, 2):
        paired = {a, b} in ({"1", "2"}, {"3", "6"}, {"7", "8"})
        loops[a, b] = loops[b, a] = 6.0 if paired else "open"
    found = judge(reading(loops, "equipment"), STRAIGHT)
    assert found.verdict == "undecided"
    assert {loop.pair: loop.ohm is None for loop in found.loops}["4", "5"]
    assert {item.what for item in found.not_checked} >= {"continuity", "split-pairs", "shorts"}


def test_a_reading_through_a_remote_as_if_at_both_ends() -> None:
    """What a remote shows stands as joined or open between both plugs; what it does not show is not measured."""
    seen = read(through("A", {"1": "1", "2": "2", "3": "3"}))
    both = as_both_ends(reading(through("A", {"1": "1", "2": "2", "3": "3"}), "remote"), seen, CONTACTS)
    assert both.far == "tester"
    assert both.resistance_ohm[0][9] == "joined"
    assert both.resistance_ohm[0][10] == "open"
    unsure = read(through("A", {"1": "1", "2": "2"}))
    half = as_both_ends(reading(through("A", {"1": "1", "2": "2"}), "remote"), unsure, CONTACTS)
    assert half.resistance_ohm[0][9] is None


def test_letters() -> None:
    """A remote is asked for by its letter; another is refused with those there are."""
    assert KNOWN.remote("B").ohm("1") == 1470.0
    assert KNOWN.remote("B").fitted(("1", "2")).ohm("3") is None
    with pytest.raises(UsageError, match="no remote 'E'") as refused:
        KNOWN.remote("E")
    assert "A, B, C, D" in refused.value.hint
