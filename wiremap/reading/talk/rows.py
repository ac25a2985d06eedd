"""Lines to rows: labelled or bare cells, masks, lists of contacts, links, values of JSON; nothing of what they mean."""

import json
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from wiremap.reading.talk.language import Language
from wiremap.reading.talk.names import LABEL, Name, name_of, one_kind

CUTS = {"comma": r"\s*,\s*", "semicolon": r"\s*;\s*", "tab": r"\t", "pipe": r"\s*\|\s*", "space": r"\s+"}
LABELLED = re.compile(rf"\s*(?P<label>{LABEL})\s*(?:->|=>|[:=|>])(?P<rest>.*)", re.IGNORECASE)
CELL = re.compile(
    r"[01]|[xXoO.#*_TFYN-]|true|false|yes|no|on|off|open|closed|OL|inf|"
    r"(?:\d+(?:\.\d+)?|\.\d+) ?(?:k?(?:ohm|\u03a9|R))?",
    re.IGNORECASE,
)
PACKED = re.compile(r"[01xXoO.#*_TFYN-]{3,40}")
EMPTY_LIST = re.compile(r"(?:none|nothing|open|nc|n/c|-+|\[\]|\(\))?", re.IGNORECASE)
STATES = {"open": False, "no": False, "fail": False, "joined": True, "closed": True, "connected": True, "yes": True}
LINK = re.compile(
    rf"(?P<a>{LABEL})\s*(?:->|=>|<->|--?|=|:|to|\u2192)\s*(?P<b>{LABEL})(?:\s*[:=]?\s*(?P<state>{'|'.join(STATES)}))?",
    re.IGNORECASE,
)
BARE_LINK = re.compile(r"\s*(?P<a>\d{1,2})\s+(?P<b>\d{1,2})\s*")
MASKS = {
    "2": re.compile(r"(?:0b)?(?P<digits>[01]{1,40})", re.IGNORECASE),
    "10": re.compile(r"(?P<digits>\d{1,12})"),
    "16": re.compile(r"(?:0x|\$)?(?P<digits>[0-9a-f]{1,10})h?", re.IGNORECASE),
}


class TalkRow(Struct, frozen=True):
    """One row as it stands: the contact it is of (None = it does not say) and its cells, or the contacts it names."""

    label: Name | None
    cells: tuple[str, ...]


class Heading(Struct, frozen=True):
    """Names of columns above rows."""

    names: tuple[Name, ...]


class Talk(Struct, frozen=True):
    """A line that is no row. text: with "#" for every number, "" = a blank line."""

    text: str


TalkItem = TalkRow | Heading | Talk | tuple[TalkRow, ...]  # several links of one line stand together


def items(lines: Sequence[str], language: Language) -> Iterator[TalkItem]:
    """Yield what each line is in a language; only its form, separator, radix, names and marks matter."""
    if language.form == "json":
        yield from _json_items("\n".join(lines), language)
        return
    parse = {"cells": _cells, "masks": _mask, "lists": _list, "links": _links}[language.form]
    marks = {mark for mark in (language.begin, language.end) if mark}
    for line in lines:
        shape = talk_shape(line)
        found = None if not shape or shape in marks else parse(line, language)
        yield Talk(shape) if found is None else found


def talk_shape(line: str) -> str:
    """Return a line with "#" for every number: how "scan 3" and "scan 4" are one."""
    return re.sub(r"\d+(?:\.\d+)?", "#", " ".join(line.split()))


def _label(line: str, language: Language) -> tuple[Name | None, str]:
    """Return the contact that a line begins with and what follows, None and the line when it begins with none."""
    if language.near:
        first, _, rest = line.strip().partition(":" if ":" in line else " ")
        return name_of(first, language), rest
    if match := LABELLED.fullmatch(line):
        return name_of(match["label"], language), match["rest"].strip(" ")
    words = re.split(r"[\s,;|]", line.strip(), maxsplit=1)
    name = name_of(words[0], language)
    if len(words) == 2 and name is not None and (name.end or name.number is None):
        return name, words[1].strip(" ")
    return None, line.strip(" ")


def _cells(line: str, language: Language) -> TalkRow | Heading | None:
    heading = _heading(line, language)
    if heading is not None:
        return heading
    name, rest = _label(line, language)
    rest = re.sub(r"^\s*[\[({|]\s*|\s*[\])}|,;]\s*$", "", rest) if language.separator != "tab" else rest.rstrip("\t")
    if language.separator == "packed":
        return TalkRow(name, tuple(rest)) if PACKED.fullmatch(rest) else None
    cut = tuple(cell.strip().strip('"') for cell in re.split(CUTS[language.separator], rest))
    if len(cut) < 3 or not all(CELL.fullmatch(cell) for cell in cut):
        return None
    return TalkRow(name, cut)


def _heading(line: str, language: Language) -> Heading | None:
    words = [word for word in re.split(r"[\s,;|\t]+", line) if word and word.lower() not in ("ohm", "ohms", "kohm")]
    names = [name_of(word, language) for word in words]
    found = tuple(name for name in names if name is not None)
    if len(found) < 3 or len(found) != len(words) or not one_kind(list(found)):
        return None
    numbers = [name.number for name in found if name.number is not None]
    counting = all(b == a + 1 for a, b in pairwise(numbers) if b != 0 and b != 1)
    distinct = len(set(found)) == len(found)
    return Heading(found) if distinct and counting and len(numbers) >= 3 else None


def _mask(line: str, language: Language) -> TalkRow | None:
    name, rest = _label(line, language)
    match = MASKS[language.radix].fullmatch(rest.strip())
    return None if match is None or name is None else TalkRow(name, (match["digits"],))


def _list(line: str, language: Language) -> TalkRow | None:
    name, rest = _label(line, language)
    if name is None or rest == line.strip():
        return None
    rest = rest.strip().strip("[](){}").strip()
    if EMPTY_LIST.fullmatch(rest):
        return TalkRow(name, ())
    words = tuple(word for word in re.split(r"[\s,;+&]+", rest) if word)
    if any(name_of(word, language) is None for word in words) or len(set(words)) != len(words):
        return None
    return TalkRow(name, words)


def _links(line: str, language: Language) -> tuple[TalkRow, ...] | None:
    found = []
    parts = re.split(r"\s*[,;]\s*", line.strip().strip("[](){}"))
    for part in parts if len(parts) > 1 else [line.strip()]:
        if language.near:
            own = re.fullmatch(r"(\S+?)\s*(?:->|=>|<->|-|=|:|to|\s)\s*(\S+)", part)
            a, b, state = (own[1], own[2], None) if own else ("", "", None)
        else:
            match = LINK.fullmatch(part) or BARE_LINK.fullmatch(part)
            a, b, state = (match["a"], match["b"], match.groupdict().get("state")) if match else ("", "", None)
        name = name_of(a, language)
        if name is None or name_of(b, language) is None:
            return None
        found.append(TalkRow(name, (b, "" if state is None or STATES[state.lower()] else "open")))
    return tuple(found)


def _json_items(text: str, language: Language) -> Iterator[TalkItem]:
    decoder = json.JSONDecoder()
    at = 0
    while True:
        begins = [place for mark in "{[" if (place := text.find(mark, at)) >= 0]
        if not begins:
            return
        start = min(begins)
        yield from (Talk(talk_shape(line)) for line in text[at:start].split("\n") if line.strip())
        try:
            value, at = decoder.raw_decode(text, start)
        except (ValueError, RecursionError):
            end = text.find("\n", start)
            at = len(text) if end < 0 else end
            yield Talk("?")
            continue
        yield from _json_rows(value, language)


def _json_rows(value: object, language: Language) -> Iterator[TalkItem]:
    """Yield the rows of one value: a table, an object by contact, or one row as an object."""
    if isinstance(value, list) and value and all(isinstance(row, list) for row in value):
        yield Talk("[")
        yield from (TalkRow(None, tuple(map(_plain, row))) for row in value)
        yield Talk("]")
    elif isinstance(value, dict) and isinstance(value.get("to"), list):
        others = [item for key, item in value.items() if key != "to"]
        name = name_of(_plain(others[0]), language) if len(others) == 1 else None
        yield Talk("?") if name is None else TalkRow(name, tuple(map(_plain, value["to"])))
    elif isinstance(value, dict) and value and all(isinstance(row, list) for row in value.values()):
        rows = [(name_of(key, language), tuple(map(_plain, row))) for key, row in value.items()]
        yield Talk("{")
        yield from (Talk("?") if name is None else TalkRow(name, cells) for name, cells in rows)
        yield Talk("}")
    else:
        yield Talk("?")


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return "1" if value else "0"
    return str(value)
