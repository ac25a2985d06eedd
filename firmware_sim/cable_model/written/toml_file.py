"""A TOML file read strictly into typed values: what is not allowed is an error that says what is.

The shapes are msgspec's: a Struct with `forbid_unknown_fields` for each table, bounds as `Meta`, words as `Literal`.
"""

import re
import tomllib
from pathlib import Path
from typing import Any, TypeVar

import msgspec
from msgspec import inspect

LARGEST_FILE_BYTES = 1_000_000
LONGEST_SHOWN = 100

Shape = TypeVar("Shape")


class DescriptionError(ValueError):
    """A cable's description says something that is not allowed; the text names file, key and what is allowed."""


def wrong(source: str, key: str, found: object, allowed: str) -> DescriptionError:
    """Build the error for what was found at `key`, a key of a table as in fault[1].ohm, counted from 1."""
    return DescriptionError(f"{source}: {key} is {_shown(found)}; allowed there: {allowed}")


def missing(source: str, key: str, allowed: str) -> DescriptionError:
    """Build the error for a key that is not there."""
    return DescriptionError(f"{source}: {key} is missing; allowed there: {allowed}")


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file of a bounded size; DescriptionError when it cannot be read or is none."""
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        raise DescriptionError(f"{path}: cannot be read ({error.strerror})") from error
    return parse_toml(str(path), content)


def parse_toml(source: str, content: bytes) -> dict[str, Any]:
    """Read the bytes of a TOML file; `source` is what errors call it."""
    if len(content) > LARGEST_FILE_BYTES:
        raise DescriptionError(f"{source}: is larger than {LARGEST_FILE_BYTES} bytes")
    try:
        return tomllib.loads(content.decode("utf-8"))
    except (ValueError, RecursionError) as error:  # no TOML, no UTF-8, a number of too many digits; nested too deep
        raise DescriptionError(f"{source}: is not TOML ({error})") from error


def shaped(source: str, values: dict[str, Any], shape: type[Shape], place: str = "") -> Shape:
    """Return a table as a Struct; DescriptionError names what does not fit. place: the table's own key and a dot."""
    try:
        return msgspec.convert(values, shape)
    except msgspec.ValidationError as error:
        raise _explained(source, place, values, shape, str(error)) from None


def _explained(source: str, place: str, values: Any, shape: Any, said: str) -> DescriptionError:
    """Say where in the file a value does not fit, what it is and what is allowed."""
    reason, _, path = said.rpartition(" - at `$")
    kind, found, key = inspect.type_info(shape), values, ""
    for name, index in re.findall(r"\.(\w+)|\[(\d+)\]", path):
        if name and isinstance(kind, inspect.StructType):
            kind, found, place, key = _type_of(kind, name), found[name], place + key, name
        elif index and isinstance(kind, inspect.VarTupleType) and isinstance(kind.item_type, inspect.StructType):
            kind, found, place, key = kind.item_type, found[int(index)], place, f"{key}[{int(index) + 1}]"
        else:
            break
        if isinstance(kind, inspect.StructType):
            place, key = f"{place}{key}.", ""
    named = re.search(r"field `(.*)`", reason or said)
    if named and isinstance(kind, inspect.StructType):
        if "missing" in (reason or said):
            return missing(source, place + named[1], _allowed(_type_of(kind, named[1]), named[1]))
        known = ", ".join(field.name for field in kind.fields)
        return DescriptionError(f"{source}: {place}{named[1]} is not known; known there: {known}")
    key = (place + key).removesuffix(".")
    return wrong(source, key, found, _allowed(kind, re.sub(r"\[\d+\]$", "", key)))


def _type_of(kind: inspect.StructType, name: str) -> inspect.Type:
    return next(field.type for field in kind.fields if field.name == name)


def _allowed(kind: inspect.Type, key: str) -> str:
    """Say in words what a type allows at a key."""
    match kind:
        case inspect.BoolType():
            return "true or false"
        case inspect.IntType() | inspect.FloatType():
            what = "a whole number" if isinstance(kind, inspect.IntType) else "a number"
            return what if kind.ge is None or kind.le is None else f"{what} from {kind.ge:g} to {kind.le:g}"
        case inspect.LiteralType():
            return "one of " + ", ".join(map(str, kind.values))
        case inspect.StructType():
            return f"a table, begun by [{key}]"
        case inspect.VarTupleType(item_type=inspect.StructType()):
            return f"tables, each begun by [[{key}]]"
        case inspect.VarTupleType(item_type=inspect.StrType()):
            return "a list of texts in quotes"
        case inspect.VarTupleType() | inspect.TupleType():
            return "a list of numbers, or of such lists"
        case inspect.UnionType():
            return ", or ".join(_allowed(one, key) for one in kind.types if not isinstance(one, inspect.NoneType))
    return "a text in quotes"


def _shown(found: object) -> str:
    try:
        text = repr(found)
    except (ValueError, RecursionError):
        return "a number of too many digits, or nested too deep"
    return text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "..."
