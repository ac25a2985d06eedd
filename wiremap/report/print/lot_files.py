"""A lot as a file: picture (PNG, PDF, SVG), or a table of lots (CSV)."""

import csv
from collections.abc import Sequence
from io import StringIO
from pathlib import Path

from wiremap.records.lots.statistics import LotSummary
from wiremap.records.new_file import write_new_file
from wiremap.report.lot_rows import COLUMNS, rows
from wiremap.report.print.lot_picture import lot_picture

KINDS = (".png", ".pdf", ".svg", ".csv")


def lot_file(target: Path, summaries: Sequence[LotSummary], whole: LotSummary) -> None:
    """Write a picture of the whole, or a CSV with one row a lot, as the file's ending says."""
    if target.suffix == ".csv":
        content = lot_table(summaries).encode("utf-8")
    else:
        content = lot_picture(whole, target.suffix.removeprefix("."))
    write_new_file(target, content)


def lot_table(summaries: Sequence[LotSummary]) -> str:
    """Return one row a lot, with a header; what is not known is empty."""
    text = StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(COLUMNS)
    table.writerows(["" if cell is None else cell for cell in row] for row in rows(summaries))
    return text.getvalue()
