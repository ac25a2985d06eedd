"""A lot as a file: picture (PNG, PDF, SVG), or a table of lots (CSV)."""

import csv
from collections.abc import Iterable, Sequence
from io import StringIO
from pathlib import Path

from wiremap.records.lots.statistics import LotSummary
from wiremap.records.new_file import write_new_file
from wiremap.report.lot_rows import COLUMNS, LABEL_COLUMNS, label_rows, rows
from wiremap.report.print.lot_picture import lot_picture

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
    """Return a CSV with a header; what is not known is empty."""
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(["" if cell is None else cell for cell in row] for row in found)
    return text.getvalue().encode("utf-8")
