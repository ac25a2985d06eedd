"""A lot as a file: picture (PNG, PDF, SVG), or a table of lots (CSV)."""

import csv
from collections.abc import Iterable, Sequence
from io import StringIO
from pathlib import Path

from wiremap.errors import spelled_out
from wiremap.records.lots.statistics import LotSummary
from wiremap.records.new_file import write_new_file
from wiremap.report.lot_rows import COLUMNS, LABEL_COLUMNS, label_rows, rows
from wiremap.report.print.lot_picture import lot_picture

# Tab and carriage return (OWASP, CSV Injection) are spelled out; the last four are wide letters (OWASP, too).
FORMULA_BEGINS = tuple("=+-@\uff1d\uff0b\uff0d\uff20")
LOT_FILE_KINDS = (".png", ".pdf", ".svg", ".csv")


def lot_file(target: Path, summaries: Sequence[LotSummary], whole: LotSummary, failed: bool = False) -> None:
    """Write a picture of the whole, or a CSV, as the file's ending says.

    The CSV has one row a lot, or, with `failed`, one row for each label of which a test did not pass.
    """
    if target.suffix == ".csv":
        content = table_bytes(LABEL_COLUMNS, label_rows(summaries)) if failed else table_bytes(COLUMNS, rows(summaries))
    else:
        content = lot_picture(whole, target.suffix.removeprefix("."))
    write_new_file(target, content)


def table_bytes(columns: Sequence[str], found: Iterable[Sequence[object]]) -> bytes:
    """Return a CSV with a header; what is not known is empty, and no text is a formula."""
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([_cell(cell) for cell in row] for row in found)
    return text.getvalue().encode("utf-8")


def _cell(value: object) -> object:
    """Return a value as a cell; a text that a spreadsheet would work out has a ' before it, as typed in by hand."""
    if not isinstance(value, str):
        return "" if value is None else value
    text = spelled_out(value, lines=False)
    return f"'{text}" if text.startswith(FORMULA_BEGINS) else text
