"""Which conductors are twisted together, and which expected pairs are split."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from firmware_sim.cable_model.written.description import Description
from tests.judge.run import pairing_checks
from tests.judge.run.stacked import best_matchings
from tests.judge.simulated import FAR_OPEN, PAIRS, PLACES, described, fault, measured_reading
from wiremap.cable.limits import limits
from wiremap.cable.patterns import Pattern, pattern
from wiremap.calibration import Calibration
from wiremap.contact import far_contact, near_contact
from wiremap.judge.findings import Finding, NotChecked
from wiremap.judge.measurements import Pairing
from wiremap.judge.run.capacitance import Groups, groups
from wiremap.judge.run.examined import measured
from wiremap.judge.run.pairing.matching import matchings
from wiremap.judge.run.pairing.pairing import end_of, pairing_of, split_findings
from wiremap.judge.verdict import judge
from wiremap.judge.wiring.laid_reading import lay_reading
from wiremap.reading.parts import Capacitance
from wiremap.reading.reading import Reading, square

STRAIGHT = pattern("straight")
COLOURS = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")
IN_SEQUENCE = (("1", "2"), ("3", "4"), ("5", "6"), ("7", "8"))


def read(cable: Description, grouped: bool = True, noise_pf: float = 0.5, seed: int = 1, tied: bool = False) -> Reading:
    """Return a reading of a described cable, without echoes."""
    return measured_reading(cable, seed, noise_pf, grouped, echoes=False, traces=False, tied=tied)


def pairing(reading: Reading, expect: Pattern = STRAIGHT) -> Pairing | NotChecked:
    """Return the pairing by the reading's capacitances, or why that was not checked."""
    seen = measured(lay_reading(reading, expect, limits()), ())
    return seen.pairs or next(item for item in seen.not_checked if item.what == "split-pairs")


def pairs_of(reading: Reading, expect: Pattern = STRAIGHT) -> Pairing:
    """Return the pairing of a reading that allows one."""
    found = pairing(reading, expect)
    assert isinstance(found, Pairing)
    return found


def splits(reading: Reading, expect: Pattern = STRAIGHT) -> tuple[Finding, ...]:
    """Return the split-pair findings of a reading."""
    seen = groups(lay_reading(reading, expect, limits()))
    assert seen is not None
    return split_findings(pairs_of(reading, expect), seen, expect, reading.far == "tester")


@pytest.mark.parametrize("grouped", [True, False])
@pytest.mark.parametrize("kind", ["UTP", "F/UTP"])
def test_sound_cable(grouped: bool, kind: str) -> None:
    """A sound straight cable shows its four pairs, confirmed, and no split."""
    reading = read(described(3.0, kind=kind), grouped)
    pairs = pairs_of(reading)
    assert pairs.pairs == PAIRS
    assert (pairs.verdict, pairs.method) == ("confirmed", "direct" if grouped else "two_terminal")
    assert (pairs.split, pairs.split_z) == ((), 0.0)
    assert splits(reading) == ()


@pytest.mark.parametrize("grouped", [True, False])
@pytest.mark.parametrize("far_open", [True, False])
def test_split_pair(grouped: bool, far_open: bool) -> None:
    """Conductors laid in sequence at both ends pass continuity; pairs 3-6 and 4-5 are one confirmed split."""
    reading = read(described(3.0, near="in-sequence", faults=FAR_OPEN if far_open else ""), grouped)
    pairs = pairs_of(reading)
    assert pairs.pairs == IN_SEQUENCE
    assert pairs.split == (("3", "6"), ("4", "5"))
    assert pairs.split_z is not None
    assert pairs.split_z >= 4
    (finding,) = splits(reading)
    assert finding.near == ("3", "4", "5", "6")
    assert finding.far == (() if far_open else ("3", "4", "5", "6"))
    assert finding.certainty == "confirmed"


def test_two_closed_groups_are_two_findings() -> None:
    """Two exchanges that touch no pair in common are two findings, each with its own contacts."""
    order = [COLOURS[k] for k in (2, 1, 0, 6, 4, 5, 3, 7)]
    found = splits(read(described(4.0, near=order)))
    assert sorted(finding.near for finding in found) == [("1", "2", "3", "6"), ("4", "5", "7", "8")]


def test_three_pairs_in_a_ring_are_one_finding() -> None:
    """Three pairs that each lost a conductor to the next are one closed group."""
    order = [COLOURS[k] for k in (2, 1, 3, 0, 4, 5, 6, 7)]
    (finding,) = splits(read(described(4.0, near=order)))
    assert finding.near == ("1", "2", "3", "4", "5", "6")


def test_split_with_a_miswire_only_tells_the_end() -> None:
    """Where 2 and 3 are exchanged at one plug alone there is no split finding, and the miswire is at that end."""
    order = [COLOURS[k] for k in (0, 2, 1, 3, 4, 5, 6, 7)]
    reading = read(described(4.0, near=order, far="T568B"))
    assert splits(reading) == ()
    (finding,) = (one for one in judge(reading, STRAIGHT).findings if one.fault == "miswire")
    assert (finding.near, finding.end) == (("2", "3"), "near")
    mirrored = read(described(4.0, near="T568B", far=order))
    (finding,) = (one for one in judge(mirrored, STRAIGHT).findings if one.fault == "miswire")
    assert finding.end == "far"


def test_whole_pairs_exchanged_are_either_end() -> None:
    """A reversed or a crossed pair breaks no pair at either end, so the pairs do not tell which end is wrong."""
    order = [COLOURS[k] for k in (0, 1, 2, 4, 3, 5, 6, 7)]
    reading = read(described(4.0, near=order, far="T568B"))
    seen = groups(lay_reading(reading, STRAIGHT, limits()))
    assert seen is not None
    for finding in judge(reading, STRAIGHT).findings:
        assert finding.fault == "reversed-pair"
        assert end_of(finding, pairs_of(reading), seen, STRAIGHT) is None


@pytest.mark.parametrize("grouped", [True, False])
@pytest.mark.parametrize(
    "shorted", [("white-green", "green"), ("white-green", "blue"), ("orange", "blue"), ("green", "white-brown")]
)
@pytest.mark.parametrize("near", ["T568B", "in-sequence"])
def test_shorted_conductors_are_merged(grouped: bool, shorted: tuple[str, str], near: str) -> None:
    """Two conductors shorted leave the other pairs known; pairs the short hides are said to be by exclusion."""
    reading = read(described(5.0, near=near, faults=fault("short", shorted, 2.0)), grouped)
    pairs = pairs_of(reading)
    assert pairs.verdict == "confirmed"
    open_ones = [pair for pair in pairs.pairs if pair not in pairs.by_exclusion]
    true = PAIRS if near == "T568B" else IN_SEQUENCE
    assert set(open_ones) <= set(true)
    assert len(open_ones) >= 2
    for finding in splits(reading):
        assert finding.certainty == "likely"


@pytest.mark.parametrize("grouped", [True, False])
@pytest.mark.parametrize("at_m", [0.0, 0.5, 6.0, 12.0])
def test_broken_conductors_keep_their_partner(grouped: bool, at_m: float) -> None:
    """A broken conductor is paired by what both its parts show, and the split that is there is still seen."""
    cable = described(12.0, near="in-sequence", faults=fault("open", ("white-green", "blue"), at_m))
    assert pairs_of(read(cable, grouped)).pairs == IN_SEQUENCE


@pytest.mark.parametrize("grouped", [True, False])
@pytest.mark.parametrize("near", ["T568B", "in-sequence"])
def test_two_missing_conductors_are_never_guessed(grouped: bool, near: str) -> None:
    """With a conductor of each of two pairs missing, what cannot be seen is by exclusion and no split is confirmed."""
    reading = read(described(6.0, near=near, faults=fault("open", ("green", "blue"), 0.0) + FAR_OPEN), grouped)
    pairs = pairs_of(reading)
    true = PAIRS if near == "T568B" else IN_SEQUENCE
    assert set(pairs.pairs) - set(pairs.by_exclusion) <= set(true)
    assert all(finding.certainty == "likely" for finding in splits(reading))


def test_a_conductor_that_is_not_there_is_by_exclusion() -> None:
    """With one conductor missing in the near plug and the far end open its partner is what is left over."""
    cable = described(6.0, faults=fault("open", ("green",), 0.0) + FAR_OPEN)
    pairs = pairs_of(read(cable))
    assert pairs.pairs == PAIRS
    assert pairs.by_exclusion == (("3", "6"),)


@pytest.mark.parametrize(
    ("name", "pairs"), [("m12d-m12d", (("1", "3"), ("2", "4"))), ("m12a-5pole", (("2", "3"), ("4", "5")))]
)
def test_fewer_conductors(name: str, pairs: tuple[tuple[str, str], ...]) -> None:
    """Cables of four conductors, and of five with the screen's contact, show their two pairs and a split of them."""
    expect = pattern(name)
    contacts = [near for near, _ in expect.conductors]
    assert {frozenset(pair) for pair in pairs_of(small(expect, pairs), expect).pairs} == {frozenset(p) for p in pairs}
    crossed = ((pairs[0][0], pairs[1][0]), (pairs[0][1], pairs[1][1]))
    reading = small(expect, crossed)
    assert pairs_of(reading, expect).verdict == "confirmed"
    (finding,) = splits(reading, expect)
    assert sorted(finding.near) == sorted(contacts)


def small(expect: Pattern, pairs: tuple[tuple[str, str], ...], quad: bool = False) -> Reading:
    """Return a reading of a sound 3 m cable of two pairs, or of a star quad with these pairs, by grounded groups."""
    names = [near_contact(contact) for contact in expect.near_contacts] + [far_contact(c) for c in expect.far_contacts]
    near = expect.near_contacts
    partner = {frozenset(pair) for pair in pairs}
    direct = np.zeros((len(near), len(near)))
    wires = [contact for contact, _ in expect.conductors]
    for a in wires:
        for b in wires:
            if a != b:
                mine = frozenset((a, b)) in partner
                direct[near.index(a), near.index(b)] = 3.0 * (
                    (9.0 if mine else 21.0) if quad else 31.0 if mine else 5.0
                )
    single = direct.sum(axis=1) + 3.0 * 30.0
    size = len(names)
    alone: list[float | None] = [None] * size
    both: list[list[float | None]] = [[None] * size for _ in range(size)]
    for i in range(len(near)):
        alone[i] = float(single[i])
        for j in range(len(near)):
            if i != j:
                both[i][j] = float(single[i] + single[j] - 2 * direct[i, j])
    route = dict(expect.conductors)
    joined = {(near_contact(a), far_contact(route[a])) for a in wires}
    rows = square(names, dict.fromkeys(joined, 0.5), "open")
    capacitance = Capacitance(None, tuple(alone), tuple(map(tuple, both)), 0.0, False, 1, 0.5)
    return Reading(None, None, None, "tester", near, expect.far_contacts, rows, None, capacitance)


def test_star_quad_pairs_lie_across() -> None:
    """In a star quad neighbours show more than partners; the pairs are those that lie across, not the nearest."""
    expect = pattern("m12d-m12d")
    reading = small(expect, (("1", "3"), ("2", "4")), quad=True)
    assert set(pairs_of(reading, expect).pairs) == {("1", "3"), ("2", "4")}
    assert splits(reading, expect) == ()


def test_conductors_that_hardly_differ_are_no_pairs() -> None:
    """A cable whose conductors differ by less than a sound pair stands out is never paired, however long it is."""
    reading = read(described(20.0), grouped=False)
    seen = groups(lay_reading(reading, STRAIGHT, limits()))
    assert seen is not None
    assert seen.two_terminal_pf is not None
    values = np.array(seen.two_terminal_pf)
    flat = values.mean() + 0.02 * (values - values.mean())
    np.fill_diagonal(flat, 0.0)
    found = pairing_of(replace(seen, two_terminal_pf=tuple(map(tuple, flat.tolist()))), STRAIGHT, limits())
    assert isinstance(found, Pairing)
    assert found.verdict == "cannot tell"


@pytest.mark.parametrize(
    ("length_m", "kind", "grouped", "checked"),
    [
        (0.08, "UTP", True, False),
        (0.4, "UTP", True, True),
        (0.4, "UTP", False, False),
        (1.4, "UTP", False, True),
        (0.8, "F/UTP", False, False),
        (2.4, "F/UTP", False, True),
    ],
)
def test_too_short_is_not_checked(length_m: float, kind: str, grouped: bool, checked: bool) -> None:
    """Below its shortest length a method says that the cable is too short, and never guesses."""
    found = pairing(read(described(length_m, kind=kind, top='screen = "joined"' if kind != "UTP" else ""), grouped))
    assert isinstance(found, Pairing) == checked
    if not checked:
        assert found == NotChecked("split-pairs", "too-short")


def test_leakage_and_plugged_ends_are_not_checked() -> None:
    """While something leaks, or the far plug is in anything but the tester, pairs are not checked."""
    wet = read(described(5.0, faults=fault("leak", ("orange", "blue"), 1.0, ohm=50_000.0)))
    assert pairing(wet) == NotChecked("split-pairs", "leakage")
    sound = read(described(5.0))
    assert pairing(replace(sound, far="remote")) == NotChecked("split-pairs", "far-end-plugged")
    assert pairing(replace(sound, capacitance=None)) == NotChecked("split-pairs", "not-measured")


def test_terminators_of_a_bus_are_not_capacitance() -> None:
    """With a bus's terminators in place capacitance cannot be believed, and pairs are not checked."""
    expect = pattern("m12a-5pole")
    reading = small(expect, (("2", "3"), ("4", "5")))
    names = list(reading.contacts)
    i, j = names.index(near_contact("4")), names.index(near_contact("5"))
    rows = [list(row) for row in reading.resistance_ohm]
    rows[i][j] = rows[j][i] = 60.0
    terminated = replace(reading, resistance_ohm=tuple(map(tuple, rows)))
    assert pairing(terminated, expect) == NotChecked("split-pairs", "leakage")


def test_a_short_split_section_is_one_of_the_run() -> None:
    """Two metres of split cord on eighteen good ones leave the pairing right, and are found as metres of the run."""
    wires = ("white-blue", "blue", "white-orange", "orange", "white-green", "green", "white-brown", "brown")
    swapped = [wires[k] for k in (0, 4, 2, 3, 1, 5, 6, 7)]
    order = ", ".join(f'"{colour}"' for colour in swapped)
    back = f'[[segment]]\ncable = "UTP"\nlength_m = 9.0\norder = [{order}]\n'
    middle = f'[[segment]]\ncable = "UTP"\nlength_m = 2.0\norder = [{order}]\n'
    reading = read(described(9.0, segments=middle + back))
    pairs = pairs_of(reading)
    assert (pairs.pairs, pairs.verdict) == (PAIRS, "confirmed")
    (finding,) = (one for one in judge(reading, STRAIGHT).findings if one.fault == "split-section")
    assert finding.near == ("3", "4", "5", "6")
    assert finding.low is not None
    assert finding.high is not None
    assert finding.low <= 2.0 <= finding.high


def test_without_a_pattern_pairs_are_still_seen() -> None:
    """Without an expectation the pairs that are there are told."""
    pairs = judge(read(described(5.0, near="in-sequence"))).pairs
    assert pairs is not None
    assert pairs.pairs == IN_SEQUENCE


@pytest.mark.parametrize("near", ["T568B", "in-sequence"])
def test_short_cords_against_a_good_one(near: str) -> None:
    """A cord too short to pair is compared with a good cord of its kind, kept with the calibration."""
    length_m, grouped = 0.4, False
    good = read(described(length_m), grouped, seed=7).capacitance
    assert good is not None
    known = Calibration(
        "1",
        "2026-03-01T08:00:00Z",
        cord_pf=good.two_terminal_pf,
        cord_single_pf=good.single_pf,
        cord_double_pf=good.double_pf,
    )
    cord = read(described(length_m, near=near), grouped, seed=8)
    assert pairing(cord) == NotChecked("split-pairs", "too-short")
    pairs = pairs_of(replace(cord, calibration=known))
    assert pairs.method == "reference"
    assert pairs.pairs == (PAIRS if near == "T568B" else IN_SEQUENCE)
    assert pairs.verdict in ("confirmed", "likely")
    tiny = replace(read(described(0.1, near=near), grouped), calibration=known)
    assert pairing(tiny) == NotChecked("split-pairs", "too-short")


@given(st.integers(0, 2**32), st.sampled_from([6, 8]))
@settings(deadline=None, derandomize=True, database=None, max_examples=200)
def test_errors_of_a_single_conductor_change_nothing(seed: int, size: int) -> None:
    """What is added to all values of one conductor, its pin or its socket, changes neither pairing nor margin."""
    rng = np.random.default_rng(seed)
    shown = rng.normal(100, 15, (size, size))
    shown = shown + shown.T
    own = rng.normal(0, 15, size)
    found = [
        pairing_of(pairing_checks.grouped(one), pairing_checks.without_pairs(size), pairing_checks.NOISE_ALONE)
        for one in (shown, shown + own[:, None] + own[None, :])
    ]
    before, after = (one for one in found if isinstance(one, Pairing))
    assert before.pairs == after.pairs
    assert before.z == pytest.approx(after.z, abs=1e-6)


def test_number_of_pairings() -> None:
    """There are 3 pairings of four conductors and 105 of eight; of seven each leaves another one out."""
    assert [len(matchings(size)) for size in (2, 4, 6, 8)] == [1, 3, 15, 105]
    assert len(matchings(7)) == 105
    assert {len(edges) for edges in matchings(7)} == {3}


def test_stack_and_single_cable_agree() -> None:
    """What the stack of values, by which rates are checked, says of cables, judging each of them says too."""
    shown = np.random.default_rng(5).normal(60, 15, (50, 8, 8))
    shown = np.triu(shown, 1) + np.triu(shown, 1).swapaxes(1, 2)
    best, z = best_matchings(shown, 1.0)
    for number, one in enumerate(shown):
        found = pairing_of(pairing_checks.grouped(one), STRAIGHT, pairing_checks.NOISE_ALONE)
        assert isinstance(found, Pairing)
        assert found.z == pytest.approx(float(z[number]))
        assert found.pairs == tuple((PLACES[i].name, PLACES[j].name) for i, j in matchings(8)[int(best[number])])


def test_same_as_networkx() -> None:
    """The best pairing weighs what networkx.max_weight_matching finds."""
    pairing_checks.same_as_networkx(11, 200)


def test_error_rates() -> None:
    """Over length, noise and contacts no more cables are paired wrongly than published, none confirmed wrongly."""
    pairing_checks.error_rates(5, 300)


def test_worst_order_of_contacts() -> None:
    """Plugs and jacks that speak against the true pairs at every contact lead to no wrong pairing that is confirmed."""
    pairing_checks.worst_order(6, 200)


def groups_of(reading: Reading) -> Groups:
    """Return the groups of a reading that has capacitances."""
    found = groups(lay_reading(reading, STRAIGHT, limits()))
    assert found is not None
    return found


def test_unmeasured_conductors_are_left_to_other_witnesses() -> None:
    """Where conductors that are there were not measured against each other there is no pairing by capacitance."""
    seen = groups_of(read(described(5.0), grouped=False))
    assert seen.two_terminal_pf is not None
    values = np.array(seen.two_terminal_pf)
    values[0, 2] = values[2, 0] = np.nan
    found = pairing_of(replace(seen, two_terminal_pf=tuple(map(tuple, values.tolist()))), STRAIGHT, limits())
    assert found == NotChecked("split-pairs", "not-measured")
