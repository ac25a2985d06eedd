"""What may be connected, worked out anew from contacts alone: every order, every polarity, every kind of port.

Shares no table and no code with the product. Contacts 1-2, 3-6, 4-5, 7-8 are pairs (ANSI/TIA-568). Alternative A feeds
1-2 against 3-6, B 4-5 against 7-8, each either way round (IEEE 802.3 Table 145-3); a passive injector has + on 4-5 and
- on 7-8 and its device wants them there (common practice, no source). A winding joins the contacts of a pair at the far
end, and at the near end those of a pair that is not fed.
"""

import random
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import permutations, product

from wiremap.cable.patterns import pattern
from wiremap.judge.remedy.service import Cable, Net, Port, Service
from wiremap.judge.remedy.services import services

MATE = {1: 2, 2: 1, 3: 6, 6: 3, 4: 5, 5: 4, 7: 8, 8: 7}
ORANGE, GREEN, BLUE, BROWN = (frozenset(pair) for pair in ((1, 2), (3, 6), (4, 5), (7, 8)))
TWO_WAYS = (+1, -1)
PORTS: tuple[Port, ...] = ("auto", "fixed-mdi", "fixed-mdi-x")
GIGABIT = ("1000BASE-T", "2.5GBASE-T", "5GBASE-T", "10GBASE-T")
Order = Sequence[int]  # where near contacts 1 to 8 arrive at the far plug, 0 = nowhere


def feeds(kind: str) -> Iterator[dict[int, int]]:
    """Yield the pole of each fed contact, for every polarity the source may have."""
    for a, b in product(TWO_WAYS, TWO_WAYS):
        first = {contact: a if contact in ORANGE else -a for contact in ORANGE | GREEN}
        second = {contact: b if contact in BLUE else -b for contact in BLUE | BROWN}
        match kind:
            case "PoE Alternative A":
                yield first
            case "PoE Alternative B":
                yield second
            case "PoE, four pairs":
                yield first | second
            case _:
                yield {4: +1, 5: +1, 7: -1, 8: -1}


def both_poles_on_a_winding(order: Order, fed: dict[int, int]) -> bool:
    """Whether + and - come to the two contacts of a far pair."""
    pole = {far: fed[near] for near, far in enumerate(order, 1) if near in fed and far}
    return any(pole[contact] == -pole.get(MATE[contact], 0) for contact in pole)


def flows(order: Order, fed: dict[int, int]) -> bool:
    """Whether current finds a way from + to - through conductors and windings alone."""
    arrives = {near: far for near, far in enumerate(order, 1) if far}
    comes_from = {far: near for near, far in arrives.items()}
    reached = {near for near in arrives if fed.get(near) == +1}
    waiting = list(reached)
    while waiting:
        here = arrives[waiting.pop()]
        there = comes_from.get(MATE[here])
        if there is None:
            continue
        if fed.get(there) == -1:
            return True
        for near in (there, MATE[there]):
            if near not in reached and near not in fed and near in arrives:
                reached.add(near)
                waiting.append(near)
    return False


def backwards(order: Order) -> bool:
    """Whether a device that wants + on 4-5 and - on 7-8 gets - and +."""
    pole = {far: pole for near, pole in ((4, 1), (5, 1), (7, -1), (8, -1)) if (far := order[near - 1])}
    return any(pole.get(plus) == -1 for plus in BLUE) and any(pole.get(minus) == +1 for minus in BROWN)


def dangerous(order: Order, kind: str) -> bool:
    """Whether one polarity or another may do harm."""
    if kind == "passive injector":
        fed = next(feeds(kind))
        return both_poles_on_a_winding(order, fed) or flows(order, fed) or backwards(order)
    return any(both_poles_on_a_winding(order, fed) for fed in feeds(kind))


def other_way(order: Order) -> list[int]:
    """Return the order as it is seen from the far end."""
    return [order.index(far) + 1 if far in order else 0 for far in range(1, 9)]


def pair_ends(order: Order, pair: frozenset[int]) -> frozenset[int] | None:
    """Return the far pair at which both conductors of a near pair arrive."""
    ends = frozenset(order[contact - 1] for contact in pair)
    return ends if 0 not in ends and {MATE[contact] for contact in ends} == ends else None


def link_answer(order: Order, gigabit: bool, near: Port, far: Port) -> str:
    """Return whether two ports find each other over this order."""
    ends = [pair_ends(order, pair) for pair in (ORANGE, GREEN, BLUE, BROWN)]
    orange, green, blue, brown = ends
    if {orange, green} != {ORANGE, GREEN}:
        return "no"
    crossed = orange == GREEN
    turned = any(order[plus - 1] in (2, 6) for plus in (1, 3))
    if not gigabit:
        if "auto" not in (near, far) and crossed != (near == far):
            return "no"
        return "at risk" if turned else "wire map allows it"
    if {blue, brown} != {BLUE, BROWN}:
        return "no"
    fits = "auto" in (near, far) or (crossed == (blue == BROWN) == (near == far))
    return "wire map allows it" if fits and not turned else "at risk"


def asked(order: Order, near: Port = "auto", far: Port = "auto") -> dict[str, Service]:
    """Return what the product says of an order, by name."""
    nets = tuple(Net((str(here),), (str(there),)) for here, there in enumerate(order, 1) if there)
    found = services(pattern("straight"), Cable(nets, length_m=20.0), near, far)
    return {service.name: service for service in found}


def check_power(order: Order, found: dict[str, Service], tally: Counter[str]) -> None:
    """Count dangers of one order that the product misses or says falsely."""
    for name in ("PoE Alternative A", "PoE Alternative B", "PoE, four pairs", "passive injector"):
        said, true = found[name].answer == "danger", dangerous(order, name)
        tally[f"{name}: missed"] += true and not said
        tally[f"{name}: false"] += said and not true
        tally[f"{name}: dangerous"] += true
        from_far, said_too = dangerous(other_way(order), name), f"{name}, fed from the far end" in found
        tally["from the far end: missed"] += from_far and not (said or said_too)
        tally["from the far end: false"] += said_too and not (from_far and not true)
        if name == "PoE Alternative A" and not true and 0 not in order:
            refused = any(flows(order, fed) for fed in feeds(name))
            tally["short through windings: differs"] += (found[name].answer == "no") != refused


def check_links(order: Order, near: Port, far: Port, found: dict[str, Service], tally: Counter[str]) -> None:
    """Count links of which the product says something else."""
    for name, gigabit in (("10BASE-T", False), ("100BASE-TX", False), *((name, True) for name in GIGABIT)):
        tally["links: differ"] += found[name].answer != link_answer(order, gigabit, near, far)


def count(orders: Iterable[Order], ports: Sequence[tuple[Port, Port]]) -> Counter[str]:
    """Check orders between every two of these ports; nothing may be missed or said falsely."""
    tally: Counter[str] = Counter()
    for order in orders:
        at_ports = {(near, far): asked(order, near, far) for near, far in ports}
        powers = {tuple(one for one in found.values() if one.kind == "power") for found in at_ports.values()}
        tally["ports change power"] += len(powers) != 1
        check_power(order, at_ports[ports[0]], tally)
        for (near, far), found in at_ports.items():
            check_links(order, near, far, found, tally)
    wrong = {what: many for what, many in tally.items() if many and not what.endswith("dangerous")}
    assert not wrong, wrong
    return tally


def sample(seed: int, many: int, opens: float = 0.0) -> Iterator[list[int]]:
    """Yield orders at random, with as many slips as whole shuffles; opens: share of conductors that do not arrive."""
    choose = random.Random(seed)
    for number in range(many):
        order = list(range(1, 9))
        if number % 2:
            choose.shuffle(order)
        else:
            for _ in range(choose.randint(1, 3)):
                one, other = choose.sample(range(8), 2)
                order[one], order[other] = order[other], order[one]
        yield [0 if choose.random() < opens else far for far in order]


def every_order(many: int) -> Iterator[tuple[int, ...]]:
    """Yield so many of the 40 320 orders, evenly."""
    step = max(1, round(40_320 / many))
    return (order for number, order in enumerate(permutations(range(1, 9))) if number % step == 0)
