"""Mistakes that exchange many conductors of one plug at once, as data (mistakes.toml)."""

from functools import cache
from pathlib import Path

from msgspec import Struct

from wiremap.cable.connectors import Connector, connector, connectors
from wiremap.cable.tables import read_table

FILE = Path(__file__).with_name("mistakes.toml")
EMPTY = "-"


class Mistake(Struct, frozen=True):
    """One mistake; places: (contact, contact whose conductor sits there), contacts that stay empty left out."""

    name: str
    connector: Connector
    places: tuple[tuple[str, str], ...]


def read_mistakes(path: Path) -> tuple[Mistake, ...]:
    """Read a file of mistakes; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(1)
    found = []
    for entry in table.take_tables("mistake"):
        name = entry.take_text("name")
        plug = connector(entry.take_choice("connector", connectors()))
        order = entry.take_names("order")
        known = plug.conductor_contacts
        taken = [contact for contact in order if contact != EMPTY]
        if len(order) != len(known) or not set(taken) <= set(known) or len(taken) != len(set(taken)):
            raise entry.wrong("order", list(order), f"{', '.join(known)} in any order, '{EMPTY}' for an empty contact")
        entry.finish()
        places = tuple((at, of) for at, of in zip(known, order, strict=True) if of != EMPTY)
        found.append(Mistake(name, plug, places))
    table.finish()
    return tuple(found)


@cache
def mistakes() -> tuple[Mistake, ...]:
    """Return the mistakes that ship, the one to name first before others."""
    return read_mistakes(FILE)
