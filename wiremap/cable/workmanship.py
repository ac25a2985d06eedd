"""How a plug is made: lengths, what goes onto the cable first, how it is held; as data (workmanship.toml)."""

from functools import cache
from math import cos, radians, sin
from pathlib import Path

from msgspec import Struct

from wiremap.cable.connectors import Connector, connectors
from wiremap.cable.tables import Table, read_table


class Workmanship(Struct, frozen=True):
    """What is common practice for one kind of plug.

    strip_mm: sheath to take off. trim_mm: conductors out of the sheath; field_trim_mm: the same for plugs made in
    the field; None = as the plug's maker says. first: what goes onto the cable before anything. face: (contact,
    x, y) on the mating side, key up, x to the right, y upwards, circle of radius 1; empty for a plug in a row.
    """

    strip_mm: float | None
    trim_mm: float | None
    field_trim_mm: float | None
    first: tuple[str, ...]
    held: str
    finish: tuple[str, ...]
    face: tuple[tuple[str, float, float], ...]


class WorkLimits(Struct, frozen=True):
    """What holds for every plug: most untwisted, bend radius in cable diameters."""

    untwist_mm: float
    bend_diameters: float


def _face(table: Table, plug: Connector) -> tuple[tuple[str, float, float], ...]:
    found = []
    for contact in table.names():
        values = table.take_names(contact)
        if contact not in plug.contacts or len(values) != 2:
            raise table.wrong(contact, list(values), "angle and distance of a contact of the plug")
        angle, distance = radians(float(values[0]) + 90.0), float(values[1])
        found.append((contact, distance * cos(angle), distance * sin(angle)))
    return tuple(found)


def _length(table: Table, key: str) -> float | None:
    return table.take_number(key, 1.0, 200.0) if table.has(key) else None


@cache
def _all() -> tuple[WorkLimits, dict[str, Workmanship]]:
    table = read_table(Path(__file__).with_name("workmanship.toml"))
    table.take_format(1)
    limits = WorkLimits(
        table.take_number("untwist_mm", 1.0, 100.0),
        table.take_number("bend_diameters", 1.0, 20.0),
    )
    faces = table.take_table("faces")
    found = {}
    for name in table.names():
        plug = connectors()[name]
        entry = table.take_table(name)
        strip_mm, trim_mm, field_mm = (_length(entry, key) for key in ("strip_mm", "trim_mm", "field_trim_mm"))
        first, held, finish = entry.take_names("first"), entry.take_text("held"), entry.take_names("finish")
        entry.finish()
        face = _face(faces.take_table(name), plug) if faces.has(name) else ()
        found[name] = Workmanship(strip_mm, trim_mm, field_mm, first, held, finish, face)
    return limits, found


def workmanship(plug: Connector) -> Workmanship:
    """Return what is common practice for a plug."""
    return _all()[1][plug.name]


def workmanship_limits() -> WorkLimits:
    """Return what holds for every plug."""
    return _all()[0]
