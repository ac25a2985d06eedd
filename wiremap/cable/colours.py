"""Colour sets: the conductors of a kind of cable, what the eye sees of them, and which are twisted together.

A set is data (colours/*.toml, or a file of the user's). A conductor has a name of its own even where the eye
cannot tell it from another: in a cable with plain white mates, "white-blue" and "white-green" both look white.
"""

import re
from functools import cache
from pathlib import Path

from msgspec import Struct

from wiremap.cable.tables import Table, read_table
from wiremap.errors import UsageError
from wiremap.ranges import check_among, check_text, wrong

FOLDER = Path(__file__).with_name("colours")
HEX = re.compile(r"#[0-9a-f]{6}")


class Colour(Struct, frozen=True, forbid_unknown_fields=True):
    """One conductor's insulation.

    name: which conductor it is. looks: what is seen; the same text for conductors that cannot be told apart.
    letters: short form for drawings ("wO"). body, stripe: "#rrggbb"; stripe None = one colour only.
    """

    name: str
    looks: str
    letters: str
    body: str
    stripe: str | None

    def __post_init__(self) -> None:
        """Check texts and paints; FileError says what is allowed."""
        for key in ("name", "looks", "letters"):
            check_text(f"colour: {key}", getattr(self, key))
        for key, paint in (("body", self.body), ("stripe", self.stripe)):
            if (paint is not None or key == "body") and not HEX.fullmatch(str(paint)):
                raise wrong(f"colour {self.name}: {key}", paint, "a colour like #ff8800")


class ColourSet(Struct, frozen=True, forbid_unknown_fields=True):
    """The conductors of a kind of cable.

    pairs: names of the conductors that are twisted together, in the order of the pair numbers; a conductor may
    be in none. screen: what the bare screen or drain wire is called.
    """

    name: str
    title: str
    conductors: tuple[Colour, ...]
    pairs: tuple[tuple[str, ...], ...]
    screen: str

    def __post_init__(self) -> None:
        """Check texts and pairs; FileError says what is allowed."""
        for key in ("name", "title", "screen"):
            check_text(f"colours: {key}", getattr(self, key))
        if not self.conductors or len(set(self.names)) != len(self.names):
            raise wrong(f"colours {self.name}: conductors", list(self.names), "at least one, each name once")
        twisted = [name for pair in self.pairs for name in pair]
        check_among(f"colours {self.name}: pairs", twisted, self.names)
        if len(set(twisted)) != len(twisted) or any(len(pair) < 2 for pair in self.pairs):
            raise wrong(f"colours {self.name}: pairs", list(self.pairs), "two conductors or more each, each in one")

    @property
    def names(self) -> tuple[str, ...]:
        """Return the names of the conductors."""
        return tuple(colour.name for colour in self.conductors)

    def colour(self, name: str) -> Colour:
        """Return the conductor of that name; UsageError when the cable has none."""
        for colour in self.conductors:
            if colour.name == name:
                return colour
        raise UsageError(
            f"there is no conductor '{name}' in the colours '{self.name}'", "Known: " + ", ".join(self.names) + "."
        )

    def mates(self, name: str) -> tuple[str, ...]:
        """Return the conductors twisted with this one."""
        return tuple(other for pair in self.pairs if name in pair for other in pair if other != name)

    def alike(self, name: str) -> tuple[str, ...]:
        """Return the names of all conductors that look like this one, itself included."""
        looks = self.colour(name).looks
        return tuple(colour.name for colour in self.conductors if colour.looks == looks)

    def said(self, name: str) -> str:
        """Return what a technician would call it: its looks, and its mate's name where looks are not enough."""
        colour = self.colour(name)
        if len(self.alike(name)) == 1 or not self.mates(name):
            return colour.looks
        return f"{colour.looks} (with {' and '.join(self.colour(mate).looks for mate in self.mates(name))})"


def _colour(name: str, table: Table) -> Colour:
    looks = table.take_text("looks", name)
    letters = table.take_text("letters")
    body = table.take_text("body")
    stripe = table.take_text("stripe", "none")
    for key, value in (("body", body), ("stripe", stripe)):
        if not HEX.fullmatch(value) and (key, value) != ("stripe", "none"):
            raise table.wrong(key, value, 'a colour like "#ff8000"' + (' or "none"' if key == "stripe" else ""))
    table.finish()
    return Colour(name, looks, letters, body, None if stripe == "none" else stripe)


def read_colours(path: Path) -> ColourSet:
    """Read a colour set; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(1)
    name = table.take_text("name")
    title = table.take_text("title")
    screen = table.take_text("screen", "screen")
    pairs = table.take_name_lists("pairs", ())
    entries = table.take_table("conductor")
    conductors = tuple(_colour(entry, entries.take_table(entry)) for entry in entries.names())
    if not conductors:
        raise table.wrong("conductor", {}, "a table for each conductor, as [conductor.blue]")
    known = [colour.name for colour in conductors]
    used = [conductor for pair in pairs for conductor in pair]
    if not set(used) <= set(known) or len(used) != len(set(used)) or any(len(pair) < 2 for pair in pairs):
        raise table.wrong(
            "pairs", [list(pair) for pair in pairs], f"lists of two or more of {', '.join(known)}, each once"
        )
    by_letters: dict[str, Colour] = {}
    for colour in conductors:
        twin = by_letters.setdefault(colour.letters, colour)
        if (twin.looks, twin.body, twin.stripe) != (colour.looks, colour.body, colour.stripe):
            raise table.wrong(
                f"conductor.{colour.name}.letters",
                colour.letters,
                f"letters that '{twin.name}' does not have, or the same looks, body and stripe",
            )
    table.finish()
    return ColourSet(name, title, conductors, pairs, screen)


@cache
def colour_set_names() -> tuple[str, ...]:
    """Return the names of the sets that ship, in alphabetical order."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))


@cache
def _shipped(name: str) -> ColourSet:
    return read_colours(FOLDER / f"{name}.toml")


def colour_set(name: str) -> ColourSet:
    """Return a set by name, or from a file when the name ends in '.toml'; UsageError when unknown."""
    if name.endswith(".toml"):
        return read_colours(Path(name))
    if name not in colour_set_names():
        raise UsageError(
            f"there are no colours '{name}'",
            "Known: " + ", ".join(colour_set_names()) + "; or give a colour file of your own ending in .toml.",
        )
    return _shipped(name)
