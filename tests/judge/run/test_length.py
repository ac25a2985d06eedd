"""Lengths with their uncertainty, what they say of a cable, and where faults lie."""

import pytest
from msgspec.structs import replace

from firmware_sim.cable_model.written.description import Description
from tests.judge.run import length_checks
from tests.judge.simulated import FAR_OPEN, PAIRS, described, fault, measured_reading
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.calibration import Calibration
from wiremap.errors import UsageError
from wiremap.judge.findings import ONE_OF, Fault, Finding, NotChecked
from wiremap.judge.measurements import Length
from wiremap.judge.run.calibrated import scale_of, without_length, zero_of
from wiremap.judge.run.length.hypotheses import hypotheses
from wiremap.judge.run.length.posterior import Observation, believe, possible
from wiremap.judge.verdict import Diagnosis, Options, judge
from wiremap.reading.reading import Reading, square
from wiremap.records.own_kinds import kind_called

STRAIGHT = pattern("straight")
KIND = "cat5e-utp"
JOINED = '[attached]\nfar = "joined"\n'


def judged(cable: Description, **how: bool) -> Diagnosis:
    """Judge a described cable as straight."""
    return judge(read(cable, **how), STRAIGHT)


def read(cable: Description, grouped: bool = True, traces: bool = False, echoes: bool = True) -> Reading:
    """Return a reading of a described cable; by counted echoes unless told otherwise."""
    return measured_reading(cable, grouped=grouped, traces=traces, echoes=echoes)


def whole(diagnosis: Diagnosis, method: str = "fused") -> Length:
    """Return the cable's length by one method."""
    (found,) = (one for one in diagnosis.lengths if one.pair is None and one.method == method)
    return found


def only(diagnosis: Diagnosis, fault_name: Fault) -> Finding:
    """Return the one finding of a fault."""
    (found,) = (one for one in diagnosis.findings if one.fault == fault_name)
    return found


def faults_of(diagnosis: Diagnosis) -> set[str]:
    """Return the names of all faults found."""
    return {finding.fault for finding in diagnosis.findings}


@pytest.mark.parametrize("length_m", [1.0, 3.0, 10.0, 40.0, 90.0])
@pytest.mark.parametrize("grouped", [True, False])
@pytest.mark.parametrize("kind", ["UTP", "F/UTP"])
def test_length_of_a_sound_cable(length_m: float, grouped: bool, kind: str) -> None:
    """The true length lies in the 95 % interval of every method and of the fused length of a usual cable."""
    cable = described(length_m, kind=kind, top='screen = "joined"' if kind != "UTP" else "")
    found = judged(cable, grouped=grouped, traces=grouped)
    for one in found.lengths:
        assert one.low_m < length_m < one.high_m, one
        assert one.u_m > 0
    assert {one.pair for one in found.lengths if one.method == "fused"} == {*PAIRS, None}
    assert whole(found).u_m < min(whole(found, "echo").u_m, whole(found, "capacitance").u_m) * 1.01
    assert found.verdict == "pass"


def test_budget_names_its_terms() -> None:
    """Each length says how much of its uncertainty is the kind of cable: terms whose root sum of squares is its own."""
    found = judged(described(20.0))
    for one in found.lengths:
        together = sum(term.u_rel**2 for term in one.terms) ** 0.5
        assert together * one.length_m == pytest.approx(one.u_m, rel=0.02)
        wanted = ["kind of cable", "within a kind"] + ([] if one.pair is None else ["this pair"])
        assert [term.name for term in one.terms] == wanted


@pytest.mark.parametrize(("traces", "told", "most"), [(True, None, 0.08), (True, KIND, 0.055), (False, None, 0.14)])
@pytest.mark.parametrize("length_m", [3.0, 10.0, 50.0])
def test_width_of_an_interval(length_m: float, traces: bool, told: str | None, most: float) -> None:
    """Half a 95 % interval is at most 8 % from 3 m, 5.5 % with the kind told, 14 % without an echo."""
    reading = read(described(length_m), traces=traces, echoes=traces)
    found = whole(judge(reading, STRAIGHT, Options(kind=kind_called(told) if told else None)))
    assert (found.high_m - found.low_m) / 2 / found.length_m < most
    assert found.low_m < length_m < found.high_m


def test_velocity_and_capacitance_do_not_average() -> None:
    """Four pairs know the cable's length hardly better than one: what they have in common stays."""
    found = judged(described(20.0))
    one = next(one for one in found.lengths if one.pair == PAIRS[0] and one.method == "echo")
    assert 0.8 < whole(found, "echo").u_m / one.u_m < 0.95


def test_split_and_open_pairs_are_no_lengths() -> None:
    """Expected pairs that are split, and pairs with a broken conductor, are left out of the lengths."""
    split = judged(described(10.0, near="in-sequence"))
    assert {one.pair for one in split.lengths} == {("1", "2"), ("3", "4"), ("5", "6"), ("7", "8"), None}
    assert {one.pair for one in split.lengths if one.method == "echo"} == {("1", "2"), ("7", "8"), None}
    broken = judged(described(10.0, faults=fault("open", ("green",), 4.0)))
    assert {one.pair for one in broken.lengths} == {("1", "2"), ("4", "5"), ("7", "8"), None}


def test_resistance_alone_is_no_length() -> None:
    """From resistance alone no length is told: it would be that of a gauge nobody named."""
    bare = replace(read(described(20.0)), capacitance=None, echoes=())
    found = judge(bare, STRAIGHT)
    assert found.lengths == ()
    assert NotChecked("length", "not-measured") in found.not_checked


def test_poor_contact_is_left_out_of_the_ruler() -> None:
    """A pair with a high resistance gives no length by resistance, and accuses no conductor of its metal."""
    found = judged(described(20.0, faults=fault("resistance", ("orange",), 20.0, ohm=8.0)))
    assert "high-resistance" in faults_of(found)
    assert "conductor-metal" not in faults_of(found)
    assert {one.pair for one in found.lengths if one.method == "resistance"} == {*PAIRS[1:], None}


@pytest.mark.parametrize("at_m", [0.0, 1.5, 6.0, 9.0, 15.0, 18.0])
@pytest.mark.parametrize("grouped", [True, False])
@pytest.mark.parametrize("kind", ["UTP", "F/UTP"])
def test_break_seen_from_both_ends(at_m: float, grouped: bool, kind: str) -> None:
    """With both plugs in the tester a break is placed within 4 uncertainties, and no wrong end is ever named."""
    found = judged(described(18.0, kind=kind, faults=fault("open", ("green",), at_m)), grouped=grouped)
    finding = only(found, "open")
    assert (finding.near, finding.far) == (("6",), ("6",))
    assert finding.at_m is not None
    assert finding.u_m is not None
    assert abs(finding.at_m - at_m) < 4 * finding.u_m + 0.05
    allowed = {"near" if at_m < 0.3 else "far" if at_m > 17.7 else "run", None}
    assert finding.end in allowed
    if grouped:
        assert finding.end is not None


@pytest.mark.parametrize("at_m", [0.0, 1.5, 6.0, 12.0, 15.0])
@pytest.mark.parametrize("grouped", [True, False])
def test_break_seen_from_one_end(at_m: float, grouped: bool) -> None:
    """With the far end open a broken conductor is found by comparison with the sound ones, and no other is accused."""
    found = judged(described(18.0, faults=fault("open", ("green",), at_m) + FAR_OPEN), grouped=grouped)
    finding = only(found, "open")
    assert (finding.near, finding.far) == (("6",), ())
    assert finding.at_m is not None
    assert finding.u_m is not None
    assert abs(finding.at_m - at_m) < 4 * finding.u_m + 0.3
    assert finding.end != "far"


@pytest.mark.parametrize("grouped", [True, False])
def test_sound_cable_from_one_end(grouped: bool) -> None:
    """With the far end open a sound cable has no open, and its continuity is not checked."""
    found = judged(described(18.0, faults=FAR_OPEN), grouped=grouped)
    assert found.findings == ()
    assert found.pairs is not None
    assert found.pairs.pairs == PAIRS
    assert NotChecked("continuity", "far-end-open") in found.not_checked


@pytest.mark.parametrize("far_open", [True, False])
def test_breaks_by_echo_alone(far_open: bool) -> None:
    """A tester without capacitance places a break by echo; from one end it does not know which conductor it is."""
    cable = described(18.0, faults=fault("open", ("green",), 7.0) + (FAR_OPEN if far_open else ""))
    found = judge(measured_reading(cable, grouped=False, two_terminal=False, traces=False), STRAIGHT)
    finding = only(found, "open")
    assert finding.near == (("3", "6") if far_open else ("6",))
    assert finding.certainty == ("likely" if far_open else "confirmed")
    assert finding.detail == (ONE_OF if far_open else None)
    assert finding.at_m == pytest.approx(7.0, abs=0.6)
    assert finding.end == "run"
    assert whole(found).low_m < 18.0 < whole(found).high_m
    sound = described(18.0, near="in-sequence", faults=FAR_OPEN if far_open else "")
    split = judge(measured_reading(sound, grouped=False, two_terminal=False, traces=False), STRAIGHT)
    assert "open" not in faults_of(split)


def test_both_conductors_broken_at_one_place() -> None:
    """Both conductors of a pair cut at one place, seen from one end, are both found there."""
    found = judged(described(18.0, faults=fault("open", ("white-green", "green"), 7.0) + FAR_OPEN))
    opens = [finding for finding in found.findings if finding.fault == "open"]
    assert [finding.near for finding in opens] == [("3",), ("6",)]
    for finding in opens:
        assert finding.at_m is not None
        assert finding.u_m is not None
        assert abs(finding.at_m - 7.0) < 3 * finding.u_m < 1.5


@pytest.mark.parametrize("at_m", [0.0, 8.0, 20.0])
@pytest.mark.parametrize("echoes", [True, False])
def test_short_is_placed(at_m: float, echoes: bool) -> None:
    """A short of a pair is placed by its echo, or by the resistance each end reads through it."""
    faults = fault("short", ("white-orange", "orange"), at_m, ohm=2.0 if not echoes else 0.0)
    found = judged(described(20.0, faults=faults), echoes=echoes)
    finding = only(found, "short")
    assert finding.at_m is not None
    assert finding.u_m is not None
    assert abs(finding.at_m - at_m) < 4 * finding.u_m + 0.1
    assert finding.end in {"near" if at_m == 0 else "far" if at_m == 20 else "run", None}


@pytest.mark.parametrize(("screen", "end"), [("near", "far"), ("far", "near")])
@pytest.mark.parametrize("grouped", [True, False])
def test_end_of_an_open_screen(screen: str, end: str, grouped: bool) -> None:
    """Which end of a screen is open is told by what its contact shows the conductors at each end."""
    cable = described(12.0, kind="F/UTP", top=f'screen = "{screen}"')
    found = judge(read(cable, grouped), replace(STRAIGHT, screen="both"))
    assert only(found, "screen-open").end == end


@pytest.mark.parametrize("grouped", [True, False])
def test_wet_cable(grouped: bool) -> None:
    """Water in the core is not length: what capacitance and echo say together is no dry cable's; the length holds."""
    found = judged(described(15.0, segments="wet = true"), grouped=grouped, traces=True)
    finding = only(found, "wet-or-wrong-cable")
    assert finding.value is not None
    assert finding.value > 56.0
    assert whole(found).low_m < 15.0 < whole(found).high_m


def test_copper_clad_conductors() -> None:
    """Copper-clad aluminium is told against a kind that was named, at 30 m; without a kind nobody is accused."""
    clad = read(described(30.0, segments='metal = "copper-clad-aluminium"'), traces=True)
    assert "conductor-metal" not in faults_of(judge(clad, STRAIGHT))
    finding = only(judge(clad, STRAIGHT, Options(kind=kind_called(KIND))), "conductor-metal")
    assert finding.value is not None
    assert finding.limit is not None
    assert 12.0 < finding.value < 16.0
    assert 8.0 < finding.limit < 9.4
    sound = judge(read(described(30.0), traces=True), STRAIGHT, Options(kind=kind_called(KIND)))
    assert "conductor-metal" not in faults_of(sound)


@pytest.mark.parametrize(("length_m", "sure"), [(95.0, None), (140.0, True)])
def test_too_long(length_m: float, sure: bool | None) -> None:
    """Over 100 m the length is out of range; whether surely, the interval says."""
    found = judged(described(length_m))
    if sure is None:
        assert "too-long" not in faults_of(found)
    else:
        finding = only(found, "too-long")
        assert (finding.certainty == "confirmed") == sure
        assert finding.value == pytest.approx(length_m, rel=0.06)


def test_over_100_m_pairs_are_still_seen() -> None:
    """At 300 m capacitance still shows the pairs and length; only the link is out of its range."""
    found = judged(described(300.0, near="in-sequence"))
    assert {"split-pair", "too-long"} <= faults_of(found)
    assert whole(found).low_m < 300.0 < whole(found).high_m


def test_joined_far_end() -> None:
    """With all contacts joined at the far end the echo falls and still tells the length; pairs are not checked."""
    found = judged(described(20.0, faults=JOINED))
    assert whole(found, "echo").low_m < 20.0 < whole(found, "echo").high_m
    assert NotChecked("split-pairs", "far-joined") in found.not_checked


def test_leakage_stops_capacitance_but_not_echo() -> None:
    """While something leaks, capacitance is used neither for pairs nor for length."""
    found = judged(described(10.0, faults=fault("leak", ("orange", "blue"), 4.0, ohm=60_000.0)))
    assert "leakage" in faults_of(found)
    assert NotChecked("split-pairs", "leakage") in found.not_checked
    assert NotChecked("capacitance", "leakage") in found.not_checked
    assert {one.method for one in found.lengths} == {"echo", "resistance", "fused"}


def test_disagreement_never_narrows() -> None:
    """Where echo and capacitance say what no kind explains, every uncertainty grows by the root of chi-square."""
    plain = hypotheses(kind_called(KIND), None, 8, None, limits())
    agree = believe([Observation("delay", 50e-9, 0.01), Observation("capacitance", 0.5e-9, 0.02)], plain, 4.0)
    apart = believe([Observation("delay", 50e-9, 0.01), Observation("capacitance", 0.8e-9, 0.02)], plain, 4.0)
    assert agree.widened == 1.0
    assert apart.widened == pytest.approx(apart.chi2**0.5)
    assert apart.widened > 3.0
    assert apart.u[:, 0].min() > 3.0 * agree.u[:, 0].min() * 0.99


def test_one_kind_is_a_product_of_two_numbers() -> None:
    """NVP 0.68(2) and a round trip of 100(1) ns are 10.193 m, u 0.317: JCGM 100 equation 10 (worked out by hand)."""
    known = replace(
        hypotheses(kind_called(KIND), None, 8, None, limits()).hypotheses[0], v=0.68 * 299_792_458.0, v_u=0.02 / 0.68
    )
    found = believe([Observation("delay", 50e-9, 0.01)], possible([known]), 4.0)
    assert found.quantiles((0.5,))[0] == pytest.approx(10.193, abs=0.001)
    assert found.quantiles((0.5,))[0] * float(found.u[0, 0]) == pytest.approx(0.317, abs=0.001)


def test_known_length_brings_others_nearer() -> None:
    """A tester calibrated with a known cable knows the next one better, though nobody said so."""
    known = scale_of(read(described(10.0)), STRAIGHT, 10.0, 0.05, None, limits())
    assert known.nvp == pytest.approx(0.708, abs=0.012)
    assert known.capacitance_pf_per_m == pytest.approx(48.5, rel=0.03)
    assert known.ohm_per_m is not None
    plain = judged(described(40.0))
    told = judge(replace(read(described(40.0)), calibration=known), STRAIGHT)
    assert whole(told).low_m < 40.0 < whole(told).high_m
    assert abs(whole(told).length_m - 40.0) < abs(whole(plain).length_m - 40.0)
    assert without_length(known).nvp is None
    assert without_length(known).cord_pf is None


def test_age_of_a_calibration_counts() -> None:
    """A calibration of three years ago leaves more uncertainty than one of today."""
    known = scale_of(read(described(10.0)), STRAIGHT, 10.0, 0.05, None, limits())
    old = replace(known, made_utc="2023-03-01T08:00:00Z")
    now = whole(judge(replace(read(described(40.0)), calibration=known), STRAIGHT), "capacitance")
    then = whole(judge(replace(read(described(40.0)), calibration=old), STRAIGHT), "capacitance")
    assert then.u_m > now.u_m


def test_an_unsound_cable_does_not_calibrate() -> None:
    """A split, a broken or a wrongly known cable is refused as a reference, and so are sockets that are not empty."""
    with pytest.raises(UsageError, match="not sound"):
        scale_of(read(described(10.0, near="in-sequence")), STRAIGHT, 10.0, 0.05, None, limits())
    with pytest.raises(UsageError, match="not sound"):
        scale_of(read(described(10.0, faults=fault("open", ("blue",), 4.0))), STRAIGHT, 10.0, 0.05, None, limits())
    with pytest.raises(UsageError, match="cannot calibrate"):
        scale_of(read(described(10.0)), STRAIGHT, 10.0, 5.0, None, limits())
    with pytest.raises(UsageError, match="not empty"):
        zero_of(read(described(10.0)))


def test_zero_keeps_what_is_known() -> None:
    """Zeroing with empty sockets keeps what a known length gave, and names the tester."""
    empty = read(described(10.0))
    assert empty.capacitance is not None
    size = len(empty.contacts)
    open_rows = square(empty.contacts, {}, "open")
    pf = tuple(tuple(None if i == j else 11.0 for j in range(size)) for i in range(size))
    empty = replace(empty, resistance_ohm=open_rows, capacitance=replace(empty.capacitance, two_terminal_pf=pf))
    known = Calibration("1", "2026-01-01T00:00:00Z", nvp=0.69, nvp_u=0.01)
    found = zero_of(empty, known)
    assert (found.pin_pf, found.nvp, found.open_pf) == (11.0, 0.69, pf)
    assert found.made_utc == empty.taken_utc


def test_same_reading_same_interval() -> None:
    """Judging twice gives exactly the same lengths."""
    reading = read(described(12.0))
    assert judge(reading, STRAIGHT).lengths == judge(reading, STRAIGHT).lengths


def test_grids_agree() -> None:
    """Echoes of the population on the coarse grid come when they come on the full one."""
    length_checks.grids_agree(3, 12)


def test_intervals_are_honest() -> None:
    """The 95 % interval of every method holds the true length of about 95 % of simulated cables."""
    length_checks.interval_honesty(2, 240)
