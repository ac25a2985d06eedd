"""What a builder shops and solders by: the list of parts and the table of wires, as rows; Markdown and CSV of rows."""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from itertools import groupby

from firmware_sim.hardware.part import Board, Kind, Part

Rows = list[tuple[str, ...]]
PARTS_HEAD = ("count", "part", "value", "tolerance", "rating", "package", "ask for", "EUR each*", "EUR*", "references")
WIRING_HEAD = ("net", "pins", "joins")
CSV_CONTROLS = ("=", "+", "-", "@")


def parts_rows(board: Board) -> Rows:
    """Return the list of parts: a row for each kind, a row for each thing bought beside, and the sum."""
    rows: Rows = [PARTS_HEAD]
    kinds = dict.fromkeys(part.kind for part in board.parts)
    for kind in kinds:
        references = [part.reference for part in board.parts if part.kind == kind]
        rows.append((*_bought(kind, len(references)), ranges(references)))
    for extra in board.extras:
        rows.append(
            (str(extra.count), extra.text, "", "", "", "", "", f"{extra.eur:.2f}", f"{extra.count * extra.eur:.2f}", "")
        )
    parts, sum_eur = len(board.parts), price_eur(board)
    rows.append((str(parts), "parts with references", "", "", "", "", "", "", f"{sum_eur:.2f}", ""))
    return rows


def price_eur(board: Board) -> float:
    """Return what a board costs, with what is bought beside: an estimate; no shop was asked."""
    return sum(part.kind.eur for part in board.parts) + sum(extra.count * extra.eur for extra in board.extras)


def _bought(kind: Kind, count: int) -> tuple[str, ...]:
    tolerance = "" if kind.tolerance is None else f"{kind.tolerance * 100:g} %"
    watt = "" if kind.watt is None else f"{kind.watt:g} W"
    volt = "" if kind.volt is None else f"{kind.volt:g} V"
    rating = ", ".join(filter(None, (watt, volt)))
    price = (f"{kind.eur:.2f}", f"{count * kind.eur:.2f}")
    return (str(count), kind.name, kind.value, tolerance, rating, kind.package, kind.ask_for, *price)


def ranges(references: Iterable[str]) -> str:
    """Return references in short: R1-R18, R41."""
    split = [(match[1], int(match[2])) for one in references if (match := re.fullmatch(r"(\D+)(\d+)", one))]
    found = []
    for _, group in groupby(enumerate(sorted(split)), lambda pair: (pair[1][0], pair[1][1] - pair[0])):
        run = [f"{letter}{number}" for _, (letter, number) in group]
        found.append(run[0] if len(run) == 1 else f"{run[0]}-{run[-1]}")
    return ", ".join(found)


def wiring_rows(board: Board) -> Rows:
    """Return the table of wires: each net, how many pins it joins, and which, "R1.2" or "U2.21 GPA0"."""
    rows: Rows = [WIRING_HEAD]
    for net, pins in board.nets().items():
        rows.append((net, str(len(pins)), ", ".join(_pin_text(part, pin.number, pin.name) for part, pin in pins)))
    return rows


def _pin_text(part: Part, number: str, name: str) -> str:
    return f"{part.reference}.{number}" + ("" if name == number else f" {name}")


def free_pins(board: Board) -> list[str]:
    """Return the pins that are soldered to nothing, on purpose."""
    return [
        _pin_text(part, pin.number, pin.name)
        for part in board.parts
        for pin, net in zip(part.kind.pins, part.nets, strict=True)
        if net == "free"
    ]


def markdown(rows: Sequence[Sequence[str]]) -> str:
    """Return rows as a Markdown table, its first row the head, columns as wide as they need."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [
        "| " + " | ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) + " |" for row in rows
    ]
    lines.insert(1, "|" + "|".join("-" * (width + 2) for width in widths) + "|")
    return "\n".join(lines) + "\n"


def comma_separated(rows: Sequence[Sequence[str]]) -> str:
    """Return rows as CSV (RFC 4180); a cell that a spreadsheet would compute gets an apostrophe before it."""
    out = io.StringIO()
    csv.writer(out).writerows([[f"'{cell}" if cell.startswith(CSV_CONTROLS) else cell for cell in row] for row in rows])
    return out.getvalue()
