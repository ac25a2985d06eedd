import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firmware_sim.cable_model.direct_current.networks import cable_network, contact, effective_resistance
from firmware_sim.cable_model.fields.lines import ModesAt, line_modes, plug_wires, y_endless, y_in
from firmware_sim.cable_model.fields.matrices import capacitance_f_per_m
from firmware_sim.cable_model.fields.wire_impedance import dielectric_factor
from firmware_sim.cable_model.laid_out.run import lay_out
from firmware_sim.cable_model.written.kinds import kinds
from tests.firmware_sim.cable_model.checks import both_ends_alike, reciprocal_and_passive
from tests.firmware_sim.cable_model.random_cables import cable
from tests.firmware_sim.parsed import parse_description


@given(st.integers(0, 10**6))
@settings(deadline=None, derandomize=True, database=None, max_examples=60)
def test_cables_are_reciprocal_and_passive(seed: int) -> None:
    """What any cable shows at its near plug is symmetric, and it never gives power away."""
    assert reciprocal_and_passive(seed, 1)


def test_turning_a_cable_round_twice_changes_nothing() -> None:
    """A cable seen from its far end is seen from its near end when turned again."""
    assert both_ends_alike(1, 20)


@pytest.mark.parametrize("kind", ["UTP", "F/UTP", "2-pair"])
def test_low_frequency_admittance_is_capacitance_times_length(kind: str) -> None:
    """Far below its first resonance an open cable is its capacitance: Y = s C l."""
    names = {"2-pair": "industrial"}
    text = cable(kind, 0.5, head="contact_ohm = 0").replace("T568B", names.get(kind, "T568B"))
    run = lay_out(parse_description(text))
    s = np.array([1e5 + 0j])
    n = len(run.spans[0].c_factor)
    y = y_in(run, ModesAt(s, 20.0), np.zeros((1, n, n), complex))[0]
    wanted = s[0] * dielectric_factor(s)[0] * capacitance_f_per_m(run.spans[0]) * 0.5
    assert np.abs(y - wanted).max() < 1e-6 * np.abs(wanted).max()


def test_low_frequency_loop_is_the_direct_current_resistance() -> None:
    """A pair shorted at its far end shows, at low frequency, the resistance that the d.c. network has."""
    fault = '[[fault]]\nkind = "short"\nconductors = ["blue", "white-blue"]\nend = "far"\nohm = 0.5\n'
    description = parse_description(cable("UTP", 30.0) + fault)
    run = lay_out(description)
    s = np.array([1e-3 + 0j])
    y = y_in(run, ModesAt(s, 20.0), np.zeros((1, 8, 8), complex))[0]
    order = plug_wires(run)
    a, b = order.index("blue"), order.index("white-blue")
    loop = 1 / y[a, a].real
    wanted = effective_resistance(cable_network(run), [contact(3), contact(4)])[0, 1]
    assert loop == pytest.approx(wanted, rel=1e-6)
    assert y[a, b].real == pytest.approx(-y[a, a].real, rel=1e-6)


def test_endless_cable_is_a_very_long_lossy_one() -> None:
    """A cable so long that nothing comes back shows its characteristic admittance."""
    run = lay_out(parse_description(cable("F/UTP", 350.0)))
    s = np.array([4e7 + 2e9j])
    modes = ModesAt(s, 20.0)
    y = y_in(run, modes, np.zeros((1, 8, 8), complex))
    assert np.abs(y - y_endless(run, modes)).max() < 1e-9 * np.abs(y).max()


def test_modes_of_any_line_multiply_back() -> None:
    """Modes found pair by pair, or without any symmetry, give back the line's own product Z Y."""
    rng = np.random.default_rng(1)
    kind = kinds()["UTP"]
    c, ell = np.array(kind.c_pf_per_m) * 1e-12, np.array(kind.l_nh_per_m) * 1e-9
    lopsided = np.outer(w := rng.uniform(0.9, 1.1, 8), w)
    for scale in (np.ones((8, 8)), lopsided):
        s = 1e6 + 1j * rng.uniform(1e7, 1e9, 5)
        series = np.broadcast_to(0.2 + 1e-7 * s[:, None], (5, 8))
        modes = line_modes(c * scale, ell * scale, series, s)
        again = modes.vectors * (modes.gamma**2)[:, None, :] @ modes.inverse
        z = s[:, None, None] * ell * scale + series[:, :, None] * np.eye(8)
        product = z @ ((s * dielectric_factor(s))[:, None, None] * c * scale)
        assert np.abs(again - product).max() < 1e-10 * np.abs(product).max()
        # Z times the characteristic admittance is Gamma.
        gamma = modes.vectors * modes.gamma[:, None, :] @ modes.inverse
        assert np.abs(z @ modes.admittance - gamma).max() < 1e-10 * np.abs(gamma).max()


def test_modes_are_found_once_for_each_cable() -> None:
    """Spans of one kind share their modes, whatever their lengths; a wet one has its own."""
    more = '[[segment]]\ncable = "UTP"\nlength_m = 2\nwet = true\n[[segment]]\ncable = "UTP"\nlength_m = 3\n'
    run = lay_out(parse_description(cable("UTP", 1.0) + more))
    modes = ModesAt(np.array([1e6 + 1e8j]), 20.0)
    first, wet, last = (modes.of(span) for span in run.spans)
    assert first is last
    assert wet is not first
