"""Tables of one cable as spreadsheets, meters and hands write them, drawn from cables whose joints are known."""

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from wiremap.cable.patterns import pattern
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import WiremapError
from wiremap.judge.verdict import Options, judge
from wiremap.reading.reading import Ohm, Reading, square
from wiremap.reading.table import from_table

EIGHT = tuple("12345678")
NINE = (*EIGHT, "S")
Joined = list[list[bool]]


def cable(choose: random.Random, size: int) -> Joined:
    """Draw [near][far] joined: a straight cable with exchanged conductors, opens and shorts, or none of them."""
    far = list(range(size))
    for _ in range(choose.choice((0, 0, 1, 2))):
        a, b = choose.sample(range(min(size, 8)), 2)
        far[a], far[b] = far[b], far[a]
    net = {("near", i): i for i in range(size)} | {("far", far[i]): i for i in range(size)}
    for _ in range(choose.choice((0, 0, 1, 2))):
        net["far", far[choose.randrange(size)]] = 100 + choose.randrange(1000)
    for _ in range(choose.choice((0, 0, 0, 1))):
        a, b = (net["near", i] for i in choose.sample(range(size), 2))
        net = {place: a if label == b else label for place, label in net.items()}
    return [[net["near", i] == net["far", j] for j in range(size)] for i in range(size)]


@dataclass(frozen=True, slots=True)
class Dialect:
    """How a table is written. usual: it must be read; else it may be refused, never misread.

    joined: its word, "" = ohms. rows, columns: how contacts are called, "{}" their place, None = not named.
    """

    separator: str = ","
    joined: str = "1"
    open: str = "0"
    rows: str | None = None
    columns: str | None = None
    size: int = 8
    usual: bool = False
    comma: bool = False
    unit: str = ""
    corner: str = ""
    first: int = 1
    screen: str = "S"
    head: str = ""
    tail: str = ""
    row_tail: str = ""
    encoding: str = "utf-8"
    end: str = "\n"
    quoted: bool = False
    turned: bool = False

    def write(self, joined: Joined, choose: random.Random) -> bytes:
        """Return the table as the dialect writes it."""
        cells = [[self._cell(cell, choose) for cell in row] for row in joined]
        if self.turned:
            cells = [list(row) for row in zip(*cells, strict=True)]
        names = [self.screen if i == 8 else str(i + self.first) for i in range(self.size)]
        if self.rows is not None:
            cells = [[self.rows.format(name), *row] for name, row in zip(names, cells, strict=True)]
        if self.columns is not None:
            corner = [self.corner] if self.rows is not None else []
            cells.insert(0, corner + [self.columns.format(name) for name in names])
        mark = '"' if self.quoted else ""
        lines = [self.separator.join(mark + cell + mark for cell in row) + self.row_tail for row in cells]
        text = self.end.join([*self.head.splitlines(), *lines, *self.tail.splitlines(), ""])
        return text.encode(self.encoding)

    def _cell(self, joined: bool, choose: random.Random) -> str:
        if self.joined or not joined:
            return self.joined if joined else self.open
        text = f"{choose.uniform(0.05, 3):.2f}{self.unit}"
        return text.replace(".", ",") if self.comma else text


U = True
DIALECTS = (
    # The ten usual ones: comma, semicolon and tab exports, with names and without, in ohms and continuity.
    Dialect(usual=U),
    Dialect(joined="", open="open", usual=U),
    Dialect(rows="{}", columns="{}", encoding="utf-8-sig", end="\r\n", usual=U),
    Dialect(";", "", "OL", "{}", "{}", comma=True, end="\r\n", encoding="utf-8-sig", usual=U),
    Dialect("\t", "", "OL", "P{}", "P{}", encoding="utf-16", end="\r\n", usual=U),
    Dialect(";", "x", "", "Pin {}", "Pin {}", end="\r\n", usual=U),
    Dialect(",", "TRUE", "FALSE", "near {}", "far {}", quoted=True, usual=U),
    Dialect(",", "", "", "N{}", "F{}", size=9, row_tail=",", usual=U),
    Dialect(";", "", "inf", None, "F{}", size=9, head="sep=;", usual=U),
    Dialect(",", "yes", "no", "F{}", "N{}", turned=True, head="Cable 17\n", usual=U),
    # Other separators and endings.
    Dialect(";"), Dialect("\t"), Dialect("|"), Dialect(" "), Dialect(", "), Dialect(end="\r"), Dialect(end="\r\r\n"),
    Dialect("  ", "", "OL", "near {}", "far {}"), Dialect(" | ", row_tail=" |"), Dialect("\t", encoding="utf-16-le"),
    Dialect(encoding="utf-16-be"), Dialect(tail="\n\n"), Dialect(row_tail=","), Dialect(size=9, row_tail=",,"),
    Dialect(size=9), Dialect(quoted=True, columns="{}"), Dialect(tail=",,,,,,,"), Dialect(";", row_tail=";;"),
    # Words and units.
    Dialect(joined="x", open="."), Dialect(joined="x", open="-"), Dialect(joined="X", open="", rows="{}", columns="{}"),
    Dialect(joined="1", open=""), Dialect(joined="Y", open="N"), Dialect(joined="0", open="1"),
    Dialect(joined="joined", open="open"), Dialect(joined="", open="O.L", unit=" ohm"),
    Dialect(joined="", open="\u221e", unit=" \u03a9"), Dialect(joined="", open="2 M\u03a9", unit="\u2126"),
    Dialect(joined="", open="9999"), Dialect(joined="", open="0"), Dialect(joined="", open="1"),
    Dialect(joined="", open="-1"), Dialect(joined="", open="9.9E37"), Dialect(joined="", open="nan"),
    Dialect(joined="", open="", comma=True), Dialect(joined="", open="open", comma=True),
    Dialect(joined="", open="OL", comma=True, quoted=True), Dialect(";", "", "OL", comma=True, rows="{}"),
    # Names, numbering and remarks.
    Dialect(rows="{}", columns="{}", first=0), Dialect(columns="{}", first=0), Dialect(rows="{}", first=0),
    Dialect(rows="{}"), Dialect(columns="{}"), Dialect(rows="A{}", columns="B{}"), Dialect(rows="B{}", columns="A{}"),
    Dialect(rows="{}", columns="{}", corner="near\\far"),
    Dialect(rows="{}", columns="{}", corner="far\\near", turned=U),
    Dialect(rows="near {}", columns="far {}", size=9, screen="shield"), Dialect(rows="0{}", columns="0{}"),
    Dialect(head="# 1 = joined\n# measured twice"),
    Dialect(joined="", open="OL", rows="{}", columns="{}", corner="Ohm"),
)  # fmt: skip


def drawn(joined: Joined, names: Sequence[str]) -> Reading:
    """Return the reading of a drawn cable."""
    values: dict[tuple[Contact, Contact], Ohm] = {
        (near_contact(a), far_contact(b)): "joined" if cell else "open"
        for a, row in zip(names, joined, strict=True)
        for b, cell in zip(names, row, strict=True)
    }
    places = (*map(near_contact, names), *map(far_contact, names))
    return Reading(None, None, None, "tester", tuple(names), tuple(names), square(places, values, None))


def joints(reading: Reading) -> set[tuple[Contact, Contact]]:
    """Return which near and far contacts are joined, by at most 200 ohm."""
    places, split = reading.contacts, len(reading.near_contacts)
    return {
        (places[i], places[j])
        for i in range(split)
        for j in range(split, len(places))
        if (value := reading.resistance_ohm[i][j]) == "joined" or (isinstance(value, float) and value <= 200)
    }


def _check_refusal(error: WiremapError, usual: bool) -> None:
    assert not usual, error.what
    assert error.what.startswith("cable.csv: ")
    assert "line " in error.what or "is empty" in error.what
    assert error.hint


def every_dialect(seed: int, count: int) -> str:
    """Assert that tables, dialect by dialect, are read as drawn or refused with a place, the usual ones read."""
    assert len(DIALECTS) == 61
    choose = random.Random(seed)
    straight = pattern("straight")
    tally: Counter[str] = Counter()
    for number in range(count):
        dialect = DIALECTS[number % len(DIALECTS)]
        joined = cable(choose, dialect.size)
        content = dialect.write(joined, choose)
        try:
            found = from_table(content, "cable.csv").reading
        except WiremapError as error:
            _check_refusal(error, dialect.usual)
            tally["refused"] += 1
            continue
        true = drawn(joined, NINE if dialect.size == 9 else EIGHT)
        assert joints(found) == joints(true), (found.contacts, content)
        judged, wanted = (judge(one, straight, Options()) for one in (found, true))
        assert [(f.fault, f.near, f.far) for f in judged.findings if f.fault != "high-resistance"] == [
            (f.fault, f.near, f.far) for f in wanted.findings
        ], content
        tally["read"] += 1
    assert tally["read"] > tally["refused"]
    return f"{count} tables of {len(DIALECTS)} dialects: {tally['read']} read, {tally['refused']} refused, 0 wrong"


def changed_tables(seed: int, count: int) -> str:
    """Assert that tables with bytes cut, doubled, put in and exchanged are read or refused, nothing else."""
    choose = random.Random(seed)
    tally: Counter[str] = Counter()
    for number in range(count):
        dialect = DIALECTS[number % len(DIALECTS)]
        content = bytearray(dialect.write(cable(choose, dialect.size), choose))
        for _ in range(choose.randint(1, 6)):
            at = choose.randrange(len(content))
            piece = content[at : at + choose.randint(1, 20)]
            how = choose.randrange(3)
            if how == 0 and len(content) > 30:
                del content[at : at + len(piece)]
            elif how == 1:
                content[at:at] = piece
            else:
                content[at] = choose.choice(b"\0\x1b0123456789,;\t|\"'#=-.xS \n\r\xff")
        try:
            from_table(bytes(content), "cable.csv")
            tally["read"] += 1
        except WiremapError as error:
            _check_refusal(error, usual=False)
            tally["refused"] += 1
    return f"{count} changed tables: {tally['read']} read, {tally['refused']} refused"


def straight(size: int = 8) -> Joined:
    """Return a straight cable."""
    return [[i == j for j in range(size)] for i in range(size)]


def pandas_export() -> bytes:
    """Return a sound straight cable as a data frame writes it: rows and columns counted from 0."""
    return Dialect(rows="{}", columns="{}", first=0).write(straight(), random.Random(1))


def zero_header() -> bytes:
    """Return a sound straight cable below a header that counts from 0."""
    return Dialect(columns="{}", first=0).write(straight(), random.Random(1))
