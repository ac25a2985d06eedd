"""Kinds of cable: what a metre of each is, as ranges with their sources (kinds.toml), and kinds that a user taught.

A kind says what nothing measures from outside: how fast the cable is and how thick its conductors are. Where nobody
says which kind a cable is, every kind is possible, each by its weight.
"""

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any, Literal, cast, get_args

from msgspec import Struct
from msgspec.structs import asdict, replace

from wiremap.cable.tables import Table, read_table
from wiremap.errors import FileError, UsageError

Category = Literal["5e", "6", "6a", "7", "none", "unknown"]  # none: of no category; unknown: nobody said
ScreenOf = Literal["none", "overall", "each"]
Lay = Literal["pairs", "quad", "row", "wet"]
Wire = Literal["solid", "stranded"]
FILE = Path(__file__).with_name("kinds.toml")
MOST_KINDS = 100  # in one file
THICKEST_AWG, THINNEST_AWG = 16, 36


class Kind(Struct, frozen=True):
    """One kind of cable.

    nvp: velocity over that of light at high frequency. impedance_ohm: of a pair. nvp_u, impedance_u, resistance_u:
    relative standard uncertainties over what is called by this name. ohm_per_100m: of one conductor of its gauge at 20
    degrees C, None = as the gauge has it. awg: gauge of its conductors; other_awg: gauges
    that are met now and then. weight: how often it is met, relative to others, where nobody says what it is.
    of: whose figures they are, "" = those that ship.
    """

    name: str
    title: str
    category: Category
    screen: ScreenOf
    lay: Lay
    pairs: int
    wire: Wire
    awg: int
    other_awg: tuple[int, ...]
    nvp: float
    nvp_u: float
    impedance_ohm: float
    impedance_u: float
    weight: float
    resistance_u: float = 0.045
    ohm_per_100m: float | None = None
    of: str = ""

    def to_builtins(self) -> dict[str, Any]:
        """Return the kind as plain values, in the form of kinds.toml, without its name."""
        plain = {key: list(value) if isinstance(value, tuple) else value for key, value in asdict(self).items()}
        return {key: value for key, value in plain.items() if key != "name" and value not in ("", None)}


def kinds_from(table: Table) -> tuple[Kind, ...]:
    """Take kinds out of a table of the form of kinds.toml; FileError names what is wrong."""
    names = table.names()
    if not 0 < len(names) <= MOST_KINDS:
        raise table.wrong("kinds", len(names), f"1 to {MOST_KINDS} kinds")
    found = tuple(_kind(name, table.take_table(name)) for name in sorted(names))
    table.finish()
    return found


def _kind(name: str, entry: Table) -> Kind:
    found = Kind(
        name,
        entry.take_text("title"),
        cast(Category, entry.take_choice("category", get_args(Category))),
        cast(ScreenOf, entry.take_choice("screen", get_args(ScreenOf))),
        cast(Lay, entry.take_choice("lay", get_args(Lay))),
        int(entry.take_number("pairs", 1, 4)),
        cast(Wire, entry.take_choice("wire", get_args(Wire))),
        int(entry.take_number("awg", THICKEST_AWG, THINNEST_AWG)),
        entry.take_whole_numbers("other_awg", THICKEST_AWG, THINNEST_AWG),
        entry.take_number("nvp", 0.3, 1.0),
        entry.take_number("nvp_u", 0.001, 0.3),
        entry.take_number("impedance_ohm", 20.0, 300.0),
        entry.take_number("impedance_u", 0.001, 0.3),
        entry.take_number("weight", 0.0, 100.0),
        entry.take_number("resistance_u", 0.001, 0.3, 0.045),
        entry.take_number("ohm_per_100m", 0.1, 1000.0) if entry.has("ohm_per_100m") else None,
        entry.take_text("of", "") if entry.has("of") else "",
    )
    entry.finish()
    return found


def read_kinds(path: Path) -> tuple[Kind, ...]:
    """Read a file of kinds; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(1)
    return kinds_from(table)


@cache
def kinds() -> tuple[Kind, ...]:
    """Return the kinds that ship."""
    return read_kinds(FILE)


def read_kind(path: Path) -> Kind:
    """Return the one kind in a file, with whose figures they are; UsageError or FileError when it is no such file."""
    found = read_kinds(path)
    if len(found) != 1:
        raise UsageError(f"{path}: has {len(found)} kinds of cable", "Keep the one that is meant in a file of its own.")
    return found[0] if found[0].of else replace(found[0], of=f"the file {path.name}")


def kind_from_builtins(plain: object) -> Kind | None:
    """Return the kind that a record was judged by, {name: figures}; None for None, FileError for anything else."""
    if plain is None:
        return None
    if not isinstance(plain, dict) or len(plain) != 1:
        raise FileError(f"rules: kind is {type(plain).__name__}", "Allowed there: one kind by its name.")
    return kinds_from(Table("rules: kind", plain))[0]


def kind_named(name: str, among: Iterable[Kind], more: Iterable[str] = ()) -> Kind:
    """Return a kind by its name; UsageError when it is not among them. more: names that are known beside them."""
    known = tuple(among)
    for one in known:
        if one.name == name:
            return one
    raise UsageError(
        f"there is no kind of cable '{name}'", "Known: " + ", ".join([*(one.name for one in known), *more]) + "."
    )
