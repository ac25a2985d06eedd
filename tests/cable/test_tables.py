"""TOML tables read strictly: every way a file can be wrong is told with file, place and what is allowed."""

from pathlib import Path

import pytest

from wiremap.cable.tables import LARGEST_FILE_BYTES, Table, read_table
from wiremap.errors import FileError


def test_missing_file(tmp_path: Path) -> None:
    """A file that is not there is named, with what to check."""
    with pytest.raises(FileError, match="none") as caught:
        read_table(tmp_path / "none.toml")
    assert "Check the name" in caught.value.hint


@pytest.mark.parametrize(
    "content",
    [b"a = \n", b"\xff\xfe", b"a = 1\na = 2\n", b"a" * 40 + b"\x00", b"a = " + b"[" * 5000, b"a = nan\n[a]\n"],
)
def test_not_toml(tmp_path: Path, content: bytes) -> None:
    """What is no TOML is refused with the file's name."""
    file = tmp_path / "x.toml"
    file.write_bytes(content)
    with pytest.raises(FileError, match="is not TOML"):
        read_table(file)


def test_too_large_file_is_not_read_to_its_end(tmp_path: Path) -> None:
    """A file larger than any table of ours is refused."""
    file = tmp_path / "x.toml"
    with file.open("wb") as out:
        out.truncate(3_000_000_000)
    with pytest.raises(FileError, match=str(LARGEST_FILE_BYTES)):
        read_table(file)


@pytest.mark.parametrize("value", ["x", True, float("nan"), float("inf"), -1, 11])
def test_numbers_are_bounded(value: object) -> None:
    """A number outside its bounds, a truth value and NaN are refused with the bounds."""
    with pytest.raises(FileError, match="'n'") as caught:
        Table("file", {"n": value}).take_number("n", 0, 10)
    assert "from 0 to 10" in caught.value.hint


@pytest.mark.parametrize("value", [0, 2, True, "1", 1.0])
def test_formats_are_whole_known_numbers(value: object) -> None:
    """A format number that this version does not know is refused."""
    with pytest.raises(FileError, match="'format'"):
        Table("file", {"format": value}).take_format(1)


def test_defaults_stand_for_missing_keys() -> None:
    """A missing key takes its default; one without default is an error that says what to add."""
    table = Table("file", {})
    assert table.take_text("a", "x") == "x"
    assert table.take_number("b", 0, 1, 0.5) == 0.5
    assert table.take_names("c", ("y",)) == ("y",)
    assert table.take_tables("d") == ()
    assert table.take_table("e", optional=True).names() == ()
    with pytest.raises(FileError, match="'f' is missing"):
        table.take_text("f")


@pytest.mark.parametrize("value", [3, [3], [""], ["a", 4]])
def test_lists_hold_texts(value: object) -> None:
    """A list of names holds texts that are not empty."""
    with pytest.raises(FileError, match="'c'"):
        Table("file", {"c": value}).take_names("c")
    with pytest.raises(FileError, match="'c'"):
        Table("file", {"c": [value]}).take_name_lists("c")


def test_sub_tables_carry_their_place() -> None:
    """An error in a table of a list says which one."""
    rows = Table("file", {"row": [{"a": "x"}, {"a": 1}]}).take_tables("row")
    assert rows[0].take_text("a") == "x"
    with pytest.raises(FileError, match=r"row\[2\]\.a"):
        rows[1].take_text("a")
    for value in (3, [3]):
        with pytest.raises(FileError, match="'row'"):
            Table("file", {"row": value}).take_tables("row")
    with pytest.raises(FileError, match="'sub'"):
        Table("file", {"sub": 3}).take_table("sub")


def test_unknown_keys_are_refused() -> None:
    """A key that nobody asks for is refused, with the known ones."""
    table = Table("file", {"a": "x", "typo": 1})
    table.take_text("a")
    with pytest.raises(FileError, match="'typo' is not known") as caught:
        table.finish()
    assert caught.value.hint == "Allowed there: a."
