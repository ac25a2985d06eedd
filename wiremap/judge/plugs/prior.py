"""What is believed of the two plugs before anything is measured: a mixture of the orders people make.

For one plug and one intended order: the intended order with chance `right`, each kind of habits.toml by its
weight or, with the share of `other_makers`, conductors taken for each other in any way; all spread by further
exchanges, and a share `flat` over every order. For both plugs: independent of each other, or, with chance `habit`,
the same kind at both. The shifted plug is no order of all conductors; it stands beside the others.
"""

from collections import defaultdict
from functools import lru_cache

import numpy as np
from msgspec import Struct

from wiremap.cable.colours import ColourSet
from wiremap.cable.connectors import Connector
from wiremap.cable.habits import Habits, Order, OtherMakers, orders_of, renames
from wiremap.cable.patterns import Pattern
from wiremap.judge.plugs.intended import Intended, intended_orders
from wiremap.judge.plugs.orders import (
    FULL,
    Chances,
    Rows,
    exchanges,
    normaliser,
    placements,
    ranks,
    spread,
)

Numbers = tuple[int, ...]


class PlugBelief(Struct, frozen=True):
    """What is believed of one plug for one intended order, without its flat share.

    weighted: (order as conductor numbers, chance); these and `shifted` (half of it each way) add up to 1.
    """

    intended: Numbers
    weighted: tuple[tuple[Numbers, float], ...]
    shifted: float


class Belief(Struct, frozen=True):
    """What is believed of a cable.

    conductors: their names; elsewhere they are numbers. near, far: one PlugBelief for each of `intended`.
    both: for each of `intended`, (near order, far order, chance) of habits at both plugs; with `both_shifted`
    these add up to 1, or are empty where no habit fits both plugs.
    """

    habits: Habits
    conductors: tuple[str, ...]
    near_plug: Connector
    far_plug: Connector
    intended: tuple[Intended, ...]
    near: tuple[PlugBelief, ...]
    far: tuple[PlugBelief, ...]
    both: tuple[tuple[tuple[Numbers, Numbers, float], ...], ...]
    both_shifted: tuple[float, ...]

    @property
    def habit(self) -> float:
        """Return the chance of one habit at both plugs."""
        return self.habits.habit if any(self.both) or any(self.both_shifted) else 0.0

    def names(self, order: Numbers) -> Order:
        """Return an order as conductor names."""
        return tuple(None if number < 0 else self.conductors[number] for number in order)


@lru_cache(maxsize=64)
def _mistaken(
    order: Order, names: tuple[str, ...], colours: ColourSet, makers: OtherMakers
) -> tuple[tuple[Numbers, float], ...]:
    """Return an order as numbers with conductors taken for each other in every way, and the chances of these."""
    numbers = [-1 if name is None else names.index(name) for name in order]
    return tuple(
        (tuple(map((*rename, -1).__getitem__, numbers)), chance)  # what is empty stays so
        for rename, chance in renames(names, colours, makers)
    )


def _plug(
    plug: Connector, order: Order, others: tuple[Order, ...], habits: Habits, colours: ColourSet, names: tuple[str, ...]
) -> PlugBelief:
    def numbers(row: Order) -> Numbers:
        return tuple(-1 if name is None else names.index(name) for name in row)

    made = [(kind, orders_of(kind, plug, order, others, colours)) for kind in habits.kinds]
    full = None not in order
    shifts = [kind for kind in habits.kinds if kind.rule == "shifted" and plug.name in kind.connectors and full]
    total = sum(kind.one_end for kind, orders in made if orders) + sum(kind.one_end for kind in shifts)
    chances: defaultdict[Numbers, float] = defaultdict(float)
    chances[numbers(order)] += habits.right
    unlisted = habits.other_makers.share if total else 1.0
    for mistaken, chance in _mistaken(order, names, colours, habits.other_makers):
        chances[mistaken] += (1.0 - habits.right) * unlisted * chance
    wrong = (1.0 - habits.right) * (1.0 - unlisted)
    for kind, orders in made:
        for one in orders:
            chances[numbers(one)] += wrong * kind.one_end / total / len(orders)
    shifted = wrong * sum(kind.one_end for kind in shifts) / total if shifts else 0.0
    return PlugBelief(numbers(order), tuple(chances.items()), shifted)


def _both(
    belief_near: tuple[Connector, Order, tuple[Order, ...]],
    belief_far: tuple[Connector, Order, tuple[Order, ...]],
    habits: Habits,
    colours: ColourSet,
    names: tuple[str, ...],
) -> tuple[tuple[tuple[Numbers, Numbers, float], ...], float]:
    def numbers(row: Order) -> Numbers:
        return tuple(-1 if name is None else names.index(name) for name in row)

    made: list[tuple[Numbers, Numbers, float]] = []
    shifted = 0.0
    for kind in habits.kinds:
        if kind.both_ends == 0:
            continue
        near_orders = orders_of(kind, *belief_near, colours)
        far_orders = orders_of(kind, *belief_far, colours)
        if near_orders and len(near_orders) == len(far_orders):
            made.extend(
                (numbers(near), numbers(far), kind.both_ends / len(near_orders))
                for near, far in zip(near_orders, far_orders, strict=True)
            )
        fits = all(plug.name in kind.connectors and None not in order for plug, order, _ in (belief_near, belief_far))
        if kind.rule == "shifted" and fits:
            shifted += kind.both_ends
    total = sum(weight for _, _, weight in made) + shifted
    others = habits.other_makers.share if total else 1.0
    listed = (1.0 - others) / total if total else 0.0
    both = [(near, far, weight * listed) for near, far, weight in made]
    for (near, chance), (far, _) in zip(
        *(_mistaken(order, names, colours, habits.other_makers) for order in (belief_near[1], belief_far[1])),
        strict=True,
    ):
        both.append((near, far, chance * others))
    return tuple(both), shifted * listed


@lru_cache(maxsize=32)
def belief(pattern: Pattern, colours: ColourSet, habits: Habits, conductors: int) -> Belief | None:
    """Return what is believed of a cable of so many conductors; None where no usual order is known for it."""
    intended = intended_orders(pattern, colours, habits, conductors)
    if not intended or pattern.far_connector is None:
        return None
    near_plug, far_plug = pattern.near_connector, pattern.far_connector
    names = tuple(name for name in colours.names if name in intended[0].near)
    near, far, both, both_shifted = [], [], [], []
    for one in intended:
        near_others = tuple(other.near for other in intended if other.near != one.near)
        far_others = tuple(other.far for other in intended if other.far != one.far)
        near_side, far_side = (near_plug, one.near, near_others), (far_plug, one.far, far_others)
        near.append(_plug(*near_side, habits, colours, names))
        far.append(near[-1] if far_side == near_side else _plug(*far_side, habits, colours, names))
        orders, shifted = _both(near_side, far_side, habits, colours, names)
        both.append(orders)
        both_shifted.append(shifted)
    return Belief(
        habits, names, near_plug, far_plug, intended, tuple(near), tuple(far), tuple(both), tuple(both_shifted)
    )


@lru_cache(maxsize=8)
def table(plugs: tuple[PlugBelief, ...], theta: float, flat: float) -> Chances:
    """Return the chance of every full order for each intended one, shape (40320, B), the shifted plug left out."""
    chances = np.zeros((40320, len(plugs)))
    for column, plug in enumerate(plugs):
        rows: Rows = np.array([order for order, _ in plug.weighted], dtype=np.int8)
        np.add.at(chances[:, column], ranks(rows), [weight for _, weight in plug.weighted])
    found = spread(chances, theta)
    found *= 1.0 - flat
    found += flat / len(chances)
    found.setflags(write=False)
    return found


def chances_of(rows: Rows, plugs: tuple[PlugBelief, ...], theta: float, flat: float, conductors: int) -> Chances:
    """Return the chance of each row (R, contacts) for each intended order, shape (R, B), without the shifted plug.

    The same numbers as `table`, for plugs of any size, worked out one template at a time.
    """
    contacts = rows.shape[1]
    scale = (1.0 - flat) / normaliser(contacts, conductors, theta)
    found = np.full((len(rows), len(plugs)), flat / len(_all_rows(contacts, conductors)))
    for column, plug in enumerate(plugs):
        for template, weight in plug.weighted:
            found[:, column] += scale * weight * theta ** exchanges(rows, template, conductors).astype(np.float64)
    return found


@lru_cache(maxsize=16)
def _all_rows(contacts: int, conductors: int) -> Rows:
    return placements(contacts, conductors)


def is_full(known: Belief) -> bool:
    """Whether both plugs have eight contacts and eight conductors, so that `table` holds every order."""
    sizes = {len(known.conductors), len(known.near_plug.conductor_contacts), len(known.far_plug.conductor_contacts)}
    return sizes == {FULL}
