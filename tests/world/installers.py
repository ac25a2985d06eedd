"""Installers with habits: the wrong orders that people make (common practice, no source), each in a mix of his own.

The numbers in brackets are those of the list: 1 the other standard, 2 in sequence, 3 blue first, 4 blue pair
exchanged, 5 brown, 6 green or orange, 7 solid first, 8 turned over, 9 neighbours slipped, 10 shifted by one, 11 whites
confused, 12 solids confused, 13 half and half, 14 whole pairs exchanged, 15 what two-pair and M12 plugs add, 16 a way
of one's own that no list has.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass

from tests.world.tables import CONTACTS, PLACES_OF_PAIRS, Holds, holds

Wrong = Callable[[str, Holds, random.Random], Holds | None]


def exchanged(kind: str, order: Holds, *swaps: str) -> Holds:
    """Return an order with contacts exchanged, each swap as "45"."""
    found = list(order)
    for two in swaps:
        i, j = (CONTACTS[kind].index(contact) for contact in two)
        found[i], found[j] = found[j], found[i]
    return tuple(found)


def _swapped(order: Holds, one: str, other: str) -> Holds | None:
    if one not in order or other not in order:
        return None
    turn = {one: other, other: one}
    return tuple(turn.get(name or "", name) for name in order)


def _full(kind: str, order: Holds) -> bool:
    return kind == "rj45" and None not in order


def _orders(*texts: str) -> Wrong:
    known = [holds(text) for text in texts]

    def wrong(kind: str, order: Holds, choose: random.Random) -> Holds | None:
        fitting = [one for one in known if len(one) == len(order) and set(one) - {None} == set(order) - {None}]
        return choose.choice(fitting) if fitting and kind == "rj45" else None

    return wrong


def _swaps(plugs: str, *alternatives: tuple[str, ...]) -> Wrong:
    def wrong(kind: str, order: Holds, choose: random.Random) -> Holds | None:
        if kind not in plugs.split() or (kind == "rj45" and None in order):
            return None
        return exchanged(kind, order, *choose.choice(alternatives))

    return wrong


def _names(*alternatives: tuple[str, str]) -> Wrong:
    def wrong(_kind: str, order: Holds, choose: random.Random) -> Holds | None:
        return _swapped(order, *choose.choice(alternatives))

    return wrong


def _other_standard(_kind: str, order: Holds, _choose: random.Random) -> Holds | None:
    once = _swapped(order, "orange", "green")
    return _swapped(once, "white-orange", "white-green") if once else None


def _turned(kind: str, order: Holds, _choose: random.Random) -> Holds | None:
    return tuple(reversed(order)) if _full(kind, order) else None


def _shifted(kind: str, order: Holds, choose: random.Random) -> Holds | None:
    if not _full(kind, order):
        return None
    return (None, *order[:-1]) if choose.random() < 0.5 else (*order[1:], None)


HABITS: dict[str, Wrong] = {
    "other standard (1)": _other_standard,
    "in sequence (2)": _orders("wO O wG G wB B wN N"),
    "blue first (3)": _orders("wB B wO O wG G wN N"),
    "blue pair exchanged (4)": _swaps("rj45", ("45",)),
    "brown pair exchanged (5)": _swaps("rj45", ("78",)),
    "green or orange exchanged (6)": _swaps("rj45", ("12",), ("36",)),
    "solid first (7)": _swaps("rj45", ("12", "36", "78")),
    "turned over (8)": _turned,
    "neighbours slipped (9)": _swaps("rj45", ("34",), ("56",), ("23",), ("67",)),
    "shifted by one (10)": _shifted,
    "whites confused (11)": _names(("white-orange", "white-brown"), ("white-green", "white-blue")),
    "solids confused (12)": _names(("blue", "green"), ("orange", "brown")),
    "half and half (13)": _swaps("rj45", ("13",), ("26",)),
    "blue and brown exchanged (14)": _swaps("rj45", ("47", "58"), ("48", "57")),
    "blue at 1-2 (14)": _orders("wB B wO G wG O wN N", "wB B wO wG G O wN N"),
    "telephone order (15)": _orders("wN wG wO B wB O G N"),
    "two pairs in 1-2-3-4 (15)": _orders("wO O wG G - - - -", "wG G wO O - - - -", "Y O W B - - - -"),
    "industrial as T568B (15)": _orders("Y O - B W - - -", "W O Y - - B - -"),
    "M12 sequence at RJ45 (15)": _orders("Y W O - - B - -", "wO wG O - - G - -", "wG wO G - - O - -"),
    "7 8 to 4 5 (15)": _swaps("m12x", ("78",)),
    "wrong side (15)": _swaps("m12d", ("24",), ("12", "34")),
    "wrong side of a bus plug (15)": _swaps("m12a", ("24",), ("35",)),
    "wrong side of eight (15)": _swaps("m12x", ("12", "38", "47", "56"), ("28", "37", "46")),
}


OWN_WAY = "a way of one's own (16)"


def own_way(kind: str, order: Holds, choose: random.Random) -> Holds:
    """Return a whole order that somebody made up: pairs in each other's places, two contacts exchanged, or three."""
    found = list(order)
    draw = choose.random()
    if draw < 0.5 and None not in order:
        places = PLACES_OF_PAIRS[kind]
        for here, there in zip(places, choose.sample(places, len(places)), strict=True):
            held = [order[place] for place in here]
            for place, name in zip(there, held if choose.random() < 0.7 else held[::-1], strict=True):
                found[place] = name
        return tuple(found)
    places_moved = choose.sample(range(len(order)), 2 if draw < 0.8 else 3)
    for place, name in zip(places_moved, [order[place] for place in (*places_moved[1:], places_moved[0])], strict=True):
        found[place] = name
    return tuple(found)


@dataclass(frozen=True)
class Installer:
    """How one person works: how often a plug is right, how often one habit shapes both plugs, how often a hand slips.

    mix: (habit, weight). share_a: how often T568A is meant. changes_mind: how often the second plug is made to the
    other standard, by whoever makes it. own: the number that his own way comes from, the same at every plug.
    """

    right: float
    both: float
    slip: float
    share_a: float
    changes_mind: float
    mix: tuple[tuple[str, float], ...]
    own: int = 0

    def meant(self, names: tuple[str, ...], choose: random.Random) -> str:
        """Return which of the named orders is meant."""
        return names[-1] if len(names) > 1 and choose.random() < self.share_a else names[0]

    def habit(self, kind: str, order: Holds, choose: random.Random) -> tuple[str, Holds] | None:
        """Return a habit of this installer that fits a plug, and what it makes of the order."""
        for _ in range(8):
            name = choose.choices([habit for habit, _ in self.mix], [weight for _, weight in self.mix])[0]
            wrong = own_way if name == OWN_WAY else HABITS[name]
            found = wrong(kind, order, random.Random(self.own) if name == OWN_WAY else choose)
            if found is not None and found != order:
                return name, found
        return None

    def plug(self, kind: str, order: Holds, choose: random.Random) -> Holds:
        """Return what gets into a plug that was to hold an order."""
        made = order
        if choose.random() >= self.right:
            wrong = self.habit(kind, order, choose)
            made = wrong[1] if wrong else made
        return self.slipped(kind, made, choose)

    def slipped(self, kind: str, order: Holds, choose: random.Random) -> Holds:
        """Return the order after what slips of the hand do to it, neighbours more often than others."""
        while choose.random() < self.slip:
            i = choose.randrange(len(order) - 1)
            j = i + 1 if choose.random() < 0.7 else choose.choice([k for k in range(len(order)) if k != i])
            order = exchanged(kind, order, CONTACTS[kind][i] + CONTACTS[kind][j])
        return order


def installer(choose: random.Random, strange: bool = False) -> Installer:
    """Return somebody: every habit a little, two of them a lot; strange: mostly with a way of his own."""
    mix = {name: choose.uniform(0.2, 1.0) for name in (*HABITS, OWN_WAY)}
    for name in choose.sample(sorted(mix), 2):
        mix[name] += choose.uniform(2.0, 10.0)
    mix[OWN_WAY] += 30.0 if strange else 0.0
    return Installer(
        right=choose.uniform(0.6, 0.95),
        both=choose.uniform(0.05, 0.25),
        slip=choose.uniform(0.0, 0.06),
        share_a=choose.choice((0.0, 0.1, 0.3, 0.7, 1.0)),
        changes_mind=choose.uniform(0.0, 0.1),
        mix=tuple(mix.items()),
        own=choose.getrandbits(32),
    )
