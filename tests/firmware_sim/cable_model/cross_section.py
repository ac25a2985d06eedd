"""The matrices of a metre from a cable's cross-section: where the numbers of kinds.toml come from.

Two-dimensional fields by harmonics: every circle (wire, insulation, jacket, foil) carries a layer of free and
bound charge written as a Fourier series; the potential must be even on conductors and the flux must pass through
dielectric surfaces unbroken (J. C. Clements, C. R. Paul, A. T. Adams 1975). Inductance follows from the capacitance
without any dielectric (C. R. Paul 1976). One slice has every pair at one angle; the cable is the mean over angles.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from firmware_sim.cable_model.arrays import Matrix
from firmware_sim.cable_model.written.kinds import Geometry, helix_factors

EPSILON_0 = 8.8541878128e-12
MU_0 = 4e-7 * math.pi
HARMONICS = 6


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle, mm. conductor: which one it is the surface of (-1 = the reference, None = a dielectric surface).

    inside, outside: relative permittivities; on a wire outside is the insulation's, in the reference inside counts.
    """

    x: float
    y: float
    radius: float
    conductor: int | None
    inside: float
    outside: float


def slice_capacitance(circles: Sequence[Circle], harmonics: int = HARMONICS) -> Matrix:
    """Return the Maxwell capacitance matrix of one slice, pF/m, [n][n] against the reference."""
    order = np.arange(1, harmonics + 1)
    per_circle = 2 * harmonics + 1
    angles = 2 * math.pi * np.arange(per_circle) / per_circle
    size = len(circles) * per_circle
    system = np.zeros((size, size))
    x = np.array([circle.x for circle in circles])
    y = np.array([circle.y for circle in circles])
    radius = np.array([circle.radius for circle in circles])
    points = x[:, None] + 1j * y[:, None] + radius[:, None] * np.exp(1j * angles)
    normals = np.broadcast_to(np.exp(1j * angles), points.shape)
    for column, source in enumerate(circles):
        potential, field = _layer(source, points.ravel(), normals.ravel(), order)
        at = slice(column * per_circle, (column + 1) * per_circle)
        for row, circle in enumerate(circles):
            here = slice(row * per_circle, (row + 1) * per_circle)
            if circle.conductor is not None:
                system[here, at] = potential[here]
                continue
            # Unbroken flux: (in - out) times the mean normal field, less half the sum on the layer's own jump.
            system[here, at] = (circle.inside - circle.outside) * field[here]
            if row == column:
                shape = np.concatenate(
                    [np.ones((per_circle, 1)), np.cos(np.outer(angles, order)), np.sin(np.outer(angles, order))], axis=1
                )
                system[here, at] -= (circle.inside + circle.outside) / 2 * shape
    n = 1 + max(circle.conductor for circle in circles if circle.conductor is not None)
    drive = np.zeros((size, n))
    for row, circle in enumerate(circles):
        if circle.conductor is not None and circle.conductor >= 0:
            drive[row * per_circle : (row + 1) * per_circle, circle.conductor] = 1.0
    charge = np.linalg.solve(system, drive)
    result = np.zeros((n, n))
    for row, circle in enumerate(circles):
        if circle.conductor is not None and circle.conductor >= 0:
            # Layers are in units of epsilon_0 per mm; the free charge is the permittivity times the whole.
            whole = 2 * math.pi * circle.radius * charge[row * per_circle]
            result[circle.conductor] = circle.outside * EPSILON_0 * whole * 1e12
    return (result + result.T) / 2


def _layer(source: Circle, points: np.ndarray, normals: np.ndarray, order: np.ndarray) -> tuple[Matrix, Matrix]:
    """Return potential and mean outward field at points of each harmonic of a layer, [point][1, cos.., sin..]."""
    offset = points - (source.x + 1j * source.y)
    offset = np.where(np.abs(offset) < 1e-9, 1e-9, offset)
    distance = np.abs(offset)
    on = np.isclose(distance, source.radius, rtol=1e-9)
    outside = distance >= source.radius * (1 - 1e-9)
    ratio = np.where(outside, source.radius / distance, distance / source.radius)
    turned = offset / distance
    power = ratio[:, None] ** order
    wave = turned[:, None] ** order
    scale = source.radius / (2 * order)
    potential = np.concatenate(
        [
            -source.radius * np.log(np.where(outside, distance, source.radius))[:, None],
            scale * power * wave.real,
            scale * power * wave.imag,
        ],
        axis=1,
    )
    # Field along the point's normal: radial and tangential parts of -grad; on the layer itself the mean of both sides.
    side = np.where(on, 0.0, np.where(outside, 1.0, -1.0))
    radial = 0.5 * (source.radius / distance)[:, None] * power * side[:, None]
    tangential = 0.5 * (source.radius / distance)[:, None] * power
    along = (normals * np.conj(turned)).real[:, None]
    across = (normals * np.conj(turned)).imag[:, None]
    ring = np.where(on, 0.5, np.where(outside, 1.0, 0.0)) * source.radius / distance
    field = np.concatenate(
        [
            ring[:, None] * along,
            along * radial * wave.real + across * tangential * wave.imag,
            along * radial * wave.imag - across * tangential * wave.real,
        ],
        axis=1,
    )
    return potential, field


def circles(geometry: Geometry, turns: Sequence[float], dielectric: bool = True) -> list[Circle]:
    """Return the circles of a slice whose pairs are turned by `turns` (radians); dielectric False: wires in air."""
    found = []
    core = geometry.core if dielectric else 1.0
    coat = geometry.insulation_permittivity if dielectric else 1.0
    for pair, ((x, y), turn, outer_mm) in enumerate(zip(geometry.centres, turns, geometry.insulation_mm, strict=True)):
        for wire, sign in enumerate((1, -1)):
            angle = turns[0] + pair * math.pi / 2 if geometry.quad else turn
            out_mm = outer_mm / (math.sqrt(2) if geometry.quad else 2)
            at_x = x + sign * out_mm * math.cos(angle)
            at_y = y + sign * out_mm * math.sin(angle)
            found.append(Circle(at_x, at_y, geometry.wire_mm / 2, 2 * pair + wire, 1.0, coat))
            if dielectric:
                found.append(Circle(at_x, at_y, outer_mm / 2, None, coat, core))
    if geometry.jacket and dielectric:
        inner_mm, outer_mm, jacket = geometry.jacket
        found.append(Circle(0, 0, inner_mm, None, core, jacket))
        found.append(Circle(0, 0, outer_mm, None, jacket, 1.0))
    found.append(Circle(0, 0, geometry.reference_mm, -1, core, 1.0))
    return found


def even_turns(count: int, pairs: int) -> Matrix:
    """Return `count` sets of angles, radians [count][pairs], spread evenly (Kronecker's recurrence)."""
    steps = np.sqrt(np.array([2.0, 3.0, 5.0, 7.0][:pairs]))
    return 2 * math.pi * np.mod(np.outer(np.arange(1, count + 1), steps), 1.0)


def metre(geometry: Geometry, turns: Matrix) -> tuple[Matrix, Matrix]:
    """Return C (pF) and L (nH) of a metre of sheath, mean over slices at `turns` [slice][pair], helix included.

    Both wires of a pair pass through the same places, so within a block of two pairs all values are made alike.
    """
    n = 2 * len(geometry.centres)
    capacitance, inductance = np.zeros((2, n, n))
    if geometry.foils_mm:
        for pair in range(n // 2):
            here = slice(2 * pair, 2 * pair + 2)
            capacitance[here, here], inductance[here, here] = metre(_in_its_foil(geometry, pair), turns[:1, :1])
        return capacitance, inductance
    for turn in turns:
        capacitance += slice_capacitance(circles(geometry, turn)) / len(turns)
        in_air = slice_capacitance(circles(geometry, turn, dielectric=False)) * 1e-12
        inductance += MU_0 * EPSILON_0 * 1e9 * np.linalg.inv(in_air) / len(turns)
    helix = np.repeat(helix_factors(geometry), 2)
    stretch = np.sqrt(np.outer(helix, helix))
    return _alike(capacitance) * stretch, _alike(inductance) * stretch


def _in_its_foil(geometry: Geometry, pair: int) -> Geometry:
    """Return one pair of a cable with a foil round each, which is alike at every angle."""
    return replace(
        geometry,
        centres=((0.0, 0.0),),
        insulation_mm=(geometry.insulation_mm[pair],),
        lays_mm=(geometry.lays_mm[pair],),
        reference_mm=geometry.foils_mm[pair],
        foils_mm=(),
    )


def _alike(matrix: Matrix) -> Matrix:
    """Average within each 2 x 2 block: its diagonal and the rest of a pair's own block, all four of the others."""
    n = len(matrix)
    result = np.empty_like(matrix)
    for i in range(0, n, 2):
        for j in range(0, n, 2):
            block = matrix[i : i + 2, j : j + 2]
            if i == j:
                own, other = np.trace(block) / 2, (block[0, 1] + block[1, 0]) / 2
                result[i : i + 2, j : j + 2] = [[own, other], [other, own]]
            else:
                result[i : i + 2, j : j + 2] = block.mean()
    return result
