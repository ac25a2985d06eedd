"""From a description to the integers that the fake board measures: `tables(description)`.

The result holds only dicts, lists, integers, texts and None, ready for JSON. Contacts are numbered 0..17: near
1..8 and S, then far 1..8 and S. "tri" is the upper triangle row by row, n(n-1)/2 entries; None = open.

    format, contacts   1, 18
    networks           distinct electrical states: {"milliohm": tri, "low_milliohm": tri, "film": [[i, j], ...]};
                       two-terminal resistance, all others floating, under full current and at no more than
                       20 mV; film: contacts joined whose low-level value is higher by more than 1 ohm
    schedule           [[from_us, network index], ...]: which state holds when, in board time
    period_us          the schedule repeats after it; None = its last state stays
    foreign            voltages: {"contact", "other", "millivolts", "source_ohm", "kind", "from_us", "for_us",
                       "every_us"}: one entry for every two contacts it stands between, + at contact; other None
                       = the tester's ground; for_us None = for good
    seed               of the description
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from firmware_sim.cable_model.description import Description
from firmware_sim.cable_model.far_end import attach
from firmware_sim.cable_model.foreign import foreign_voltages
from firmware_sim.cable_model.networks import Matrix, cable_network, effective_resistance, tester_contacts
from firmware_sim.cable_model.run import CONTACT_COUNT, lay_out
from firmware_sim.cable_model.schedule import timeline

FILM_OHM = 1.0


def tables(description: Description) -> dict[str, Any]:
    """Return the tables of the module's text."""
    times = timeline([fault.when for fault in description.faults])
    states = list(dict.fromkeys(active for _, active in times.entries))
    return {
        "format": 1,
        "contacts": CONTACT_COUNT,
        "networks": [_network(description, state) for state in states],
        "schedule": [[from_us, states.index(active)] for from_us, active in times.entries],
        "period_us": times.period_us,
        "foreign": foreign_voltages(description, states[0]),
        "seed": description.seed,
    }


def _network(description: Description, active: frozenset[int]) -> dict[str, Any]:
    full, low = (terminal_resistance(description, active, low_level) for low_level in (False, True))
    rows, columns = np.triu_indices(CONTACT_COUNT, 1)
    filmed = [
        [int(i), int(j)]
        for i, j in zip(rows, columns, strict=True)
        if np.isfinite(full[i, j]) and low[i, j] - full[i, j] > FILM_OHM
    ]
    return {"milliohm": triangle(full * 1000), "low_milliohm": triangle(low * 1000), "film": filmed}


def terminal_resistance(
    description: Description, active: frozenset[int] | None = None, low_level: bool = False
) -> Matrix:
    """Return the two-terminal resistance between the tester's contacts, ohms, [18][18], inf = open."""
    network = cable_network(lay_out(description, active), low_level)
    attach(network, description.attached, description.connectors[1])
    return effective_resistance(network, tester_contacts())


def triangle(values: Matrix) -> list[int | None]:
    """Return the upper triangle of a square, row by row, rounded to whole numbers; inf and NaN become None."""
    upper: Sequence[float] = values[np.triu_indices(len(values), 1)].tolist()
    return [round(value) if np.isfinite(value) else None for value in upper]
