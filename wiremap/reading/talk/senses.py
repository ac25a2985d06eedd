"""Every way a text could be read: shapes of rows first, then what such a scan could mean."""

import re
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from wiremap.contact import ENDS
from wiremap.reading.talk.language import CUT_AT, RADIXES, Bits, Form, Language, Screen, TalkLayout
from wiremap.reading.talk.meanings import TalkWires, UnfitError, names_contacts, wires
from wiremap.reading.talk.names import Name, name_of, one_kind
from wiremap.reading.talk.rows import items
from wiremap.reading.talk.scans import AlikeScan, Scan, UnsteadyError, scans_of, steady

LAYOUTS: tuple[TalkLayout, ...] = ("two-ends", "all", "interleaved", "one-plug")
MASK_BITS: tuple[Bits, ...] = ("lowest", "highest", "from-1")
USUAL_CONTACTS = 8


def shapes() -> Iterator[Language]:
    """Yield every shape of a row, as a language whose meaning is not said."""
    forms: tuple[Form, ...] = ("lists", "links", "json")
    yield from (Language(form="cells", separator=separator) for separator in CUT_AT)
    yield from (Language(form="masks", radix=radix) for radix in RADIXES)
    yield from (Language(form=form) for form in forms)


def steady_scans(lines: Sequence[str]) -> tuple[list[tuple[Language, AlikeScan]], list[UnsteadyError]]:
    """Return every shape in which a scan came alike often enough, and why it did not in others that have scans."""
    found: list[tuple[Language, AlikeScan]] = []
    failed: list[UnsteadyError] = []
    for shape in shapes():
        scans = scans_of(items(lines, shape), shape)
        try:
            one = steady(scans, shape.least_alike)
        except UnsteadyError as why:
            if any(scan is not None for scan in scans.found):
                failed.append(why)
            continue
        same = any(
            known.scan == one.scan and other.form == shape.form and shape.form == "cells" for other, known in found
        )
        packed = shape.form == "masks" and any(
            other.separator == "packed" and _bits_of(one.scan) == _bits_of(known.scan) for other, known in found
        )
        if not same and not packed and one.scan.rows:
            found.append((shape, one))
    return found, failed


def _bits_of(scan: Scan) -> list[str]:
    """Return the rows without their labels: masks in binary that are as long as cells are read as those."""
    return ["".join(row.cells) for row in scan.rows]


def meanings(
    shape: Language, seen: AlikeScan, lines: Sequence[str], plain: int
) -> Iterator[tuple[Language, TalkWires]]:
    """Yield every language of this shape in which the scan means something; plain: contacts but for the screen, for
    links, which do not show how many there are."""
    scan = seen.scan
    names = _all_names(scan, shape)
    ended = bool(names) and all(name.end for name in names)
    screens = _screens(scan, shape, names, plain)
    firsts = (0, 1) if any(name.number is not None for name in names) else (1,)
    layouts = _layouts_of(scan, shape) if ended else LAYOUTS
    for layout in layouts:
        for first_end in ENDS[:1] if ended else ENDS:
            for joined, bits in _values(scan, shape, lines):
                for first in firsts:
                    for screen in screens:
                        language = replace(
                            shape,
                            layout=layout,
                            first_end=first_end,
                            joined=joined,
                            bits=bits,
                            first=first,
                            screen=screen,
                            count=plain + (screen != "none") if shape.form == "links" else None,
                            begin=seen.mark,
                        )
                        try:
                            yield language, wires(scan, language)
                        except UnfitError:
                            continue


def _all_names(scan: Scan, shape: Language) -> list[Name]:
    names = [row.label for row in scan.rows if row.label is not None] + list(scan.columns)
    if shape.form in ("links", "lists"):
        cells = (cell for row in scan.rows for cell in (row.cells[:1] if shape.form == "links" else row.cells))
        names += [name for cell in cells if (name := name_of(cell)) is not None]
    elif shape.form == "json":
        names += [name for row in scan.rows for cell in row.cells if (name := name_of(cell)) is not None and name.end]
    return names


def _layouts_of(scan: Scan, shape: Language) -> tuple[TalkLayout, ...]:
    """Return the layouts of a scan whose ends are named: all contacts where rows are of both ends."""
    both = {row.label.end for row in scan.rows if row.label} == {"near", "far"} and shape.form != "links"
    return ("all",) if both else ("two-ends",)


def _screens(scan: Scan, shape: Language, names: Sequence[Name], plain: int) -> tuple[Screen, ...]:
    """Return what the screen can be. A plug of an even number of contacts has none, unless one is named so."""
    if any(name.number is None for name in names):
        return ("named",)
    if shape.form == "links":  # one that is named may be joined to nothing, and so not be in it
        return ("none", "last", "first", "named")
    rows = len(scan.rows)
    odd = rows % 2 or (rows // 2) % 2 or shape.form == "lists"
    return ("none", "last", "first") if odd and plain else ("none",)


def _values(scan: Scan, shape: Language, lines: Sequence[str]) -> Iterator[tuple[str, Bits]]:
    """Yield what the cell that means joined could be, and the order of bits."""
    if shape.form == "masks":
        yield from ((joined, bits) for joined in ("1", "0") for bits in MASK_BITS)
        return
    if names_contacts(scan, shape):
        yield "1", "lowest"
        return
    cells = {cell.lower() for row in scan.rows for cell in row.cells}
    text = "\n".join(lines)
    if re.search(r"k(?:ohm|\u03a9)", text, re.IGNORECASE):
        yield "kohm", "lowest"
    elif re.search(r"ohm|\u03a9", text, re.IGNORECASE):
        yield "ohm", "lowest"
    elif len(cells) <= 2:
        yield from ((cell, "lowest") for cell in sorted(cells))


def ends_named(language: Language, scan: Scan) -> bool:
    """Whether every contact of the scan says its end, rows and what they name alike, and both ends are there."""
    names = _all_names(scan, language)
    rows = [row.label for row in scan.rows]
    if not names or any(row is None or row.end is None for row in rows):
        return False
    across = bool(scan.columns) or language.form in ("links", "lists", "json")
    across = across or (language.form == "masks" and {row.end for row in rows if row} == {"near", "far"})
    return across and all(name.end for name in names) and len({name.end for name in names}) == 2 and one_kind(names)
