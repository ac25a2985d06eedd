"""What a source of power over the cable would see of the tester, computed from the board's parts list.

A source must refuse below 15 and above 33 kohm (IEEE 802.3, from memory); between them it may switch its voltage
on. So between any two contacts, and any two pairs each in parallel, the board must never show that.
"""

from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray

from firmware_sim.board import parts

MAY_TAKE_OHM = (15_000.0, 33_000.0)
TOLERANCE = 0.05
P, Q, HIGH_BUS, LOW_BUS, HIGH_SENSE, LOW_SENSE, NODES = 0, 1, 2, 3, 4, 5, 6
FORCE_OHM = parts.FUSE_OHM + parts.SERIES_OHM + parts.MULTIPLEXER_OHM
CLAMP_OHM = parts.FUSE_OHM + parts.SERIES_OHM
Conductances = list[tuple[int, int | None, float]]  # from a node to a node or to ground (None), siemens


def resistances(states: list[Conductances]) -> NDArray[np.float64]:
    """Return the resistance between P and Q in each state, by nodal analysis; ground and rails are one node."""
    matrices = np.zeros((len(states), NODES, NODES))
    for matrix, state in zip(matrices, states, strict=True):
        matrix[np.diag_indices(NODES)] = 1e-10  # leakage of the board, keeps it solvable
        for a, b, siemens in state:
            matrix[a, a] += siemens
            if b is not None:
                matrix[b, b] += siemens
                matrix[a, b] -= siemens
                matrix[b, a] -= siemens
    current = np.zeros((NODES, 1))
    current[P], current[Q] = 1.0, -1.0
    voltages = np.linalg.solve(matrices, np.broadcast_to(current, (len(states), NODES, 1)))
    difference: NDArray[np.float64] = voltages[:, P, 0] - voltages[:, Q, 0]
    return difference


def bus_sides(scale: float) -> list[Conductances]:
    """Return what hangs on the four buses, for every range and the switches of the bus."""
    found = []
    for code, low_level, joined in product(range(4), (False, True), (False, True)):
        feed = parts.FEED_OHM[code]
        side: Conductances = [(bus, None, 1 / (parts.COMPARATOR_OHM * scale)) for bus in (HIGH_BUS, LOW_BUS)]
        if feed is None:
            side += [(bus, None, 1 / (parts.DIVIDER_OHM * scale)) for bus in (HIGH_SENSE, LOW_SENSE)]
        else:
            side.append((HIGH_BUS, None, 1 / (feed * scale)))
        if joined:
            side.append((LOW_BUS, HIGH_BUS, 1 / 1.0))
        elif feed is not None:
            side.append((LOW_BUS, None, 1 / (parts.SHUNT_OHM * scale)))
        if low_level:
            side.append((HIGH_BUS, None, 1 / (parts.LOW_LEVEL_OHM * scale)))
        found.append(side)
    return found


def contact_sides(contacts_each: int, scale: float, sense_ohm: float = parts.SENSE_OHM) -> list[Conductances]:
    """Return how the multiplexers, ties, echo stage and clamps may lead from P and Q to the buses and to ground."""
    leads = []
    places = (None, P, Q)
    for high, low, high_sense, low_sense in product(places, repeat=4):
        lead: Conductances = []
        for at, bus, ohm in (
            (high, HIGH_BUS, FORCE_OHM),
            (low, LOW_BUS, FORCE_OHM),
            (high_sense, HIGH_SENSE, sense_ohm),
            (low_sense, LOW_SENSE, sense_ohm),
        ):
            if at is not None:
                lead.append((at, bus, 1 / (ohm * scale)))
        leads.append(lead)
    grounds = []
    counts = range(contacts_each + 1)
    for ties_p, ties_q, clamped in product(counts, counts, (None, P, Q)):
        ground: Conductances = [
            (P, None, ties_p / (parts.TIE_OHM * scale)),
            (Q, None, ties_q / (parts.TIE_OHM * scale)),
        ]
        if clamped is not None:
            # A contact below ground or above the clamp: its diode conducts, and only its series parts remain.
            ground.append((clamped, None, contacts_each / (CLAMP_OHM * scale)))
        grounds.append(ground)
    for first, second in product((P, Q), repeat=2):
        grounds.append([(first, None, 1 / (parts.ECHO_OHM * scale)), (second, None, 1 / (parts.ECHO_OHM * scale))])
    return [lead + ground for lead, ground in product(leads, grounds)]


@pytest.mark.parametrize("contacts_each", [1, 2])
@pytest.mark.parametrize("scale", [1 - TOLERANCE, 1 + TOLERANCE])
def test_in_no_state_does_the_powered_board_look_like_a_device(contacts_each: int, scale: float) -> None:
    """With the board on, nothing between 15 and 33 kohm shows between two contacts, or two pairs, in any state."""
    ohm = shown(contact_sides(contacts_each, scale), bus_sides(scale))
    assert not within(ohm).any()
    # And not by a hair: what it shows stays away from both limits.
    assert ohm[ohm < MAY_TAKE_OHM[0]].max() < 12_000
    assert ohm[ohm > MAY_TAKE_OHM[1]].min() > 40_000


def test_a_smaller_sense_resistor_would_look_like_a_device() -> None:
    """47 kohm in each sense path would show 24 kohm where both contacts of a pair hang on the sense buses."""
    ohm = shown(contact_sides(2, 1.0, sense_ohm=47_000), bus_sides(1.0))
    assert within(ohm).any()


def shown(contact_side: list[Conductances], bus_side: list[Conductances]) -> NDArray[np.float64]:
    """Return what P and Q show in every combination of the two sides."""
    return np.concatenate([resistances([contacts + side for side in bus_side]) for contacts in contact_side])


def within(ohm: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return where a source might take the tester for a device."""
    return (ohm > MAY_TAKE_OHM[0]) & (ohm < MAY_TAKE_OHM[1])


@pytest.mark.parametrize("contacts_each", [1, 2])
def test_a_board_without_power_looks_like_a_short(contacts_each: int) -> None:
    """With the board off, its diodes and the bleed across its dead rail show under 15 kohm from 2.8 to 10 V.

    Whatever else loads the rail lies in parallel with the bleed. Both the chord and the slope count.
    """
    series_ohm = 2 * CLAMP_OHM * (1 + TOLERANCE) / contacts_each
    for rail_ohm in np.linspace(0.0, parts.RAIL_BLEED_OHM * (1 + TOLERANCE), 20):
        volt = np.linspace(2.8, 10.0, 73)
        current = (volt - 2 * parts.DIODE_MV / 1000) / (series_ohm + rail_ohm)
        assert (current > 0).all()
        assert (volt / current).max() < MAY_TAKE_OHM[0]
        assert (np.diff(volt) / np.diff(current)).max() < MAY_TAKE_OHM[0]


def test_what_every_contact_carries_to_ground_is_low_or_high() -> None:
    """No resistor that a contact carries lies between 7.5 and 33 kohm, but the 10 kohm that only one is fed through."""
    carried = [parts.TIE_OHM, parts.SENSE_OHM + parts.DIVIDER_OHM, parts.ECHO_OHM, FORCE_OHM]
    assert all(ohm < 7_500 or ohm > 33_000 for ohm in carried)
    fed = [ohm for ohm in parts.FEED_OHM if ohm is not None and 7_500 <= ohm <= 33_000]
    assert fed == [10_000]
    assert fed[0] * (1 + TOLERANCE) + 2 * FORCE_OHM + parts.TIE_OHM < MAY_TAKE_OHM[0]
