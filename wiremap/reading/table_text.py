"""A table's bytes to rows of cells: encodings, separators, comments, titles; nothing of what a cell means."""

import codecs
import csv
import re
import unicodedata
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from wiremap.errors import FileError

LARGEST_TABLE_BYTES = 100_000
MOST_TABLE_ROWS = 100
SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars", " ": "spaces", "  ": "wide spaces"}
BLOCK = "Give one row for each near contact, one column for each far contact."
MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
# A semicolon begins a comment where words follow and no other cell does.
COMMENT = re.compile(r"\s*(?:#\s*[^\s#,;|]|//|%|!|;(?=.*[A-Za-z]{2})[^;,\t|]*$)")
RULE = re.compile(r"[\s+|=:-]*\+[\s+|=:-]*")
BAR_RULE = re.compile(r":?-{2,}:?")


class TableRefusedError(Exception):
    """One way to read a table that does not go: how far it came, where it ended, and what is allowed there.

    stage: 0 rows and cells, 1 their number, 2 contact names, 3 values; the way that came furthest is told.
    """

    def __init__(self, stage: int, place: str, what: str, hint: str) -> None:
        super().__init__(what)
        self.stage, self.place, self.what, self.hint = stage, place, what, hint


class TableCell(Struct, frozen=True):
    """One cell: its text without spaces around it, its line and its column in the file, both from 1."""

    text: str
    line: int
    column: int

    @property
    def place(self) -> str:
        """Return where the cell stands: "line 3, column 5"."""
        return f"line {self.line}, column {self.column}"


TableRows = tuple[tuple[TableCell, ...], ...]


class Grid(Struct, frozen=True):
    """Rows of cells of one length, as one separator cuts them.

    separator: what stands between cells, in words. notes: titles and comments. named: whether the first row can only
    be contact names, since a title or a blank line stands by it.
    """

    separator: str
    rows: TableRows
    notes: tuple[str, ...]
    named: bool = False


def text_of(content: bytes, source: str) -> str:
    """Return the text of a table's bytes; FileError when it is too large, empty, or no text.

    UTF-8 and UTF-16 with or without a byte order mark, else Latin-1. All spaces are given as " ".
    """
    if len(content) > LARGEST_TABLE_BYTES:
        raise FileError(f"{source}: is larger than {LARGEST_TABLE_BYTES} bytes", "A table of one cable is far smaller.")
    text = decoded(content)
    text = text.replace("\r\r\n", "\n").replace("\r\n", "\n").replace("\r", "\n")
    for number, line in enumerate(text.split("\n"), 1):
        for letter in line:
            if letter != "\t" and unicodedata.category(letter) in ("Cc", "Cf", "Co", "Cs"):
                raise FileError(
                    f"{source}: line {number} holds the control character {ord(letter):#06x}",
                    "Save the table as text: CSV in UTF-8.",
                )
    text = "".join(" " if unicodedata.category(letter) == "Zs" else letter for letter in text)
    if not text.strip():
        raise FileError(f"{source}: is empty", BLOCK)
    return text


def decoded(content: bytes) -> str:
    """Return bytes as text: UTF-8 and UTF-16 with or without a byte order mark, else Latin-1."""
    for mark, encoding in MARKS:
        if content.startswith(mark):
            return content[len(mark) :].decode(encoding, errors="replace")
    zeros = content[0::2].count(0), content[1::2].count(0)
    if max(zeros) > len(content) // 4:
        return content.decode("utf-16-be" if zeros[0] > zeros[1] else "utf-16-le", errors="replace")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def grids(text: str) -> Iterator[Grid | TableRefusedError]:
    """Give every way to cut the text into rows of one length, and a refusal for each separator that does not go."""
    notes: list[str] = []
    lines: list[tuple[int, str]] = []
    told = None
    for number, line in enumerate(text.split("\n"), 1):
        if match := re.fullmatch(r'"?sep=(.)"?\s*', line, re.IGNORECASE) if not lines else None:
            told = match[1]
        elif COMMENT.match(line):
            notes.append(line.strip().lstrip("#/%!; "))
        elif (line.strip(" ") or lines) and not RULE.fullmatch(line):
            lines.append((number, line))
    while lines and not lines[-1][1].strip(" "):
        lines.pop()
    if len(lines) > MOST_TABLE_ROWS:
        yield TableRefusedError(0, f"line {lines[MOST_TABLE_ROWS][0]}", f"more than {MOST_TABLE_ROWS} lines", BLOCK)
        return
    joined = "\n".join(line for _, line in lines)
    found = [told] if told in SEPARATORS else [mark for mark in SEPARATORS if mark in joined]
    if any(mark in found for mark in "\t;|"):
        found = [mark for mark in found if mark.strip(" ")]
    for mark in found:
        try:
            rows, gaps = _cut(lines, mark)
            yield from _shaped(Grid(SEPARATORS[mark], rows, tuple(notes)), gaps)
        except TableRefusedError as refused:
            yield refused
    if not found:
        yield TableRefusedError(
            0, f"line {lines[0][0] if lines else 1}, column 1", "there is one cell in a line", BLOCK
        )


def _cut(lines: list[tuple[int, str]], mark: str) -> tuple[TableRows, list[int]]:
    """Return the rows, and behind how many of them each blank line stands."""
    rows: list[tuple[TableCell, ...]] = []
    gaps: list[int] = []
    if mark.isspace() and mark != "\t":
        cut = [(line, re.split(r" +" if mark == " " else r" {2,}", text.strip())) for line, text in lines]
    else:
        reader = csv.reader((text + "\n" for _, text in lines), delimiter=mark, strict=True, skipinitialspace=True)
        cut = []
        try:
            for cells in reader:
                cut.append((lines[reader.line_num - 1][0], cells))
        except csv.Error as error:
            place = f"line {lines[min(reader.line_num, len(lines)) - 1][0]}"
            raise TableRefusedError(
                0, place, f"no table ({error})", "Close every quotation mark; cells need none."
            ) from error
    for line, texts in cut:
        if texts in ([], [""]):
            gaps.append(len(rows))
        else:
            rows.append(tuple(TableCell(text.strip(), line, column) for column, text in enumerate(texts, 1)))
    if not rows:
        raise TableRefusedError(0, "line 1", "no cells", BLOCK)
    return tuple(rows), gaps


def _shaped(grid: Grid, gaps: list[int]) -> Iterator[Grid]:
    """Give the grid as it stands, and without a title, a ruled line, and what is blank at its edges."""
    rows = grid.rows
    if len(rows) > 1 and grid.separator == "bars" and all(BAR_RULE.fullmatch(cell.text) for cell in _inner(rows[1])):
        without = (rows[0], *rows[2:])
        yield from _edges(replace(grid, rows=_even(without), named=True))
    first = [cell.text for cell in rows[0] if cell.text]
    if len(rows) > 2 and len(first) == 1 and set(gaps) <= {1}:
        titled = replace(grid, rows=_even(rows[1:]), notes=(*grid.notes, first[0]), named=True)
        yield from _edges(titled)
    if gaps and gaps != [1]:
        raise TableRefusedError(0, rows[min(gaps[-1], len(rows) - 1)][0].place, "a blank line stands before it", BLOCK)
    yield from _edges(replace(grid, rows=_even(rows), named=bool(gaps)))


def _inner(row: tuple[TableCell, ...]) -> tuple[TableCell, ...]:
    inner = row[1:] if row and not row[0].text else row
    inner = inner[:-1] if inner and not inner[-1].text else inner
    return inner or row


def _even(rows: TableRows) -> TableRows:
    """Return rows of one length. Only a first row that is one short is given a corner; nothing else is ever filled."""
    width = len(rows[1]) if len(rows) > 1 else len(rows[0])
    if len(rows[0]) == width - 1 and all(cell.text for cell in rows[0]):
        rows = ((TableCell("", rows[0][0].line, 0), *rows[0]), *rows[1:])
    for row in rows:
        if len(row) != len(rows[0]):
            column = min(len(row), len(rows[0])) + 1
            raise TableRefusedError(
                0,
                f"line {row[0].line}, column {column}",
                f"the row has {len(row)} cells, the first row has {len(rows[0])}",
                "Give every row the same number of cells, and nothing else in the file; write decimals with a point.",
            )
    return rows


def _edges(grid: Grid) -> Iterator[Grid]:
    """Give the grid as it stands, and without each set of blank rows and columns at its edges."""
    yield grid
    seen = {grid.rows}
    for sides in range(1, 16):
        rows = grid.rows
        for side in range(4):
            if sides >> side & 1:
                rows = _trim(rows, side)
        if rows and rows not in seen:
            seen.add(rows)
            yield replace(grid, rows=rows)


def _trim(rows: TableRows, side: int) -> TableRows:
    """Return rows without the blank ones on one side: 0 above, 1 below, 2 on the left, 3 on the right."""
    if side >= 2:
        turned = tuple(zip(*rows, strict=True))
        return tuple(zip(*_trim(turned, side - 2), strict=True))
    if side == 1:
        return _trim(rows[::-1], 0)[::-1]
    while rows and not any(cell.text for cell in rows[0]):
        rows = rows[1:]
    return rows
