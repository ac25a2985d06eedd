"""Habits: the wrong orders that people make, as data, and the orders that follow from an intended one.

An order here is a tuple over the contacts of a plug (its screen left out): the conductor in each contact, or
None for an empty one.
"""

from functools import cache
from itertools import combinations, permutations, product
from pathlib import Path
from typing import Literal, cast, get_args

from msgspec import Struct

from wiremap.cable.colours import ColourSet
from wiremap.cable.connectors import Connector, connectors
from wiremap.cable.tables import Table, read_table

Order = tuple[str | None, ...]
Exchange = tuple[tuple[str, str], ...]
Rename = tuple[int, ...]
Rule = Literal["none", "other-standard", "turned", "shifted", "alike"]
RULES: tuple[Rule, ...] = get_args(Rule)


class HabitKind(Struct, frozen=True):
    """One kind of wrong order; see habits.toml for what the fields mean."""

    name: str
    connectors: tuple[str, ...]
    one_end: float
    both_ends: float
    exchange: tuple[Exchange, ...] = ()
    exchange_conductors: tuple[Exchange, ...] = ()
    orders: tuple[Order, ...] = ()
    rule: Rule = "none"


class OtherMakers(Struct, frozen=True):
    """What is believed of people whose habits are on no list; see habits.toml for what the fields mean."""

    share: float
    pairs: float
    exchanged: float


class Habits(Struct, frozen=True):
    """All kinds, and the chances that habits.toml names; `intended` is (termination name, weight)."""

    right: float
    habit: float
    flat: float
    theta: float
    broken: float
    misplaced: float
    pairs_wrong: float
    named: float
    settled: float
    settled_closed: float
    least_bits: float
    other_makers: OtherMakers
    places: tuple[tuple[str, float], ...]
    intended: tuple[tuple[str, float], ...]
    kinds: tuple[HabitKind, ...]

    def place(self, name: str) -> float:
        """Return the chance that an open or a short sits at "near", "run" or "far"."""
        return dict(self.places)[name]


def _exchanges(table: Table, key: str) -> tuple[Exchange, ...]:
    found = []
    for row in table.take_name_lists(key, ()):
        pairs = [tuple(text.split("=")) for text in row]
        if any(len(pair) != 2 or not all(pair) or pair[0] == pair[1] for pair in pairs):
            raise table.wrong(key, list(row), 'texts like "4=5"')
        found.append(tuple((pair[0], pair[1]) for pair in pairs))
    return tuple(found)


def _kind(table: Table) -> HabitKind:
    name = table.take_text("name")
    known = table.take_names("connectors")
    if not set(known) <= set(connectors()):
        raise table.wrong("connectors", list(known), "some of " + ", ".join(connectors()))
    kind = HabitKind(
        name,
        known,
        table.take_number("one_end", 0.0, 1000.0),
        table.take_number("both_ends", 0.0, 1000.0),
        _exchanges(table, "exchange"),
        _exchanges(table, "exchange_conductors"),
        tuple(tuple(None if word == "-" else word for word in row) for row in table.take_name_lists("orders", ())),
        cast(Rule, table.take_choice("rule", RULES, "none")),
    )
    table.finish()
    return kind


def _weights(table: Table) -> list[tuple[str, float]]:
    names = table.take_names("terminations")
    texts = table.take_names("weights")
    try:
        weights = [float(text) for text in texts]
    except ValueError:
        weights = []
    if len(weights) != len(names) or not all(0.0 < weight < 1e6 for weight in weights):
        raise table.wrong("weights", list(texts), "a weight above 0, in quotes, for each termination")
    table.finish()
    return list(zip(names, weights, strict=True))


def read_habits(path: Path) -> Habits:
    """Read a habits file; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(1)
    lowest = {"right": 0.001, "habit": 0.0, "flat": 0.02, "theta": 0.0, "broken": 0.0001, "misplaced": 0.0001}
    lowest |= {"pairs_wrong": 0.0, "named": 0.5, "settled": 0.5, "settled_closed": 0.5, "least_bits": 0.0}
    chances = {word: table.take_number(word, low, 0.999) for word, low in lowest.items()}
    makers = table.take_table("other_makers")
    others = OtherMakers(
        makers.take_number("share", 0.0, 1.0),
        makers.take_number("pairs", 0.001, 1000.0),
        makers.take_number("exchanged", 0.001, 1000.0),
    )
    makers.finish()
    where = table.take_table("places")
    places = tuple((word, where.take_number(word, 0.0, 1.0)) for word in ("near", "run", "far"))
    where.finish()
    if abs(sum(chance for _, chance in places) - 1.0) > 1e-9:
        raise table.wrong("places", [chance for _, chance in places], "three chances that add up to 1")
    intended = [weight for entry in table.take_tables("intended") for weight in _weights(entry)]
    kinds = tuple(_kind(entry) for entry in table.take_tables("kind"))
    table.finish()
    return Habits(other_makers=others, places=places, intended=tuple(intended), kinds=kinds, **chances)


@cache
def habits() -> Habits:
    """Return the habits that ship."""
    return read_habits(Path(__file__).with_name("habits.toml"))


def _exchanged(order: Order, places: list[tuple[int, int]]) -> Order:
    changed = list(order)
    for a, b in places:
        changed[a], changed[b] = changed[b], changed[a]
    return tuple(changed)


def orders_of(
    kind: HabitKind, plug: Connector, intended: Order, others: tuple[Order, ...], colours: ColourSet
) -> tuple[Order, ...]:
    """Return the wrong orders a kind makes of an intended one, without the shifted ones and without itself.

    others: the other intended orders of the same plug and conductors. Alternatives that do not fit the plug or
    the colours are left out.
    """
    if plug.name not in kind.connectors:
        return ()
    contacts = plug.conductor_contacts
    found: list[Order] = []
    for alternative in kind.exchange:
        if all(contact in contacts for pair in alternative for contact in pair):
            found.append(_exchanged(intended, [(contacts.index(a), contacts.index(b)) for a, b in alternative]))
    for alternative in kind.exchange_conductors:
        if all(conductor in intended for pair in alternative for conductor in pair):
            found.append(_exchanged(intended, [(intended.index(a), intended.index(b)) for a, b in alternative]))
    present = {conductor for conductor in intended if conductor is not None}
    for order in kind.orders:
        if len(order) == len(contacts) and {conductor for conductor in order if conductor is not None} == present:
            found.append(order)
    if kind.rule == "other-standard":
        found.extend(others)
    if kind.rule == "turned":
        found.append(intended[::-1])
    if kind.rule == "alike":
        found.extend(_alike(intended, colours))
    return tuple(dict.fromkeys(order for order in found if order != intended))


def _alike(intended: Order, colours: ColourSet) -> list[Order]:
    found = []
    for group in sorted({colours.alike(conductor) for conductor in intended if conductor is not None}):
        places = [intended.index(conductor) for conductor in group if conductor in intended]
        for arrangement in permutations([intended[place] for place in places]):
            changed = list(intended)
            for place, conductor in zip(places, arrangement, strict=True):
                changed[place] = conductor
            found.append(tuple(changed))
    return found


@cache
def renames(names: tuple[str, ...], colours: ColourSet, makers: OtherMakers) -> tuple[tuple[Rename, float], ...]:
    """Return how people on no list may take one conductor for another, with chances that add up to 1.

    Each says of every conductor of a cable that has these, in their order, the number of the one taken for it.
    """
    same = tuple(range(len(names)))
    whole = [pair for pair in colours.pairs if set(pair) <= set(names)]
    pairs = [(names.index(first), names.index(second)) for first, second in whole]
    in_pairs = set()
    for order in permutations(pairs):
        for taken in product(*((other, other[::-1]) for other in order)):
            mistaken = list(same)
            for (first, second), (for_first, for_second) in zip(pairs, taken, strict=True):
                mistaken[first], mistaken[second] = for_first, for_second
            in_pairs.add(tuple(mistaken))
    exchanged = {tuple({a: b, b: a}.get(one, one) for one in same) for a, b in combinations(same, 2)}
    found: list[tuple[Rename, float]] = []
    for ways_of, weight in ((in_pairs - {same}, makers.pairs), (exchanged, makers.exchanged)):
        in_order = sorted(ways_of, key=lambda one: [names[place] for place in one])
        found += [(one, weight / len(ways_of) / (makers.pairs + makers.exchanged)) for one in in_order]
    return tuple(found)
