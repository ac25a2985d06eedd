import numpy as np
import pytest

from firmware_sim.cable_model.fields.capacitance import terminals
from firmware_sim.cable_model.fields.echo import Port, first_echo
from firmware_sim.cable_model.laid_out.run import lay_out
from firmware_sim.cable_model.written.kinds import kinds
from tests.firmware_sim.cable_model.population import (
    Spread,
    as_measured_pf,
    draw,
    grounded_groups_pf,
    jack_pf,
    loop_ohm,
    pair_echoes,
    two_terminal_pf,
)
from tests.firmware_sim.cable_model.random_cables import cable
from tests.firmware_sim.parsed import parse_description

LENGTHS = np.array([0.5, 3.0, 20.0, 90.0])


def test_capacitances_are_those_of_the_network() -> None:
    """Many cables at once show what each shows alone when its network is reduced node by node."""
    for kind in ("UTP", "F/UTP"):
        cables = draw(kind, LENGTHS, seed=3)
        pair, (single, double) = two_terminal_pf(cables, 10.0), grounded_groups_pf(cables, 10.0, tied=False)
        for number in range(len(LENGTHS)):
            matrix = np.zeros((10, 10))  # conductors, reference, ground
            matrix[:8, :8] = cables.maxwell_pf[number]
            matrix[:8, 8] = matrix[8, :8] = -cables.maxwell_pf[number].sum(axis=1)
            matrix[8, 8] = cables.maxwell_pf[number].sum()
            for node, pf in [(k, 10.0) for k in range(8)] + [(8, 20.0)]:
                matrix[node, node] += pf
                matrix[9, 9] += pf
                matrix[node, 9] = matrix[9, node] = -pf
            alone = terminals(matrix, list(range(8)), 9)
            assert np.allclose(pair[number], alone.pair, equal_nan=True)
            assert np.allclose(single[number], alone.single)
            assert np.allclose(double[number], alone.double)


def test_echoes_are_those_of_the_full_model() -> None:
    """A sound pair drawn without spread answers when it does in the full model of eight coupled conductors."""
    still = Spread(
        nvp=(0.69, 0.69),
        pair_pf_per_m=(48.5, 48.5),
        pair_delay_sd=0,
        pair_capacitance_sd=0,
        coupling_sd=0,
        resistance=(1, 1),
        temperature_c=(20, 20),
        contact_ohm=0,
    )
    kind = kinds()["UTP"]
    c, ell = np.array(kind.c_pf_per_m), np.array(kind.l_nh_per_m)
    for length_m in (1.0, 20.0, 60.0):
        cables = draw("UTP", np.array([length_m]), 1, still)
        even = np.arange(0, 8, 2)
        same = type(cables)(
            cables.kind,
            cables.length_m,
            cables.maxwell_pf,
            2e-9 * (ell[even, even] - ell[even, even + 1])[None],
            0.5e-12 * (c[even, even] - c[even, even + 1])[None],
            cables.wire_ohm,
            cables.nvp,
        )
        arrival, height = pair_echoes(same, pin_pf=8.0)
        description = parse_description(cable("UTP", length_m, head="pin_pf = 8\ncontact_ohm = 0"))
        port = Port(description, lay_out(description))
        for number, (a, b) in enumerate(((4, 3), (0, 1), (2, 5), (6, 7))):
            alone = first_echo(port.step(a, b))
            assert alone is not None
            assert arrival[0, number] == pytest.approx(alone.arrival_s, abs=2e-12)
            assert height[0, number] == pytest.approx(alone.height, rel=1e-3)


def test_draws_have_the_spread_they_were_given() -> None:
    """Cables drawn lie within, and fill, the ranges of velocity factor, capacitance and resistance they came from."""
    cables = draw("F/UTP", np.full(4000, 10.0), seed=2)
    pair_pf = cables.pair_f_per_m * 1e12
    assert cables.nvp.mean() == pytest.approx(0.67, abs=0.001)
    assert cables.nvp.mean(axis=1).std() == pytest.approx(0.06 / 12**0.5, rel=0.1)
    assert (cables.nvp / cables.nvp.mean(axis=1)[:, None]).std() == pytest.approx(0.015 * (3 / 4) ** 0.5, rel=0.05)
    assert pair_pf.mean() == pytest.approx(49.0, abs=0.2)
    assert loop_ohm(cables).mean() - 4 * 0.015 == pytest.approx(
        2 * 0.0842 * 10 * np.mean(kinds()["F/UTP"].helix), rel=0.005
    )
    floating = two_terminal_pf(cables, 0.0, stray_pf=1e-6)
    assert np.allclose(floating[:, 0, 1] / 10, pair_pf[:, 0], rtol=1e-6)


def test_seed_decides_all() -> None:
    """The same seed draws the same cables and the same noise; another one does not."""
    one, same, other = (draw("UTP", LENGTHS, seed).maxwell_pf for seed in (1, 1, 2))
    assert (one == same).all()
    assert not np.allclose(one, other)
    true = two_terminal_pf(draw("UTP", LENGTHS, 1), 10.0)
    read, again = as_measured_pf(true, 4, 0.5), as_measured_pf(true, 4, 0.5)
    assert np.array_equal(read, again, equal_nan=True)


def test_jack_adds_between_neighbours_only() -> None:
    """A jack adds about 1 pF between neighbours, 0.3 pF between next ones and nothing beyond."""
    added = jack_pf(500, 1)
    assert added[:, 3, 4].mean() == pytest.approx(1.0, abs=0.05)
    assert added[:, 3, 5].mean() == pytest.approx(0.3, abs=0.02)
    assert (added[:, 3, 6] == 0).all()
