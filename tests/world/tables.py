"""The world's own tables: plugs, patterns, colour orders. Written down from the standards, not taken from the product.

Sources: ANSI/TIA-568 (colours and pairs); IEC 61076-2-101 (M12 D-coded), IEC 61076-2-109 (M12 X-coded),
IEC 61918 (industrial colours), IEC 61162-3 (device bus); rollover, two-pair and crossover patterns: common
practice, no source.
"""

from dataclasses import dataclass

END = ("near", "far")
SCREEN = {"rj45": "S", "m12d": "S", "m12x": "S", "m12a": "1"}
CONTACTS = {
    "rj45": tuple("12345678"),
    "m12d": tuple("1234"),
    "m12x": tuple("12345678"),
    "m12a": tuple("2345"),
}
# The places in a plug that a pair has, by contact order.
PLACES_OF_PAIRS = {
    "rj45": ((0, 1), (2, 5), (3, 4), (6, 7)),
    "m12d": ((0, 2), (1, 3)),
    "m12x": ((0, 1), (2, 3), (4, 5), (6, 7)),
    "m12a": ((0, 1), (2, 3)),
}
PAIRS = {
    "tia": (("blue", "white-blue"), ("orange", "white-orange"), ("green", "white-green"), ("brown", "white-brown")),
    "iec61918": (("yellow", "orange"), ("white", "blue")),
    "device-bus": (("red", "black"), ("white", "blue")),
}
PAIRS["plain-white"] = PAIRS["tia"]


@dataclass(frozen=True, slots=True)
class Pattern:
    """What a cable should be: plugs, where each near contact must arrive, and the near contacts that are a pair."""

    name: str
    near: str
    far: str
    wanted: tuple[tuple[str, str], ...]
    pairs: tuple[tuple[str, str], ...]


def _pattern(name: str, near: str, far: str, wanted: str, pairs: str) -> Pattern:
    route = tuple((word.split(">")[0], word.split(">")[1]) for word in wanted.split())
    return Pattern(name, near, far, route, tuple((pair[0], pair[1]) for pair in pairs.split()))


PATTERNS = {
    one.name: one
    for one in (
        _pattern("straight", "rj45", "rj45", "1>1 2>2 3>3 4>4 5>5 6>6 7>7 8>8", "12 36 45 78"),
        _pattern("crossover", "rj45", "rj45", "1>3 2>6 3>1 4>4 5>5 6>2 7>7 8>8", "12 36 45 78"),
        _pattern("crossover-all", "rj45", "rj45", "1>3 2>6 3>1 4>7 5>8 6>2 7>4 8>5", "12 36 45 78"),
        _pattern("rollover", "rj45", "rj45", "1>8 2>7 3>6 4>5 5>4 6>3 7>2 8>1", "12 36 45 78"),
        _pattern("straight-2pair", "rj45", "rj45", "1>1 2>2 3>3 6>6", "12 36"),
        _pattern("crossover-2pair", "rj45", "rj45", "1>3 2>6 3>1 6>2", "12 36"),
        _pattern("m12d-rj45", "m12d", "rj45", "1>1 2>3 3>2 4>6", "13 24"),
        _pattern("rj45-m12d", "rj45", "m12d", "1>1 2>3 3>2 6>4", "12 36"),
        _pattern("m12d-m12d", "m12d", "m12d", "1>1 2>2 3>3 4>4", "13 24"),
        _pattern("m12x-rj45", "m12x", "rj45", "1>1 2>2 3>3 4>6 5>7 6>8 7>5 8>4", "12 34 56 78"),
        _pattern("rj45-m12x", "rj45", "m12x", "1>1 2>2 3>3 4>8 5>7 6>4 7>5 8>6", "12 36 45 78"),
        _pattern("m12x-m12x", "m12x", "m12x", "1>1 2>2 3>3 4>4 5>5 6>6 7>7 8>8", "12 34 56 78"),
        _pattern("m12a-5pole", "m12a", "m12a", "2>2 3>3 4>4 5>5", "23 45"),
    )
}

LETTERS = {
    "O": "orange",
    "G": "green",
    "B": "blue",
    "N": "brown",
    "Y": "yellow",
    "W": "white",
    "R": "red",
    "K": "black",
}
Holds = tuple[str | None, ...]


def holds(text: str) -> Holds:
    """Return what is in each contact, from "wO O wG - ..."; "-" is an empty contact."""
    return tuple(
        None if word == "-" else f"white-{LETTERS[word[1]]}" if word[0] == "w" else LETTERS[word]
        for word in text.split()
    )


# By plug: the orders that have a name, as the standards have them.
STANDARDS: dict[str, dict[str, Holds]] = {
    "rj45": {
        "T568B": holds("wO O wG B wB G wN N"),
        "T568A": holds("wG G wO B wB O wN N"),
        "T568B-2pair": holds("wO O wG - - G - -"),
        "T568A-2pair": holds("wG G wO - - O - -"),
        "industrial-2pair": holds("Y O W - - B - -"),
        "in-sequence": holds("wO O wG G wB B wN N"),
        "USOC": holds("wN wG wO B wB O G N"),
    },
    "m12d": {
        "m12d-T568B": holds("wO wG O G"),
        "m12d-T568A": holds("wG wO G O"),
        "m12d-industrial": holds("Y W O B"),
    },
    "m12x": {
        "m12x-T568B": holds("wO O wG G wN N wB B"),
        "m12x-T568A": holds("wG G wO O wN N wB B"),
    },
    "m12a": {"device-bus": holds("R K W B")},
}
# What the near plug of a sound cable holds, by (plug, number of conductors, colours), and how usual that is.
MEANT: dict[tuple[str, int, str], tuple[str, ...]] = {
    ("rj45", 8, "tia"): ("T568B", "T568A"),
    ("rj45", 4, "tia"): ("T568B-2pair", "T568A-2pair"),
    ("rj45", 4, "iec61918"): ("industrial-2pair",),
    ("m12d", 4, "tia"): ("m12d-T568B", "m12d-T568A"),
    ("m12d", 4, "iec61918"): ("m12d-industrial",),
    ("m12x", 8, "tia"): ("m12x-T568B", "m12x-T568A"),
    ("m12a", 4, "device-bus"): ("device-bus",),
}


def carried(pattern: Pattern, near: Holds) -> Holds:
    """Return what the far plug holds when the cable is right; a conductor wanted nowhere stays straight."""
    at = dict(zip(CONTACTS[pattern.near], near, strict=True))
    far: dict[str, str | None] = dict.fromkeys(CONTACTS[pattern.far])
    wanted = dict(pattern.wanted)
    far |= {there: at[here] for here, there in wanted.items()}
    for contact, name in at.items():
        if name is not None and contact not in wanted and far.get(contact, "") is None:
            far[contact] = name
    return tuple(far.values())


def mates(colours: str, one: str | None, other: str | None) -> bool:
    """Whether two conductors are twisted together."""
    return any({one, other} == set(pair) for pair in PAIRS[colours])
