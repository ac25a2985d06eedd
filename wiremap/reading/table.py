"""A table of one cable, typed or exported, to a Reading: near contacts against far ones, and nothing else in the file.

Every way to read the table is tried: each separator, headers or none, with and without what is blank at the edges. It
is believed only where all ways that go give one reading. Rows are never filled up, and what can mean two things is
refused with both.
"""

import math
import re
from collections.abc import Collection, Sequence

from msgspec import Struct

from wiremap.cable.connectors import Connector
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import FileError
from wiremap.reading.reading import Ohm, Reading, square
from wiremap.reading.table_cells import NOTHING, OPEN_WORDS, CellMeaning, contradicting_cells, unit_ohm, values
from wiremap.reading.table_names import (
    CONTACT_WORD,
    ContactNames,
    Header,
    corner_ends,
    counts,
    end_alone,
    header,
    names_of,
    one_pair,
    rows_are_near,
)
from wiremap.reading.table_text import BLOCK, Grid, TableCell, TableRefusedError, TableRows, grids, text_of

# A legend in a title, corner or comment: "0 = joined", "1: open".
LEGEND = re.compile(
    r"(?<![\w.])(?P<cell>[\w.-]{1,5}|infinity|overload|nothing) *(?:=|:|is|means) *"
    r"(?P<meaning>joined|connected|closed|contact|open|not joined|not connected|disconnected)\b",
    re.IGNORECASE,
)
BLANK = ("blank", "empty", "nothing")
SCALED = re.compile(r"\b(?:kilo|mega|milli|k|m) ?-?(?:ohm|\u03a9|\u2126)", re.IGNORECASE)
SIDES = re.compile(r"\b(?:near|far|transposed)\b", re.IGNORECASE)


class FromTable(Struct, frozen=True):
    """The reading of a table, and how it was read: "near rows, far columns, 1 = joined, 0 = open"."""

    reading: Reading
    read_as: str


class _Way(Struct, frozen=True):
    """One way to see a grid: its headers if it has any, the values, and what stands in the corner."""

    grid: Grid
    values: TableRows
    rows: Header | None
    columns: Header | None
    corner: str


def from_table(
    content: bytes,
    source: str,
    cells: CellMeaning | None = None,
    near: Connector | None = None,
    far: Connector | None = None,
) -> FromTable:
    """Return the reading in a table; FileError names source, line and column of what is not allowed or not certain.

    cells: what 0, 1 and blanks are, None = told from the cells. near, far: the plugs, which say what the contacts are
    called; None = told from the header, else from the counts (9: the eight conductors and S). What lies between two
    near or two far contacts is not in such a file: not measured.
    """
    found: dict[Reading, str] = {}
    refused: list[TableRefusedError] = []
    for grid in grids(text_of(content, source)):
        if isinstance(grid, TableRefusedError):
            refused.append(grid)
            continue
        for top, left in ((0, 0), (0, 1), (1, 0), (1, 1)):
            try:
                fitting = _read(_way(grid, top, left), cells, near, far)
                found.setdefault(fitting.reading, fitting.read_as)
            except TableRefusedError as no:
                refused.append(no)
    if len(found) == 1:
        return FromTable(*found.popitem())
    if found:
        ways = " or as ".join(
            f"{len(reading.near_contacts)} near contacts and {len(reading.far_contacts)} far ones ({read_as})"
            for reading, read_as in found.items()
        )
        raise FileError(
            f"{source}: line 1, column 1: the table can be read as {ways}",
            "Name the contacts in a first row and column, or leave away what is blank at the edges.",
        )
    furthest = max(refused, key=lambda no: no.stage)
    raise FileError(f"{source}: {furthest.place}: {furthest.what}", furthest.hint)


def _way(grid: Grid, top: int, left: int) -> _Way:
    """Return a grid seen with so many header rows and columns; TableRefusedError where they are no headers."""
    rows = grid.rows
    block = tuple(row[left:] for row in rows[top:])
    if not block or not block[0]:
        raise TableRefusedError(0, rows[0][0].place, "no values", BLOCK)
    columns = _header(rows[0][left:]) if top else None
    side = _header([row[0] for row in rows[top:]]) if left else None
    if grid.named and columns is None:
        raise TableRefusedError(0, rows[0][0].place, "what stands above is followed by no row of contact names", BLOCK)
    for edge in (block[0], block[-1], *(tuple(row[i] for row in block) for i in (0, -1))):
        if counts(edge) or counts(edge[1:]):
            raise TableRefusedError(
                2,
                edge[0].place,
                f"{', '.join(cell.text for cell in edge)[:60]}: numbering that names no contacts",
                "Name the contacts as on the plug, in order from 1; take other numbering away.",
            )
    return _Way(grid, block, side, columns, rows[0][0].text if top and left else "")


def _header(cells: Sequence[TableCell]) -> Header:
    found = header(cells)
    if found is None:
        odd = next((cell for cell in cells if not CONTACT_WORD.fullmatch(cell.text)), cells[0])
        raise TableRefusedError(
            0, odd.place, f"'{odd.text[:40]}' is no contact", "Name the contacts as on the plug: 1, 2, 3 ... and S."
        )
    return found


def _read(way: _Way, cells: CellMeaning | None, near: Connector | None, far: Connector | None) -> FromTable:
    """Return what one way to see the table gives; TableRefusedError where it does not go, or is not certain."""
    rows_near = _rows_near(way)
    plugs = (near, far) if rows_near else (far, near)
    count, across = len(way.values), len(way.values[0])
    row_names = names_of(way.rows, way.columns, count, plugs[0], "rows", way.values[-1][0].place)
    column_names = names_of(way.columns, way.rows, across, plugs[1], "columns", way.values[0][-1].place)
    told = way.rows is not None and way.columns is not None
    names = one_pair(row_names, column_names, told, way.values[-1][-1].place)
    ohms, how = values([cell for row in way.values for cell in row], cells, _factor(way))
    table = [ohms[i * across : (i + 1) * across] for i in range(count)]
    _check_notes(way, how)
    if "joined" in ohms and (found := contradicting_cells(table)):
        (i, j), exchanged = found
        raise TableRefusedError(
            4,
            way.values[i][j].place,
            f"'{way.values[i][j].text[:40]}' contradicts other cells: what is joined to one contact is joined to all "
            "that this one is joined to",
            "Exchange joined and open if they were meant the other way round."
            if exchanged
            else "Measure this cell again; one slip is enough for it.",
        )
    ends = "near rows, far columns" if rows_near else "far rows, near columns"
    return FromTable(_reading(names, table, rows_near), f"{ends}, {how}")


def _reading(names: tuple[ContactNames, ContactNames], table: Sequence[Sequence[Ohm]], rows_near: bool) -> Reading:
    ordered = tuple(_in_order(side) for side in names)
    near, far = ordered if rows_near else ordered[::-1]
    seen: dict[tuple[Contact, Contact], Ohm] = {}
    for row_name, row in zip(names[0], table, strict=True):
        for column_name, value in zip(names[1], row, strict=True):
            a, b = (row_name, column_name) if rows_near else (column_name, row_name)
            seen[near_contact(a), far_contact(b)] = value
    places = (*map(near_contact, near), *map(far_contact, far))
    return Reading(
        taken_utc=None,
        tester=None,
        calibration=None,
        far="tester",
        near_contacts=near,
        far_contacts=far,
        resistance_ohm=square(places, seen, None),
        origin="table",
    )


def _in_order(names: ContactNames) -> ContactNames:
    return tuple(sorted(names, key=lambda name: (name == "S", int(name) if name.isdigit() else 0)))


def _rows_near(way: _Way) -> bool:
    """Return whether the rows are near contacts, by what names, corner and a title over the columns say."""
    rows, columns = set(), set()
    if way.rows:
        rows.add(way.rows.end)
    if way.columns:
        columns.add(way.columns.end)
    corner = corner_ends(way.corner)
    titles = {end_alone(note) for note in way.grid.notes} if way.columns else set()
    if not (rows - {""} or columns - {""}):
        rows.add(corner[0])
        columns |= {corner[1], *titles}
    elif any(corner) and (rows_are_near({corner[0]}, {corner[1]}, "") != rows_are_near(rows, columns, "")):
        raise TableRefusedError(
            2, way.grid.rows[0][0].place, f"the corner '{way.corner[:40]}' contradicts the names", BLOCK
        )
    if not (rows | columns) - {""}:
        for note in (*way.grid.notes, way.corner):
            if SIDES.search(note):
                raise TableRefusedError(
                    2,
                    way.grid.rows[0][0].place,
                    f"'{note[:60]}' speaks of ends, the names do not",
                    "Name the contacts near 1, near 2 ... and far 1, far 2 ...",
                )
    return rows_are_near(rows, columns, way.grid.rows[0][0].place)


def _factor(way: _Way) -> float | None:
    """Return the ohms of a number without a unit, as the corner says; None when nothing is said."""
    factor = unit_ohm(way.corner.strip("()[] "))
    return factor if math.isfinite(factor) else None


def _check_notes(way: _Way, how: str) -> None:
    """Refuse a title, corner or comment that says another unit, or another meaning of a cell, than was read."""
    place = way.grid.rows[0][0].place
    cells = {cell.text.lower() for row in way.values for cell in row}
    for note in (*way.grid.notes, way.corner):
        if SCALED.search(note) and _factor(way) is None and how.startswith("ohms"):
            raise TableRefusedError(
                3, place, f"'{note[:60]}' speaks of a unit", "Write the unit into the cells, as in 0.4 ohm or 2 kohm."
            )
        for said in LEGEND.finditer(note):
            meaning = "joined" if said["meaning"].lower() in ("joined", "connected", "closed", "contact") else "open"
            if not _agrees(said["cell"].lower(), meaning, cells, how.lower()):
                raise TableRefusedError(
                    3,
                    place,
                    f"'{said[0][:60]}' is said, and the cells read as: {how}",
                    "Write joined cells as 1 and open ones as 0, or ohms and open.",
                )


def _agrees(word: str, meaning: str, cells: Collection[str], how: str) -> bool:
    """Whether what a note says of a cell is how cells were read; of a word that no cell has, anything may be said.

    Numbers are held to it all the same: what is said of them ("1M = open", "0 = joined") is said of the others too.
    """
    if meaning == "open" and word in (*OPEN_WORDS, *NOTHING, *BLANK):
        return True
    unused = word not in cells and not (word in BLANK and "" in cells)
    return f"{word} = {meaning}" in how.split(", ") or (unused and not any(letter.isdigit() for letter in word))
