"""What a page says of the plugs: which end is wrong, what each plug holds, each with its chance; and the wire map."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from tests.world.sentences import Said
from tests.world.tables import CONTACTS, STANDARDS, Holds, Pattern, carried
from tests.world.truth import Truth

CHANCE = r"(?:over 99 %|under 1 %|\d+ %)"
ENDS = (
    ("both", re.compile(r"Both ends are wrong\.")),
    (
        "both chances",
        re.compile(rf"Both ends are likely wrong \(near (?P<chance>{CHANCE}), far (?P<other>{CHANCE})\)\."),
    ),
    ("one", re.compile(rf"The (?P<end>near|far) end is (?:likely )?wrong \((?P<chance>{CHANCE})\)\.")),
    ("either", re.compile(r"It can be either end until somebody looks\.")),
    (
        "likelier",
        re.compile(
            rf"Likelier it is the (?P<end>near|far) end \((?P<chance>{CHANCE}), (?:near|far) (?P<other>{CHANCE})\) "
            r"until somebody looks\."
        ),
    ),
)
HOLDS = re.compile(rf"(?:(?P<end>near|far):)? +(?P<chance>{CHANCE})  (?P<order>\S.*)")
BUT = re.compile(r"as (?P<like>\S+) but (?P<rest>.+)")
RIGHT_FOR = re.compile(r"right for (?P<like>\S+) at near(?: but (?P<rest>.+))?")


@dataclass(frozen=True)
class Chance:
    """A statement that was said with a chance: the words, and whether it is so."""

    kind: str
    words: str
    true: bool


def number(words: str) -> tuple[float, float]:
    """Return the lowest and highest chance that the words can mean."""
    if words == "over 99 %":
        return 0.99, 1.0
    if words == "under 1 %":
        return 0.0, 0.01
    value = int(words.split()[0]) / 100
    return value - 0.005, value + 0.005


def which_end(text: str, truth: Truth) -> tuple[list[Said], list[Chance], bool]:
    """Return what a sentence about the ends says without a chance, with one, and whether it was such a sentence."""
    wrong = {end: not truth.plug(end).sound for end in ("near", "far")}
    for kind, regex in ENDS:
        found = regex.fullmatch(text)
        if found is None:
            continue
        match kind:
            case "both":
                return [Said("both ends wrong", text, all(wrong.values()))], [], True
            case "both chances":
                return (
                    [],
                    [Chance("end", found["chance"], wrong["near"]), Chance("end", found["other"], wrong["far"])],
                    True,
                )
            case "one":
                return [], [Chance("end", found["chance"], wrong[found["end"]])], True
            case "likelier":
                end = found["end"]
                other = "far" if end == "near" else "near"
                return (
                    [],
                    [Chance("end", found["chance"], wrong[end]), Chance("end", found["other"], wrong[other])],
                    True,
                )
        return [], [], True
    return [], [], False


def _looks(name: str | None, colours: str) -> str | None:
    return "white" if name is not None and colours == "plain-white" and name.startswith("white-") else name


def order_of(text: str, truth: Truth, end: str, pattern: Pattern) -> Holds | None:
    """Return the order that words describe; None when they are not understood.

    "T568B"; "as T568B but 4 blue, 5 empty"; "right for T568B at near", of a far plug whose order has no name.
    """
    kind = truth.plug(end).kind
    carried_over = RIGHT_FOR.fullmatch(text) if end == "far" else None
    but = carried_over or BUT.fullmatch(text)
    known = STANDARDS[truth.near.kind] if carried_over else STANDARDS[kind]
    base = known.get(but["like"] if but else text)
    if base is None:
        return None
    at = dict(zip(CONTACTS[kind], carried(pattern, base) if carried_over else base, strict=True))
    for part in but["rest"].split(", ") if but and but["rest"] else ():
        contact, _, colour = part.partition(" ")
        at[contact] = None if colour == "empty" else colour
    return tuple(at.values())


def holds(line: str, end: str, truth: Truth, pattern: Pattern) -> tuple[str, Chance | None]:
    """Return the end that a line of "In the plugs now" is about, and what it says; None = not understood."""
    found = HOLDS.fullmatch(line.rstrip())
    if found is None:
        return end, None
    end = found["end"] or end
    order = order_of(found["order"], truth, end, pattern)
    if order is None:
        return end, None
    return end, Chance("order", found["chance"], order == truth.plug(end).holds)


def map_colours(table: list[str], read: Mapping[str, str]) -> list[Said]:
    """Return where the wire map's colour of a near contact is not what was read there."""
    found = []
    for line in table:
        row = re.match(r"[! ] +(\d)  ([a-z-]*)  ", line)
        if row and row[1] in read and read[row[1]] != (row[2] or "-"):
            found.append(Said("map colour", f"{line.strip()} (read: {read[row[1]]})", False))
    return found
