"""TOML tables read strictly: each key is asked for, checked, and what is left over is an error.

Every error names the file, the key and what is allowed, so that a technician can mend a pattern or colour
file of their own without reading this code.
"""

import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from wiremap.errors import FileError
from wiremap.files import read_at_most
from wiremap.ranges import check_text, shown

LARGEST_FILE_BYTES, LONGEST_TABLE_TEXT = 1_000_000, 1000  # a reason is a few lines


class Table:
    """One table of a TOML file; `take_*` removes a key, `finish` refuses what nobody asked for."""

    def __init__(self, source: str, values: dict[str, Any], prefix: str = "") -> None:
        self.source = source
        self._values = dict(values)
        self._prefix = prefix
        self._asked: list[str] = []

    def wrong(self, key: str, found: object, allowed: str) -> FileError:
        """Build the error for a value that is not allowed at `key`."""
        return FileError(
            f"{self.source}: key '{self._prefix}{key}' is {shown(found)}",
            f"Allowed there: {allowed}.",
        )

    def has(self, key: str) -> bool:
        """Whether the key is there (and has not been taken yet)."""
        return key in self._values

    def names(self) -> tuple[str, ...]:
        """Return the keys not taken yet, in file order."""
        return tuple(self._values)

    def _take(self, key: str, allowed: str) -> Any:
        self._asked.append(key)
        if key not in self._values:
            raise FileError(
                f"{self.source}: key '{self._prefix}{key}' is missing", f"Add it; allowed there: {allowed}."
            )
        return self._values.pop(key)

    def take_text(self, key: str, default: str | None = None) -> str:
        """Take a non-empty text; `default` is what a missing key means (None: it must be there)."""
        if default is not None and key not in self._values:
            self._asked.append(key)
            return default
        value = self._take(key, "a text in quotes")
        if not isinstance(value, str) or not value:
            raise self.wrong(key, value, "a text in quotes that is not empty")
        self._check_texts(key, [value])
        return value

    def take_choice(self, key: str, choices: Iterable[str], default: str | None = None) -> str:
        """Take one of a few words."""
        allowed = tuple(choices)
        value = self.take_text(key, default)
        if value not in allowed:
            raise self.wrong(key, value, "one of " + ", ".join(allowed))
        return value

    def take_number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """Take a finite number from low to high, both included."""
        if default is not None and key not in self._values:
            self._asked.append(key)
            return default
        allowed = f"a number from {low:g} to {high:g}"
        value = self._take(key, allowed)
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise self.wrong(key, value, allowed)
        return float(value)

    def take_format(self, newest: int) -> int:
        """Take the format number; a newer one than this program knows is refused."""
        value = self._take("format", f"a whole number from 1 to {newest}")
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= newest:
            raise self.wrong("format", value, f"a whole number from 1 to {newest}")
        return value

    def take_names(self, key: str, default: tuple[str, ...] | None = None) -> tuple[str, ...]:
        """Take a list of non-empty texts."""
        if default is not None and key not in self._values:
            self._asked.append(key)
            return default
        allowed = "a list of texts in quotes"
        value = self._take(key, allowed)
        if not isinstance(value, list) or not all(isinstance(item, str) and item for item in value):
            raise self.wrong(key, value, allowed)
        self._check_texts(key, value)
        return tuple(value)

    def take_name_lists(
        self, key: str, default: tuple[tuple[str, ...], ...] | None = None
    ) -> tuple[tuple[str, ...], ...]:
        """Take a list of lists of non-empty texts."""
        if default is not None and key not in self._values:
            self._asked.append(key)
            return default
        allowed = "a list of lists of texts in quotes"
        value = self._take(key, allowed)
        if not isinstance(value, list) or not all(
            isinstance(row, list) and all(isinstance(item, str) and item for item in row) for row in value
        ):
            raise self.wrong(key, value, allowed)
        self._check_texts(key, [item for row in value for item in row])
        return tuple(tuple(row) for row in value)

    def _check_texts(self, key: str, texts: Iterable[str]) -> None:
        for text in texts:
            check_text(f"{self.source}: key '{self._prefix}{key}'", text, LONGEST_TABLE_TEXT)

    def take_whole_numbers(self, key: str, low: int, high: int) -> tuple[int, ...]:
        """Take a list of whole numbers from low to high, both included."""
        allowed = f"a list of whole numbers from {low} to {high}"
        value = self._take(key, allowed)
        if not isinstance(value, list) or not all(
            isinstance(item, int) and not isinstance(item, bool) and low <= item <= high for item in value
        ):
            raise self.wrong(key, value, allowed)
        return tuple(value)

    def take_matrix(self, key: str) -> tuple[tuple[float, ...], ...]:
        """Take a square matrix of numbers, row by row."""
        allowed = "a square list of lists of numbers"
        value = self._take(key, allowed)
        if not isinstance(value, list) or not all(
            isinstance(row, list)
            and len(row) == len(value)
            and all(isinstance(item, int | float) and not isinstance(item, bool) for item in row)
            for row in value
        ):
            raise self.wrong(key, value, allowed)
        return tuple(tuple(float(item) for item in row) for row in value)

    def take_table(self, key: str, optional: bool = False) -> "Table":
        """Take a sub-table; an optional one that is missing is empty."""
        if optional and key not in self._values:
            self._asked.append(key)
            return Table(self.source, {}, f"{self._prefix}{key}.")
        value = self._take(key, "a table")
        if not isinstance(value, dict):
            raise self.wrong(key, value, "a table")
        return Table(self.source, value, f"{self._prefix}{key}.")

    def take_tables(self, key: str) -> "tuple[Table, ...]":
        """Take a list of tables; a missing one is empty."""
        self._asked.append(key)
        value = self._values.pop(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise self.wrong(key, value, "a list of tables")
        return tuple(
            Table(self.source, item, f"{self._prefix}{key}[{number}].") for number, item in enumerate(value, 1)
        )

    def finish(self) -> None:
        """Refuse keys that nobody asked for."""
        for key in self._values:
            raise FileError(
                f"{self.source}: key '{self._prefix}{key}' is not known",
                "Allowed there: " + ", ".join(self._asked) + ".",
            )


def read_table(path: Path) -> Table:
    """Read a TOML file; FileError with file, line and column when it is none."""
    content = read_at_most(path, LARGEST_FILE_BYTES, "This is no table of wiremap's.")
    try:
        return Table(str(path), tomllib.loads(content.decode("utf-8")))
    except (ValueError, RecursionError) as error:
        raise FileError(f"{path}: is not TOML ({error})", "Mend the file at the place named.") from error
