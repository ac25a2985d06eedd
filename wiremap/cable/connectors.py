"""Connectors: what contacts a plug has, and which of them is the screen's."""

from functools import cache
from pathlib import Path

from msgspec import Struct

from wiremap.cable.tables import read_table
from wiremap.errors import UsageError
from wiremap.ranges import check_among, check_names, check_text, wrong

MOST_PLUG_CONTACTS = 32


class Connector(Struct, frozen=True, forbid_unknown_fields=True):
    """A kind of plug; `screen` is the name of the contact that carries the screen, None where there is none."""

    name: str
    title: str
    contacts: tuple[str, ...]
    screen: str | None

    def __post_init__(self) -> None:
        """Check the names; FileError says what is allowed."""
        check_text("connector: name", self.name)
        check_text("connector: title", self.title)
        check_names(f"connector {self.name}: contacts", self.contacts, MOST_PLUG_CONTACTS)
        if not self.contacts:
            raise wrong(f"connector {self.name}: contacts", [], "at least one contact")
        if self.screen is not None:
            check_among(f"connector {self.name}: screen", (self.screen,), self.contacts)

    @property
    def short_title(self) -> str:
        """Return the title without how many poles it has, as it stands before "plug"."""
        return self.title.split(",")[0]

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
