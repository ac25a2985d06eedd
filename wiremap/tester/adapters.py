"""An adapter between a cable's plug and a tester's socket: from the tester's contacts to the cable's.

An adapter is described by a pattern: its near connector is the cable's plug, its far connector the tester's.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from wiremap.cable.patterns import Pattern
from wiremap.calibration import Calibration
from wiremap.errors import UsageError

T = TypeVar("T")


def route(socket: tuple[str, ...], adapter: Pattern | None) -> tuple[tuple[str, int | None], ...]:
    """Return the cable's contacts in order, each with the index of the tester's contact it reaches.

    socket: names of the tester's contacts. None as an index: the adapter leaves that contact unconnected.
    """
    if adapter is None:
        return tuple((name, index) for index, name in enumerate(socket))
    if adapter.joins or adapter.far_connector is None:
        raise UsageError(
            f"'{adapter.name}' cannot be an adapter: it joins contacts or has one plug only",
            "Name the pattern that leads from the cable's plug to the tester's socket, such as m12d-rj45.",
        )
    if adapter.far_contacts != socket:
        raise UsageError(
            f"the adapter '{adapter.name}' ends in {adapter.far_connector.title}, which does not fit the tester's "
            f"contacts {', '.join(socket)}",
            "Name the adapter from the cable's plug to the tester's socket, such as m12d-rj45.",
        )
    reaches = dict(adapter.conductors)
    if adapter.near_screen is not None and adapter.far_screen is not None:
        reaches[adapter.near_screen] = adapter.far_screen
    return tuple(
        (contact, socket.index(reaches[contact]) if contact in reaches else None) for contact in adapter.near_contacts
    )


def pick_row(values: Sequence[T], indices: Sequence[int | None]) -> tuple[T | None, ...]:
    """Return values[i] for each index; None where there is none."""
    return tuple(None if i is None else values[i] for i in indices)


def pick_square(
    rows: Sequence[Sequence[T]], indices: Sequence[int | None], diagonal: T
) -> tuple[tuple[T | None, ...], ...]:
    """Return the square over the cable's contacts, out of that over the tester's; symmetric as that is."""
    return tuple(
        tuple(
            diagonal if row == column else None if i is None or j is None else rows[i][j]
            for column, j in enumerate(indices)
        )
        for row, i in enumerate(indices)
    )


def pick_calibration(known: Calibration, indices: Sequence[int | None]) -> Calibration:
    """Return what is known of the tester in the cable's contacts."""

    def square(rows: tuple[tuple[float | None, ...], ...] | None) -> tuple[tuple[float | None, ...], ...] | None:
        return None if rows is None else pick_square(rows, indices, 0.0)

    return replace(
        known,
        open_pf=square(known.open_pf),
        open_single_pf=None if known.open_single_pf is None else pick_row(known.open_single_pf, indices),
        open_double_pf=square(known.open_double_pf),
        cord_pf=square(known.cord_pf),
        cord_single_pf=None if known.cord_single_pf is None else pick_row(known.cord_single_pf, indices),
        cord_double_pf=square(known.cord_double_pf),
    )
