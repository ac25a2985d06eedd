"""What a scan means in a language: which contacts of which plug are joined, and which two were looked at."""

import re
from collections.abc import Iterator, Sequence
from itertools import combinations

from msgspec import Struct

from wiremap.contact import Contact, End
from wiremap.reading.reading import Ohm
from wiremap.reading.talk.language import Language
from wiremap.reading.talk.names import Name, name_of
from wiremap.reading.talk.scans import Scan

SCREEN_NAME = "S"
OPEN_CELLS = ("ol", "open", "inf", "-", "o.l.")
SeenPairs = dict[tuple[Contact, Contact], Ohm]


class UnfitError(Exception):
    """The scan has no meaning in this language; says why."""


class TalkWires(Struct, frozen=True):
    """What a scan says, comparable. near, far: contacts of each plug. seen: each two that were looked at, once."""

    near: tuple[str, ...]
    far: tuple[str, ...]
    seen: frozenset[tuple[Contact, Contact, Ohm]]

    @property
    def joined(self) -> frozenset[tuple[Contact, Contact]]:
        """Return every two contacts that are joined; of ohms, everything that was not open."""
        return frozenset((a, b) for a, b, value in self.seen if value != "open")


class _Plugs(Struct, frozen=True):
    """The contacts of both plugs; places on the tester from 0, as the language numbers them."""

    names: tuple[str, ...]
    first_end: End

    def contact(self, side: int, place: int) -> Contact:
        """Return a contact by its side (0 = where rows are) and its place there."""
        if not 0 <= place < len(self.names):
            raise UnfitError(f"a contact beyond the {len(self.names)} of a plug")
        other: End = "far" if self.first_end == "near" else "near"
        return Contact(self.first_end if side == 0 else other, self.names[place])


def wires(scan: Scan, language: Language) -> TalkWires:
    """Return what a scan means; UnfitError when it can mean nothing in this language."""
    plugs, seen = _by_names(scan, language) if names_contacts(scan, language) else _by_places(scan, language)
    cells = {frozenset((a, b)): value for (a, b), value in seen.items()}
    for (a, b), value in seen.items():
        if cells[frozenset((a, b))] != value:
            raise UnfitError(f"{a} to {b} is said to be joined and not joined")
    once = {(min(a, b), max(a, b), value) for (a, b), value in seen.items()}
    found = TalkWires(plugs.names, () if language.layout == "one-plug" else plugs.names, frozenset(once))
    _check_nets(found)
    return found


def names_contacts(scan: Scan, language: Language) -> bool:
    """Whether rows name the contacts that are joined, as links and lists do, and are no cells."""
    if language.form != "json":
        return language.form in ("links", "lists")
    rows = scan.rows
    square = all(len(row.cells) == len(rows) and set(row.cells) <= {"0", "1"} for row in rows)
    return not square and all(row.label is not None for row in rows)


def _check_nets(found: TalkWires) -> None:
    """Refuse what contradicts itself: two contacts that are joined to a third are joined to each other."""
    if any(isinstance(value, float) for _, _, value in found.seen):
        return
    known = {frozenset((a, b)): value for a, b, value in found.seen}
    reach: dict[Contact, set[Contact]] = {}
    for a, b in found.joined:
        net = reach.get(a, {a}) | reach.get(b, {b})
        for contact in net:
            reach[contact] = net
    for net in reach.values():
        for a, b in combinations(net, 2):
            if known.get(frozenset((a, b))) == "open":
                raise UnfitError(f"{a} and {b} are joined through others, and said not to be")


def plug_names(count: int, screen: str) -> tuple[str, ...]:
    """Return what the contacts of a plug are called in readings, in the order of the tester's places."""
    if screen == "none":
        return tuple(str(number) for number in range(1, count + 1))
    plain = tuple(str(number) for number in range(1, count))
    return (SCREEN_NAME, *plain) if screen == "first" else (*plain, SCREEN_NAME)


def _count(language: Language, seen: int) -> int:
    if language.count is not None and language.count != seen:
        raise UnfitError(f"{seen} contacts, and the description says {language.count}")
    return seen


def _place(name: Name, language: Language, count: int) -> int:
    """Return the place of a named contact on its plug."""
    if name.number is None:
        if language.screen not in ("named", "last", "first"):
            raise UnfitError("a screen is named, and none is described")
        return 0 if language.screen == "first" else count - 1
    if language.screen == "named" and name.number - language.first >= count - 1:
        raise UnfitError(f"a contact {name.number}")
    return name.number - language.first


def _sides(names: Sequence[Name]) -> bool | None:
    """Whether names say their end, None where there are none."""
    return None if not names else all(name.end is not None for name in names)


def _by_names(scan: Scan, language: Language) -> tuple[_Plugs, SeenPairs]:
    """Return what links and lists say. Where nothing is said of two contacts that were looked at, they are open."""
    count = language.count
    pairs = []
    labels = [row.label for row in scan.rows if row.label is not None]
    for row in scan.rows:
        cells = row.cells[:1] if language.form == "links" else row.cells
        if language.form == "links" and row.cells[1] == "open":
            continue
        for text in cells:
            other = name_of(text, language)
            if row.label is None or other is None:
                raise UnfitError(f"'{text}' names no contact")
            pairs.append((row.label, other))
    every = [*labels, *(name for pair in pairs for name in pair)]
    if count is None:
        count = _listed(labels, language)
    ended = bool(every) and all(name.end for name in every)
    if any(name.end for name in every) != ended:
        raise UnfitError("some contacts say their end, and some do not")
    names = plug_names(count, language.screen)
    plugs = _Plugs(names, "near" if ended else language.first_end)
    seen: SeenPairs = {}
    within = language.layout == "all"
    for here in range(count):
        for there in range(count):
            seen[plugs.contact(0, here), plugs.contact(1, there)] = "open"
    for side in (0, 1) if within else (0,) if language.layout == "one-plug" else ():
        for here, there in combinations(range(count), 2):
            seen[plugs.contact(side, here), plugs.contact(side, there)] = "open"
    for name in labels:
        _named_contact(name, 0, language, plugs)
    for pair in pairs:
        a, b = (_named_contact(name, number, language, plugs) for number, name in enumerate(pair))
        if a == b:
            continue
        key = (a, b) if (a, b) in seen else (b, a)
        if key not in seen:
            raise UnfitError(f"{a} to {b} is joined, and was not to be looked at")
        seen[key] = "joined"
    return plugs, seen


def _listed(labels: Sequence[Name], language: Language) -> int:
    """Return how many contacts a plug has where every row is printed, also the empty ones."""
    if language.form == "links":
        raise UnfitError("how many contacts a plug has is not said")
    sides = max(1, len({name.end for name in labels}))
    count = len(set(labels)) // (sides if sides == 2 else 1)
    return count // 2 if language.layout in ("all", "interleaved") and sides == 1 else count


def _named_contact(name: Name, which: int, language: Language, plugs: _Plugs) -> Contact:
    count = len(plugs.names)
    if name.end is not None:
        return Contact(name.end, plugs.contact(0, _place(name, language, count)).name)
    if language.layout == "two-ends":
        return plugs.contact(which, _place(name, language, count))
    if name.number is None:
        raise UnfitError("a screen without its end")
    return _placed(name.number - language.first, language, plugs)


def _placed(place: int, language: Language, plugs: _Plugs) -> Contact:
    """Return the contact at a place among those of both plugs."""
    count = len(plugs.names)
    if language.layout == "all":
        return plugs.contact(int(place >= count), place - count if place >= count else place)
    if language.layout == "interleaved":
        return plugs.contact(place % 2, place // 2)
    return plugs.contact(0, place)


def _by_places(scan: Scan, language: Language) -> tuple[_Plugs, SeenPairs]:
    """Return what a table or masks say."""
    rows = scan.rows
    labels = [row.label for row in rows if row.label is not None]
    width = len(scan.columns) or (len(rows) if language.form == "masks" else len(rows[0].cells))
    values = [tuple(_values(row.cells, width, language)) for row in rows]
    if any(len(row) != width for row in values):
        raise UnfitError("rows of different length")
    ended = _sides(labels), _sides(scan.columns)
    columns = scan.columns
    if ended == (True, None) and language.form == "masks":
        columns, ended = _columns_of_masks(labels), (True, True)
    if (ended[0] or ended[1]) and ended != (True, True):
        raise UnfitError("one end is named, the other is not")
    seen: SeenPairs = {}
    if ended[0]:
        plugs, along, across = _named_sides(labels, columns, language)
    else:
        count = width if language.layout in ("two-ends", "one-plug") else width // 2
        if len(rows) != width or (language.layout in ("all", "interleaved") and width % 2):
            raise UnfitError("as many rows as columns are wanted")
        screened = [place for place, name in enumerate(labels) if name.number is None]
        screen = language.screen
        if screened and screen == "named":
            screen = "first" if screened == [0] else "last"
        if screened and screened != [0 if screen == "first" else len(labels) - 1]:
            raise UnfitError("the screen is named elsewhere")
        numbers = [name.number for name in labels if name.number is not None]
        if numbers and numbers[0] != language.first and not (screen == "first" and numbers[0] in (0, 1)):
            raise UnfitError(f"contacts begin with {numbers[0]}")
        plugs = _Plugs(plug_names(_count(language, count), screen), language.first_end)
        if language.layout == "two-ends":
            along = [plugs.contact(0, place) for place in range(width)]
            across = [plugs.contact(1, place) for place in range(width)]
        else:
            along = across = [_placed(place, language, plugs) for place in range(width)]
    for a, row in zip(along, values, strict=True):
        for b, value in zip(across, row, strict=True):
            if a == b:
                continue
            if seen.get((b, a), value) != value:
                raise UnfitError(f"{a} to {b} is said to be joined and not joined")
            seen[a, b] = value
    return plugs, seen


def _columns_of_masks(labels: Sequence[Name]) -> tuple[Name, ...]:
    """Return what the bits of masks are of: every contact where rows are of both ends, else those of the other."""
    if len({name.end for name in labels}) == 2:
        return tuple(labels)
    other: End = "far" if labels[0].end == "near" else "near"
    return tuple(Name(other, name.number, name.word) for name in labels)


def _named_sides(
    labels: Sequence[Name], columns: Sequence[Name], language: Language
) -> tuple[_Plugs, list[Contact], list[Contact]]:
    """Return the contacts of rows and columns by the ends and numbers they are named with."""
    count = len({(name.number, name.number is None) for name in labels if name.end == labels[0].end})
    plugs = _Plugs(plug_names(_count(language, count), language.screen), "near")
    sides = []
    for names in (labels, columns):
        contacts = [_named_contact(name, 0, language, plugs) for name in names]
        for end in ("near", "far"):
            if sum(contact.end == end for contact in contacts) not in (0, count):
                raise UnfitError("not every contact of a plug is named")
        sides.append(contacts)
    if {c.end for side in sides for c in side} != {"near", "far"}:
        raise UnfitError("one end is named, the other is not")
    return plugs, sides[0], sides[1]


def _values(cells: Sequence[str], width: int, language: Language) -> Iterator[Ohm]:
    if language.form == "masks":
        yield from _bits(cells[0], width, language)
        return
    for cell in cells:
        if language.joined in ("ohm", "kohm"):
            yield _ohm(cell, 1000 if language.joined == "kohm" else 1)
        else:
            yield "joined" if cell.lower() == language.joined.lower() else "open"


def _ohm(cell: str, factor: int) -> Ohm:
    if cell.lower() in OPEN_CELLS:
        return "open"
    match = re.fullmatch(r"(\d+(?:\.\d+)?|\.\d+) ?(k?)(?:ohm|\u03a9|R)?", cell, re.IGNORECASE)
    if match is None:
        raise UnfitError(f"'{cell}' is no resistance")
    return float(match[1]) * (1000 if match[2] else factor)


def _bits(digits: str, width: int, language: Language) -> Iterator[Ohm]:
    value = int(digits, int(language.radix))
    shift = 1 if language.bits == "from-1" else 0
    if value >> (width + shift) or (shift and value & 1):
        raise UnfitError(f"{digits} has more bits than contacts")
    wanted = "0" if language.joined == "0" else "1"
    for place in range(width):
        bit = width - 1 - place if language.bits == "highest" else place + shift
        yield "joined" if str(value >> bit & 1) == wanted else "open"
