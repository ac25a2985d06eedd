import math

import numpy as np
import pytest

from firmware_sim.cable_model.written.kinds import kinds
from tests.firmware_sim.cable_model.checks import matrices_from_cross_section
from tests.firmware_sim.cable_model.cross_section import EPSILON_0, Circle, even_turns, slice_capacitance


def test_bare_two_wire_line() -> None:
    """Two bare wires have pi eps0 / arcosh(D/d) (closed form, any text on lines)."""
    wires = [Circle(side * 0.44, 0, 0.2555, number, 1, 1) for number, side in enumerate((-1, 1))]
    c = slice_capacitance([*wires, Circle(0, 0, 5000, -1, 1, 1)])
    assert (c[0, 0] - c[0, 1]) / 2 == pytest.approx(math.pi * EPSILON_0 * 1e12 / math.acosh(0.88 / 0.511), rel=1e-6)


def test_coaxial_layers() -> None:
    """A coated wire in a tube is two cylindrical capacitors in series (closed form)."""
    c = slice_capacitance([Circle(0, 0, 0.25, 0, 1, 2.6), Circle(0, 0, 0.5, None, 2.6, 1), Circle(0, 0, 2, -1, 1, 1)])
    layers = math.log(0.5 / 0.25) / 2.6 + math.log(2 / 0.5)
    assert c[0, 0] == pytest.approx(2 * math.pi * EPSILON_0 * 1e12 / layers, rel=1e-9)


def test_coat_of_air_is_no_coat() -> None:
    """A coat with the permittivity of air changes nothing."""
    wires = [Circle(side * 0.45, 0.1, 0.2555, number, 1, 1) for number, side in enumerate((-1, 1))]
    coats = [Circle(side * 0.45, 0.1, 0.40, None, 1, 1) for side in (-1, 1)]
    tube = Circle(0, 0, 15, -1, 1, 1)
    assert np.allclose(slice_capacitance([*wires, *coats, tube]), slice_capacitance([*wires, tube]), rtol=1e-12)


def test_off_centre_wire_in_a_tube() -> None:
    """A wire off the middle of a tube has 2 pi eps0 / arcosh((R2 + r2 - e2) / 2 R r) (closed form)."""
    c = slice_capacitance([Circle(0.8, 0.3, 0.25, 0, 1, 1), Circle(0, 0, 2, -1, 1, 1)], harmonics=20)
    off = (2**2 + 0.25**2 - 0.8**2 - 0.3**2) / (2 * 2 * 0.25)
    assert c[0, 0] == pytest.approx(2 * math.pi * EPSILON_0 * 1e12 / math.acosh(off), rel=1e-12)


def test_shipped_matrices_are_those_of_the_cross_sections() -> None:
    """The matrices that ship follow from the cross-sections written beside them, within 1.2 % of their largest."""
    assert matrices_from_cross_section(1, 64)


def test_kinds_are_as_such_cable_is_sold() -> None:
    """Speed and impedance of a pair, all else floating, are where a field computation of such cable has them.

    Ranges of a computation of other cross-sections (panels) for the same kinds: foamed S/FTP, U/FTP with a foam skin, a
    stranded cord, a slim cord and a star quad; 3 % on either side, since makes differ.
    """
    ranges = {
        "UTP": (0.64, 0.73, 95, 110),
        "S/FTP": (0.795, 0.815, 97, 100),
        "U/FTP": (0.755, 0.77, 98, 102),
        "cord": (0.65, 0.675, 94, 99),
        "slim": (0.67, 0.685, 105, 108),
        "quad": (0.70, 0.71, 95, 97),
    }
    for name, (low, high, least_ohm, most_ohm) in ranges.items():
        kind = kinds()[name]
        elastance = np.linalg.inv(np.array(kind.c_pf_per_m))
        farad = 1e-12 / (elastance[0, 0] + elastance[1, 1] - 2 * elastance[0, 1])
        henry = 1e-9 * sum(kind.l_nh_per_m[k][k] for k in (0, 1)) - 2e-9 * kind.l_nh_per_m[0][1]
        nvp = 1 / math.sqrt(farad * henry) / 299_792_458.0
        assert 0.97 * low < nvp < 1.03 * high, (name, nvp)
        assert 0.97 * least_ohm < math.sqrt(henry / farad) < 1.03 * most_ohm, (name, math.sqrt(henry / farad))


def test_pairs_in_foils_share_nothing_and_a_quad_is_one() -> None:
    """Pairs in foils of their own have no capacitance between them; of a quad all four between pairs are alike."""
    foils, quad = np.array(kinds()["S/FTP"].c_pf_per_m), -np.array(kinds()["quad"].c_pf_per_m)
    assert not foils[:2, 2:].any()
    assert len(set(quad[:2, 2:].ravel())) == 1
    assert quad[0, 2] > 2 * quad[0, 1]


def test_turns_are_spread_evenly() -> None:
    """The twist angles cover all directions of every pair alike."""
    turns = even_turns(512, 4)
    assert np.abs(np.exp(1j * turns).mean(axis=0)).max() < 0.02
    assert np.abs(np.exp(1j * (turns[:, 0] - turns[:, 3])).mean()) < 0.02


def test_matrices_are_those_of_sound_cables() -> None:
    """Every kind's matrices are symmetric, positive, and its pairs have 100 ohm within 15 % (bus signal pair: 120)."""
    for kind in kinds().values():
        for table in (kind.c_pf_per_m, kind.wet_c_pf_per_m, kind.l_nh_per_m):
            matrix = np.array(table)
            assert (matrix == matrix.T).all()
            assert np.linalg.eigvalsh(matrix).min() > 0
        c, ell = np.array(kind.c_pf_per_m), np.array(kind.l_nh_per_m)
        for number in range(len(kind.pairs)):
            k = 2 * number
            ohm = math.sqrt(2e3 * (ell[k, k] - ell[k, k + 1]) / ((c[k, k] - c[k, k + 1]) / 2))
            wanted = 120 if kind.name == "device-bus" and number else 100
            assert ohm == pytest.approx(wanted, rel=0.15)
