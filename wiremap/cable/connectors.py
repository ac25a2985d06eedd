"""Connectors: what contacts a plug has, and which of them is the screen's."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from wiremap.cable.tables import read_table
from wiremap.errors import UsageError


@dataclass(frozen=True, slots=True)
class Connector:
    """A kind of plug; `screen` is the name of the contact that carries the screen, None where there is none."""

    name: str
    title: str
    contacts: tuple[str, ...]
    screen: str | None

    @property
    def conductor_contacts(self) -> tuple[str, ...]:
        """Return the contacts without the screen, in order."""
        return tuple(contact for contact in self.contacts if contact != self.screen)


@cache
def connectors() -> dict[str, Connector]:
    """Return every connector known, by name."""
    table = read_table(Path(__file__).with_name("connectors.toml"))
    table.take_format(1)
    found = {}
    for name in table.names():
        entry = table.take_table(name)
        contacts = entry.take_names("contacts")
        screen = entry.take_choice("screen", contacts)
        found[name] = Connector(name, entry.take_text("title"), contacts, screen)
        entry.finish()
    return found


def connector(name: str) -> Connector:
    """Return one connector; UsageError when the name is not known."""
    try:
        return connectors()[name]
    except KeyError:
        raise UsageError(f"there is no connector '{name}'", "Known: " + ", ".join(connectors()) + ".") from None
