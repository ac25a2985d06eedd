"""Texts that come from outside and mean harm, and what each kind of output may show of them."""

import csv
import io
import json
import re
import subprocess
import unicodedata
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

# Screens obey, hide or turn round: C0 and C1 controls, an operating system command, a style that hides, directions of
# writing (UAX 9), line and paragraph separators, NUL, tab, carriage return.
OBEYED = "helm\x1b[2J\x1b[H\x1b[8m\x1b]0;t\x07\x9b31m\x85\u202eSSAP\u2066\u200f\u2028\u2029\ufeff\x00\x7f\t\r\nend"
# Printed letters that are obeyed elsewhere: formulas, markup, quotes, links, mathematics; and a pile of marks, wide
# letters, letters written from right to left.
PRINTED = (
    "=HYPERLINK(\"x\")'<img src=x onerror=alert(1)><script>alert(1)</script>&\"javascript:alert(1)$x^2$%s{0}\\"
    + "e" + "\u0301" * 20 + "\u20dd\u0489" * 2 + "\u65e5\u672c \u0639\u0631 \uff1d1"
)  # fmt: skip
LONG = "+" + "W" * 10_000
HALF = "half \ud800 letter"  # in names of files; no JSON that is canonical can hold it
HOSTILE = {"obeyed": OBEYED, "printed": PRINTED, "long": LONG}

MOST_MARKS = 4
FORMULAS = tuple("=+-@\t\r\uff1d\uff0b\uff0d\uff20")
# What a page of ours dresses text in (ECMA-48, SGR), and nothing else.
STYLE = re.compile(r"\x1b\[(?:0|1|1;30;42|1;97;41|1;30;43|48;5;\d{1,3})m")
EMBEDDED = re.compile("[\u202b\u202c]")  # pdftotext puts them round what is written from right to left
LINKS = re.compile(rb"/(URI|JavaScript|JS|Launch|OpenAction|AA|EmbeddedFile|RichMedia|SubmitForm)\b")


def check_text(text: str, styled: bool = False, most_marks: int = MOST_MARKS) -> None:
    """Fail where a text has what a screen would obey, or marks piled on a letter; line feeds may be in it."""
    bare = STYLE.sub("", text) if styled else text
    found = sorted({letter for letter in bare if not letter.isprintable() and letter != "\n"})
    assert not found, found
    marks = 0
    for letter in bare:
        marks = marks + 1 if unicodedata.category(letter) in ("Mn", "Me") else 0
        assert marks <= most_marks, "a pile of marks"


def check_json(text: str) -> list[Any]:
    """Fail where lines of JSON have more than ASCII, or a number that is none; return what they hold."""
    assert text.isascii()
    check_text(text)
    return [json.loads(line, parse_constant=_none) for line in text.splitlines()]


def _none(word: str) -> None:
    raise AssertionError(f"{word} in JSON")


class Structure(HTMLParser):
    """The elements of a page with the names of their attributes, and its text."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, tuple[str, ...]]] = []
        self.texts: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep an element; its attributes' values are text too."""
        self.elements.append((tag, tuple(name for name, _ in attrs)))
        self.texts += [value or "" for _, value in attrs]

    def handle_data(self, data: str) -> None:
        """Keep a text."""
        self.texts.append(data)


ELEMENTS = {
    "html", "head", "meta", "title", "style", "body", "header", "h1", "h2", "p", "strong", "main", "section", "table",
    "caption",
    "tr", "th", "td", "span", "b", "dl", "dt", "dd", "svg", "path", "div", "ul", "li", "button", "i", "template",
}  # fmt: skip


def check_html(page: str) -> Structure:
    """Fail where a page or fragment has an element that ours do not have, a handler, a link, or what a screen obeys."""
    found = Structure(page)
    for tag, attributes in found.elements:
        assert tag in ELEMENTS, tag
        bad = [name for name in attributes if name.startswith("on") or name in ("src", "href", "srcdoc", "action")]
        assert not bad, (tag, bad)
    for text in found.texts:
        check_text(text)
    return found


def check_svg(content: bytes) -> None:
    """Fail where a picture is no XML, has a script, a link out of itself, or what a screen would obey."""
    for element in ElementTree.fromstring(content.decode()).iter():
        name = str(element.tag).rpartition("}")[2].lower()
        assert name not in ("script", "foreignobject", "a", "image", "iframe", "animate", "set"), name
        for key, value in element.attrib.items():
            key_name = key.rpartition("}")[2].lower()
            assert not key_name.startswith("on"), key
            assert key_name != "href" or value.startswith("#"), value
            assert "javascript:" not in value, value
        check_text((element.text or "").replace("\t", " "))


def check_pdf(path: Path) -> None:
    """Fail where a sheet has actions or links, or where its text or title has what a screen would obey."""
    assert not LINKS.search(path.read_bytes()), path
    text = subprocess.run(["pdftotext", "-enc", "UTF-8", path, "-"], check=True, capture_output=True).stdout
    check_text(
        EMBEDDED.sub("", text.decode()).replace("\f", "\n"), most_marks=3 * MOST_MARKS
    )  # which it gives twice or thrice
    said = subprocess.run(["pdfinfo", "-enc", "UTF-8", path], check=True, capture_output=True).stdout
    check_text(said.decode())


def check_csv(content: bytes) -> None:
    """Fail where a cell is a formula, or has what a screen would obey, or a row is longer than the header."""
    header, *rows = csv.reader(io.StringIO(content.decode()))
    for row in rows:
        assert len(row) == len(header)
        for cell in row:
            assert _is_number(cell) or not cell.startswith(FORMULAS), cell
            check_text(cell)
            assert "\n" not in cell


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def check_parquet(path: Path) -> None:
    """Fail where a text of a table has what a screen would obey."""
    import duckdb

    with duckdb.connect() as engine:
        rows = engine.execute(f"SELECT * FROM '{path}'").fetchall()
    for text in texts_in([list(row) for row in rows]):
        check_text(text)


def check_file(path: Path) -> None:
    """Check a file by its kind."""
    match path.suffix:
        case ".html":
            check_html(path.read_text())
        case ".svg":
            check_svg(path.read_bytes())
        case ".pdf":
            check_pdf(path)
        case ".csv":
            check_csv(path.read_bytes())
        case ".parquet":
            check_parquet(path)
        case _:
            assert path.stat().st_size > 0


def texts_in(value: Any) -> Iterator[str]:
    """Give every text within plain values."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, part in value.items():
            yield key
            yield from texts_in(part)
    elif isinstance(value, list | tuple):
        for part in value:
            yield from texts_in(part)


def places_of_texts(plain: Any, trail: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Give where each text stands within plain values, as the keys that lead there."""
    if isinstance(plain, str):
        yield trail
    elif isinstance(plain, dict | list):
        for key, part in plain.items() if isinstance(plain, dict) else enumerate(plain):
            yield from places_of_texts(part, (*trail, key))


def put_at(plain: Any, trail: tuple[Any, ...], value: Any) -> None:
    """Put a value where a text stands."""
    for key in trail[:-1]:
        plain = plain[key]
    plain[trail[-1]] = value
