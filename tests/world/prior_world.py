"""The prior's own world: cables drawn from the habits that the product believes in, by the words of that data alone.

Here chances said must come true. What the data leave open (slips between two kinds, how often a conductor breaks)
is drawn as the data's own comments say.
"""

import random
from dataclasses import replace
from itertools import permutations

from tests.world.cables import FOUR_PAIRS, Job
from tests.world.tables import CONTACTS, MEANT, PAIRS, PATTERNS, STANDARDS, Holds, Pattern, carried
from tests.world.truth import Plug, Run, Truth
from wiremap.cable.habits import HabitKind, Habits, habits

SHARES = {"straight": 60, "crossover": 10, "m12x-rj45": 8, "m12d-m12d": 8, "m12x-m12x": 8, "rj45-m12x": 6}


def _exchanged(order: Holds, places: list[tuple[int, int]]) -> Holds:
    found = list(order)
    for a, b in places:
        found[a], found[b] = found[b], found[a]
    return tuple(found)


def wrong_orders(kind: HabitKind, plug: str, order: Holds, others: list[Holds]) -> list[Holds]:
    """Return what a kind of habits makes of an order; the shifted ones are not among them."""
    if plug not in kind.connectors:
        return []
    contacts, found = CONTACTS[plug], []
    for alternative in kind.exchange:
        if all(contact in contacts for pair in alternative for contact in pair):
            found.append(_exchanged(order, [(contacts.index(a), contacts.index(b)) for a, b in alternative]))
    for alternative in kind.exchange_conductors:
        if all(name in order for pair in alternative for name in pair):
            found.append(_exchanged(order, [(order.index(a), order.index(b)) for a, b in alternative]))
    found += [one for one in kind.orders if len(one) == len(order) and set(one) - {None} == set(order) - {None}]
    if kind.rule == "other-standard":
        found += others
    if kind.rule == "turned":
        found.append(tuple(reversed(order)))
    return [one for one in dict.fromkeys(found) if one != order]


def _shifts(kind: HabitKind, plug: str, order: Holds) -> bool:
    return kind.rule == "shifted" and plug in kind.connectors and None not in order


def _shifted(order: Holds, up: bool) -> Holds:
    return (None, *order[:-1]) if up else (*order[1:], None)


def _more_exchanges(choose: random.Random, order: Holds, theta: float) -> Holds:
    """Return the order after k further exchanges with chance in proportion to theta^k, every order counted once."""
    names = [place for place, name in enumerate(order) if name is not None]
    if len(names) < len(order):
        return _placed(choose, order, theta)
    found = list(order)
    for contact in range(1, len(found)):
        if choose.random() >= 1.0 / (1.0 + contact * theta):
            other = choose.randrange(contact)
            found[contact], found[other] = found[other], found[contact]
    return tuple(found)


def _placed(choose: random.Random, order: Holds, theta: float) -> Holds:
    """Return an order with empty contacts after further exchanges, each order weighed by the fewest that make it."""
    every = [tuple(one) for one in set(permutations(order))]
    return choose.choices(every, [theta ** _distance(order, one) for one in every])[0]


def _distance(one: Holds, other: Holds) -> int:
    """Return the fewest exchanges of two contacts that make one order of another; empty contacts are alike."""
    left = [(a, b) for a, b in zip(one, other, strict=True) if a != b]
    moves = {a: b for a, b in left if a is not None}
    count = 0
    while moves:
        start, here = next(iter(moves.items()))
        del moves[start]
        count += 1
        while here is not None and here in moves:
            here = moves.pop(here)
            count += 1
        if here == start:
            count -= 1
    return count


def _renamed(choose: random.Random, known: Habits, orders: tuple[Holds, ...]) -> tuple[Holds, ...]:
    """Return orders after somebody on no list took conductors for each other, alike in all of them."""
    names = sorted({name for name in orders[0] if name is not None})
    makers = known.other_makers
    taken = {name: name for name in names}
    if choose.random() < makers.pairs / (makers.pairs + makers.exchanged):
        twisted = [pair for pairs in PAIRS.values() for pair in pairs if set(pair) <= set(names)]
        pairs = list(dict.fromkeys(twisted))
        while all(name == other for name, other in taken.items()):
            for pair, other in zip(pairs, choose.sample(pairs, len(pairs)), strict=True):
                taken |= dict(zip(pair, choose.sample(other, 2), strict=True))
    else:
        one, other_one = choose.sample(names, 2)
        taken |= {one: other_one, other_one: one}
    return tuple(tuple(None if name is None else taken[name] for name in order) for order in orders)


def _one_plug(choose: random.Random, known: Habits, plug: str, order: Holds, others: list[Holds]) -> Holds:
    if choose.random() < known.flat:
        return tuple(choose.sample(order, len(order)))
    kinds = [kind for kind in known.kinds if wrong_orders(kind, plug, order, others) or _shifts(kind, plug, order)]
    if choose.random() < known.right:
        return _more_exchanges(choose, order, known.theta)
    if not kinds or choose.random() < known.other_makers.share:
        return _more_exchanges(choose, _renamed(choose, known, (order,))[0], known.theta)
    kind = choose.choices(kinds, [kind.one_end for kind in kinds])[0]
    if kind.rule == "shifted":
        return _shifted(order, choose.random() < 0.5)
    return _more_exchanges(choose, choose.choice(wrong_orders(kind, plug, order, others)), known.theta)


def _both(
    choose: random.Random, known: Habits, pattern: Pattern, sides: tuple[tuple[Holds, list[Holds]], ...]
) -> tuple[Holds, ...]:
    (near, near_others), (far, far_others) = sides
    kinds = []
    for kind in known.kinds:
        ours = wrong_orders(kind, pattern.near, near, near_others)
        theirs = wrong_orders(kind, pattern.far, far, far_others)
        shifts = _shifts(kind, pattern.near, near) and _shifts(kind, pattern.far, far)
        if kind.both_ends and (shifts or (ours and len(ours) == len(theirs))):
            kinds.append((kind, list(zip(ours, theirs, strict=False))))
    if not kinds or choose.random() < known.other_makers.share:
        return _renamed(choose, known, (near, far))
    kind, made = choose.choices(kinds, [one.both_ends for one, _ in kinds])[0]
    if kind.rule == "shifted":
        up = choose.random() < 0.5
        return _shifted(near, up), _shifted(far, up)
    return choose.choice(made)


def wrong_cable(choose: random.Random) -> Job:
    """Draw a cable of which a tester sees that something is wrong: only of these are chances said."""
    while True:
        job = cable(choose)
        pairs = job.truth.keeps_pairs("near", job.pattern) or not job.with_pairs
        if not job.truth.as_wanted(job.pattern) or not pairs:
            return job


def cable(choose: random.Random) -> Job:
    """Draw a cable as the product believes that cables are made; broken conductors too, no other fault."""
    known = habits()
    pattern = PATTERNS[choose.choices(list(SHARES), list(SHARES.values()))[0]]
    colours = "tia" if pattern.name in FOUR_PAIRS else "iec61918"
    usual = dict(known.intended)
    names = MEANT[pattern.near, 8 if colours == "tia" else 4, colours]
    if pattern.name == "m12d-m12d":
        names = ("m12d-industrial",)
    meant_name = choose.choices(names, [usual[name] for name in names])[0]
    meant = STANDARDS[pattern.near][meant_name]
    there = carried(pattern, meant)
    others = [STANDARDS[pattern.near][name] for name in names if name != meant_name]
    sides = ((meant, others), (there, [carried(pattern, other) for other in others]))
    both = _both(choose, known, pattern, sides) if choose.random() < known.habit else None
    if both is None:
        near, far = (
            _one_plug(choose, known, plug, *side) for plug, side in zip((pattern.near, pattern.far), sides, strict=True)
        )
    else:
        near, far = both
    conductors = tuple(name for name in meant if name is not None)
    loose = {name for plug in (near, far) for name in conductors if name not in plug}
    broken = [name for name in conductors if name not in loose and choose.random() < known.broken / (1 + known.broken)]
    run = Run(round(choose.uniform(5.0, 30.0), 1), 0.085, colours, conductors)
    truth = Truth(Plug(pattern.near, near, meant), Plug(pattern.far, far, there), run)
    places = dict(known.places)
    for name in broken:
        where = choose.choices(list(places), list(places.values()))[0]
        if where == "run":
            at = round(choose.uniform(0.2, 0.8) * run.length_m, 2)
            truth = replace(truth, run=replace(truth.run, broken=(*truth.run.broken, (name, at))))
        else:
            plug = truth.plug(where)
            contact = plug.where(name)
            assert contact is not None
            truth = truth.with_plug(where, replace(plug, loose=plug.loose | {contact}))
    return Job(truth, pattern, (), None, choose.random() < 0.5)
