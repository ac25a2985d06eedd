"""Cables of the analog world: what a tester without error would see of them, and what a Reading says."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.world.analog import Break, Split, Wet, draw, instrument, kinds, line, measure, reel
from tests.world.analog.bench import PAIRS, Instrument
from tests.world.analog.cable import Cable, Plug
from tests.world.analog.network import network, ohms, values
from tests.world.analog.panels import MU_0
from tests.world.analog.traces import Ends, traces
from tests.world.analog.wires import Wire
from wiremap.contact import far_contact
from wiremap.reading.reading import from_builtins, to_builtins

NO_PINS = np.full(18, 1e-6)


def _rng(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def _exact() -> Instrument:
    """Return a tester without errors."""
    own = instrument(_rng())
    return replace(
        own,
        pins_pf=np.full(18, 10.0),
        gain=1.0,
        offset_pf=0.0,
        noise_pf=0.0,
        ohm_gain=1.0,
        ohm_noise=0.0,
        step_pf=1e-6,
        zero_ns=0.0,
        drive_ohm=50.0,
        rise_ns=3.0,
        trace_noise=0.0,
        trace_step=1e-6,
    )


def _direct(cable: Cable) -> np.ndarray:
    """Return direct capacitances between near contacts by grounded groups, [8, 8], plugs included."""
    seen = values(network(cable), range(9), NO_PINS, 30.0)
    return np.asarray((seen.single[:, None] + seen.single[None, :] - seen.double) / 2)[:8, :8]


def test_ohms_of_gauges() -> None:
    """Ohm per kilometre by NBS Handbook 100: AWG 23 66.8, 24 84.2, 26 133.9 (with 2 % for strands), at 20 C."""
    by_name = {name: 1000 * kind.ohm_per_m for name, kind in kinds().items()}
    assert by_name["cat6-uutp-23"] == pytest.approx(66.8, rel=0.01)
    assert by_name["cat5e-uutp-24"] == pytest.approx(84.2, rel=0.01)
    assert by_name["cord-uutp-26"] == pytest.approx(133.9 * 1.02, rel=0.01)
    clad = Wire(1, 0.511e-3, 0.93).ohm_per_m(20.0)
    assert 0.124 <= clad <= 0.136  # copper-clad AWG 24, 62 to 68 % IACS (from memory)
    assert Wire(1, 0.5e-3).ohm_per_m(60.0) / Wire(1, 0.5e-3).ohm_per_m(20.0) == pytest.approx(1 + 40 * 0.00393)


def test_a_wire_at_every_frequency() -> None:
    """At rest its resistance; far up, rho over circumference and depth; a core of copper is no core (textbook)."""
    wire = Wire(1, 0.511e-3)
    slow, fast = np.array([2j * np.pi * 10]), np.array([2j * np.pi * 100e6])
    assert abs(wire.ratio(slow, 20.0)[0] - 1) < 1e-4
    depth = math.sqrt(2 / (2 * math.pi * 100e6 * MU_0 * 58e6))
    assert wire.ratio(fast, 20.0)[0].real == pytest.approx(0.511e-3 / 4 / depth + 0.25, rel=5e-3)
    clad = Wire(1, 0.511e-3, 0.93)
    assert abs(clad.ratio(slow, 20.0)[0] - 1) < 1e-4
    high = np.array([2j * np.pi * 300e6])
    each = [one.ratio(high, 20.0)[0].real * one.ohm_per_m(20.0) for one in (wire, clad)]
    assert each[0] == pytest.approx(each[1], rel=0.01)  # the current stays in the shell
    middle = np.array([2j * np.pi * 5e6])
    assert clad.ratio(middle, 20.0)[0].real < wire.ratio(middle, 20.0)[0].real


def test_clad_wire_is_told_by_its_ohms_and_its_edge() -> None:
    """Copper-clad conductors have 1.4 to 1.7 times copper's ohms, and a steeper echo than copper of as many ohms."""
    copper, clad = (
        draw("cat5e-uutp-24", 30.0, _rng(3), metal=metal, temperature_c=20.0, asymmetry_pf=0.0, roughness=0.0)
        for metal in ("copper", "clad")
    )
    assert 1.4 < clad.ohm[0] / copper.ohm[0] < 1.7
    thin = replace(copper, ohm=clad.ohm)  # copper so thin that it has the same ohms
    ends = Ends(np.full(9, 10.0), np.full(9, 10.0), 30.0, 50.0, 3.0)
    steep = [float(np.diff(traces(one, [("1", "2")], ends)["1", "2"][300:360]).max()) for one in (clad, thin)]
    assert steep[0] > 1.02 * steep[1]


def test_a_core_of_the_same_metal_is_no_core(monkeypatch: pytest.MonkeyPatch) -> None:
    """The layered formula with copper inside gives the round wire's impedance at every frequency."""
    monkeypatch.setattr("tests.world.analog.wires.RHO_ALUMINIUM", 1 / 58e6)
    s = 1e6 + 2j * np.pi * np.geomspace(1e4, 3e8, 7)
    assert np.allclose(Wire(1, 0.5e-3, 0.8).ratio(s, 35.0), Wire(1, 0.5e-3).ratio(s, 35.0), rtol=1e-6)


def test_grounded_groups_give_the_direct_capacitances() -> None:
    """Sections and plugs of an eight-wire cable, added up by hand, with the foil tied."""
    cable = draw("cat5e-futp-24", 7.0, _rng(), asymmetry_pf=0.0)
    found = _direct(cable)
    holds = [held for held in cable.near.holds if held is not None]
    by_hand = (
        np.sum([section.pf for section in cable.sections], axis=0)[np.ix_(holds, holds)] + cable.near.pf + cable.far.pf
    )
    off = ~np.eye(8, dtype=bool)
    assert found[off] == pytest.approx(by_hand[off], abs=1e-4)


def test_two_terminals_by_solving_for_potentials() -> None:
    """One contact at 1 V, another on ground, all else without charge: the charge, by linear equations written out."""
    cable = draw("cord-uutp-26", 2.0, _rng(3), breaks=[Break("4", 0.7)])
    seen = network(cable)
    pins = np.linspace(8.0, 12.0, 18)
    found = values(seen, range(18), pins, 25.0).two_terminal
    size = len(seen.pf)
    own = np.full(size, 1e-6)
    own[seen.reference] += 25.0
    for contact in range(18):
        own[seen.of_contact[contact]] += pins[contact]
    for one, other in ((0, 1), (2, 12), (3, 13), (3, 8)):
        driven, ground = seen.of_contact[one], seen.of_contact[other]
        if driven == ground:
            assert math.isnan(found[one, other])
            continue
        system, wanted = np.diag(seen.pf.sum(axis=1) + own) - seen.pf, np.zeros(size)
        for node, held in ((driven, 1.0), (ground, 0.0)):
            system[node] = np.eye(size)[node]
            wanted[node] = held
        volts = np.linalg.solve(system, wanted)
        charge = own[driven] + (seen.pf[driven] * (1.0 - volts)).sum()
        assert found[one, other] == pytest.approx(charge, rel=1e-9)


@pytest.mark.parametrize("name", ["cat5e-uutp-24", "cord-sfutp-26", "sftp-foam-23"])
def test_split_metres_stand_in_the_capacitances(name: str) -> None:
    """(hi - lo) / ((P - lo) + (hi - lo)) of the direct capacitances is the share of the run that is split."""
    cable = draw(name, 20.0, _rng(5), splits=[Split(4.0, 6.0, ("3", "5"))], asymmetry_pf=0.0)
    d = _direct(cable) - (cable.near.pf + cable.far.pf)
    a, b, e, f = 2, 5, 4, 3  # contacts 3 6 and 5 4: 3 and 5 changed places
    hi, lo = (d[a, f] + d[b, e]) / 2, (d[a, e] + d[b, f]) / 2
    partners = (d[a, b] + d[e, f]) / 2
    assert (hi - lo) / ((partners - lo) + (hi - lo)) * 20.0 == pytest.approx(6.0, abs=0.25)


def test_unevenness_grows_by_the_root_of_the_length() -> None:
    """Within two pairs of a twisted cable direct capacitances differ by 0.5 pF per root metre, however it is cut."""
    for length, joints in ((4.0, ()), (36.0, ()), (36.0, (12.0, 24.0))):
        seen = []
        for seed in range(60):
            cable = draw("cord-uutp-26", length, _rng(seed), joints=joints)
            whole = np.sum([section.pf for section in cable.sections], axis=0)
            seen += [whole[0, 2] - whole[0, 3], whole[4, 6] - whole[4, 7]]
        # of 7 pF/m and 1 pF/m the neighbours' is full; 0-2 are neighbours, 4-6 are
        assert float(np.std(seen)) == pytest.approx(0.5 * math.sqrt(2 * length), rel=0.2)


def _pair_share(cable: Cable, s: np.ndarray, end_pf: tuple[float, float]) -> np.ndarray:
    """Return V_a - V_b over the step of an even pair by the formula of one line with a capacitance at either end."""
    length = cable.length_m
    pf, speed, ohm = line(cable, "1", "2")
    henry = ohm / (speed * 299_792_458.0)
    r = 2 * float(np.mean(cable.ohm)) / length * (1 + cable.crowding * (cable.wire.ratio(s, cable.temperature_c) - 1))
    slow = (s / (2 * np.pi * 1e6)) ** (-2 * cable.kind.tan_delta / np.pi)
    series, parallel = r + s * henry, s * pf * 1e-12 * slow
    gamma, z = np.sqrt(series * parallel), np.sqrt(series / parallel)
    load = s * end_pf[1] * 1e-12
    t = np.tanh(gamma * length)
    admittance = (load + t / z) / (1 + load * z * t) + s * end_pf[0] * 1e-12
    return np.asarray(1 / (1 + 100.0 * admittance))


def _in_time(share: np.ndarray, window: float, nepers: float) -> np.ndarray:
    """Return a step of 3 ns through it at 1 ns, 19 ns before its middle on; s as in `_on_a_line` of the same window."""
    count = 2 * (len(share) - 1)
    s = _on_a_line(count, nepers)
    edge = np.exp((s * 3e-9 / 2.563) ** 2 / 2 - s * 19e-9) / s
    moving = np.fft.irfft((share - 1) * edge, count) * count / window * np.exp(nepers * np.arange(count) / count)
    rise = [0.5 * (1 + math.erf((k - 19) / (3 / 2.563) / math.sqrt(2))) for k in range(count)]
    return np.asarray(moving + np.array(rise))


def _on_a_line(count: int, nepers: float) -> np.ndarray:
    """Return complex frequencies of a window of so many nanoseconds, damped by so many nepers."""
    return np.asarray((nepers + 2j * np.pi * np.arange(count // 2 + 1)) / (count * 1e-9))


def _seen_evenly(plug: Plug, own_pf: float) -> float:
    """Return what contacts 1 and 2 of a plug show to each other, pF, all else in the middle between them."""
    one, other = (plug.pf[a, 2:].sum() + plug.screen_pf[a] + own_pf for a in (0, 1))
    return float(plug.pf[0, 1] + one * other / (one + other))


@pytest.mark.parametrize("name", [name for name, kind in kinds().items() if kind.layout != "row"])
def test_a_good_pair_is_one_line(name: str) -> None:
    """All conductors' modes together give an even pair what the formula of a single line gives (any textbook)."""
    cable = draw(name, 12.0, _rng(2), asymmetry_pf=0.0, roughness=0.0)
    ends = Ends(np.full(9, 10.0), np.full(9, 10.0), 30.0, 50.0, 3.0)
    found = traces(cable, [("1", "2")], ends)["1", "2"]
    count = len(found)
    around = (_seen_evenly(cable.near, 10.0), _seen_evenly(cable.far, 10.0))
    one = _in_time(_pair_share(cable, _on_a_line(count, 6.0), around), count * 1e-9, 6.0)
    # Plugs are not even, and quads not quite: a hundredth of the step; without plugs nothing but the sum's end is left.
    assert np.abs(found - one).max() < 0.01
    bare = replace(cable.near, pf=np.zeros((8, 8)), screen_pf=np.zeros(8))
    if cable.kind.layout == "pairs":
        found = traces(replace(cable, near=bare, far=bare), [("1", "2")], ends)["1", "2"]
        one = _in_time(_pair_share(cable, _on_a_line(count, 6.0), (5.0, 5.0)), count * 1e-9, 6.0)
        assert np.abs(found - one).max() < 1e-3


@pytest.mark.parametrize("name", list(kinds()))
def test_traces_show_impedance_and_length(name: str) -> None:
    """The plateau is the pair's impedance, the echo comes after twice the way, and the end settles at the step.

    Resistance and the field inside thin wires make the impedance read higher, and they and the contacts' own
    capacitance make an echo late, never early; by how much exactly the formula of a single line says above. A row of
    wires rings longer.
    """
    cable = draw(name, 10.0, _rng(11), roughness=0.0)
    _, speed, ohm = line(cable, "1", "2")
    reading = measure(cable, _rng(), by=_exact())
    part = np.array(reading.traces[0].microvolts) / reading.traces[0].step_microvolts
    assert (reading.traces[0].t0_ps, reading.traces[0].dt_ps) == (-19_000.0, 1000.0)
    plateau = float(part[19 + 8 : 19 + 30].mean())
    assert 1.0 < 100 * plateau / (1 - plateau) / ohm < 1.1
    after = 27 + int(np.argmax(part[27 + 19 :] > (plateau + 1) / 2))
    low, high = part[19 + after - 1], part[19 + after]
    echo = after - 1 + ((plateau + 1) / 2 - low) / (high - low)
    back_ns = 20.0 / (speed * 0.299792458)
    assert 1.0 < echo / back_ns < 1.05
    assert part[-50:] == pytest.approx(1.0, abs=8e-3 if cable.kind.layout == "row" else 3e-3)
    assert part[:10] == pytest.approx(0.0, abs=1e-3)


def test_a_split_section_shows_in_the_trace() -> None:
    """Impedance rises where pairs are split, and only on the pairs concerned."""
    cable = draw("cat5e-uutp-24", 20.0, _rng(4), splits=[Split(8.0, 4.0, ("3", "5"))])
    shown = {trace.a.name: np.array(trace.microvolts) / 3.3e6 for trace in measure(cable, _rng(), by=_exact()).traces}
    inside = slice(19 + 82, 19 + 110)
    before = slice(19 + 15, 19 + 60)
    rise = {name: float(part[inside].mean() - part[before].mean()) for name, part in shown.items()}
    assert min(rise["3"], rise["4"]) > 0.05
    assert max(rise["1"], rise["7"]) < 0.02


@pytest.mark.parametrize(
    ("name", "lowest", "highest"),
    [("cat5e-uutp-24", 1.5, 2.0), ("cat5e-futp-24", 1.25, 1.55), ("sftp-foam-23", 1.02, 1.15)],
)
def test_a_split_run_is_launched_into_higher_impedance(name: str, lowest: float, highest: float) -> None:
    """102 ohm good, 170 to 199 split without a screen, 139 to 149 in a foil, by another solution of the field.

    It went by harmonics and had no foil round each pair; here two wires in a foil each stand against their foils, and
    the rise is small.
    """
    good, split = (
        np.array(measure(draw(name, 20.0, _rng(2), splits=one), _rng(), by=_exact()).traces[1].microvolts) / 3.3e6
        for one in ([], [Split(0.0, 20.0, ("3", "5"))])
    )
    ohms_seen = [float((part[39:59] / (1 - part[39:59])).mean()) for part in (good, split)]
    assert lowest < ohms_seen[1] / ohms_seen[0] < highest
    middles = [int(np.argmax(part[60:] > (part[39:59].mean() + 1) / 2)) + 41 for part in (good, split)]
    assert 0.0 < 1 - middles[1] / middles[0] < 0.12 or name == "sftp-foam-23"


def test_roughness_and_poor_contacts() -> None:
    """Impedance that differs from metre to metre disturbs a plateau; a poor contact has its ohms, and no other has."""
    smooth, rough = (draw("cat6-uutp-23", 12.0, _rng(21), asymmetry_pf=0.0, roughness=one) for one in (0.0, 0.03))
    parts = [np.array(measure(one, _rng(), by=_exact()).traces[0].microvolts) / 3.3e6 for one in (smooth, rough)]
    plateaus = [np.diff(part[19 + 10 : 19 + 100]).std() for part in parts]
    assert plateaus[1] > 3 * plateaus[0]
    assert (len(smooth.sections), len(rough.sections)) == (1, 6)
    assert line(rough, "1", "2")[1] == pytest.approx(line(smooth, "1", "2")[1], rel=1e-3)
    contact = far_contact("4")
    sound, poor = (draw("cat6-uutp-23", 12.0, _rng(22), poor=one) for one in ((), ((contact, 0.3),)))
    assert ohms(poor)[3, 12] - ohms(sound)[3, 12] == pytest.approx(0.3, abs=1e-9)
    assert ohms(poor)[4, 13] == ohms(sound)[4, 13]


def test_a_broken_conductor() -> None:
    """A break opens the loop, leaves a capacitance at each end in proportion, and answers early."""
    cable = draw("cat5e-futp-24", 20.0, _rng(6), breaks=[Break("6", 5.0)])
    assert math.isinf(ohms(cable)[5, 14])
    assert math.isfinite(ohms(cable)[4, 13])
    seen = values(network(cable), range(18), NO_PINS, 30.0)
    assert seen.single[5] / (seen.single[5] + seen.single[14]) == pytest.approx(0.25, abs=0.03)
    part = np.array(measure(cable, _rng(), by=_exact()).traces[1].microvolts) / 3.3e6
    assert part[19 + 75] > part[19 + 30] + 0.25  # 50 ns to 5 m and back


def test_a_break_at_the_plug_leaves_an_empty_contact() -> None:
    """At 0 m the near contact shows its plug alone; at the far end the conductor is whole but not joined."""
    cable = draw("cat5e-uutp-24", 10.0, _rng(6), breaks=[Break("6", 0.0), Break("8", 10.0)])
    single = values(network(cable), range(9), NO_PINS, 30.0).single
    assert single[5] < 6.0
    assert single[7] > 300.0
    part = np.array(measure(cable, _rng(), by=_exact()).traces[1].microvolts) / 3.3e6
    assert part[19 + 20] > 0.9


def test_water_is_seen() -> None:
    """A wet section has more capacitance, and its impedance falls."""
    dry, wet = (
        draw("cat5e-uutp-24", 20.0, _rng(9), asymmetry_pf=0.0, roughness=0.0, wet=one)
        for one in (None, Wet(8.0, 2.0, 2.0))
    )
    assert _direct(wet)[0, 1] / _direct(dry)[0, 1] == pytest.approx(1.1, abs=0.01)
    part = np.array(measure(wet, _rng(), by=_exact()).traces[0].microvolts) / 3.3e6
    assert part[19 + 78 : 19 + 100].min() < part[19 + 20 : 19 + 60].mean() - 0.03


@pytest.mark.parametrize("name", list(kinds()))
@pytest.mark.parametrize("far", ["tester", "open"])
def test_readings_are_sound(name: str, far: str) -> None:
    """A Reading of every kind is one that can be written and read again, and says what was not measured."""
    cable = draw(name, 3.0, _rng(8), joints=(1.0,))
    reading = measure(cable, _rng(2), far=far)
    assert from_builtins(to_builtins(reading)) == reading
    assert reading.origin == "tester"
    used = [contact for contact, held in enumerate(cable.near.holds) if held is not None]
    for place in used:
        value = reading.resistance_ohm[place][9 + place]
        if far == "tester":
            assert isinstance(value, float)
            assert value == pytest.approx(cable.ohm[cable.near.holds[place] or 0] + 0.044, rel=0.05, abs=0.15)
        else:
            assert value is None
    assert len(reading.traces) == sum(_has(cable, pair) for pair in PAIRS)
    assert reading == measure(cable, _rng(2), far=far)


def _has(cable: Cable, pair: tuple[str, str]) -> bool:
    return all(cable.near.holds[int(contact) - 1] is not None for contact in pair)


def test_makes_differ_as_much_as_is_sold() -> None:
    """Speeds of makes have a deviation of 0.8 to 2.5 %, impedances stay within 9 % of the kind's."""
    for name in ("cat5e-uutp-24", "sftp-foam-23", "star-quad-22"):
        rng = _rng(13)
        found = []
        for _ in range(60):
            found.append(line(draw(name, 1.0, rng, asymmetry_pf=0.0), "1", "2"))
        speeds, impedances = np.array(found)[:, 1], np.array(found)[:, 2]
        assert 0.008 < speeds.std() / speeds.mean() < 0.025
        assert impedances.max() / impedances.min() < 1.18
        assert impedances.std() > 1.0


def test_one_make_is_cut_into_cables() -> None:
    """Cables of one reel have one speed; faults outside a cable and contacts that hold nothing are refused."""
    rng = _rng(17)
    make = reel(kinds()["cat6-uutp-23"], "copper", rng)
    speeds = []
    for length in (3.0, 30.0):
        speeds.append(line(draw("cat6-uutp-23", length, rng, of=make, asymmetry_pf=0.0, roughness=0.0), "1", "2")[1])
    assert speeds[0] == pytest.approx(speeds[1], rel=1e-9)
    with pytest.raises(ValueError, match="outside the cable"):
        draw("cat6-uutp-23", 3.0, rng, breaks=[Break("1", 4.0)])
    with pytest.raises(ValueError, match="holds no conductor"):
        draw("star-quad-22", 3.0, rng, breaks=[Break("7", 1.0)])
    with pytest.raises(ValueError, match="metal is"):
        reel(kinds()["star-quad-22"], "steel", rng)
    with pytest.raises(ValueError, match="far is"):
        measure(draw("star-quad-22", 3.0, rng), rng, far="joined")


def test_a_quad_shows_its_pairs_least() -> None:
    """In a star quad the true pairs are the diagonals: their direct capacitance is the least of the three pairings."""
    good = _direct(draw("star-quad-22", 5.0, _rng(1)))[np.ix_((0, 1, 2, 5), (0, 1, 2, 5))]
    assert good[0, 1] + good[2, 3] < 0.4 * min(good[0, 2] + good[1, 3], good[0, 3] + good[1, 2])
    wrong = draw("star-quad-22", 5.0, _rng(1), splits=[Split(0.0, 5.0, ("2", "3"))])
    mixed = _direct(wrong)[np.ix_((0, 1, 2, 5), (0, 1, 2, 5))]
    assert mixed[0, 2] + mixed[1, 3] < 0.4 * min(mixed[0, 1] + mixed[2, 3], mixed[0, 3] + mixed[1, 2])
