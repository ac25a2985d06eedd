"""The rules of services, as data (services.toml): links by MDI signal, power by class."""

from functools import cache
from pathlib import Path
from typing import Literal, cast, get_args

from msgspec import Struct

from wiremap.cable.connectors import Connector, connectors
from wiremap.cable.kinds import Category
from wiremap.cable.tables import Table, read_table

Crossing = Literal["transmit-to-receive", "within-ab-and-cd"]
OpenScreen = Literal["harmless", "at risk"]
Poles = Literal["either", "fixed"]
SIGNALS = tuple(pair + sign for pair in "ABCD" for sign in "+-")


class Rating(Struct, frozen=True):
    """How far a link is rated on cables of a category, metres.

    alone_m: how far where no other cables lie beside it, None = no farther. source: where that stands.
    """

    category: Category
    metres: float
    alone_m: float | None
    source: str


class LinkRule(Struct, frozen=True):
    """A link: the pairs it needs and how they may be crossed.

    at_risk_reversed: near pairs that had better not be reversed. open_screen: what an open screen does to it. rated: on
    cables of which categories, over which distance; on others it is not.
    """

    name: str
    clause: str
    pairs: tuple[str, ...]
    crossing: Crossing
    at_risk_reversed: tuple[str, ...]
    open_screen: OpenScreen
    rated: tuple[Rating, ...]

    def rating(self, category: Category) -> Rating | None:
        """Return how it is rated on cables of a category, None = it is not."""
        return next((one for one in self.rated if one.category == category), None)


class PowerClass(Struct, frozen=True):
    """A power class: power at the device, and the most resistance of the path.

    The path's resistance has the conductors of a pair in parallel: out on one pair, back on another, which is
    half of what a cable's loop (out on a conductor, back on its mate) shows.
    """

    name: str
    device_w: float
    loop_ohm: float


class PowerRule(Struct, frozen=True):
    """A way to feed: sets of (negative pair, positive pair) at the source, and the classes it can carry.

    poles "either": each set may be the other way round on its own, and the device takes it; "fixed": neither.
    """

    name: str
    clause: str
    sets: tuple[tuple[str, str], ...]
    poles: Poles
    classes: tuple[PowerClass, ...]


class ServiceRules(Struct, frozen=True):
    """All rules. signals: (connector name, contact, signal).

    hot_c: the cable's temperature by which power is judged. pair_to_pair_*: two pairs that feed together may differ
    by Rmax - Rmin = ratio x (Rmax + Rmin), but never has that to be under the floor.
    """

    longest_m: float
    hot_c: float
    pair_to_pair_ratio: float
    pair_to_pair_floor_ohm: float
    signals: tuple[tuple[str, str, str], ...]
    links: tuple[LinkRule, ...]
    powers: tuple[PowerRule, ...]

    def signals_of(self, plug: Connector) -> dict[str, str]:
        """Return the MDI signal of each contact of a plug that has one ("A+")."""
        return {contact: signal for name, contact, signal in self.signals if name == plug.name}


def _link(entry: Table) -> LinkRule:
    name, clause = entry.take_text("name"), entry.take_text("clause")
    pairs = entry.take_names("pairs")
    crossing = cast(Crossing, entry.take_choice("crossing", get_args(Crossing)))
    turned = entry.take_names("at_risk_reversed")
    open_screen = cast(OpenScreen, entry.take_choice("open_screen", get_args(OpenScreen)))
    rated = tuple(rating for table in entry.take_tables("rated") for rating in _ratings(table))
    entry.finish()
    return LinkRule(name, clause, pairs, crossing, turned, open_screen, rated)


def _ratings(entry: Table) -> tuple[Rating, ...]:
    categories = entry.take_names("categories")
    for one in categories:
        if one not in get_args(Category):
            raise entry.wrong("categories", one, "some of " + ", ".join(get_args(Category)))
    metres = entry.take_number("metres", 1.0, 1000.0)
    alone_m = entry.take_number("alone_m", 1.0, 1000.0) if entry.has("alone_m") else None
    source = entry.take_text("source")
    entry.finish()
    return tuple(Rating(cast(Category, one), metres, alone_m, source) for one in categories)


def _power(entry: Table, classes: dict[str, PowerClass]) -> PowerRule:
    name, clause = entry.take_text("name"), entry.take_text("clause")
    sets = tuple((row[0], row[1]) for row in entry.take_name_lists("sets"))
    poles = cast(Poles, entry.take_choice("poles", get_args(Poles)))
    known = tuple(classes[word] for word in entry.take_names("classes"))
    entry.finish()
    return PowerRule(name, clause, sets, poles, known)


def _class(name: str, entry: Table) -> PowerClass:
    values = [entry.take_number(word, 0.1, 1000.0) for word in ("device_w", "loop_ohm")]
    entry.finish()
    return PowerClass(name, *values)


@cache
def service_rules() -> ServiceRules:
    """Return the rules that ship."""
    table = read_table(Path(__file__).with_name("services.toml"))
    table.take_format(1)
    longest_m = table.take_number("longest_m", 1.0, 1000.0)
    hot_c = table.take_number("hot_c", 20.0, 100.0)
    together = table.take_table("pair_to_pair")
    ratio, floor_ohm = together.take_number("ratio", 1e-3, 1.0), together.take_number("floor_ohm", 1e-3, 10.0)
    together.finish()
    named = table.take_table("signals")
    by_contact = {contact: named.take_choice(contact, SIGNALS) for contact in named.names()}
    signals = [("rj45", contact, signal) for contact, signal in by_contact.items()]
    others = table.take_table("contacts")
    for plug in others.names():
        entry = others.take_table(plug)
        for contact in entry.names():
            signals.append((plug, contact, by_contact[entry.take_choice(contact, by_contact)]))
    assert {plug for plug, _, _ in signals} <= set(connectors())
    links = tuple(_link(entry) for entry in table.take_tables("link"))
    power_entries = table.take_tables("power")
    class_table = table.take_table("class")
    classes = {name: _class(name, class_table.take_table(name)) for name in class_table.names()}
    powers = tuple(_power(entry, classes) for entry in power_entries)
    table.finish()
    return ServiceRules(longest_m, hot_c, ratio, floor_ohm, tuple(signals), links, powers)
