"""Testers that nobody knows: 60 forms and more of printing a cable, with noise; and texts of no tester at all.

The product's reader shares no code with it: here a cable is nets of contacts, and a tester prints them.
"""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

Contact = tuple[str, int]  # end "N" or "F", place from 0; with a screen it is the last place
Nets = frozenset[frozenset[Contact]]


@dataclass(frozen=True)
class Stranger:
    """A tester: how it prints. plain: contacts but for the screen; screen: "none", "last", "first", "named"."""

    name: str
    lines: Callable[["Stranger", "Sight"], list[str]]
    plain: int = 8
    screen: str = "none"
    first: int = 1
    one: str = "1"
    zero: str = "0"
    mark: str = "="
    named: bool = False  # both ends in its text

    @property
    def count(self) -> int:
        """Return the contacts of a plug."""
        return self.plain + (self.screen != "none")

    @property
    def order(self) -> list[int]:
        """Return the places of a plug in the order the tester goes through them."""
        usual = list(range(self.plain))
        if self.screen == "none":
            return usual
        return [self.plain, *usual] if self.screen == "first" else [*usual, self.plain]

    def number(self, place: int) -> str:
        """Return what the tester calls a place."""
        if self.screen == "named" and place == self.plain:
            return "S"
        return str(self.order.index(place) + self.first)


@dataclass(frozen=True)
class Sight:
    """What is joined: every two contacts of one net."""

    pairs: frozenset[frozenset[Contact]]

    def near_far(self, a: int, b: int) -> bool:
        """Whether near a is joined to far b."""
        return frozenset({("N", a), ("F", b)}) in self.pairs

    def any(self, a: Contact, b: Contact) -> bool:
        """Whether two contacts are joined."""
        return a == b or frozenset({a, b}) in self.pairs


def sight(nets: Nets) -> Sight:
    """Return all joined pairs of nets."""
    return Sight(frozenset(frozenset(pair) for net in nets for pair in combinations(sorted(net), 2)))


def _bits(row: Sequence[bool], highest: bool = False) -> int:
    return sum(1 << (len(row) - 1 - n if highest else n) for n, on in enumerate(row) if on)


def table(
    separator: str,
    label: str = "",
    head: str = "",
    turned: bool = False,
    both: bool = False,
    ends: tuple[str, str] = ("", ""),
    wrap: tuple[str, str] = ("", ""),
    cell: Callable[[bool], str] | None = None,
) -> Callable[[Stranger, Sight], list[str]]:
    """Return a printer of rows of cells. label, head: "{}" is the contact's number."""

    def printed(tester: Stranger, seen: Sight) -> list[str]:
        order = tester.order
        rows: list[Contact] = [("N", a) for a in order]
        columns: list[Contact] = [("F", a) for a in order]
        if turned:
            rows, columns = columns, rows
        if both:
            rows = columns = [*rows, *columns]
        names = {"N": ends[0], "F": ends[1]}
        found = []
        if head:
            found.append(separator.join(["", *(names[end] + head.format(tester.number(at)) for end, at in columns)]))
        for row in rows:
            cells = [(tester.one if seen.any(row, c) else tester.zero) for c in columns]
            if cell:
                cells = [cell(seen.any(row, c)) for c in columns]
            start = names[row[0]] + label.format(tester.number(row[1])) if label else ""
            found.append(start + wrap[0] + separator.join(cells) + wrap[1])
        return found

    return printed


def masks(style: str, highest: bool = False, from_one: bool = False) -> Callable[[Stranger, Sight], list[str]]:
    """Return a printer of one number a near contact."""

    def printed(tester: Stranger, seen: Sight) -> list[str]:
        found = []
        for a in tester.order:
            value = _bits([seen.near_far(a, b) for b in tester.order], highest) << from_one
            found.append(f"{tester.number(a)}: " + style.format(value))
        return found

    return printed


def all_masks(ends: tuple[str, str]) -> Callable[[Stranger, Sight], list[str]]:
    """Return a printer of one number for each contact of both plugs, ends named."""

    def printed(tester: Stranger, seen: Sight) -> list[str]:
        every: list[Contact] = [*(("N", a) for a in tester.order), *(("F", a) for a in tester.order)]
        names = {"N": ends[0], "F": ends[1]}
        return [
            f"{names[end]}{tester.number(at)}: 0x{_bits([seen.any((end, at), c) for c in every]):05x}"
            for end, at in every
        ]

    return printed


def lists(
    style: str, between: str = " ", none: str = "none", ends: tuple[str, str] = ("", ""), turned: bool = False
) -> Callable[[Stranger, Sight], list[str]]:
    """Return a printer of what each contact of one plug reaches in the other."""

    def printed(tester: Stranger, seen: Sight) -> list[str]:
        found = []
        for a in tester.order:
            there = [b for b in tester.order if (seen.near_far(b, a) if turned else seen.near_far(a, b))]
            words = between.join(ends[1] + tester.number(b) for b in there)
            found.append(style.format(ends[0] + tester.number(a), words or none))
        return found

    return printed


def links(
    style: str, ends: tuple[str, str] = ("", ""), turned: bool = False, one_line: bool = False
) -> Callable[[Stranger, Sight], list[str]]:
    """Return a printer of the pairs that are joined, and nothing of others."""

    def printed(tester: Stranger, seen: Sight) -> list[str]:
        pairs = [(a, b) for a in tester.order for b in tester.order if seen.near_far(*((b, a) if turned else (a, b)))]
        found = [style.format(ends[0] + tester.number(a), ends[1] + tester.number(b)) for a, b in pairs]
        return [",".join(found)] if one_line and found else found

    return printed


def json_of(kind: str) -> Callable[[Stranger, Sight], list[str]]:
    """Return a printer of JSON."""

    def printed(tester: Stranger, seen: Sight) -> list[str]:
        reach = {a: [b for b in tester.order if seen.near_far(a, b)] for a in tester.order}
        if kind == "object":
            inner = ",".join(
                f'"N{tester.number(a)}":[' + ",".join(f'"F{tester.number(b)}"' for b in there) + "]"
                for a, there in reach.items()
            )
            return ["{" + inner + "}"]
        if kind == "table":
            rows = ["[" + ",".join("1" if seen.near_far(a, b) else "0" for b in tester.order) + "]" for a in reach]
            return ["[" + ",".join(rows) + "]"]
        return [
            f'{{"pin":{tester.number(a)},"to":[' + ",".join(tester.number(b) for b in there) + "]}"
            for a, there in reach.items()
        ]

    return printed


def _ohm(joined: bool) -> str:
    return "0.4" if joined else "OL"


def _unit(joined: bool) -> str:
    return "0.4ohm" if joined else "OL"


KNOWN: tuple[Stranger, ...] = (
    Stranger("spaces", table(" ")),
    Stranger("spaces, nine, last", table(" "), screen="last"),
    Stranger("spaces, nine, first", table(" "), screen="first"),
    Stranger("spaces, four", table(" "), plain=4),
    Stranger("spaces, five", table(" "), plain=4, screen="last"),
    Stranger("inverted", table(" "), one="0", zero="1"),
    Stranger("turned", table(" ", turned=True)),
    Stranger("commas", table(",")),
    Stranger("commas, trailing", table(",", wrap=("", ","))),
    Stranger("semicolons", table(";"), screen="last"),
    Stranger("tabs", table("\t")),
    Stranger("pipes", table("|", wrap=("|", "|"))),
    Stranger("packed", table("")),
    Stranger("packed, nine", table(""), screen="last"),
    Stranger("packed, inverted", table(""), one="0", zero="1"),
    Stranger("packed, x and dot", table(""), one="X", zero="."),
    Stranger("packed, hash", table(""), one="#", zero="-"),
    Stranger("brackets", table(", ", wrap=("[", "]"))),
    Stranger("labelled", table(" ", label="{}: ")),
    Stranger("labelled from 0", table(" ", label="{}: "), first=0),
    Stranger("labelled pins", table(" ", label="pin {}: ")),
    Stranger("labelled bar", table(" ", label="{} | ")),
    Stranger("labelled, named screen", table(" ", label="{}: "), screen="named"),
    Stranger("headed", table(" ", label="{}: ", head="{}"), screen="last"),
    Stranger("letters T F", table(" "), one="T", zero="F"),
    Stranger("letters Y N", table(","), one="Y", zero="N"),
    Stranger("words", table(","), one="true", zero="false"),
    Stranger("on off", table(" "), one="on", zero="off"),
    Stranger("all, unnamed", table(" ", both=True)),
    Stranger("all, packed", table("", both=True)),
    Stranger("all, nine", table(" ", both=True), screen="last"),
    Stranger("ohms with a unit", table(",", cell=_unit)),
    Stranger("hex, lowest", masks("0x{:03x}")),
    Stranger("hex, highest", masks("0x{:02X}", highest=True)),
    Stranger("hex, from 1", masks("0x{:x}", from_one=True)),
    Stranger("hex, nine", masks("0x{:03x}"), screen="last"),
    Stranger("hex, bare", masks("{:02x}")),
    Stranger("hex, from 0", masks("0x{:02x}"), first=0),
    Stranger("binary", masks("0b{:b}")),
    Stranger("binary, bare", masks("{:b}")),
    Stranger("binary, highest", masks("0b{:08b}", highest=True)),
    Stranger("decimal", masks("{}")),
    Stranger("decimal, highest", masks("{}", highest=True)),
    Stranger("lists", lists("{}: {}")),
    Stranger("lists, commas", lists("{}: {}", ",", "-")),
    Stranger("lists, arrows", lists("{} -> {}", " ", "none")),
    Stranger("lists from 0", lists("{}: {}", " ", ""), first=0),
    Stranger("lists, nine", lists("{}: {}"), screen="last"),
    Stranger("lists, named screen", lists("{}: {}"), screen="named"),
    Stranger("lists, turned", lists("{}: {}", turned=True)),
    Stranger("links, arrows", links("{} -> {}")),
    Stranger("links, dashes", links("{}-{}")),
    Stranger("links, one line", links("{}-{}", one_line=True)),
    Stranger("links, to", links("pin {} to {}")),
    Stranger("links from 0", links("{} -> {}"), first=0),
    Stranger("links, nine", links("{} -> {}"), screen="last"),
    Stranger("links, named screen", links("{} -> {}"), screen="named"),
    Stranger("links, bare", links("{} {}")),
    Stranger("links, turned", links("{}->{}", turned=True)),
    Stranger("JSON table", json_of("table")),
    Stranger("JSON rows", json_of("rows")),
    Stranger("JSON rows from 0", json_of("rows"), first=0),
    Stranger("named table", table(" ", label="{}: ", head="{}", ends=("N", "F")), named=True),
    Stranger("named table, commas", table(",", label="{},", head="{}", ends=("N", "F")), named=True),
    Stranger("named table, A B", table(" ", label="{} ", head="{}", ends=("A", "B")), named=True),
    Stranger("named table, screen", table(" ", label="{}: ", head="{}", ends=("N", "F")), screen="named", named=True),
    Stranger("named, turned", table(" ", label="{}: ", head="{}", ends=("N", "F"), turned=True), named=True),
    Stranger("named, all", table(" ", label="{}: ", head="{}", ends=("N", "F"), both=True), named=True),
    Stranger("named, all masks", all_masks(("N", "F")), named=True),
    Stranger("named lists", lists("{}: {}", ends=("N", "F")), named=True),
    Stranger("named links", links("{}->{}", ends=("N", "F")), screen="named", named=True),
    Stranger("named links, A B", links("{}-{}", ends=("A", "B")), screen="named", named=True),
    Stranger("named JSON", json_of("object"), named=True),
    Stranger("named ohms", table(",", label="{},", head="{}", ends=("N", "F"), cell=_ohm), named=True, mark="Ohm"),
)
MARKS = ("=== scan {} ===", "scan {}", "--- {} ms ---", "")
CHATTER = ("ready", "battery 3.71 V", "A0: 512", "temp=21.5", "watchdog ok", "free heap 123456")
BANNER = ("", "Cable tester v1.2", "(c) workshop", "press button")


def jumper(tester: Stranger, near: str, far: str) -> Nets:
    """Return one wire between contacts as the product calls them."""
    place = {"S": tester.plain} | {str(number + 1): number for number in range(tester.plain)}
    return frozenset({frozenset({("N", place[near]), ("F", place[far])})})


def cable(tester: Stranger, rng: random.Random) -> Nets:
    """Return a cable: straight, crossed, permuted, with opens and shorts, empty, or all joined."""
    places = list(range(tester.count))
    far = places[:]
    kind = rng.choice(("straight", "straight", "swap", "swap", "permuted", "rolled", "open", "short", "empty", "all"))
    if kind == "swap":
        a, b = rng.sample(range(tester.plain), 2)
        far[a], far[b] = far[b], far[a]
    elif kind == "permuted":
        rng.shuffle(far)
    elif kind == "rolled":
        far[: tester.plain] = far[: tester.plain][::-1]
    nets = [{("N", a), ("F", far[a])} for a in places]
    if kind == "open":
        for gone in rng.sample(range(len(nets)), rng.randint(1, 3)):
            nets[gone] = set()
    elif kind == "short":
        a, b = rng.sample(range(len(nets)), 2)
        nets[a] |= nets[b]
        nets[b] = set()
    elif kind == "empty":
        nets = []
    elif kind == "all":
        nets = [set().union(*nets)]
    return frozenset(frozenset(net) for net in nets if net)


@dataclass(frozen=True)
class Noise:
    """Shares: damage a line (lost, doubled, cut, run together), chatter a line, resets a scan, flips a character."""

    damage: float = 0.0
    chatter: float = 0.0
    reset: float = 0.0
    flip: float = 0.0
    clock: bool = False
    ansi: bool = False
    encoding: str = "utf-8"
    ending: str = "\r\n"


QUIET = Noise()


def noise(rng: random.Random) -> Noise:
    """Return a usual line: mostly quiet, some with everything."""
    if rng.random() < 0.4:
        return QUIET
    return Noise(
        rng.choice((0.0, 0.01, 0.02)),
        rng.choice((0.0, 0.01, 0.02)),
        rng.choice((0.0, 0.02)),
        0.0,
        rng.random() < 0.2,
        rng.random() < 0.2,
        rng.choice(("utf-8", "utf-8", "utf-16", "utf-8-sig")),
        rng.choice(("\r\n", "\n", "\r")),
    )


def spoken(tester: Stranger, nets: Nets, scans: int, mark: str, line: Noise, rng: random.Random) -> bytes:
    """Return what a tester prints of a cable, so many scans of it, as it comes over a line."""
    seen = sight(nets)
    text: list[str] = list(BANNER)
    for number in range(scans):
        printed = [mark.format(number + 1), *tester.lines(tester, seen)]
        if tester.mark == "Ohm":
            printed[0] = "Ohm table"
        if rng.random() < line.reset:
            printed = [*printed[: rng.randrange(len(printed))], *BANNER]
        text += printed
    text.append(mark.format(scans + 1) if tester.mark != "Ohm" else "Ohm table")
    out: list[str] = []
    for one in text:
        if rng.random() < line.chatter:
            out.append(rng.choice(CHATTER))
        if rng.random() < line.damage:
            kind = rng.randrange(4)
            out += [[], [one, one], [one[: rng.randrange(len(one) + 1)]], [one]][kind]
            if kind == 3 and len(out) > 1:
                out[-2:] = [out[-2] + out[-1]]
            continue
        out.append(one)
    if line.flip:
        out = [
            "".join(chr(ord(c) ^ 1 << rng.randrange(7)) if rng.random() < line.flip else c for c in one) for one in out
        ]
    if line.clock:
        out = [f"12:{n // 60 % 60:02}:{n % 60:02}.{n % 1000:03} {one}" for n, one in enumerate(out)]
    if line.ansi:
        out = [f"\x1b[32m{one}\x1b[0m" for one in out]
    return (line.ending.join(out) + line.ending).encode(line.encoding)


def truth(tester: Stranger, nets: Nets) -> frozenset[tuple[str, str]]:
    """Return the near and far contacts that are joined, as the product calls them."""
    seen = sight(nets)
    name = [*(str(n + 1) for n in range(tester.plain)), "S"]
    return frozenset(
        (name[a], name[b]) for a in range(tester.count) for b in range(tester.count) if seen.near_far(a, b)
    )
