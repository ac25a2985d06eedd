"""An adapter between a cable's plug and a tester's socket: from the tester's contacts to the cable's.

An adapter is described by a pattern: its near connector is the cable's plug, its far connector the tester's.
"""

from collections.abc import Sequence
from typing import Any, TypeVar

from msgspec.structs import replace

from wiremap.cable.patterns import Pattern
from wiremap.calibration import Calibration
from wiremap.contact import far_contact, near_contact
from wiremap.errors import FileError, UsageError
from wiremap.reading.parts import Capacitance
from wiremap.reading.reading import Reading

T = TypeVar("T")


def route(socket: tuple[str, ...], adapter: Pattern | None) -> tuple[tuple[str, int | None], ...]:
    """Return the cable's contacts in order, each with the index of the tester's contact it reaches.

    socket: names of the tester's contacts, with the screen's or without; then the cable's is left out as well. None as
    an index: the adapter leaves that contact unconnected.
    """
    if adapter is None:
        return tuple((name, index) for index, name in enumerate(socket))
    if adapter.joins or adapter.far_connector is None:
        raise UsageError(
            f"'{adapter.name}' cannot be an adapter: it joins contacts or has one plug only",
            "Name the pattern that leads from the cable's plug to the tester's socket, such as m12d-rj45.",
        )
    if tuple(name for name in adapter.far_contacts if name in socket or name != adapter.far_screen) != socket:
        raise UsageError(
            f"the adapter '{adapter.name}' ends in {adapter.far_connector.title}, which does not fit the tester's "
            f"contacts {', '.join(socket)}",
            "Name the adapter from the cable's plug to the tester's socket, such as m12d-rj45.",
        )
    reaches = dict(adapter.conductors)
    contacts = adapter.near_contacts
    if adapter.near_screen is not None and adapter.far_screen in socket:
        reaches[adapter.near_screen] = adapter.far_screen
    elif adapter.far_screen is not None:
        contacts = adapter.near_connector.conductor_contacts
    return tuple((contact, socket.index(reaches[contact]) if contact in reaches else None) for contact in contacts)


def in_cable_contacts(reading: Reading, near_adapter: Pattern | None, far_adapter: Pattern | None) -> Reading:
    """Return a reading that was taken through adapters, in the contacts of the cable's own plugs.

    None: that plug fits the tester by itself. UsageError when an adapter does not fit the reading's contacts, FileError
    when there is a voltage that reaches no contact of the cable.
    """
    if near_adapter is None and far_adapter is None:
        return reading
    near, far = route(reading.near_contacts, near_adapter), route(reading.far_contacts, far_adapter)
    count = len(reading.near_contacts)
    indices = (*(i for _, i in near), *(None if i is None else i + count for _, i in far))
    contacts = (*(near_contact(name) for name, _ in near), *(far_contact(name) for name, _ in far))
    called = {reading.contacts[i]: contact for contact, i in zip(contacts, indices, strict=True) if i is not None}
    for voltage in reading.foreign:
        if voltage.contact not in called:
            raise FileError(
                f"{voltage.millivolts / 1000:g} V at {voltage.contact}, which leads to no contact of the cable",
                "Name the adapters that the cable was measured through.",
            )

    def between(seen: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(
            replace(one, a=called[one.a], b=called[one.b]) for one in seen if one.a in called and one.b in called
        )

    return replace(
        reading,
        calibration=None if reading.calibration is None else pick_calibration(reading.calibration, indices),
        near_contacts=tuple(name for name, _ in near),
        far_contacts=tuple(name for name, _ in far),
        resistance_ohm=pick_square(reading.resistance_ohm, indices, 0.0),
        low_level_ohm=None if reading.low_level_ohm is None else pick_square(reading.low_level_ohm, indices, 0.0),
        capacitance=None if reading.capacitance is None else _pick_capacitance(reading.capacitance, indices),
        echoes=between(reading.echoes),
        traces=between(reading.traces),
        foreign=tuple(replace(one, contact=called[one.contact]) for one in reading.foreign),
        events=between(reading.events),
        twisted=(),
    )


def _pick_capacitance(seen: Capacitance, indices: Sequence[int | None]) -> Capacitance:
    def square(rows: tuple[tuple[float | None, ...], ...] | None) -> tuple[tuple[float | None, ...], ...] | None:
        return None if rows is None else pick_square(rows, indices, None)

    return replace(
        seen,
        two_terminal_pf=square(seen.two_terminal_pf),
        single_pf=None if seen.single_pf is None else pick_row(seen.single_pf, indices),
        double_pf=square(seen.double_pf),
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
