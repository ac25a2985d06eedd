"""Chances of orders: every order, the prior and the posterior, against brute force."""

import math
from collections import defaultdict
from itertools import permutations

import networkx
import numpy as np
import pytest

from tests.judge.plugs.as_built_trials import (
    STRAIGHT,
    TIA,
)
from tests.judge.plugs.straight_cables import HABITS, posterior_of, routes
from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import pattern
from wiremap.judge.plugs.evidence import Evidence
from wiremap.judge.plugs.orders import (
    exchanges,
    full_orders,
    normaliser,
    placements,
    ranks,
    spread,
)
from wiremap.judge.plugs.posterior import posterior
from wiremap.judge.plugs.prior import Belief, belief, chances_of, table


def test_every_order_once() -> None:
    """The 40 320 orders are those of itertools, in its order, and the rank of each is its place."""
    rows = full_orders()
    assert [tuple(row) for row in rows.tolist()] == list(permutations(range(8)))
    assert (ranks(rows) == np.arange(40320)).all()


@pytest.mark.parametrize(("contacts", "conductors"), [(4, 4), (5, 3), (8, 4), (2, 1), (6, 5)])
def test_exchanges_are_the_shortest_way(contacts: int, conductors: int) -> None:
    """Exchanges counted by cycles are the length of the shortest way by exchanging two contacts, empty ones too."""
    rows = placements(contacts, conductors)
    graph: networkx.Graph[tuple[int, ...]] = networkx.Graph()
    for row in map(tuple, rows.tolist()):
        for a in range(contacts):
            for b in range(a):
                other = list(row)
                other[a], other[b] = other[b], other[a]
                graph.add_edge(row, tuple(other))
    start = tuple(rows[0].tolist())
    ways = networkx.single_source_shortest_path_length(graph, start)
    found = exchanges(rows, start, conductors)
    assert {tuple(row): int(count) for row, count in zip(rows.tolist(), found, strict=True)} == dict(ways)


@pytest.mark.parametrize(("contacts", "conductors"), [(8, 8), (8, 4), (4, 4), (5, 2)])
def test_the_penalty_adds_up_to_its_product(contacts: int, conductors: int) -> None:
    """The sum of theta^exchanges over all orders is the product of 1 + i theta: an exact check of the penalty."""
    rows = placements(contacts, conductors) if conductors < 8 else full_orders()
    start = [*range(conductors), *([-1] * (contacts - conductors))]
    for theta in (0.004, 0.3, 2.0):
        total = float((theta ** exchanges(rows, start, conductors).astype(float)).sum())
        assert total == pytest.approx(normaliser(contacts, conductors, theta), rel=1e-12)


def test_spreading_is_the_penalty_from_every_order() -> None:
    """Spreading chances by look-ups gives theta^exchanges over the normaliser from each order, and loses nothing."""
    choose = np.random.default_rng(5)
    chances = np.zeros((40320, 2))
    places = choose.integers(0, 40320, (3, 2))
    for column in range(2):
        chances[places[:, column], column] += [0.5, 0.3, 0.2]
    wanted = np.zeros_like(chances)
    for column in range(2):
        for place, share in zip(places[:, column], (0.5, 0.3, 0.2), strict=True):
            away = exchanges(full_orders(), full_orders()[place].tolist(), 8).astype(float)
            wanted[:, column] += share * 0.05**away / normaliser(8, 8, 0.05)
    found = spread(chances, 0.05)
    assert np.abs(found - wanted).max() < 1e-14
    assert found.sum(axis=0) == pytest.approx([1.0, 1.0], abs=1e-12)


@pytest.mark.parametrize("name", ["straight", "crossover", "m12x-rj45", "rollover"])
def test_the_prior_adds_up_to_one(name: str) -> None:
    """Over all orders of a plug, with the shifted ones beside them, the chances add up to one, and none is nothing."""
    known = belief(pattern(name), TIA, HABITS, 8)
    assert known is not None
    for plugs in (known.near, known.far):
        found = table(plugs, HABITS.theta, HABITS.flat)
        shifted = np.array([plug.shifted for plug in plugs]) * (1 - HABITS.flat)
        assert found.sum(axis=0) + shifted == pytest.approx(np.ones(len(plugs)), abs=1e-12)
        assert found.min() >= HABITS.flat / 40320
    assert HABITS.flat >= 0.02


def test_two_ways_to_the_same_chances() -> None:
    """The table of all orders and the chances worked out template by template are the same numbers."""
    known = belief(STRAIGHT, TIA, HABITS, 8)
    assert known is not None
    rows = full_orders()[::61]
    one_by_one = chances_of(rows, known.near, HABITS.theta, HABITS.flat, 8)
    assert np.abs(one_by_one - table(known.near, HABITS.theta, HABITS.flat)[::61]).max() < 1e-15


def _ways(order: tuple[int, ...], template: tuple[int, ...]) -> int:
    """Return exchanges between two orders by undoing them one contact at a time, empty contacts among them."""
    now, count = list(order), 0
    for place, wanted in enumerate(template):
        if wanted >= 0 and now[place] != wanted:
            other = now.index(wanted)
            now[place], now[other] = now[other], now[place]
            count += 1
    return count


def brute_force(known: Belief, seen: dict[int, int], pairs: list[tuple[int, int]]) -> dict[tuple[int, ...], float]:
    """Return the chance of each near order, every pair of orders written out in plain Python.

    seen: near place -> far place of every conductor. pairs: near places that are twisted together.
    """
    size = len(known.conductors)
    near_size, far_size = len(known.near_plug.conductor_contacts), len(known.far_plug.conductor_contacts)
    theta, flat = known.habits.theta, known.habits.flat
    twisted = {frozenset(range(2 * k, 2 * k + 2)) for k in range(size // 2)}

    def chance(order: tuple[int, ...], weighted: tuple[tuple[tuple[int, ...], float], ...], contacts: int) -> float:
        empty = contacts - size
        scale = math.prod(1 + place * theta for place in range(empty, contacts))
        spread_out = sum(weight * theta ** _ways(order, template) for template, weight in weighted) / scale
        return (1 - flat) * spread_out + flat / math.perm(contacts, size)

    found: defaultdict[tuple[int, ...], float] = defaultdict(float)
    for colouring in permutations(range(size)):
        near, far = [-1] * near_size, [-1] * far_size
        for (here, there), conductor in zip(seen.items(), colouring, strict=True):
            near[here], far[there] = conductor, conductor
        if any(frozenset((near[a], near[b])) not in twisted for a, b in pairs):
            continue
        ours, theirs = tuple(near), tuple(far)
        for column, intended in enumerate(known.intended):
            apart = chance(ours, known.near[column].weighted, near_size)
            apart *= chance(theirs, known.far[column].weighted, far_size)
            together = sum(share for a, b, share in known.both[column] if (a, b) == (ours, theirs))
            found[ours] += intended.weight * ((1 - known.habit) * apart + known.habit * together)
    total = sum(found.values())
    return {order: weight / total for order, weight in found.items()}


@pytest.mark.parametrize(
    ("name", "colours", "arrives", "pairs"),
    [
        ("m12a-5pole", "device-bus", {"2": "2", "3": "3", "4": "5", "5": "4"}, ()),
        ("m12a-5pole", "device-bus", {"2": "3", "3": "4", "4": "5", "5": "2"}, (("2", "3"), ("4", "5"))),
        ("m12d-rj45", "iec61918", {"1": "1", "2": "2", "3": "3", "4": "6"}, ()),
        ("m12d-rj45", "iec61918", {"1": "1", "2": "2", "3": "3", "4": "6"}, (("1", "3"), ("2", "4"))),
        ("m12d-rj45", "iec61918", {"1": "1", "2": "5", "3": "2", "4": "4"}, ()),
        ("straight-2pair", "tia", {"1": "1", "2": "3", "3": "2", "6": "6"}, ()),
        ("straight-2pair", "iec61918", {"1": "2", "2": "1", "3": "3", "4": "6"}, ()),
    ],
)
def test_small_cables_against_brute_force(
    name: str, colours: str, arrives: dict[str, str], pairs: tuple[tuple[str, str], ...]
) -> None:
    """For cables of four the chance of every order is what writing out every pair of orders in plain Python gives."""
    known = belief(pattern(name), colour_set(colours), HABITS, 4)
    assert known is not None
    near_names, far_names = known.near_plug.conductor_contacts, known.far_plug.conductor_contacts
    seen = {near_names.index(a): far_names.index(b) for a, b in arrives.items()}
    wanted = brute_force(known, seen, [(near_names.index(a), near_names.index(b)) for a, b in pairs])
    evidence = Evidence(tuple(arrives.items()), pairs=pairs)
    found = posterior(known, colour_set(colours), evidence)
    assert found is not None
    got = {tuple(row): chance for row, chance in zip(found.rows.tolist(), found.chance.tolist(), strict=True) if chance}
    assert got.keys() == wanted.keys()
    assert all(got[order] == pytest.approx(chance, rel=1e-9) for order, chance in wanted.items())


def test_open_contacts_against_all_ways_to_close_them() -> None:
    """With contacts 3 and 6 open the chance of each near order is that of both cables they may be, added up."""
    known = belief(STRAIGHT, TIA, HABITS, 8)
    assert known is not None
    plain = table(known.near, HABITS.theta, HABITS.flat)
    rows = full_orders()
    weights = np.array([one.weight for one in known.intended])
    total = np.zeros(40320)
    for closed in ({2: 2, 5: 5}, {2: 5, 5: 2}):
        leads = np.array([closed.get(place, place) for place in range(8)])
        far = np.empty_like(rows)
        far[:, leads] = rows
        place = {tuple(row): number for number, row in enumerate(rows.tolist())}
        other = np.array([place[tuple(row)] for row in far.tolist()])
        total += (plain * plain[other] * weights * (1 - known.habit)).sum(axis=1)
        for column, orders in enumerate(known.both):
            for a, b, share in orders:
                if tuple(far[place[a]].tolist()) == b:
                    total[place[a]] += weights[column] * known.habit * share
    found = posterior(known, TIA, Evidence(routes({3: 0, 6: 0})))
    assert found is not None
    assert np.abs(found.chance[:40320] - total / total.sum()).max() < 1e-12


def test_a_short_hides_the_order_within() -> None:
    """Conductors of a short are as two opens are, whichever of them goes where."""
    shorted = posterior_of(Evidence(routes({3: 0, 6: 0}), ((("3", "6"), ("3", "6")),)))
    opened = posterior_of(Evidence(routes({3: 0, 6: 0})))
    assert np.abs(shorted.chance - opened.chance).max() < 1e-12
