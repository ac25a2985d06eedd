"""Charges on the surfaces of wires, insulation, sheaths and foils: a boundary-element method in the plane.

Every surface is cut into straight panels, each with a charge per area that does not vary along it: free and bound
charge together. On metal the potential is what the metal has; where two dielectrics meet the normal displacement is the
same on both sides. Metal's free charge is its whole charge times the relative permittivity that lies on it.

Method after Harrington, Field Computation by Moment Methods (1968), and Clements, Paul and Adams, "Computation of the
capacitance matrix for systems of dielectric-coated cylindrical conductors", IEEE Trans. EMC 17 (1975), both from
memory; they expand the charge of a circle in harmonics, here it stands on panels, so that a surface may have any
shape. Lengths are metres: no closed surface may reach unit size, where the logarithm makes the equations singular.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
EPSILON_0 = 8.854_187_8128e-12  # F/m, CODATA 2018
MU_0 = 4e-7 * np.pi  # H/m, to 1e-9


@dataclass(frozen=True)
class Surface:
    """A closed curve, counter-clockwise: corners [k, 2] in metres.

    conductor: number of the metal whose surface it is, -1 = the reference at potential 0, None = no metal.
    inside, outside: relative permittivities; of metal, the one on the side that has the field.
    """

    corners: Array
    conductor: int | None
    inside: float
    outside: float


def circle(x: float, y: float, radius: float, panels: int) -> Array:
    """Return corners of a polygon with the circle's area, [panels, 2]."""
    wide = radius * np.sqrt(2 * np.pi / panels / np.sin(2 * np.pi / panels))
    angle = 2 * np.pi * (np.arange(panels) + 0.5) / panels
    return np.stack([x + wide * np.cos(angle), y + wide * np.sin(angle)], axis=1)


def oblong(half_straight: float, radius: float, panels: int) -> Array:
    """Return corners of two half circles joined by straight lines, round the origin, its long way along x."""
    around = 2 * np.pi * radius + 4 * half_straight
    place = around * (np.arange(panels) + 0.5) / panels
    points = []
    for at in place.tolist():
        quarter, rest = np.pi * radius, at
        if rest < quarter:
            angle = -np.pi / 2 + rest / radius
            points.append((half_straight + radius * np.cos(angle), radius * np.sin(angle)))
        elif rest < quarter + 2 * half_straight:
            points.append((half_straight - (rest - quarter), radius))
        elif rest < 2 * quarter + 2 * half_straight:
            angle = np.pi / 2 + (rest - quarter - 2 * half_straight) / radius
            points.append((-half_straight + radius * np.cos(angle), radius * np.sin(angle)))
        else:
            points.append((-half_straight + rest - 2 * quarter - 2 * half_straight, -radius))
    return np.array(points)


@dataclass(frozen=True)
class _Panels:
    middle: Array  # [n, 2]
    along: Array  # [n, 2], unit
    outward: Array  # [n, 2], unit
    length: Array  # [n]


def _panels(surfaces: Sequence[Surface]) -> _Panels:
    start = np.concatenate([one.corners for one in surfaces])
    stop = np.concatenate([np.roll(one.corners, -1, axis=0) for one in surfaces])
    length = np.hypot(*(stop - start).T)
    along = (stop - start) / length[:, None]
    outward = np.stack([along[:, 1], -along[:, 0]], axis=1)
    return _Panels((start + stop) / 2, along, outward, length)


def _seen(from_points: Array, of: _Panels) -> tuple[Array, Array, Array, Array]:
    """Return, from points [m, 2], both ends of panels along themselves, height over them, and the angle they fill."""
    away = from_points[:, None, :] - of.middle[None, :, :]
    x = np.einsum("mnk,nk->mn", away, of.along)
    y = np.einsum("mnk,nk->mn", away, of.outward)
    right, left = of.length / 2 - x, -of.length / 2 - x
    flat = np.abs(y) < 1e-9 * of.length
    safe = np.where(flat, 1.0, y)
    angle = np.where(flat, 0.0, np.arctan(right / safe) - np.arctan(left / safe))
    return right, left, y, angle


def _potential(panels: _Panels) -> Array:
    """Return the potential at each panel's middle by unit charge over epsilon on each, [at, of], in closed form."""
    right, left, y, angle = _seen(panels.middle, panels)
    logs = right * np.log(right**2 + y**2) / 2 - left * np.log(left**2 + y**2) / 2
    return np.asarray(-(logs - panels.length + y * angle) / (2 * np.pi))


def _outward_field(panels: _Panels) -> Array:
    """Return the mean outward field over each panel by unit charge over epsilon on each other, [at, of].

    The flux of a charge through a panel is the angle that the panel fills, seen from the charge, so that flux out of a
    closed surface is exactly what is in it; each panel's charge stands in two Gauss points.
    """
    flux = np.zeros((len(panels.length), len(panels.length)))
    for side in (-1, 1):
        points = panels.middle + side * panels.along * panels.length[:, None] / np.sqrt(12)
        flux -= _seen(points, panels)[3].T / (4 * np.pi)
    return np.asarray(flux * panels.length[None, :] / panels.length[:, None])


def charges(surfaces: Sequence[Surface], conductors: int) -> Array:
    """Return the whole charge density over epsilon 0, [panels, conductors], one conductor at 1 V each."""
    every = _panels(surfaces)
    counts = [len(one.corners) for one in surfaces]
    metal = np.repeat([one.conductor is not None for one in surfaces], counts)
    inside = np.repeat([one.inside for one in surfaces], counts)
    outside = np.repeat([one.outside for one in surfaces], counts)
    owner = np.repeat([-2 if one.conductor is None else one.conductor for one in surfaces], counts)
    potential = _potential(every)
    lines = (outside - inside)[:, None] * _outward_field(every)
    lines[np.diag_indices_from(lines)] += (outside + inside) / 2
    system = np.where(metal[:, None], potential, lines)
    wanted = (owner[:, None] == np.arange(conductors)[None, :]).astype(np.float64)
    solved: Array = np.linalg.solve(system, wanted)
    return solved


def maxwell_pf(surfaces: Sequence[Surface], conductors: int) -> Array:
    """Return Maxwell's capacitance matrix to the reference, [conductors, conductors] in pF/m."""
    density = charges(surfaces, conductors)
    found = np.zeros((conductors, conductors))
    begin = 0
    for one in surfaces:
        panels = _panels([one])
        if one.conductor is not None and one.conductor >= 0:
            free = one.outside * EPSILON_0 * panels.length @ density[begin : begin + len(panels.length)]
            found[one.conductor] += free * 1e12
        begin += len(panels.length)
    return (found + found.T) / 2


def bare(surfaces: Sequence[Surface]) -> list[Surface]:
    """Return the metal alone, with nothing but vacuum round it."""
    return [Surface(one.corners, one.conductor, 1.0, 1.0) for one in surfaces if one.conductor is not None]


def external_nh(surfaces: Sequence[Surface], conductors: int) -> Array:
    """Return the external inductances, [conductors, conductors] in nH/m: mu epsilon over the bare capacitances."""
    inverse = np.linalg.inv(maxwell_pf(bare(surfaces), conductors) * 1e-12)
    return MU_0 * EPSILON_0 * np.asarray(inverse) * 1e9


def crowding(surfaces: Sequence[Surface], one: int, other: int, conductors: int, foil: float = 0.0) -> float:
    """Return what a pair's current that keeps to the skin loses, over what it would lose spread evenly on both wires.

    Out on one conductor, back on the other, none on those besides. At high frequency the current lies as the charge
    of bare metal does, on a foil too; its square is what is lost. foil: surface resistance of the reference over the
    wires', 0 = it loses nothing.
    """
    metal = bare(surfaces)
    density = charges(metal, conductors)
    volts = np.linalg.solve(maxwell_pf(metal, conductors), np.eye(conductors)[one] - np.eye(conductors)[other])
    lies = density @ volts
    begin, lost, even = 0, 0.0, 0.0
    for surface in metal:
        length = _panels([surface]).length
        mine = lies[begin : begin + len(length)]
        if surface.conductor in (one, other):
            even += float((length @ mine) ** 2 / length.sum())
        lost += float(length @ mine**2) * (foil if surface.conductor == -1 else 1.0)
        begin += len(length)
    return lost / even
