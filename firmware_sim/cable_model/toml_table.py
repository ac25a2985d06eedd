"""One table of a TOML file, read strictly: what nobody asked for is an error that says what is allowed."""

import math
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

LARGEST_FILE_BYTES = 1_000_000


class DescriptionError(ValueError):
    """A cable's description says something that is not allowed; the text names file, key and what is allowed."""


class Table:
    """A table under reading: each `take_*` takes one key away, `finish` refuses the rest."""

    def __init__(self, source: str, values: dict[str, Any], place: str = "") -> None:
        self.source = source
        self._values = dict(values)
        self._place = place
        self._asked: list[str] = []

    def wrong(self, key: str, found: object, allowed: str) -> DescriptionError:
        """Build the error for what was found at `key`."""
        return DescriptionError(f"{self.source}: {self._place}{key} is {found!r}; allowed there: {allowed}")

    def names(self) -> tuple[str, ...]:
        """Return the keys not taken yet, in file order."""
        return tuple(self._values)

    def has(self, key: str) -> bool:
        """Whether `key` is there and not yet taken."""
        return key in self._values

    def _take(self, key: str, allowed: str, default: Any) -> Any:
        self._asked.append(key)
        if key in self._values:
            return self._values.pop(key)
        if default is None:
            raise DescriptionError(f"{self.source}: {self._place}{key} is missing; allowed there: {allowed}")
        return default

    def take_text(self, key: str, default: str | None = None) -> str:
        """Take a text; `default` None means that it must be there."""
        allowed = "a text in quotes"
        value = self._take(key, allowed, default)
        if not isinstance(value, str):
            raise self.wrong(key, value, allowed)
        return value

    def take_choice(self, key: str, choices: Iterable[str], default: str | None = None) -> str:
        """Take one of a few words."""
        words = tuple(choices)
        value = self.take_text(key, default)
        if value not in words:
            raise self.wrong(key, value, "one of " + ", ".join(words))
        return value

    def take_number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """Take a finite number from low to high, both included."""
        allowed = f"a number from {low:g} to {high:g}"
        value = self._take(key, allowed, default)
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise self.wrong(key, value, allowed)
        return float(value)

    def take_optional_number(self, key: str, low: float, high: float) -> float | None:
        """Take a number that may be missing (None)."""
        value = self.take_number(key, low, high, math.nan) if self.has(key) else None
        self._asked.append(key)
        return value

    def take_whole(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """Take a whole number from low to high, both included."""
        allowed = f"a whole number from {low} to {high}"
        value = self._take(key, allowed, default)
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise self.wrong(key, value, allowed)
        return value

    def take_flag(self, key: str, default: bool | None = None) -> bool:
        """Take true or false."""
        value = self._take(key, "true or false", default)
        if not isinstance(value, bool):
            raise self.wrong(key, value, "true or false")
        return value

    def take_words(self, key: str, default: tuple[str, ...] | None = None) -> tuple[str, ...]:
        """Take a list of texts."""
        allowed = "a list of texts in quotes"
        value = self._take(key, allowed, default)
        if not isinstance(value, list | tuple) or not all(isinstance(item, str) for item in value):
            raise self.wrong(key, value, allowed)
        return tuple(value)

    def take_text_or_words(self, key: str, default: str | None = None) -> str | tuple[str, ...]:
        """Take one text or a list of them."""
        value = self._take(key, "a name, or a list of texts in quotes", default)
        if isinstance(value, str):
            return value
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self.wrong(key, value, "a name, or a list of texts in quotes")
        return tuple(value)

    def take_numbers(self, key: str) -> tuple[float, ...]:
        """Take a list of numbers."""
        allowed = "a list of numbers"
        value = self._take(key, allowed, None)
        if not isinstance(value, list) or not all(isinstance(item, int | float) for item in value):
            raise self.wrong(key, value, allowed)
        return tuple(float(item) for item in value)

    def take_matrix(self, key: str) -> tuple[tuple[float, ...], ...]:
        """Take a list of lists of numbers."""
        allowed = "a list of lists of numbers"
        value = self._take(key, allowed, None)
        if not isinstance(value, list) or not all(
            isinstance(row, list) and all(isinstance(item, int | float) for item in row) for row in value
        ):
            raise self.wrong(key, value, allowed)
        return tuple(tuple(float(item) for item in row) for row in value)

    def take_tables(self, key: str) -> "tuple[Table, ...]":
        """Take the tables [[key]]; none when it is missing."""
        self._asked.append(key)
        value = self._values.pop(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise self.wrong(key, value, f"tables, each begun by [[{key}]]")
        return tuple(Table(self.source, item, f"{self._place}{key}[{number}].") for number, item in enumerate(value, 1))

    def take_table(self, key: str) -> "Table":
        """Take the table [key]; an empty one when it is missing."""
        self._asked.append(key)
        value = self._values.pop(key, {})
        if not isinstance(value, dict):
            raise self.wrong(key, value, f"a table, begun by [{key}]")
        return Table(self.source, value, f"{self._place}{key}.")

    def finish(self) -> None:
        """Refuse keys that nobody asked for."""
        for key in self._values:
            allowed = ", ".join(dict.fromkeys(self._asked))
            raise DescriptionError(f"{self.source}: {self._place}{key} is not known; known there: {allowed}")


def read_table(path: Path) -> Table:
    """Read a TOML file; DescriptionError when it cannot be read or is none."""
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        raise DescriptionError(f"{path}: cannot be read ({error.strerror})") from error
    if len(content) > LARGEST_FILE_BYTES:
        raise DescriptionError(f"{path}: is larger than {LARGEST_FILE_BYTES} bytes")
    return parse_table(str(path), content)


def parse_table(source: str, content: bytes) -> Table:
    """Read the bytes of a TOML file; `source` is what errors call it."""
    try:
        return Table(source, tomllib.loads(content.decode("utf-8")))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise DescriptionError(f"{source}: is not TOML ({error})") from error
