"""The run as coupled transmission lines: what its plug shows at complex frequencies.

Waves are followed from the far plug to the near one. A span turns the admittance behind it into the one before
it by its modes; a joint by the splices, breaks and bridges in it. All conductors but the screen are lines; the
screen, or without one the surroundings, is the reference. Arrays are [frequency][conductor][conductor].
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from firmware_sim.cable_model.arrays import Complex, Matrix, add_between, without_floating
from firmware_sim.cable_model.direct_current.copper import ohm_per_m
from firmware_sim.cable_model.fields.matrices import capacitance_f_per_m, inductance_h_per_m
from firmware_sim.cable_model.fields.wire_impedance import dielectric_factor, ohm_per_m_at
from firmware_sim.cable_model.laid_out.run import Joint, Run, Span
from firmware_sim.cable_model.written.plugs import RJ45, SCREEN

SMALLEST_OHM = 1e-3  # what stands for a plain joint or a dead short
LEAST_LINE_SIEMENS = 1e-12  # keeps a conductor that reaches nothing from being singular


@dataclass(frozen=True)
class Modes:
    """A metre of cable at each frequency: gamma [f][mode], vectors [f][n][mode] with inverse, admittance [f][n][n].

    admittance is the characteristic one: currents of waves that never come back.
    """

    gamma: Complex
    vectors: Complex
    inverse: Complex
    admittance: Complex


def line_modes(c_f_per_m: Matrix, l_h_per_m: Matrix, series_ohm_per_m: Complex, s: Complex) -> Modes:
    """Return the modes of a line; series_ohm_per_m: each conductor's inner impedance, [f][n]; s in rad/s, Re s > 0."""
    n = len(c_f_per_m)
    impedance = s[:, None, None] * l_h_per_m
    impedance[:, range(n), range(n)] += series_ohm_per_m
    shunt = (s * dielectric_factor(s))[:, None, None] * c_f_per_m
    squared, vectors = _eigen(impedance @ shunt)
    gamma = np.sqrt(squared)
    inverse = np.linalg.inv(vectors)
    admittance = np.linalg.solve(impedance, (vectors * gamma[:, None, :]) @ inverse)
    return Modes(gamma, vectors, inverse, admittance)


def _eigen(product: Complex) -> tuple[Complex, Complex]:
    """Return eigenvalues and vectors; where each pair's two wires are alike its two modes are told apart first."""
    n = product.shape[-1]
    if n % 2:
        return np.linalg.eig(product)
    turn = np.kron(np.eye(n // 2), np.array([[1.0, 1.0], [-1.0, 1.0]])) / np.sqrt(2)
    turned = turn.T @ product @ turn
    odd, even = slice(0, n, 2), slice(1, n, 2)
    apart = np.eye(n // 2, dtype=bool)
    mixed = max(
        np.abs(turned[:, odd, even]).max(),
        np.abs(turned[:, even, odd]).max(),
        np.abs(turned[:, odd, odd][:, ~apart]).max(initial=0.0),
    )
    if mixed > 1e-9 * np.abs(turned).max():
        return np.linalg.eig(product)
    squared = np.empty(product.shape[:2], complex)
    vectors = np.zeros_like(product)
    squared[:, odd] = np.einsum("fkk->fk", turned[:, odd, odd])
    vectors[:, :, odd] = turn[:, odd]
    squared[:, even], common = np.linalg.eig(turned[:, even, even])
    vectors[:, :, even] = turn[:, even] @ common
    return squared, vectors


def span_modes(span: Span, temperature_c: float, s: Complex) -> Modes:
    """Return the modes of a span's cable."""
    metre = ohm_per_m(span.awg, span.metal, temperature_c)
    inner = ohm_per_m_at(s, metre, span.awg)
    series = inner[:, None] * np.array(span.kind.helix)
    return line_modes(capacitance_f_per_m(span), inductance_h_per_m(span), series, s)


def before_line(modes: Modes, length_m: float, behind: Complex) -> Complex:
    """Return the admittance before a length of line whose end has the admittance `behind`."""
    travel = (modes.vectors * np.exp(-modes.gamma * length_m)[:, None, :]) @ modes.inverse
    one = np.eye(behind.shape[-1])
    reflected = np.linalg.solve(modes.admittance + behind, modes.admittance - behind)
    returned = travel @ reflected @ travel
    return _divided(modes.admittance @ (one - returned), one + returned)


def before_joint(joint: Joint, left: Sequence[str], right: Sequence[str], behind: Complex) -> Complex:
    """Return the admittance on the left of a joint from the one on its right; names give the order of conductors."""
    y = _bridged(joint, right, behind, on_right=True)
    through = {a: (b, ohm) for a, (b, ohm, _) in joint.through.items() if a in left and b in right and ohm < np.inf}
    kept = [right.index(b) for b, _ in through.values()]
    loose = [k for k in range(len(right)) if k not in kept]
    held = without_floating(y, kept, loose, LEAST_LINE_SIEMENS)
    ohms = np.array([ohm for _, ohm in through.values()])
    held = _divided(held, np.eye(len(kept)) + ohms[:, None] * held)
    result = np.zeros((len(y), len(left), len(left)), complex)
    places = [left.index(a) for a in through]
    result[:, np.array(places, int)[:, None], np.array(places, int)] = held
    return _bridged(joint, left, result, on_right=False)


def _bridged(joint: Joint, names: Sequence[str], y: Complex, on_right: bool) -> Complex:
    y = y.copy()
    for bridge in joint.bridges:
        if bridge.on_right != on_right:
            continue
        siemens = 1 / max(bridge.ohm, SMALLEST_OHM)
        add_between(y, [names.index(name) for name in (bridge.a, bridge.b) if name != SCREEN], siemens)
    return y


def _divided(a: Complex, b: Complex) -> Complex:
    """Return a b^-1."""
    return np.linalg.solve(b.swapaxes(-1, -2), a.swapaxes(-1, -2)).swapaxes(-1, -2)


class ModesAt:
    """The modes of every kind of span met so far, at one set of frequencies s (rad/s, Re s > 0)."""

    def __init__(self, s: Complex, temperature_c: float) -> None:
        self.s = s
        self._temperature_c = temperature_c
        self._known: dict[Span, Modes] = {}

    def of(self, span: Span) -> Modes:
        """Return the modes of a span's cable, whatever the span's length."""
        metre = replace(span, length_m=1.0)
        if metre not in self._known:
            self._known[metre] = span_modes(span, self._temperature_c, self.s)
        return self._known[metre]


def wires(span: Span) -> tuple[str, ...]:
    """Return the conductors of a span that are lines, in matrix order: all but the screen."""
    return tuple(colour for colour in span.kind.conductors if colour != SCREEN)


def plug_wires(run: Run) -> tuple[str, ...]:
    """Return the colours in the near plug that are lines, in the cable's order: the order of y_in's matrix."""
    return tuple(colour for colour in wires(run.spans[0]) if colour in run.near.values())


def y_in(run: Run, modes: ModesAt, load: Complex) -> Complex:
    """Return the admittance matrix between the near plug's wires (as `plug_wires`), [f][n][n], siemens.

    load: admittance at the far plug, [f][n][n] over the wires of the last span; zeros = nothing there.
    """
    y = load
    behind = wires(run.spans[-1])
    for joint, span in zip(reversed(run.joints[1:]), reversed(run.spans), strict=True):
        y = before_joint(joint, wires(span), behind, y)
        y = before_line(modes.of(span), span.length_m, y)
        behind = wires(span)
    return before_joint(run.joints[0], plug_wires(run), behind, y)


def y_endless(run: Run, modes: ModesAt) -> Complex:
    """Return what `y_in` would be if the first span never ended, so that nothing came back."""
    first = run.spans[0]
    return before_joint(run.joints[0], plug_wires(run), wires(first), modes.of(first).admittance)


def mirrored(run: Run) -> Run:
    """Return the same cable seen from its far plug, which must be in the tester."""
    joints = []
    for joint in reversed(run.joints):
        back = {b: (a, ohm, low_ohm) for a, (b, ohm, low_ohm) in joint.through.items()}
        turned = tuple((right, left, pf) for left, right, pf in joint.capacitors)
        joints.append(Joint(back, tuple(replace(b, on_right=not b.on_right) for b in joint.bridges), turned))
    half = len(RJ45)
    return Run(
        spans=tuple(reversed(run.spans)),
        joints=tuple(joints),
        near={index - half: colour for index, colour in run.far.items()},
        far={index + half: colour for index, colour in run.near.items()},
        far_plug={RJ45[index]: colour for index, colour in run.near.items()},
        temperature_c=run.temperature_c,
    )
