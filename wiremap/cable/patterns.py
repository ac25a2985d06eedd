"""Patterns: where each near contact must arrive, which contacts are pairs, what the screen must do.

A pattern is data (patterns/*.toml, or a file of the user's). A pattern between two different connectors
exists in both directions: the second name swaps the ends.
"""

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Literal, cast, get_args

from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.connectors import Connector, connector, connectors
from wiremap.cable.tables import Table, read_table
from wiremap.contact import End
from wiremap.errors import UsageError
from wiremap.ranges import (
    RELATIVE_U,
    TERMINATOR_OHM,
    Range,
    check_among,
    check_number,
    check_numbers,
    check_text,
    wrong,
)

ScreenRule = Literal["any", "both", "near", "far", "none"]
Use = Literal["ethernet", "telephone", "serial", "bus", "loopback"]

SCREEN_RULES: tuple[ScreenRule, ...] = get_args(ScreenRule)
USES: tuple[Use, ...] = get_args(Use)
MOST_TERMINATORS = 6
FOLDER = Path(__file__).with_name("patterns")


class ExpectedResistance(Struct, frozen=True, forbid_unknown_fields=True):
    """A resistance that belongs between two contacts of one end (a terminator), and so is no short.

    `ohm` lists the nominal values allowed; a reading fits within `tolerance` (relative) of one of them.
    """

    end: End
    a: str
    b: str
    ohm: tuple[float, ...]
    tolerance: float


class BusTerminators(Struct, frozen=True, forbid_unknown_fields=True):
    """What a bus is terminated with: ohm between two contacts of either end, within tolerance (relative).

    right: how many may be there; 0 and 2 for a backbone of which a single lead is a part.
    """

    near: tuple[str, str]
    far: tuple[str, str]
    ohm: float
    tolerance: float
    right: tuple[int, ...]


class Pattern(Struct, frozen=True, forbid_unknown_fields=True):
    """What a cable should be.

    conductors: (near contact, far contact), numbered by near contact, the screen not among them.
    joins: contacts of one end that the plug joins (loopback), as (end, contacts).
    near_pairs, far_pairs: (plus, minus) contacts; the order is the polarity.
    far_connector None: a plug for the near end alone.
    screen: what the screen must do; "any": nothing is demanded of it.
    terminators: of a bus, None where the pattern is none.
    """

    name: str
    title: str
    use: Use
    near_connector: Connector
    far_connector: Connector | None
    conductors: tuple[tuple[str, str], ...]
    joins: tuple[tuple[End, tuple[str, ...]], ...]
    near_pairs: tuple[tuple[str, str], ...]
    far_pairs: tuple[tuple[str, str], ...]
    screen: ScreenRule
    resistances: tuple[ExpectedResistance, ...]
    terminators: BusTerminators | None = None

    def __post_init__(self) -> None:
        """Check that every contact is one of its plug and stands once; FileError says what is allowed."""
        for key in ("name", "title"):
            check_text(f"pattern: {key}", getattr(self, key))
        at = f"pattern {self.name}"
        far_plug = self.far_connector.conductor_contacts if self.far_connector else ()
        plugs = {"near": self.near_connector.conductor_contacts, "far": far_plug}
        _check_once(f"{at}: conductors", [near for near, _ in self.conductors], plugs["near"])
        _check_once(f"{at}: conductors", [far for _, far in self.conductors], far_plug)
        for end in ("near", "far"):
            joined = [contact for side, row in self.joins if side == end for contact in row]
            _check_once(f"{at}: joins", joined, plugs[end])
        if not self.conductors and not self.joins:
            raise wrong(f"{at}: conductors", [], "at least one conductor, or contacts that are joined")
        if any(len(row) < 2 for _, row in self.joins):
            raise wrong(f"{at}: joins", [list(row) for _, row in self.joins], "two contacts or more each")
        _check_once(f"{at}: near_pairs", [contact for pair in self.near_pairs for contact in pair], plugs["near"])
        _check_once(f"{at}: far_pairs", [contact for pair in self.far_pairs for contact in pair], far_plug)
        known = {"near": self.near_contacts, "far": self.far_contacts}
        for item in self.resistances:
            _check_once(f"{at}: resistances", [item.a, item.b], known[item.end])
            check_numbers(f"{at}: resistances", item.ohm, TERMINATOR_OHM, ())
            check_number(f"{at}: resistances", item.tolerance, RELATIVE_U)
            if not item.ohm:
                raise wrong(f"{at}: resistances", [], "at least one value")
        if self.terminators is not None:
            bus = self.terminators
            _check_once(f"{at}: terminators", bus.near, [near for near, _ in self.conductors])
            _check_once(f"{at}: terminators", bus.far, [far for _, far in self.conductors])
            check_number(f"{at}: terminators", bus.ohm, TERMINATOR_OHM)
            check_number(f"{at}: terminators", bus.tolerance, RELATIVE_U)
            check_numbers(f"{at}: terminators", bus.right, Range(0, MOST_TERMINATORS, "terminators", whole=True), ())
            if not bus.right:
                raise wrong(f"{at}: terminators", [], "how many may be there")

    @property
    def near_contacts(self) -> tuple[str, ...]:
        """Return all contacts of the near plug, the screen included, in order."""
        return self.near_connector.contacts

    @property
    def far_contacts(self) -> tuple[str, ...]:
        """Return all contacts of the far plug, the screen included; empty where there is no far plug."""
        return self.far_connector.contacts if self.far_connector else ()

    @property
    def near_screen(self) -> str | None:
        """Return the near plug's screen contact."""
        return self.near_connector.screen

    @property
    def far_screen(self) -> str | None:
        """Return the far plug's screen contact."""
        return self.far_connector.screen if self.far_connector else None

    def swapped(self) -> "Pattern":
        """Return the pattern seen from the other end (a near-end-only pattern has no other end)."""
        if self.far_connector is None:
            raise UsageError(f"'{self.name}' has one plug only", "Put it in the near socket.")
        other: dict[str, End] = {"near": "far", "far": "near"}
        rule = cast(ScreenRule, other.get(self.screen, self.screen))
        order = {contact: place for place, contact in enumerate(self.far_contacts)}
        return replace(
            self,
            near_connector=self.far_connector,
            far_connector=self.near_connector,
            conductors=tuple(sorted(((far, near) for near, far in self.conductors), key=lambda pair: order[pair[0]])),
            joins=tuple((other[end], contacts) for end, contacts in self.joins),
            near_pairs=self.far_pairs,
            far_pairs=self.near_pairs,
            screen=rule,
            resistances=tuple(replace(item, end=other[item.end]) for item in self.resistances),
            terminators=self.terminators
            and replace(self.terminators, near=self.terminators.far, far=self.terminators.near),
        )


def _check_once(place: str, contacts: Sequence[str], known: Sequence[str]) -> None:
    check_among(place, contacts, known)
    if len(set(contacts)) != len(contacts):
        raise wrong(place, list(contacts), "each contact once")


def _pairs(
    table: Table, key: str, plug: Connector, default: tuple[tuple[str, ...], ...] | None
) -> tuple[tuple[str, str], ...]:
    rows = table.take_name_lists(key, default)
    seen: list[str] = []
    for row in rows:
        if len(row) != 2 or not set(row) <= set(plug.conductor_contacts):
            raise table.wrong(key, list(row), f"two different contacts of {', '.join(plug.conductor_contacts)}")
        seen.extend(row)
    if len(seen) != len(set(seen)):
        raise table.wrong(key, [list(row) for row in rows], "each contact in one pair only")
    return tuple((row[0], row[1]) for row in rows)


def _resistance(table: Table, plugs: dict[str, Connector]) -> ExpectedResistance:
    end = cast(End, table.take_choice("end", plugs))
    contacts = table.take_names("contacts")
    if len(contacts) != 2 or len(set(contacts)) != 2 or not set(contacts) <= set(plugs[end].contacts):
        raise table.wrong("contacts", list(contacts), f"two of {', '.join(plugs[end].contacts)}")
    texts = table.take_names("ohm")
    try:
        ohm = tuple(float(text) for text in texts)
    except ValueError:
        ohm = ()
    if not ohm or not all(1.0 <= value <= 1e6 for value in ohm):
        raise table.wrong("ohm", list(texts), 'a list of values from "1" to "1000000" in quotes')
    tolerance = table.take_number("tolerance", 0.0, 0.5)
    table.finish()
    return ExpectedResistance(end, contacts[0], contacts[1], ohm, tolerance)


def _terminators(table: Table, far: Connector | None, route: dict[str, str]) -> BusTerminators | None:
    if not table.has("terminators"):
        return None
    entry = table.take_table("terminators")
    contacts = entry.take_names("contacts")
    if far is None or len(contacts) != 2 or len(set(contacts)) != 2 or not set(contacts) <= set(route):
        raise entry.wrong("contacts", list(contacts), f"two near contacts with a conductor, of {', '.join(route)}")
    ohm = entry.take_number("ohm", 50.0, 1000.0)
    tolerance = entry.take_number("tolerance", 0.01, 0.15)
    texts = entry.take_names("right")
    if not texts or not set(texts) <= set("0123456"):
        raise entry.wrong("right", list(texts), 'how many may be there, such as ["0", "2"]')
    entry.finish()
    a, b = contacts
    return BusTerminators((a, b), (route[a], route[b]), ohm, tolerance, tuple(map(int, texts)))


def read_pattern(path: Path) -> Pattern:
    """Read a pattern file; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(1)
    name = table.take_text("name")
    title = table.take_text("title")
    use = cast(Use, table.take_choice("use", USES))
    near = connector(table.take_choice("near", connectors()))
    far_name = table.take_choice("far", (*connectors(), "none"))
    far = None if far_name == "none" else connector(far_name)
    wires = table.take_table("conductors", optional=True)
    conductors = []
    for contact in near.conductor_contacts:
        if wires.has(contact):
            arrives = wires.take_choice(contact, far.conductor_contacts if far else ())
            conductors.append((contact, arrives))
    for contact in wires.names():
        raise wires.wrong(contact, contact, f"near contacts {', '.join(near.conductor_contacts)}")
    arrivals = [arrives for _, arrives in conductors]
    if len(arrivals) != len(set(arrivals)):
        raise table.wrong("conductors", arrivals, "each far contact once")
    joined_rows = table.take_name_lists("joins", ())
    joined = [contact for row in joined_rows for contact in row]
    if (
        not set(joined) <= set(near.conductor_contacts)
        or len(joined) != len(set(joined))
        or any(len(row) < 2 for row in joined_rows)
    ):
        raise table.wrong("joins", [list(row) for row in joined_rows], "lists of two or more near contacts, each once")
    near_pairs = _pairs(table, "pairs", near, None)
    route = dict(conductors)
    carried = tuple((route[plus], route[minus]) for plus, minus in near_pairs if plus in route and minus in route)
    far_pairs = _pairs(table, "far_pairs", far, carried) if far else ()
    screen = cast(ScreenRule, table.take_choice("screen", SCREEN_RULES, "any"))
    plugs = {"near": near} | ({"far": far} if far else {})
    resistances = tuple(_resistance(entry, plugs) for entry in table.take_tables("resistance"))
    terminators = _terminators(table, far, route)
    table.finish()
    if not conductors and not joined_rows:
        raise table.wrong("conductors", {}, "at least one conductor, or 'joins'")
    return Pattern(
        name,
        title,
        use,
        near,
        far,
        tuple(conductors),
        tuple(("near", row) for row in joined_rows),
        near_pairs,
        far_pairs,
        screen,
        resistances,
        terminators,
    )


def reversed_name(name: str) -> str | None:
    """Return the name of a pattern with its ends swapped: 'm12d-rj45-crossover' -> 'rj45-m12d-crossover'.

    None where the name does not begin with two different connectors.
    """
    parts = name.split("-")
    if len(parts) < 2 or parts[0] == parts[1]:
        return None
    return "-".join([parts[1], parts[0], *parts[2:]])


@cache
def pattern_names() -> tuple[str, ...]:
    """Return the names of all patterns that ship, both directions, in alphabetical order."""
    shipped = [path.stem for path in FOLDER.glob("*.toml")]
    turned = [
        other
        for name in shipped
        if (other := reversed_name(name)) is not None and set(name.split("-")[:2]) <= set(connectors())
    ]
    return tuple(sorted({*shipped, *turned}))


@cache
def _shipped(name: str) -> Pattern:
    path = FOLDER / f"{name}.toml"
    if path.is_file():
        return read_pattern(path)
    other = reversed_name(name)
    assert other is not None
    return replace(_shipped(other).swapped(), name=name)


def pattern(name: str) -> Pattern:
    """Return a pattern by name, or from a file when the name ends in '.toml'; UsageError when unknown."""
    if name.endswith(".toml"):
        return read_pattern(Path(name))
    if name not in pattern_names():
        raise UsageError(
            f"there is no pattern '{name}'",
            "Known: " + ", ".join(pattern_names()) + "; or give a pattern file of your own ending in .toml.",
        )
    return _shipped(name)
