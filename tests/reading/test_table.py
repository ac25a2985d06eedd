"""The CSV form of a reading: what is accepted, what it means, and what is refused with file, line and column."""

import contextlib
import csv
import io
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wiremap.cable.connectors import connector
from wiremap.errors import FileError
from wiremap.reading.reading import Ohm
from wiremap.reading.table import LARGEST_CSV_BYTES, Cells, from_csv

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


def refused(content: bytes, cells: Cells | None = None) -> FileError:
    """Return the error of a file that is refused."""
    with pytest.raises(FileError) as caught:
        from_csv(content, "cable.csv", cells)
    assert caught.value.what.startswith("cable.csv: ")
    assert caught.value.hint
    return caught.value


def test_only_zeros_and_ones_are_continuity() -> None:
    """A file of 0 and 1 alone says joined and open, and knows no ohms."""
    reading = from_csv(text(table(8, 8, "1", "0")), "cable.csv")
    assert reading.near_contacts == reading.far_contacts == EIGHT
    assert reading.resistance_ohm[0][8:] == ("joined", *["open"] * 7)


def test_anything_else_is_ohms() -> None:
    """A number is ohms, 0 is joined with no ohms, and inf, open and nothing are open, in any case of letters."""
    rows = table(8, 8, "0", "")
    rows[0][1:5] = ["inf", "OPEN", " 12.5 ", "1e3"]
    reading = from_csv(text(rows), "cable.csv")
    assert reading.resistance_ohm[0][8:] == (0.0, "open", "open", 12.5, 1000.0, "open", "open", "open")


def test_what_a_file_cannot_show_is_not_measured() -> None:
    """Between two near contacts, or two far ones, nothing was measured; that is not the same as open."""
    reading = from_csv(text(table(8, 8)), "cable.csv")
    assert reading.resistance_ohm[0][1] is None
    assert reading.resistance_ohm[8][9] is None
    assert reading.resistance_ohm[0][9] == "open"


@pytest.mark.parametrize("cells", ["continuity", "ohms"])
def test_zeros_ones_and_blanks_need_a_word(cells: Cells) -> None:
    """A file of 0, 1 and blanks, or of 0.0 and 1.0, is refused until --cells says which it is."""
    for same, other in (("1", ""), ("0", ""), ("1.0", "0.0"), ("", "")):
        rows = table(8, 8, same, other)
        assert "--cells" in refused(text(rows)).hint
    reading = from_csv(text(table(8, 8, "1", "")), "cable.csv", cells)
    assert reading.resistance_ohm[0][8:10] == (("joined" if cells == "continuity" else 1.0), "open")


def test_told_continuity_refuses_ohms() -> None:
    """With --cells continuity a cell that is neither 0 nor 1 is refused with its line and column."""
    rows = table(8, 8, "1", "0")
    rows[2][4] = "0.4"
    assert "line 3, column 5" in refused(text(rows), "continuity").what


@pytest.mark.parametrize(("near", "far"), [(8, 8), (9, 9), (8, 9), (9, 8), (4, 8), (4, 4), (8, 4), (4, 9)])
def test_plugs_of_every_size(near: int, far: int) -> None:
    """4, 8 and 9 contacts are read without a word, nine of them as eight and the screen."""
    reading = from_csv(text(table(near, far)), "cable.csv")
    assert (len(reading.near_contacts), len(reading.far_contacts)) == (near, far)
    assert ("S" in reading.near_contacts) == (near == 9)


@pytest.mark.parametrize(("rows", "columns"), [(7, 8), (8, 7), (10, 8), (3, 3), (1, 8), (8, 1), (16, 16), (18, 18)])
def test_other_sizes_are_refused(rows: int, columns: int) -> None:
    """A row or column too many or too few is refused with line and column, and with what is allowed."""
    error = refused(text(table(rows, columns)))
    assert re.search(r"line \d+, column \d+", error.what)
    assert "8" in error.hint


def test_plugs_say_what_contacts_are_called() -> None:
    """Five contacts are 1 to 4 and S of an M12 D plug, and 1 to 5 of an M12 A one; other counts do not fit them."""
    content = text(table(5, 5))
    assert "--expect" in refused(content).hint
    assert from_csv(content, "x", None, connector("m12d"), connector("m12d")).near_contacts == (*"1234", "S")
    assert from_csv(content, "x", None, connector("m12a"), connector("m12a")).near_contacts == tuple("12345")
    with pytest.raises(FileError, match="8 rows") as caught:
        from_csv(text(table(8, 8)), "x", None, connector("m12d"), connector("m12d"))
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
    reading = from_csv(text(rows), "cable.csv")
    assert reading.near_contacts == reading.far_contacts == tuple(names)
    assert reading.resistance_ohm[0][size] == 0.4
    assert reading.resistance_ohm[0][size + 1] == "open"


def test_a_header_out_of_order_is_refused() -> None:
    """Contact names in another order than the plug's are never taken for ohms."""
    rows = [list("12364578"), *table(8, 8)]
    assert "line 1, column 8" in refused(text(rows)).what
    rows = [[name, *row] for name, row in zip("21345678", table(8, 8), strict=True)]
    assert "order" in refused(text(rows)).hint


def test_a_first_row_of_values_is_no_header() -> None:
    """Eight rows whose first reads 1 to 8 ohms are values: without it there would be only seven contacts."""
    rows = table(8, 8)
    rows[0] = list("12345678")
    assert from_csv(text(rows), "cable.csv").resistance_ohm[0][8:] == (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0)


@pytest.mark.parametrize("bad", ["-1", "nan", "NaN", "a", "1 ohm", "0,4", "1_0", "0x1", "1e999", "infinity", "٣", "+1"])
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
        b"," * LARGEST_CSV_BYTES + b",",
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
    first = from_csv(plain, "x")
    assert from_csv(b"\xef\xbb\xbf" + plain, "x") == first
    assert from_csv(plain.replace(b"\r\n", b"\n") + b"\n\n", "x") == first
    assert from_csv(plain.replace(b"\r\n", b"\r"), "x") == first
    assert from_csv(plain.replace(b"0.4", b'"0.4"'), "x") == first


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
    reading = from_csv(text(rows), "cable.csv")
    assert [list(row[8:]) for row in reading.resistance_ohm[:8]] == values


@quiet
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(content: bytes) -> None:
    """Whatever the bytes are, there is a reading or an error with a hint."""
    with contextlib.suppress(FileError):
        assert from_csv(content, "cable.csv").near_contacts
