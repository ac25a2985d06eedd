"""Judging, at full count: every order, a large share of all partial maps, random nets with shorts."""

import itertools
import math
import random
from collections.abc import Iterable, Iterator, Sequence

import networkx as nx
import numpy as np

from tests.judge.wiring.oracle import check_promises, findings_again, mirrored, said, wanted_nets
from tests.long import Check
from tests.strategies import Net, nets_of, places, random_nets, spoiled_nets, two_plug_patterns
from wiremap.cable.patterns import Pattern, pattern
from wiremap.judge.findings import Finding
from wiremap.judge.wiring.continuity import continuity, wiring
from wiremap.judge.wiring.layout import Layout, lay_pattern
from wiremap.reading.joined import nets


def continuity_of(cable: Sequence[Net], laid: Layout, mirror: bool = False) -> tuple[Finding, ...]:
    """Return what judging says of nets; mirror: of the same cable turned end for end."""
    end = {"near": "far", "far": "near"} if mirror else {"near": "near", "far": "far"}
    number = {(end[place[0]], place[1]): i for i, net in enumerate(cable) for place in net}
    ordered = places(laid.names[: laid.near_count], laid.names[laid.near_count :])
    return continuity(wiring([number[place] for place in ordered], laid), laid)


def check_cables(expect: Pattern, cables: Iterable[Sequence[Net]], again: bool = True) -> int:
    """Assert the promises for every cable, their mirror, and the second working-out; return how many there were."""
    laid = lay_pattern(expect, expect.near_contacts, expect.far_contacts)
    turned = expect.swapped()
    laid_turned = lay_pattern(turned, turned.near_contacts, turned.far_contacts)
    wanted = wanted_nets(expect, places(expect.near_contacts, expect.far_contacts))
    count = 0
    for cable in cables:
        findings = continuity_of(cable, laid)
        check_promises(cable, expect, wanted, findings)
        here = {said(finding) for finding in findings}
        assert {mirrored(finding) for finding in continuity_of(cable, laid_turned, mirror=True)} == here, cable
        if again:
            assert findings_again(cable, expect) == here, cable
        count += 1
    return count


def all_orders(expect: Pattern, most: int, choose: random.Random) -> Iterator[list[Net]]:
    """Give cables with the pattern's conductors in every order, or `most` of the orders drawn at random."""
    near, far = zip(*expect.conductors, strict=True)
    every: Iterable[Sequence[str]] = itertools.permutations(far)
    if most < math.factorial(len(far)):
        every = [choose.sample(far, len(far)) for _ in range(most)]
    for order in every:
        yield nets_of(dict(zip(near, order, strict=True)), expect.near_contacts, expect.far_contacts)


def every_order(seed: int, count: int) -> str:
    """All orders of the conductors of every pattern (at most `count` of each), the second working-out on a tenth."""
    choose = random.Random(seed)
    seen = 0
    for expect in two_plug_patterns():
        cables = list(all_orders(expect, count, choose))
        seen += check_cables(expect, cables, again=False)
        check_cables(expect, choose.sample(cables, max(1, len(cables) // 40)))
    return f"{seen} orders of {len(two_plug_patterns())} patterns: promises and mirror hold"


def partial_maps(seed: int, count: int) -> str:
    """Random partial maps of eight contacts, as a uniform draw of the 1 441 729, against three patterns."""
    choose = random.Random(seed)
    eight = [str(i) for i in range(1, 9)]
    sizes = range(9)
    ways = [math.comb(8, size) ** 2 * math.factorial(size) for size in sizes]
    assert sum(ways) == 1_441_729

    def draw() -> list[Net]:
        size = choose.choices(sizes, ways)[0]
        arrives = dict(zip(choose.sample(eight, size), choose.sample(eight, size), strict=True))
        return nets_of(arrives, [*eight, "S"], [*eight, "S"])

    names = ("straight", "crossover", "straight-2pair")
    for name in names:
        cables = [draw() for _ in range(count // len(names))]
        check_cables(pattern(name), cables, again=False)
        check_cables(pattern(name), cables[: len(cables) // 20])
    return f"{count} partial maps of {sum(ways)}: promises and mirror hold"


def nets_with_shorts(seed: int, count: int) -> str:
    """Random cables with opens and shorts, the screens among them, against every pattern."""
    choose = random.Random(seed)
    expected = two_plug_patterns()
    for expect in expected:
        near, far = expect.near_contacts, expect.far_contacts
        cables = [random_nets(choose, near, far, choose.randint(0, 5)) for _ in range(count // len(expected))]
        check_cables(expect, cables, again=False)
        check_cables(expect, cables[: max(1, len(cables) // 10)])
    return f"{count} random nets against {len(expected)} patterns: promises and mirror hold"


def closure(seed: int, count: int) -> str:
    """Nets of random matrices, sparse to dense and 1 to 64 contacts, equal the components networkx finds."""
    choose = np.random.default_rng(seed)
    sizes = (1, 2, 7, 8, 9, 16, 17, 18, 32, 33, 64)
    seen = 0
    for size in sizes:
        density = choose.random((count // len(sizes), 1, 1)) * 2 / size
        joined = choose.random((len(density), size, size)) < density
        for one in joined:
            graph: nx.Graph[int] = nx.Graph()
            graph.add_nodes_from(range(size))
            edges = [(int(a), int(b)) for a, b in np.argwhere(one)]
            graph.add_edges_from(edges)
            found = nets(size, edges)
            for part in nx.connected_components(graph):
                assert {found[contact] for contact in part} == {min(part)}
        seen += len(joined)
    return f"{seen} matrices equal networkx.connected_components"


def spoiled(seed: int, count: int) -> str:
    """Cables as people spoil them, so that reversed and crossed pairs are common, each by the second working-out."""
    choose = random.Random(seed)
    expected = two_plug_patterns()
    for expect in expected:
        check_cables(expect, [spoiled_nets(choose, expect) for _ in range(count // len(expected))])
    return f"{count} spoiled cables of {len(expected)} patterns: promises, mirror and second working-out hold"


CHECKS = (
    Check("judge: every order", every_order, 40_320),
    Check("judge: partial maps", partial_maps, 250_000),
    Check("judge: nets with shorts", nets_with_shorts, 120_000),
    Check("judge: spoiled cables", spoiled, 20_000),
    Check("judge: nets are closed", closure, 20_000),
)
