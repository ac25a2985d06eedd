"""The ways a cable may have been meant: which termination at the near plug, and what follows for the far one."""

from msgspec import Struct

from wiremap.cable.colours import ColourSet
from wiremap.cable.connectors import Connector
from wiremap.cable.habits import Habits, Order
from wiremap.cable.patterns import Pattern
from wiremap.cable.terminations import carried, terminations


class Intended(Struct, frozen=True):
    """One way the cable may have been meant: its weight and the order of each plug."""

    weight: float
    near: Order
    far: Order
    name: str


def _order(plug: Connector, conductors: tuple[tuple[str, str], ...]) -> Order:
    held = dict(conductors)
    return tuple(held.get(contact) for contact in plug.conductor_contacts)


def _completed(near: Order, far: Order) -> Order:
    """Fill empty contacts of the far plug with the conductors a pattern sends nowhere: straight, else in order."""
    missing = [name for name in near if name is not None and name not in far]
    filled = list(far)
    for place, name in enumerate(near):
        if name in missing and place < len(filled) and filled[place] is None:
            filled[place] = name
            missing.remove(name)
    for name in missing:
        if None in filled:
            filled[filled.index(None)] = name
    return tuple(filled)


def intended_orders(pattern: Pattern, colours: ColourSet, habits: Habits, conductors: int) -> tuple[Intended, ...]:
    """Return the ways a cable of this pattern with so many conductors may have been meant, weights adding up to 1."""
    if pattern.far_connector is None:
        return ()
    weights = dict(habits.intended)
    found = []
    for known in terminations():
        if known.connector != pattern.near_connector or known.name not in weights:
            continue
        if len(known.conductors) != conductors or not {name for _, name in known.conductors} <= set(colours.names):
            continue
        if not {contact for contact, _ in pattern.conductors} <= {contact for contact, _ in known.conductors}:
            continue
        near = _order(known.connector, known.conductors)
        far = _completed(near, _order(pattern.far_connector, carried(known, pattern)))
        if sum(name is not None for name in far) == conductors:
            found.append(Intended(weights[known.name], near, far, known.name))
    total = sum(one.weight for one in found)
    names = {frozenset(one.near) - {None} for one in found}
    if len(names) > 1:
        return ()
    return tuple(Intended(one.weight / total, one.near, one.far, one.name) for one in found)
