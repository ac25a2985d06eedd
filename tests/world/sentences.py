"""Every sentence that a page says of what is wrong: a regular expression a kind, and an oracle that knows the truth.

An oracle answers whether the sentence is true of the cable as it is. Where a fault lies is part of the sentence.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from tests.world.tables import CONTACTS, PATTERNS, SCREEN, STANDARDS, Holds, Pattern, carried, mates
from tests.world.truth import Node, Truth

TOKEN = r"(?:\d|S|screen)"
LIST = rf"{TOKEN}(?:, {TOKEN})*(?: and {TOKEN})?"
WHO = rf"(?:contacts? {LIST}(?: and the screen)?|the screen|near {LIST} and far {LIST}|near {LIST}|far {LIST})"
AT = r"(?:, (?P<at>[\d.]+) m(?: \+- [\d.]+ m)? from near)?"
ALONE_AT = r"(?: (?P<far_at>[\d.]+) m(?: \+- [\d.]+ m)? from near)"
WHERE = rf"(?:,? (?:at the (?P<end>near|far) end|(?P<run>in the cable itself)){AT}|,?{ALONE_AT})?"
PAIR = r"\d-\d"
PAIR_LIST = rf"{PAIR}(?:, {PAIR})*(?: and {PAIR})?"
PAIRS = rf"pairs? (?P<pairs>{PAIR_LIST})"
Found = re.Match[str]
USUAL_OHM_PER_M = 0.1  # of copper of AWG 24, which all cables of this world have, with room to spare


@dataclass(frozen=True)
class Scene:
    """What a sentence is said of: the cable as it is, and what the job wants."""

    truth: Truth
    pattern: Pattern
    with_pairs: bool

    def names(self, text: str) -> list[Node]:
        """Return the contacts that a phrase names: "contact 3" is that contact at both ends."""
        found: list[Node] = []
        for end in ("near", "far"):
            part = re.search(rf"{end} ({LIST})", text, re.IGNORECASE)
            if part:
                found += [(end, self.contact(end, word)) for word in re.findall(TOKEN, part[1])]
        if found:
            return found
        words = re.findall(r"\d|S", text) + (["screen"] if "screen" in text else [])
        return [(end, self.contact(end, word)) for word in words for end in ("near", "far")]

    def contact(self, end: str, word: str) -> str:
        """Return a contact's own name for what it is called in words."""
        return SCREEN[self.truth.plug(end).kind] if word == "screen" else word


def listed(text: str) -> list[str]:
    """Return the words of "1", "1 and 2", "1, 2 and 3"."""
    return re.split(r", | and ", text)


def _place(found: Found) -> str | None:
    return found["end"] or ("run" if found["run"] else None)


def _open(found: Found, scene: Scene) -> bool:
    place = _place(found)
    for node in scene.names(found["who"]):
        if len(scene.truth.nets[node]) != 1:
            return False
        if place and place not in scene.truth.break_places(node):
            return False
    return True


def _one_open(found: Found, scene: Scene) -> bool:
    place = _place(found)
    return any(
        len(scene.truth.nets[node]) == 1 and (not place or place in scene.truth.break_places(node))
        for node in scene.names(found["who"])
    )


def _short_places(scene: Scene, nodes: list[Node]) -> set[str]:
    places = {
        end for end in ("near", "far") for pair in scene.truth.plug(end).strands if _touches(scene, end, pair, nodes)
    }
    return places | ({"run"} if scene.truth.run.crushed else set())


def _touches(scene: Scene, end: str, pair: tuple[str, str], nodes: list[Node]) -> bool:
    return all(scene.truth.nets[end, contact] & set(nodes) for contact in pair)


def _short(found: Found, scene: Scene) -> bool:
    nodes = scene.names(found["who"])
    screens = {("near", SCREEN[scene.truth.near.kind]), ("far", SCREEN[scene.truth.far.kind])}
    net = scene.truth.nets[nodes[0]]
    if not set(nodes) <= net or len({node for node in net if node[0] == "near"}) < 2 > len(
        {node for node in net if node[0] == "far"}
    ):
        return False
    if "screen" in found[0] and not net & screens:
        return False
    place = _place(found)
    return place is None or place in _short_places(scene, nodes)


def _wanted(scene: Scene) -> dict[str, str]:
    return dict(scene.pattern.wanted)


def _pairs(found: Found) -> list[tuple[str, str]]:
    return [(word[0], word[2]) for word in listed(found["pairs"])]


def _wrong_order_place(found: Found, scene: Scene) -> bool:
    """Whether an order that is said to be wrong at an end is wrong there."""
    place = _place(found)
    return place is None or (
        place in ("near", "far") and scene.truth.plug(place).holds != scene.truth.plug(place).meant
    )


def _reversed(found: Found, scene: Scene) -> bool:
    routes, wanted = scene.truth.routes(), _wanted(scene)
    right = all(routes.get(a) == wanted[b] and routes.get(b) == wanted[a] for a, b in _pairs(found))
    return right and _wrong_order_place(found, scene)


def _crossed(found: Found, scene: Scene) -> bool:
    routes, wanted = scene.truth.routes(), _wanted(scene)
    places = [{wanted[a], wanted[b]} for a, b in scene.pattern.pairs]
    for a, b in _pairs(found):
        arrives = {routes.get(a), routes.get(b)}
        if arrives not in places or arrives == {wanted[a], wanted[b]}:
            return False
    return _wrong_order_place(found, scene)


def _exchanged(found: Found, scene: Scene) -> bool:
    a, b = listed(found["contacts"])
    routes, wanted = scene.truth.routes(), _wanted(scene)
    right = (
        {routes.get(a), routes.get(b)} == {a, b} and routes.get(a) != wanted.get(a) and routes.get(b) != wanted.get(b)
    )
    return right and _wrong_order_place(found, scene)


def _arrives(found: Found, scene: Scene) -> bool:
    routes, wanted = scene.truth.routes(), _wanted(scene)
    near, far = listed(found["from"]), listed(found["to"])
    right = all(routes.get(a) == b != wanted.get(a, "") for a, b in zip(near, far, strict=True))
    return right and _wrong_order_place(found, scene)


def _some_wrong(_found: Found, scene: Scene) -> bool:
    routes, wanted = scene.truth.routes(), _wanted(scene)
    return any(wanted.get(a) != b for a, b in routes.items())


def _split(found: Found, scene: Scene) -> bool:
    routes, wanted = scene.truth.routes(), _wanted(scene)
    for a, b in _pairs(found):
        right = routes.get(a) == wanted[a] and routes.get(b) == wanted[b]
        at = scene.truth.near.at
        if not right or mates(scene.truth.run.colours, at[a], at[b]):
            return False
    return True


def _poor_places(scene: Scene, nodes: list[Node]) -> set[str]:
    truth = scene.truth
    held = {truth.plug(end).at.get(contact) for end, contact in nodes}
    places = {"run"} if any(name in held for name, _, _ in truth.run.poor) else set()
    for end in ("near", "far"):
        if any(truth.plug(end).at[contact] in held for contact, _ in truth.plug(end).poor):
            places.add(end)
    return places


def _poor(found: Found, scene: Scene) -> bool:
    places = [_poor_places(scene, [node]) for node in scene.names(found["who"])]
    place = _place(found)
    return all(places) and (place is None or all(place in some for some in places))


def _unbalanced(found: Found, scene: Scene) -> bool:
    return all(_poor_places(scene, [("near", a), ("near", b)]) for a, b in _pairs(found))


def _screen_open(found: Found, scene: Scene) -> bool:
    truth = scene.truth
    places = {end for end in ("near", "far") if not truth.plug(end).clamped}
    places |= {"run"} if truth.run.screen_broken else set()
    place = _place(found)
    return bool(places) and (place is None or place in places)


def _nothing_arrives(_found: Found, scene: Scene) -> bool:
    nets = set(scene.truth.nets.values())
    return not any({end for end, contact in net if contact != "S"} == {"near", "far"} for net in nets)


def _other_kind(found: Found, scene: Scene) -> bool:
    other = PATTERNS[found["is"]]
    wanted = dict(other.wanted)
    if found["wanted"] != scene.pattern.name or scene.truth.routes() != wanted:
        return False
    return not scene.with_pairs or all(
        mates(scene.truth.run.colours, scene.truth.near.at[a], scene.truth.near.at[b]) for a, b in other.pairs
    )


def _sound(found: Found, scene: Scene) -> bool:
    truth = scene.truth
    pairs_right = truth.keeps_pairs("near", scene.pattern) or not scene.with_pairs
    return found["wanted"] == scene.pattern.name and truth.as_wanted(scene.pattern) and pairs_right


def _so_far(_found: Found, scene: Scene) -> bool:
    routes = scene.truth.routes()
    return all(routes.get(a) in (b, None) for a, b in scene.pattern.wanted)


MISTAKES: dict[str, Callable[[Holds], list[Holds]]] = {
    "turned": lambda order: [tuple(reversed(order))],
    "one_along": lambda order: [(None, *order[:-1]), (*order[1:], None)],
    "solid": lambda order: (
        [(order[1], order[0], order[5], order[3], order[4], order[2], order[7], order[6])] if len(order) == 8 else []
    ),
    "half": lambda order: (
        [(order[2], order[1], order[0], *order[3:]), (order[0], order[5], *order[2:5], order[1], *order[6:])]
        if len(order) == 8
        else []
    ),
    "wrong_side": lambda order: (
        [tuple(order[i] for i in (0, 3, 2, 1)), tuple(order[i] for i in (1, 0, 3, 2))]
        if len(order) == 4
        else [tuple(order[i] for i in (1, 0, 7, 6, 5, 4, 3, 2)), tuple(order[i] for i in (0, 7, 6, 5, 4, 3, 2, 1))]
    ),
    "telephone": lambda _order: [STANDARDS["rj45"]["USOC"]],
    "pair_after_pair": lambda order: [
        *([(*order[:3], order[5], order[4], order[3], *order[6:])] if len(order) == 8 else []),
        *([(order[0], order[2], order[1], order[3])] if len(order) == 4 else []),
    ],
}


def _one_plug(mistake: str) -> "Oracle":
    """Return the oracle of "it looks as if one plug ...": that mistake at one plug makes just this wire map."""

    def true(_found: Found, scene: Scene) -> bool:
        routes, pattern = scene.truth.routes(), scene.pattern
        for order in STANDARDS[pattern.near].values():
            there = carried(pattern, order)
            both = [(order, wrong) for wrong in MISTAKES[mistake](there) if len(wrong) == len(there)]
            both += [(wrong, there) for wrong in MISTAKES[mistake](order) if len(wrong) == len(order)]
            if any(_map(pattern, near, far) == routes for near, far in both):
                return True
        return False

    return true


def _map(pattern: Pattern, near: Holds, far: Holds) -> dict[str, str]:
    """Return near contact -> far contact of two plugs with nothing wrong but their orders."""
    at = {name: contact for contact, name in zip(CONTACTS[pattern.far], far, strict=True) if name is not None}
    here = zip(CONTACTS[pattern.near], near, strict=True)
    return {contact: at[name] for contact, name in here if name is not None and name in at}


def _copied(_found: Found, scene: Scene) -> bool:
    return scene.truth.near.holds == scene.truth.far.holds


def _no_terminator(_found: Found, scene: Scene) -> bool:
    return scene.pattern.near == "m12a"  # in this world no bus has terminators


Oracle = Callable[[Found, Scene], bool]
KINDS: tuple[tuple[str, str, Oracle], ...] = (
    ("screen open", rf"the screen is open{WHERE}", _screen_open),
    ("open", rf"(?P<who>{WHO}) (?:is|are) open{WHERE}", _open),
    ("one open", rf"one of (?P<who>{WHO}), or both, is open{WHERE}", _one_open),
    ("short", rf"(?P<who>{WHO}) (?:is|are) shorted together{WHERE}", _short),
    ("screen short", rf"(?P<who>{WHO}) (?:is|are) shorted to the screen{WHERE}", _short),
    ("reversed pair", rf"{PAIRS} (?:is|are) reversed{WHERE}", _reversed),
    ("crossed pairs", rf"{PAIRS} (?:is|are) crossed(?:, and polarity is exchanged as well)?{WHERE}", _crossed),
    ("exchanged", rf"contacts (?P<contacts>\d and \d) are exchanged{WHERE}", _exchanged),
    ("arrives wrong", rf"near (?P<from>{LIST}) arrives? at far (?P<to>{LIST}){WHERE}", _arrives),
    ("wrong contacts", "conductors arrive at wrong contacts", _some_wrong),
    (
        "split pair",
        rf"{PAIRS} (?:is|are) split: contact to contact it is right, but the twisted pairs are mixed up{WHERE}",
        _split,
    ),
    ("high resistance", rf"(?P<who>{WHO}) ha(?:s|ve) too much resistance \([^)]*\){WHERE}", _poor),
    ("unbalance", rf"the two conductors of {PAIRS} differ in resistance .*", _unbalanced),
    ("nothing arrives", "Nothing arrives at the far (?:end|socket)", _nothing_arrives),
    ("other kind", r"This is a sound (?P<is>\S+) cable, but (?P<wanted>\S+) was asked for", _other_kind),
    ("sound", r"Every conductor arrives where (?P<wanted>\S+) wants it", _sound),
    ("so far", r"Nothing is wrong with it as (?P<wanted>\S+), as far as it was checked", _so_far),
    (
        "wire",
        "the cable has more resistance than its length explains: thin or copper-clad wire",
        lambda _found, scene: scene.truth.run.ohm_per_m > USUAL_OHM_PER_M,
    ),
    ("terminators", "No terminator: right for a single lead, not for a whole backbone", _no_terminator),
    ("straight", "The cable is straight: the second plug was made as a copy of the first", _copied),
    ("turned over", "Wired as if one plug were turned over: numbered from the wrong side", _one_plug("turned")),
    (
        "wrong side",
        "Wired as if one plug was numbered from the wrong side, the mating face",
        _one_plug("wrong_side"),
    ),
    ("shifted", "Wired as if in one plug every conductor sat one contact too far along", _one_plug("one_along")),
    (
        "in sequence",
        "Wired as if one plug was filled pair after pair, not as the pattern wants",
        _one_plug("pair_after_pair"),
    ),
    ("solid first", "Wired as if in one plug the solid conductor of every pair came first", _one_plug("solid")),
    ("half and half", "Wired as if one plug was half T568A and half T568B", _one_plug("half")),
    ("telephone order", r"Wired as if one plug was filled in the telephone order \(USOC\)", _one_plug("telephone")),
)
COMPILED = tuple((name, re.compile(regex + r"\.?", re.IGNORECASE), oracle) for name, regex, oracle in KINDS)


@dataclass(frozen=True)
class Said:
    """One sentence: its kind, whether it is true, and whether it was hedged ("Probably")."""

    kind: str
    text: str
    true: bool
    hedged: bool = False


def examine(text: str, scene: Scene) -> Said:
    """Return what a sentence is worth; kind "unknown" when no expression knows it."""
    hedged = text.startswith("Probably: ")
    bare = text.removeprefix("Probably: ")
    for name, regex, oracle in COMPILED:
        found = regex.fullmatch(bare)
        if found:
            return Said(name, text, oracle(found, scene), hedged)
    return Said("unknown", text, False)


def split_sentences(text: str) -> list[str]:
    """Return the sentences of a line."""
    return [part for part in re.split(r"(?<=[.)])\s+(?=[A-Z])", text.strip()) if part]
