"""Contact names in a table's first row or column: what is a name, which end it names, what can only be numbering."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence

from msgspec import Struct

from wiremap.cable.connectors import Connector, connectors
from wiremap.reading.table_text import TableCell, TableRefusedError

ContactNames = tuple[str, ...]
# What an end is called, the tester's end first. Only "near" and "far" say which is which wherever they stand.
END_WORDS = (
    ("near", "far"),
    ("n", "f"),
    ("a", "b"),
    ("left", "right"),
    ("local", "remote"),
    ("in", "out"),
    ("from", "to"),
)
JACKS = (("j1", "j2"),)
END = "|".join(sorted((word for pair in END_WORDS for word in pair), key=len, reverse=True))
SCREENS = "screen|shield|shld|shd|sh|scr|s"
KIND = r"contact|conductor|wire|pin|pos|no\.?|nr\.?|p|c|#"
CONTACT_WORD = re.compile(
    rf"(?:(?P<jack>j[12])[ ._:/-]+|(?P<end>{END})(?: end)?[ ._:/-]*)?(?:(?:{KIND})[ ._:/-]*)?"
    rf"(?P<contact>[0-9]{{1,2}}|{SCREENS})(?: *\(?(?P<behind>near|far)\)?)?",
    re.IGNORECASE,
)
END_ALONE = re.compile(rf"(?P<end>{END}|j[12])(?: (?:end|side|plug|contacts?|pins?))?", re.IGNORECASE)
CORNER = re.compile(
    r"(?P<rows>[a-z0-9 ]+?)(?: ends?)? *(?:[\\/>|\u2192]|->|to) *(?P<columns>[a-z0-9 ]+?)(?: ends?)?", re.I
)


class Header(Struct, frozen=True):
    """The names of one side of a table, in its order. end: the word for the end, "" = not said.

    worded: whether a letter stands in them, so that they cannot be values.
    """

    names: ContactNames
    end: str
    worded: bool
    place: str


def header(cells: Sequence[TableCell]) -> Header | None:
    """Return the names that these cells are; None when one of them is no contact name.

    TableRefusedError when they are names that stand twice, are 0, or name several ends; numbers alone are then none.
    """
    found = [CONTACT_WORD.fullmatch(cell.text) for cell in cells]
    names, ends = [], set()
    for match in found:
        if match is None:
            return None
        contact = match["contact"].upper()
        names.append(str(int(contact)) if contact.isdigit() else "S")
        ends.add((match["jack"] or match["end"] or match["behind"] or "").lower())
    place = cells[0].place
    worded = any(not cell.text.isdigit() for cell in cells)
    hint = "Name the contacts as on the plug: 1, 2, 3 ... and S for the screen."
    twice = [name for name, count in Counter(names).items() if count > 1]
    if not worded and ("0" in names or twice):
        return None
    if "0" in names:
        raise TableRefusedError(2, place, "the contacts are numbered from 0", hint)
    if twice:
        raise TableRefusedError(2, place, f"contact {twice[0]} stands twice", hint)
    if len(ends) > 1:
        raise TableRefusedError(
            2, place, "names of both ends side by side", "Give near contacts one way, far the other."
        )
    return Header(tuple(names), ends.pop(), worded, place)


def end_alone(text: str) -> str:
    """Return the end that a title or corner names and nothing else, "" when it does not."""
    match = END_ALONE.fullmatch(text)
    return match["end"].lower() if match else ""


def corner_ends(text: str) -> tuple[str, str]:
    """Return the ends that a corner names for rows and columns: "near\\far"; "" = not said."""
    if match := CORNER.fullmatch(text):
        rows, columns = end_alone(match["rows"].strip()), end_alone(match["columns"].strip())
        if rows and columns:
            return rows, columns
    return end_alone(text), ""


def rows_are_near(rows: set[str], columns: set[str], place: str) -> bool:
    """Return whether the rows are the near end, by what the rows' and the columns' ends are called; near if nothing is.

    TableRefusedError when the words do not name two ends, or do not say which of them is the tester's.
    """
    rows, columns = rows - {""}, columns - {""}
    ways = []
    for first, second in (*END_WORDS, *JACKS):
        if rows | columns <= {first, second} and not rows & columns and len(rows) < 2 and len(columns) < 2:
            ways.append((first, second))
    if not ways:
        said = (
            f"rows are called {', '.join(sorted(rows)) or 'nothing'}, columns {', '.join(sorted(columns)) or 'nothing'}"
        )
        raise TableRefusedError(2, place, said, "Call one end near and the other far.")
    first, second = ways[0]
    if first in columns or second in rows:
        if first not in ("near", "n"):
            what = f"columns are called {first}, rows {second}" if rows and columns else f"one side is called {first}"
            raise TableRefusedError(
                2, place, f"{what}: which end is the tester's?", "Call that end near and the other far."
            )
        return False
    return True


def counts(cells: Sequence[TableCell]) -> bool:
    """Whether these cells can only be numbering: more than half count up or down by one, or all are such numbers."""
    numbers = [(i, int(cell.text)) for i, cell in enumerate(cells) if re.fullmatch(r"[0-9]{1,4}", cell.text)]
    if len(numbers) < 4:
        return False
    up = Counter(number - i for i, number in numbers).most_common(1)[0][1]
    down = Counter(number + i for i, number in numbers).most_common(1)[0][1]
    values = sorted(number for _, number in numbers)
    shuffled = len(values) >= len(cells) - 1 and values == list(range(values[0], values[0] + len(values)))
    return max(up, down) * 2 > len(cells) or shuffled


def known(plug: Connector | None) -> Iterator[ContactNames]:
    """Give every list of contact names there may be: all contacts of a plug, or all but a screen that comes last."""
    for found in (plug,) if plug else connectors().values():
        yield found.contacts
        if found.screen == found.contacts[-1]:
            yield found.conductor_contacts


def names_of(
    side: Header | None, other: Header | None, count: int, plug: Connector | None, across: str, place: str
) -> tuple[ContactNames, ...]:
    """Return what one side's contacts can be called: as it says, else by the plug, else as the other side says."""
    every = tuple(dict.fromkeys(known(plug)))
    if side is not None:
        fitting = tuple(names for names in every if sorted(names) == sorted(side.names))
        if not fitting:
            titles = plug.title if plug else "any plug known"
            raise TableRefusedError(
                2 if side.worded else 1,
                side.place,
                f"the contacts are {', '.join(side.names)}",
                f"These are not the contacts of {titles}; give each of its contacts a name.",
            )
        if not side.worded and side.names not in fitting:
            raise TableRefusedError(
                2, side.place, f"the contacts stand as {', '.join(side.names)}", "Put them in the plug's order."
            )
        return (side.names,)
    fitting = tuple(names for names in every if len(names) == count)
    if not fitting:
        sizes = sorted({len(names) for names in every})
        raise TableRefusedError(
            1,
            place,
            f"{count} {across if count > 1 else across[:-1]} of values",
            f"With {plug.title if plug else 'the plugs known'} it is "
            + " or ".join(map(str, sizes))
            + " (the larger one with the screen).",
        )
    if other is not None:
        fitting = tuple(names for names in fitting if sorted(names) == sorted(other.names)) or fitting
    return fitting


def one_pair(
    near: Sequence[ContactNames], far: Sequence[ContactNames], told: bool, place: str
) -> tuple[ContactNames, ContactNames]:
    """Return the names of rows and columns, from what each can be; TableRefusedError when that is none, or several.

    told: whether both sides say their names. If not, the screen must stand at both ends or at none: a column too
    many, as an export may add it, is then never taken for a screen.
    """
    pairs = [(a, b) for a in near for b in far if told or ("S" in a) == ("S" in b)]
    if not pairs:
        raise TableRefusedError(
            1,
            place,
            f"{len(near[0])} rows and {len(far[0])} columns of values, so that one has a screen and the other has none",
            "Name the contacts in a first row and column, or give both ends 8 or both 9.",
        )
    if len(pairs) > 1:
        could_be = " or ".join(sorted({f"{a[0]} to {a[-1]}" for pair in pairs for a in pair}))
        raise TableRefusedError(
            1,
            place,
            f"{len(near[0])} rows and {len(far[0])} columns of values can be contacts {could_be}",
            "Say --expect, or put the contact names in a first row or column.",
        )
    return pairs[0]
