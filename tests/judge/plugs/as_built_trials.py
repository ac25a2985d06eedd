"""Cables drawn from what the prior says, and what becomes of the judgement on them; no judging code is used to draw."""

import random
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import sqrt

from msgspec.structs import replace

from wiremap.cable.colours import colour_set
from wiremap.cable.habits import HabitKind, Habits, habits
from wiremap.cable.mistakes import EMPTY
from wiremap.cable.patterns import pattern
from wiremap.judge.plugs.as_built import as_built
from wiremap.judge.plugs.evidence import Evidence
from wiremap.judge.plugs.found import AsBuilt, Look

STRAIGHT = pattern("straight")
TIA = colour_set("tia")
CONTACTS = tuple("12345678")
T568A = ("white-green", "green", "white-orange", "blue", "white-blue", "orange", "white-brown", "brown")
T568B = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")
MATES = {"blue", "orange", "green", "brown"}
Plug = tuple[str | None, ...]


@dataclass(frozen=True)
class Drawn:
    """A cable: what is in each contact of both plugs (None = nothing), broken conductors, what was intended."""

    intended: Plug
    near: Plug
    far: Plug
    broken: frozenset[str] = frozenset()

    @property
    def near_wrong(self) -> bool:
        """Whether the near plug is not as intended."""
        return self.near != self.intended

    @property
    def far_wrong(self) -> bool:
        """Whether the far plug is not as intended."""
        return self.far != self.intended

    def evidence(self, pairing: bool) -> Evidence:
        """Return what a tester sees of it; pairing: also which near contacts are twisted together."""
        at = {name: contact for contact, name in zip(CONTACTS, self.far, strict=True) if name is not None}
        arrives = {
            contact: at[name]
            for contact, name in zip(CONTACTS, self.near, strict=True)
            if name is not None and name in at and name not in self.broken
        }
        pairs: tuple[tuple[str, str], ...] = ()
        if pairing:
            here = {name: contact for contact, name in zip(CONTACTS, self.near, strict=True) if name is not None}
            pairs = tuple(
                (here[mate], here[f"white-{mate}"]) for mate in sorted(MATES) if {mate, f"white-{mate}"} <= set(here)
            )
        return Evidence(tuple(sorted(arrives.items())), pairs=pairs)


def exchanged(order: Plug, a: int, b: int) -> Plug:
    """Return an order with two contacts exchanged."""
    changed = list(order)
    changed[a], changed[b] = changed[b], changed[a]
    return tuple(changed)


def wrong_orders(kind: HabitKind, intended: Plug, other: Plug) -> list[Plug]:
    """Return what a kind of habits makes of an intended order of a RJ45 plug, by the words of the data alone."""
    found: list[Plug] = []
    if "rj45" not in kind.connectors:
        return found
    for alternative in kind.exchange:
        order = intended
        for a, b in alternative:
            order = exchanged(order, int(a) - 1, int(b) - 1)
        found.append(order)
    for alternative in kind.exchange_conductors:
        order = intended
        for a, b in alternative:
            order = exchanged(order, order.index(a), order.index(b))
        found.append(order)
    found += [order for order in kind.orders if set(order) == set(intended)]
    if kind.rule == "other-standard":
        found.append(other)
    if kind.rule == "turned":
        found.append(tuple(reversed(intended)))
    return [order for order in dict.fromkeys(found) if order != intended]


def _more_exchanges(choose: random.Random, order: Plug, theta: float) -> Plug:
    """Exchange contacts so that k exchanges have chance theta^k: a Chinese restaurant process, one contact a guest."""
    changed = list(order)
    for contact in range(1, len(changed)):
        if choose.random() >= 1.0 / (1.0 + contact * theta):
            other = choose.randrange(contact)
            changed[contact], changed[other] = changed[other], changed[contact]
    return tuple(changed)


def _shifted(order: Plug, up: bool) -> Plug:
    return (None, *order[:-1]) if up else (*order[1:], None)


def _taken_for(choose: random.Random, known: Habits, intended: Plug) -> Plug:
    """Return an order of somebody on no list: pairs in each other's places, or any two conductors exchanged."""
    makers = known.other_makers
    if choose.random() >= makers.pairs / (makers.pairs + makers.exchanged):
        a, b = choose.sample(range(8), 2)
        return exchanged(intended, a, b)
    places = ((0, 1), (2, 5), (3, 4), (6, 7))
    changed = list(intended)
    while tuple(changed) == intended:
        for here, there in zip(places, choose.sample(places, 4), strict=True):
            for place, source in zip(here, choose.sample(there, 2), strict=True):
                changed[place] = intended[source]
    return tuple(changed)


def _one_plug(choose: random.Random, known: Habits, intended: Plug, other: Plug) -> Plug:
    if choose.random() < known.flat:
        return tuple(choose.sample(intended, len(intended)))
    if choose.random() < known.right:
        return _more_exchanges(choose, intended, known.theta)
    if choose.random() < known.other_makers.share:
        return _more_exchanges(choose, _taken_for(choose, known, intended), known.theta)
    kinds = [
        kind
        for kind in known.kinds
        if "rj45" in kind.connectors and (kind.rule == "shifted" or wrong_orders(kind, intended, other))
    ]
    kind = choose.choices(kinds, [kind.one_end for kind in kinds])[0]
    if kind.rule == "shifted":
        return _shifted(intended, choose.random() < 0.5)
    return _more_exchanges(choose, choose.choice(wrong_orders(kind, intended, other)), known.theta)


def draw(choose: random.Random, known: Habits) -> Drawn:
    """Draw a cable from the prior."""
    intended, other = (T568B, T568A) if choose.random() < 0.7 else (T568A, T568B)
    if choose.random() < known.habit and choose.random() < known.other_makers.share:
        near = far = _taken_for(choose, known, intended)
    elif choose.random() < known.habit * (1 - known.other_makers.share) / (1 - known.habit * known.other_makers.share):
        kinds = [
            kind
            for kind in known.kinds
            if "rj45" in kind.connectors
            and kind.both_ends
            and (kind.rule == "shifted" or wrong_orders(kind, intended, other))
        ]
        kind = choose.choices(kinds, [kind.both_ends for kind in kinds])[0]
        if kind.rule == "shifted":
            near = far = _shifted(intended, choose.random() < 0.5)
        else:
            near = far = choose.choice(wrong_orders(kind, intended, other))
    else:
        near, far = (_one_plug(choose, known, intended, other) for _ in range(2))
    loose = {name for plug in (near, far) for name in intended if name not in plug}
    # An order that leaves a contact empty explains it; other conductors break by themselves.
    broken = {name for name in intended if name not in loose and choose.random() < known.broken / (1 + known.broken)}
    return Drawn(intended, near, far, frozenset(broken))


def draw_wrong(choose: random.Random, known: Habits, pairing: bool) -> tuple[Drawn, Evidence]:
    """Draw a cable of which a tester sees that something is wrong, and what it sees; pairing: whether it sees pairs."""
    straight = tuple((contact, contact) for contact in CONTACTS)
    good = frozenset(frozenset(pair) for pair in STRAIGHT.near_pairs)
    while True:
        drawn = draw(choose, known)
        evidence = drawn.evidence(pairing)
        if evidence.routes != straight or (pairing and {frozenset(pair) for pair in evidence.pairs} != good):
            return drawn, evidence


@lru_cache(maxsize=20_000)
def judged(evidence: Evidence, known: Habits) -> AsBuilt | None:
    """Judge, once for each evidence: drawn cables repeat."""
    return as_built(STRAIGHT, TIA, evidence, 8, known_habits=known)


def look(drawn: Drawn, at: Look, evidence: Evidence) -> Evidence:
    """Return the evidence with the colour that is seen in the contact to look at."""
    plug = drawn.near if at.end == "near" else drawn.far
    read = (at.contact, plug[CONTACTS.index(at.contact)] or EMPTY)
    if at.end == "near":
        return replace(evidence, near_reads=(*evidence.near_reads, read))
    return replace(evidence, far_reads=(*evidence.far_reads, read))


@dataclass
class Tally:
    """Chances said and whether what was said came true, by decile."""

    said: defaultdict[int, list[float]]
    true: defaultdict[int, int]

    @classmethod
    def empty(cls) -> "Tally":
        """Return a tally of nothing."""
        return cls(defaultdict(list), defaultdict(int))

    def add(self, chance: float, came_true: bool) -> None:
        """Count one chance."""
        decile = min(9, int(10 * chance))
        self.said[decile].append(chance)
        self.true[decile] += came_true

    def off(self) -> list[tuple[int, int, float, float, float]]:
        """Return (decile, count, mean chance said, share true, standard deviation of that share)."""
        rows = []
        for decile, chances in sorted(self.said.items()):
            count, mean = len(chances), sum(chances) / len(chances)
            variance = sum(chance * (1 - chance) for chance in chances) / count
            rows.append((decile, count, mean, self.true[decile] / count, sqrt(variance / count)))
        return rows


@dataclass
class Outcome:
    """What became of many drawn cables."""

    ends: Tally
    orders: Tally
    looks: defaultdict[int, int]
    unsettled: int
    settled_right: int
    named: int
    named_right: int


def trial(seed: int, count: int, known: Habits, believed: Habits, pairing_share: float = 0.5) -> Outcome:
    """Draw cables from `known`, judge them as if `believed` were true, and look where it says until it is settled."""
    choose = random.Random(seed)
    outcome = Outcome(Tally.empty(), Tally.empty(), defaultdict(int), 0, 0, 0, 0)
    for _ in range(count):
        drawn, evidence = draw_wrong(choose, known, choose.random() < pairing_share)
        built = judged(evidence, believed)
        assert built is not None
        outcome.ends.add(built.near_at_fault, drawn.near_wrong)
        outcome.ends.add(built.far_at_fault, drawn.far_wrong)
        top = built.near_orders[0]
        outcome.orders.add(top.probability, tuple(name for _, name in top.conductors) == drawn.near)
        if built.wrong_end != "either":
            wanted = {"near": (True, False), "far": (False, True), "both": (True, True)}[built.wrong_end]
            outcome.named += 1
            near_fits = drawn.near_wrong == wanted[0] or not wanted[0]
            far_fits = drawn.far_wrong == wanted[1] or not wanted[1]
            outcome.named_right += near_fits and far_fits
        follow(drawn, evidence, built, believed, outcome)
    return outcome


def follow(drawn: Drawn, evidence: Evidence, built: AsBuilt, believed: Habits, outcome: Outcome) -> int:
    """Look where it says until it is settled; return how many looks it took."""
    looks = 0
    while not built.settled and built.next_look is not None:
        evidence = look(drawn, built.next_look, evidence)
        looks += 1
        again = judged(evidence, believed)
        assert again is not None
        built = again
    outcome.looks[looks] += 1
    if not built.settled:
        outcome.unsettled += 1
    near = tuple(name for _, name in built.near_orders[0].conductors)
    far = tuple(name for _, name in built.far_orders[0].conductors)
    outcome.settled_right += built.settled and (near, far) == (drawn.near, drawn.far)
    return looks


def random_cables(seed: int, count: int) -> Iterable[Drawn]:
    """Yield cables whose two plugs are in any order at all."""
    choose = random.Random(seed)
    for _ in range(count):
        near, far = (tuple(choose.sample(T568B, 8)) for _ in range(2))
        yield Drawn(T568B, near, far)


def ill_matched(known: Habits) -> Habits:
    """Return habits of another workshop: every kind as frequent as any, more exchanges, fewer plugs right."""
    kinds = tuple(
        replace(kind, one_end=1.0 if kind.one_end else 0.0, both_ends=1.0 if kind.both_ends else 0.0)
        for kind in known.kinds
    )
    return replace(known, kinds=kinds, theta=5 * known.theta, right=0.6, habit=0.25)


def shipped() -> Habits:
    """Return the habits that ship."""
    return habits()
