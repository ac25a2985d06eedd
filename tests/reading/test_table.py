"""The CSV form of a reading: what is accepted, what it means, and what is refused with file, line and column."""

import contextlib
import csv
import io
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.reading.dialects import changed_tables, every_dialect, pandas_export, zero_header
from wiremap.cable.connectors import connector
from wiremap.errors import FileError
from wiremap.reading.reading import Ohm
from wiremap.reading.table import from_table
from wiremap.reading.table_cells import CellMeaning
from wiremap.reading.table_text import LARGEST_TABLE_BYTES

EIGHT = tuple("12345678")
NINE = (*EIGHT, "S")
quiet = settings(deadline=None, derandomize=True, database=None)


def table(rows: int, columns: int, same: str = "0.4", other: str = "") -> list[list[str]]:
    """Return cells of a straight cable."""
    return [[same if i == j else other for j in range(columns)] for i in range(rows)]


def text(rows: list[list[str]]) -> bytes:
    """Return the cells as a CSV file written by the standard library."""
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def refused(content: bytes, cells: CellMeaning | None = None) -> FileError:
    """Return the error of a file that is refused."""
    with pytest.raises(FileError) as caught:
        from_table(content, "cable.csv", cells)
    assert caught.value.what.startswith("cable.csv: ")
    assert caught.value.hint
    return caught.value


def test_only_zeros_and_ones_are_continuity() -> None:
    """A file of 0 and 1 alone says joined and open, and knows no ohms."""
    reading = from_table(text(table(8, 8, "1", "0")), "cable.csv").reading
    assert reading.near_contacts == reading.far_contacts == EIGHT
    assert reading.resistance_ohm[0][8:] == ("joined", *["open"] * 7)


def test_anything_else_is_ohms() -> None:
    """A number is ohms, 0 is joined with no ohms, and inf and open are open, in any case of letters."""
    rows = table(8, 8, "0", "open")
    rows[0][1:5] = ["inf", "OPEN", " 12.5 ", "1e3"]
    reading = from_table(text(rows), "cable.csv").reading
    assert reading.resistance_ohm[0][8:] == (0.0, "open", "open", 12.5, 1000.0, "open", "open", "open")


def test_what_a_file_cannot_show_is_not_measured() -> None:
    """Between two near contacts, or two far ones, nothing was measured; that is not the same as open."""
    reading = from_table(text(table(8, 8)), "cable.csv").reading
    assert reading.resistance_ohm[0][1] is None
    assert reading.resistance_ohm[8][9] is None
    assert reading.resistance_ohm[0][9] == "open"


@pytest.mark.parametrize("cells", ["continuity", "ohms"])
def test_zeros_ones_and_blanks_need_a_word(cells: CellMeaning) -> None:
    """A file of 0, 1 and blanks, or of 0.0 and 1.0, is refused until --cells says which it is."""
    for same, other in (("1", ""), ("0", ""), ("1.0", "0.0"), ("", "")):
        rows = table(8, 8, same, other)
        assert "--cells" in refused(text(rows)).hint
    reading = from_table(text(table(8, 8, "1", "")), "cable.csv", cells).reading
    assert reading.resistance_ohm[0][8:10] == (("joined" if cells == "continuity" else 1.0), "open")


def test_told_continuity_refuses_ohms() -> None:
    """With --cells continuity a cell that is neither 0 nor 1 is refused with its line and column."""
    rows = table(8, 8, "1", "0")
    rows[2][4] = "0.4"
    assert "line 3, column 5" in refused(text(rows), "continuity").what


@pytest.mark.parametrize(("near", "far"), [(8, 8), (9, 9), (4, 8), (4, 4), (8, 4)])
def test_plugs_of_every_size(near: int, far: int) -> None:
    """4, 8 and 9 contacts are read without a word, nine of them as eight and the screen."""
    reading = from_table(text(table(near, far, other="open")), "cable.csv").reading
    assert (len(reading.near_contacts), len(reading.far_contacts)) == (near, far)
    assert ("S" in reading.near_contacts) == (near == 9)


@pytest.mark.parametrize(
    ("rows", "columns"), [(7, 8), (8, 7), (10, 8), (3, 3), (1, 8), (8, 2), (16, 16), (18, 18), (8, 9), (9, 8), (4, 9)]
)
def test_other_sizes_are_refused(rows: int, columns: int) -> None:
    """A row or column too many or too few, or a screen at one end alone, is refused with place and hint."""
    error = refused(text(table(rows, columns, other="open")))
    assert re.search(r"line \d+, column \d+", error.what)
    assert "8" in error.hint


def test_plugs_say_what_contacts_are_called() -> None:
    """Five contacts are 1 to 4 and S of an M12 D plug, and 1 to 5 of an M12 A one; other counts do not fit them."""
    content = text(table(5, 5))
    assert "--expect" in refused(content).hint
    assert from_table(content, "x", None, connector("m12d"), connector("m12d")).reading.near_contacts == (*"1234", "S")
    assert from_table(content, "x", None, connector("m12a"), connector("m12a")).reading.near_contacts == tuple("12345")
    with pytest.raises(FileError, match="8 rows") as caught:
        from_table(text(table(8, 8)), "x", None, connector("m12d"), connector("m12d"))
    assert "M12 D-coded" in caught.value.hint


@pytest.mark.parametrize("size", [4, 5, 8, 9])
@pytest.mark.parametrize("corner", ["", "near\\far", "x"])
@pytest.mark.parametrize("sides", ["row", "column", "both"])
def test_headers_are_told_from_values(size: int, corner: str, sides: str) -> None:
    """A row or column of contact names in order is a header, though names are numbers too."""
    names = list(NINE if size == 9 else EIGHT[:size])
    rows = table(size, size)
    if sides in ("column", "both"):
        rows = [[name, *row] for name, row in zip(names, rows, strict=True)]
    if sides in ("row", "both"):
        rows.insert(0, ([corner] if sides == "both" else []) + names)
    reading = from_table(text(rows), "cable.csv").reading
    assert reading.near_contacts == reading.far_contacts == tuple(names)
    assert reading.resistance_ohm[0][size] == 0.4
    assert reading.resistance_ohm[0][size + 1] == "open"


def test_a_header_out_of_order_is_refused() -> None:
    """Bare numbers in another order than the plug's are refused; names with a letter say where each value belongs."""
    rows = [list("12364578"), *table(8, 8)]
    assert "line 1, column 1" in refused(text(rows)).what
    rows = [[name, *row] for name, row in zip("21345678", table(8, 8), strict=True)]
    assert "order" in refused(text(rows)).hint
    rows = [[f"P{name}", *row] for name, row in zip("21345678", table(8, 8), strict=True)]
    assert from_table(text(rows), "cable.csv").reading.resistance_ohm[0][8:10] == ("open", 0.4)


def test_a_first_row_that_counts_is_never_values() -> None:
    """Eight rows whose first reads 1 to 8 could be names with a row lost, or ohms: refused."""
    rows = table(8, 8)
    rows[0] = list("12345678")
    assert "numbering" in refused(text(rows)).what


@pytest.mark.parametrize(
    "bad", ["-1", "nan", "NaN", "a", "1 amp", "0,4", "1_0", "0x1", "1e999", "08", "2 mohm", "٣", "+1", "9.91e37"]
)
def test_what_is_no_resistance_is_refused_with_its_place(bad: str) -> None:
    """Letters, signs, units, NaN and numbers beyond a float's range are refused with line and column."""
    rows = table(8, 8)
    rows[4][6] = bad
    error = refused(text(rows))
    assert "line 5, column 7" in error.what
    assert bad in error.what


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n\n",
        b"\xff\xfe1\x00,\x00",
        bytes(range(256)),
        b"1,2\x00",
        b"a;b;c\n",
        b'"1,2\n',
        b'1,"2"3\n',
        b"\x89PNG\r\n\x1a\n",
        b"1\t2\n",
        b"," * LARGEST_TABLE_BYTES + b",",
        text(table(8, 8)) + b"\n" + text(table(8, 8)),
        text(table(8, 8)) + b"1,2\n",
    ],
)
def test_what_is_no_table_is_refused(content: bytes) -> None:
    """Empty files, junk, other separators, cut-off quotes and ragged rows are refused, never a crash."""
    refused(content)


def test_spreadsheets_endings_and_marks_are_read() -> None:
    """A byte order mark, either line ending, quotes and blank lines at the end make no difference."""
    plain = text(table(8, 8))
    first = from_table(plain, "x")
    assert from_table(b"\xef\xbb\xbf" + plain, "x") == first
    assert from_table(plain.replace(b"\r\n", b"\n") + b"\n\n", "x") == first
    assert from_table(plain.replace(b"\r\n", b"\r"), "x") == first
    assert from_table(plain.replace(b"0.4", b'"0.4"'), "x") == first


cell = st.one_of(
    st.just("open"), st.floats(min_value=0, max_value=1e9, allow_nan=False).map(lambda value: round(value, 3))
)


@quiet
@given(st.lists(st.lists(cell, min_size=8, max_size=8), min_size=8, max_size=8), st.booleans(), st.booleans())
def test_values_come_back(values: list[list[Ohm]], header: bool, side: bool) -> None:
    """Every table of ohms and opens is read back as it was, with and without headers."""
    rows = [[str(value) for value in row] for row in values]
    if all(cell in ("0.0", "1.0", "") for row in rows for cell in row):
        return
    if side:
        rows = [[name, *row] for name, row in zip(EIGHT, rows, strict=True)]
    if header:
        rows.insert(0, [*([""] if side else []), *EIGHT])
    reading = from_table(text(rows), "cable.csv").reading
    assert [list(row[8:]) for row in reading.resistance_ohm[:8]] == values


@quiet
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(content: bytes) -> None:
    """Whatever the bytes are, there is a reading or an error with a hint."""
    with contextlib.suppress(FileError):
        assert from_table(content, "cable.csv").reading.near_contacts


def test_every_dialect_is_read_right_or_refused() -> None:
    """Cables with random faults in 61 dialects: never wrong, the usual ones always read."""
    assert every_dialect(seed=1, count=183).startswith("183 tables")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (pandas_export(), "numbering"),
        (zero_header(), "numbering"),
        (text([[str(i), *row] for i, row in enumerate(table(8, 8, "1", "0"))]), "numbering"),
        (b"\n".join(b",".join(b"0,4" if i == j else b"open" for j in range(8)) for i in range(8)), "columns"),
        (text([*table(8, 8, "1", "0")[:7], ["0"] * 7 + ["2"]]), "line 8, column 8"),
        (text(table(8, 8, "0", "1")), "contradicts"),
        (text(table(8, 8, "0.4", "999")), "stands for open"),
        (text([["1,250" if i == j else "open" for j in range(4)] for i in range(4)]), "thousands"),
        (text([["0.4", "", "OL", "OL"], *table(4, 4, "0.4", "OL")[1:]]), "line 1, column 3"),
        (b"# 0 = joined\n" + text(table(8, 8, "1", "0")), "0 = joined"),
        (b"far ends in rows\n1,2,3,4\n" + text(table(4, 4, "1", "0")), "speaks of ends"),
    ],
)
def test_what_can_mean_two_things_is_refused(content: bytes, says: str) -> None:
    """Numbering from 0, slips, swapped meanings, thousands and two words for open are refused and say what is wrong."""
    assert says in refused(content).what


OHMS, JOINED = table(4, 4, "0.4", "OL"), table(4, 4, "1", "0")


@pytest.mark.parametrize(
    ("note", "rows"),
    [
        ("# OL = open", OHMS),
        ("# ol = open", OHMS),
        ("#OL=open, all in ohms", OHMS),
        ("% OL: open", OHMS),
        ("// OL means open loop", OHMS),
        ("; ohms", OHMS),
        ("; OL = open", OHMS),
        ("! OL = not connected", OHMS),
        ("# inf = open", table(4, 4, "0.4", "open")),
        ("# INF = open", table(4, 4, "0.4", "inf")),
        ("# 0.L = open", table(4, 4, "0.4", "0.L")),
        ("# blank = open", table(4, 4, "0.4", "")),
        ("# x = joined, blank = open", table(4, 4, "x", "")),
        ("# NC = not connected", OHMS),
        ("# 1 = joined, 0 = open", JOINED),
    ],
)
def test_a_comment_that_says_how_the_cells_are_read_is_harmless(note: str, rows: list[list[str]]) -> None:
    """What a comment says of the word for open, in any case, is what it is read as; above the table and below it."""
    plain = from_table(text(rows), "cable.csv")
    for content in (note.encode() + b"\n" + text(rows), text(rows) + b"\n" + note.encode() + b"\n"):
        assert from_table(content, "cable.csv") == plain
    if rows == JOINED:
        told = from_table(note.encode() + b"\n" + text(rows), "cable.csv", "continuity")
        assert told.reading == plain.reading


@pytest.mark.parametrize(
    ("note", "rows"),
    [
        ("# OL = joined", OHMS),
        ("; OL = joined", OHMS),
        ("# blank = joined", table(4, 4, "x", "")),
        ("# 1 = open, 0 = joined", JOINED),
        ("# 1M = open", OHMS),
        ("# 0 = joined", OHMS),
        ("; kohm", OHMS),
    ],
)
def test_a_comment_that_says_otherwise_is_not_passed_over(note: str, rows: list[list[str]]) -> None:
    """What is said of the cells and is not how they would be read: refused, whatever marks the comment."""
    assert note.strip("#; ").split(",")[0] in refused(note.encode() + b"\n" + text(rows)).what


def test_named_ends_say_which_way_the_table_lies() -> None:
    """Rows of far contacts are read as far; two sides named alike are refused, an end of a strange name too."""
    rows = [
        ["", *(f"N{i}" for i in range(1, 5))],
        *([f"F{i + 1}", *row] for i, row in enumerate(table(4, 4, "1", "0"))),
    ]
    rows[1][1:] = ["0", "0", "1", "0"]
    rows[3][1:] = ["0", "0", "0", "0"]
    read = from_table(text(rows), "cable.csv")
    assert read.read_as == "far rows, near columns, 1 = joined, 0 = open"
    assert read.reading.resistance_ohm[2][4] == "joined"
    assert "rows are called n" in refused(text([[cell.replace("F", "N") for cell in row] for row in rows])).what
    assert "tester" in refused(text([[c.replace("F", "B").replace("N", "A") for c in row] for row in rows])).what


def test_changed_tables_are_read_or_refused() -> None:
    """Whatever is cut from, doubled or put into a table, there is a reading or an error with a hint."""
    assert changed_tables(seed=1, count=300).startswith("300 ")
