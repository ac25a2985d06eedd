"""The language of a tester that prints its own text: what a row is, what it means, how the line is set. A TOML file."""

from pathlib import Path
from typing import Literal, cast, get_args

from msgspec import Struct

from wiremap.cable.tables import Table, read_table
from wiremap.contact import ENDS, End
from wiremap.errors import FileError

FORMAT = 1
Form = Literal["cells", "links", "lists", "masks", "json"]
Separator = Literal["comma", "semicolon", "tab", "pipe", "space", "packed"]
Bits = Literal["lowest", "highest", "from-1"]
TalkLayout = Literal["two-ends", "all", "interleaved", "one-plug"]
Screen = Literal["none", "first", "last", "named"]
Parity = Literal["none", "even", "odd"]
FORMS: tuple[Form, ...] = get_args(Form)
CUT_AT: tuple[Separator, ...] = get_args(Separator)
RADIXES = ("2", "10", "16")
BAUDS = (115_200, 9600, 57_600, 38_400, 19_200, 230_400, 250_000, 4800, 2400)
MOST_COUNT = 40


class Language(Struct, frozen=True):
    """What a tester's text means.

    form, separator: what a row looks like. joined: the cell (or bit) that means joined; "ohm", "kohm" when cells are
    resistances. bits: which bit of a mask is contact 1; radix: of its digits. layout: what rows and columns are.
    first_end: the plug whose contacts rows, or first places of links, are. first: the number of the first contact.
    screen: which contact of a plug the screen is. count: contacts of a plug, screen included, None = as many as rows.
    near, far: the tester's own names of contacts in the plug's order, () = numbers. ends: what it calls near and far.
    begin, end: a line before or after each scan, "#" in it any number; "" = none is known. alike: how many scans must
    agree, 0 = two, of links and lists three. baud, parity, send (what asks for a scan), ready (what it prints once it
    hears that), scan_s (the longest from one scan to the next, seconds): the line.
    """

    form: Form = "cells"
    separator: Separator = "space"
    joined: str = "1"
    bits: Bits = "lowest"
    radix: str = "16"
    layout: TalkLayout = "two-ends"
    first_end: End = "near"
    first: int = 1
    screen: Screen = "none"
    count: int | None = None
    near: tuple[str, ...] = ()
    far: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()
    begin: str = ""
    end: str = ""
    alike: int = 0
    baud: int = 115_200
    parity: Parity = "none"
    send: str = ""
    ready: str = ""
    scan_s: float = 5.0

    @property
    def least_alike(self) -> int:
        """Return how many scans in a row must be alike: in links and lists silence means open, so one more."""
        return self.alike or (3 if self.form in ("links", "lists") else 2)


def read_language(path: Path) -> Language:
    """Return the language a TOML file describes; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(FORMAT)
    line, scan, rows, contacts = (
        table.take_table(name, optional=True) for name in ("line", "scan", "rows", "contacts")
    )
    table.finish()
    found = Language(
        form=cast(Form, rows.take_choice("form", FORMS, "cells")),
        separator=cast(Separator, rows.take_choice("separator", CUT_AT, "space")),
        joined=rows.take_text("joined", "1"),
        bits=cast(Bits, rows.take_choice("bits", get_args(Bits), "lowest")),
        radix=rows.take_choice("radix", RADIXES, "16"),
        layout=cast(TalkLayout, contacts.take_choice("layout", get_args(TalkLayout), "two-ends")),
        first_end=cast(End, contacts.take_choice("first_end", ENDS, "near")),
        first=_whole(contacts, "first", 0, 1, 1),
        screen=cast(Screen, contacts.take_choice("screen", get_args(Screen), "none")),
        count=_whole(contacts, "count", 0, MOST_COUNT, 0) or None,
        near=contacts.take_names("near", ()),
        far=contacts.take_names("far", ()),
        ends=contacts.take_names("ends", ()),
        begin=_text(scan, "begin"),
        end=_text(scan, "end"),
        alike=_whole(scan, "alike", 0, 9, 0),
        baud=_whole(line, "baud", 300, 4_000_000, 115_200),
        parity=cast(Parity, line.take_choice("parity", get_args(Parity), "none")),
        send=_text(line, "send"),
        ready=_text(line, "ready"),
        scan_s=line.take_number("scan_s", 0.05, 60, 5.0),
    )
    for part in (line, scan, rows, contacts):
        part.finish()
    if len(found.ends) not in (0, 2) or bool(found.near) != bool(found.far):
        raise FileError(
            f"{path}: near and far, and the two ends, are named together or not at all",
            'Give both lists, and two ends as in ends = ["A", "B"].',
        )
    return found


def _whole(table: Table, key: str, low: int, high: int, default: int) -> int:
    value = table.take_number(key, low, high, default)
    if value != int(value):
        raise table.wrong(key, value, f"a whole number from {low} to {high}")
    return int(value)


def _text(table: Table, key: str) -> str:
    return table.take_text(key, "")


def language_text(language: Language, about: str) -> str:
    """Return the description as a TOML file; about: what stands above it, one line."""
    parts = {
        "line": ("baud", "parity", "send", "ready", "scan_s"),
        "scan": ("begin", "end", "alike"),
        "rows": ("form", "separator", "joined", "bits", "radix"),
        "contacts": ("layout", "first_end", "first", "screen", "count", "near", "far", "ends"),
    }
    plain = Language()
    said = [f"# {about}", f"format = {FORMAT}"]
    always = ("baud", "form", "joined", "layout", "first_end", "first", "screen")
    for part, keys in parts.items():
        said.append(f"\n[{part}]")
        for key in keys:
            value = getattr(language, key)
            if key in always or value != getattr(plain, key):
                said.append(f"{key} = {_toml(value)}")
    return "\n".join(said) + "\n"


def _toml(value: object) -> str:
    if isinstance(value, tuple):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, str):
        escaped = "".join(
            f"\\u{ord(letter):04x}" if letter < " " or letter == "\x7f" else letter
            for letter in value.replace("\\", "\\\\").replace('"', '\\"')
        )
        return f'"{escaped}"'
    return str(value)
