"""The CSV form of a Reading: one row per near contact, one column per far contact, in contact order.

Cells: only the texts 0 and 1 are continuity, 1 = joined; anything else is ohms: a number from 0, and "inf",
"open" or nothing for open. A header row and a header column of contact names may stand before the values.
"""

import csv
import io
import math
import re
from collections.abc import Iterator
from typing import Literal, get_args

from wiremap.cable.connectors import Connector, connectors
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import FileError
from wiremap.reading.reading import Ohm, Reading, square

Cells = Literal["continuity", "ohms"]
CELLS: tuple[Cells, ...] = get_args(Cells)
LARGEST_CSV_BYTES = 100_000
NUMBER = re.compile(r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
OPEN = ("inf", "open", "")
ASK = "Say --cells continuity (1 = joined) or --cells ohms (1 = 1 ohm)."


def from_csv(
    content: bytes,
    source: str,
    cells: Cells | None = None,
    near: Connector | None = None,
    far: Connector | None = None,
) -> Reading:
    """Return the reading in a CSV file; FileError names source, line and column of what is not allowed.

    cells: what the cells are, None = told from the cells. near, far: the plugs, which say what the contacts are
    called; None = told from the header, else from the counts (9: the eight conductors and S). What lies between
    two near or two far contacts is not in such a file: not measured.
    """
    lines = _split(_text(content, source), source)
    top, left = _headers(lines, near, far)
    rows = lines[top:]
    first, last = (f"{source}: line {line}, column" for line in (lines[0][0], lines[-1][0]))
    near_header = [row[0] for _, row in rows] if left else None
    far_header = lines[0][1][left:] if top else None
    across = len(rows[0][1])
    near_names = _names(near_header, far_header, len(rows), near, "rows", f"{last} 1")
    far_names = _names(far_header, near_header, across - left, far, "columns", f"{first} {across}")
    texts = [cell for _, row in rows for cell in row[left:]]
    meaning = cells or _meaning(texts, source)
    values: dict[tuple[Contact, Contact], Ohm] = {}
    for name, (line, row) in zip(near_names, rows, strict=True):
        for column, (other, cell) in enumerate(zip(far_names, row[left:], strict=True), 1 + left):
            values[near_contact(name), far_contact(other)] = _value(
                cell, meaning, f"{source}: line {line}, column {column}"
            )
    places = (*map(near_contact, near_names), *map(far_contact, far_names))
    return Reading(None, None, None, "tester", near_names, far_names, square(places, values, None))


def _text(content: bytes, source: str) -> str:
    if len(content) > LARGEST_CSV_BYTES:
        raise FileError(f"{source}: is larger than {LARGEST_CSV_BYTES} bytes", "A reading of one cable is far smaller.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise FileError(f"{source}: line {line} is not UTF-8 text", "Save it as CSV in UTF-8.") from error
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise FileError(f"{source}: line {line} holds a zero byte", "Save it as CSV in UTF-8.")
    if not text.strip():
        raise FileError(f"{source}: is empty", "Give one row for each near contact, one column for each far contact.")
    return text


def _split(text: str, source: str) -> list[tuple[int, list[str]]]:
    """Return (line number, cells) of every row, all of one length; blank lines at the end do not count."""
    reader = csv.reader(io.StringIO(text.rstrip("\r\n"), newline=""), strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for row in reader:
            rows.append((reader.line_num, [cell.strip() for cell in row]))
    except csv.Error as error:
        raise FileError(
            f"{source}: line {reader.line_num}: not CSV ({error})", "Separate the cells by commas, without quotes."
        ) from error
    width = len(rows[0][1])
    if width == 1 and re.search(r"[;\t|]", rows[0][1][0]):
        raise FileError(f"{source}: line 1 has no comma", "Separate the cells by commas; decimals have a point.")
    for line, row in rows:
        if len(row) != width:
            column = min(len(row), width) + 1
            raise FileError(
                f"{source}: line {line}, column {column}: the row has {len(row)} cells, the first row has {width}",
                "Give every row the same number of cells; decimals have a point, not a comma.",
            )
    return rows


def _known(plug: Connector | None) -> Iterator[tuple[str, ...]]:
    """Give every list of contact names there may be: all contacts of a plug, or all but a screen that comes last."""
    for found in (plug,) if plug else connectors().values():
        yield found.contacts
        if found.screen == found.contacts[-1]:
            yield found.conductor_contacts


def _is_header(names: list[str], plug: Connector | None) -> bool:
    """Whether these are a plug's contact names, in whatever order."""
    return any(sorted(name.upper() for name in names) == sorted(known) for known in _known(plug))


def _headers(lines: list[tuple[int, list[str]]], near: Connector | None, far: Connector | None) -> tuple[int, int]:
    """Return how many header rows and header columns there are, 0 or 1 each.

    Contact names are numbers too, so a header is one only where the rows (columns) left fit a plug. Where both
    stand, the corner is no number.
    """
    width = len(lines[0][1])
    first_row = lines[0][1]
    first_column = [row[0] for _, row in lines]
    row_may_be = len(lines) - 1 in {len(names) for names in _known(near)}
    column_may_be = width - 1 in {len(names) for names in _known(far)}
    if (
        row_may_be
        and column_may_be
        and not NUMBER.fullmatch(first_row[0])
        and _is_header(first_row[1:], far)
        and _is_header(first_column[1:], near)
    ):
        return 1, 1
    top = row_may_be and _is_header(first_row, far)
    left = not top and column_may_be and _is_header(first_column, near)
    return int(top), int(left)


def _names(
    header: list[str] | None,
    other_header: list[str] | None,
    count: int,
    plug: Connector | None,
    direction: str,
    place: str,
) -> tuple[str, ...]:
    """Return what one end's contacts are called: as its header says, else the plug, else the other end's header."""
    known = tuple(_known(plug))
    if header is not None:
        names = tuple(name.upper() for name in header)
        if names not in known:
            raise FileError(f"{place}: the contacts stand as {', '.join(names)}", "Put them in the plug's order.")
        return names
    fitting = list(dict.fromkeys(names for names in known if len(names) == count))
    if not fitting:
        sizes = sorted({len(names) for names in known})
        plugs = plug.title if plug else "the plugs known"
        raise FileError(
            f"{place}: {count} {direction if count > 1 else direction[:-1]} of values",
            f"With {plugs} it is " + " or ".join(map(str, sizes)) + " (the larger one with the screen).",
        )
    if len(fitting) > 1 and other_header is not None:
        fitting = [names for names in fitting if names == tuple(other_header)] or fitting
    if len(fitting) > 1:
        could_be = " or ".join(f"{names[0]} to {names[-1]}" for names in fitting)
        raise FileError(
            f"{place}: {count} {direction} of values can be contacts {could_be}",
            "Say --expect, or put the contact names in a first row or column.",
        )
    return fitting[0]


def _meaning(texts: list[str], source: str) -> Cells:
    if all(text in ("0", "1") for text in texts):
        return "continuity"
    if all(text == "" or (NUMBER.fullmatch(text) and float(text) in (0.0, 1.0)) for text in texts):
        raise FileError(f"{source}: holds only 0, 1 and blanks, which can be continuity or ohms", ASK)
    return "ohms"


def _value(text: str, meaning: Cells, place: str) -> Ohm:
    if meaning == "continuity":
        if text not in ("0", "1", ""):
            raise FileError(
                f"{place}: '{text[:40]}' is no continuity", "Allowed there: 1 (joined), 0 or nothing (open)."
            )
        return "joined" if text == "1" else "open"
    if text.lower() in OPEN:
        return "open"
    ohm = float(text) if NUMBER.fullmatch(text) else math.nan
    if not math.isfinite(ohm):
        raise FileError(
            f"{place}: '{text[:40]}' is no resistance",
            "Allowed there: ohms from 0 with a decimal point, or inf, open or nothing for open; "
            "contact names as on the plug, in order, in a first row or column.",
        )
    return ohm
