"""Terminations: which conductor goes into which contact of a plug.

A termination is data (terminations/*.toml, or a file of the user's). It names conductors, so it fits every
colour set that has them: T568B holds for striped mates and for plain white ones.
"""

from collections.abc import Collection, Iterator
from functools import cache
from pathlib import Path

from msgspec import Struct

from wiremap.cable.colours import colour_set, colour_set_names
from wiremap.cable.connectors import Connector, connector, connectors
from wiremap.cable.patterns import Pattern
from wiremap.cable.tables import read_table
from wiremap.errors import UsageError
from wiremap.ranges import check_among, check_text, wrong

FOLDER = Path(__file__).with_name("terminations")
USUAL = Path(__file__).with_name("usual_terminations.toml")


class Termination(Struct, frozen=True, forbid_unknown_fields=True):
    """One way to fill a plug.

    colours: the colour set it is usually made with, a name or a file. conductors: (contact, conductor name),
    in contact order; contacts that stay empty are left out.
    """

    name: str
    title: str
    connector: Connector
    colours: str
    conductors: tuple[tuple[str, str], ...]

    def __post_init__(self) -> None:
        """Check texts and contacts; FileError says what is allowed."""
        for key in ("name", "title", "colours"):
            check_text(f"termination: {key}", getattr(self, key))
        contacts = [contact for contact, _ in self.conductors]
        check_among(f"termination {self.name}: contacts", contacts, self.connector.contacts)
        names = [name for _, name in self.conductors]
        for name in names:
            check_text(f"termination {self.name}: conductors", name)
        if len(set(contacts)) != len(contacts) or len(set(names)) != len(names):
            raise wrong(f"termination {self.name}: conductors", names, "each contact and each conductor once")

    def conductor_at(self, contact: str) -> str | None:
        """Return the conductor in a contact, None where there is none."""
        return dict(self.conductors).get(contact)


def read_termination(path: Path) -> Termination:
    """Read a termination file; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(1)
    name = table.take_text("name")
    title = table.take_text("title")
    plug = connector(table.take_choice("connector", connectors()))
    colours = table.take_text("colours")
    if colours.endswith(".toml"):
        colours = str(path.parent / colours)
    elif colours not in colour_set_names():
        allowed = ", ".join(colour_set_names())
        raise table.wrong("colours", colours, f"one of {allowed}, or a colour file beside this one ending in .toml")
    entries = table.take_table("conductors")
    known = colour_set(colours).names
    conductors = tuple(
        (contact, entries.take_choice(contact, known)) for contact in plug.conductor_contacts if entries.has(contact)
    )
    for contact in entries.names():
        raise entries.wrong(contact, contact, "contacts " + ", ".join(plug.conductor_contacts))
    placed = [conductor for _, conductor in conductors]
    if not placed or len(placed) != len(set(placed)):
        raise table.wrong("conductors", placed, f"conductors of {', '.join(known)}, each in one contact")
    table.finish()
    return Termination(name, title, plug, colours, conductors)


@cache
def termination_names() -> tuple[str, ...]:
    """Return the names of the terminations that ship, in alphabetical order."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))


@cache
def _shipped(name: str) -> Termination:
    return read_termination(FOLDER / f"{name}.toml")


def terminations() -> tuple[Termination, ...]:
    """Return the terminations that ship, in alphabetical order of their names."""
    return tuple(map(_shipped, termination_names()))


def termination(name: str) -> Termination:
    """Return a termination by name (in any case), or from a file when the name ends in '.toml'."""
    if name.endswith(".toml"):
        return read_termination(Path(name))
    for known in termination_names():
        if known.lower() == name.lower():
            return _shipped(known)
    raise UsageError(
        f"there is no termination '{name}'",
        "Known: " + ", ".join(termination_names()) + "; or give a termination file of your own ending in .toml.",
    )


@cache
def _usual() -> tuple[tuple[str, ...], dict[tuple[str, str], str]]:
    """Return the names of terminations, the commoner first, and what is usual for (plug, plug at the other end)."""
    table = read_table(USUAL)
    table.take_format(1)
    common_first = table.take_names("common_first")
    found = {}
    for plug in table.names():
        others = table.take_table(plug)
        for other in others.names():
            found[plug, other] = others.take_choice(other, termination_names())
    return common_first, found


def usual_termination(plug: Connector, other_end: Connector | None) -> Termination | None:
    """Return what a plug is expected to hold when nobody says, given the connector at the other end, None = no other.

    None where nothing is usual for the two.
    """
    name = _usual()[1].get((plug.name, other_end.name if other_end else "none"))
    return termination(name) if name else None


def usual_for(pattern: Pattern, colours: Collection[str] | None = None) -> Termination | None:
    """Return what the near plug of such a cable is expected to hold when nobody says.

    colours: the conductors that the cable has, where that was said. A termination that fills just the contacts of the
    pattern comes before what is usual for the two plugs, the usual one first, then in the order they are named.
    None where none has these conductors.
    """
    usual = usual_termination(pattern.near_connector, pattern.far_connector)
    contacts = {contact for contact, _ in pattern.conductors}

    def has(known: Termination) -> bool:
        return colours is None or {conductor for _, conductor in known.conductors} <= set(colours)

    def fits(known: Termination) -> bool:
        return known.connector == pattern.near_connector and {contact for contact, _ in known.conductors} == contacts

    def in_order() -> Iterator[Termination]:  # read one by one, since the first is nearly always the one
        if usual and fits(usual):
            yield usual
        yield from filter(fits, map(termination, _usual()[0]))
        if usual:
            yield usual

    return next(filter(has, in_order()), None)


def carried(near: Termination, pattern: Pattern) -> tuple[tuple[str, str], ...]:
    """Return what the far plug must hold, (contact, conductor) in contact order, when the near one holds `near`."""
    route = dict(pattern.conductors)
    arrives = {route[contact]: conductor for contact, conductor in near.conductors if contact in route}
    return tuple((contact, arrives[contact]) for contact in pattern.far_contacts if contact in arrives)


def known_as(plug: Connector, conductors: tuple[tuple[str, str], ...]) -> Termination | None:
    """Return the termination that has exactly these conductors in this plug, None when it has no name."""
    return next((known for known in terminations() if known.connector == plug and known.conductors == conductors), None)
