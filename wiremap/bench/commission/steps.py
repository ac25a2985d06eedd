"""The steps of a board's commissioning, tables of bench.toml and bare.toml: what to do, what to read, its limits.

A limit says where it comes from (`basis`) and why it is what it is (`reason`).
"""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Literal, cast, get_args

from msgspec import Struct

from wiremap.cable.tables import Table, read_table
from wiremap.records.commissions import Amount, BoardKind, Figure

Source = Literal["circuit", "design", "rating", "memory"]
Power = Literal["off", "on"]
TABLES = {"bench": "bench.toml", "bare": "bare.toml", "bare-clamped": "bare.toml"}
FARTHEST_LIMIT = 1e9


class Sought(Struct, frozen=True):
    """A figure that a step wants: its name, its unit ("" = a count or a ratio), and its limits, None = none."""

    name: str
    unit: str
    low: float | None
    high: float | None

    def found(self, amount: Amount) -> Figure:
        """Return the figure with what was found."""
        return Figure(self.name, self.unit, amount, self.low, self.high)


class BoardStep(Struct, frozen=True):
    """One step. power: "off" = USB unplugged. probe: what the tester measures by itself, "" = typed off a meter.

    source, why: where its limits come from (circuit, design of the measuring, a rating, memory), and why they are so.
    """

    name: str
    title: str
    power: Power
    caution: str
    do: str
    probe: str
    figures: tuple[Sought, ...]
    repair: str
    source: Source
    why: str


@cache
def steps_of(board: BoardKind) -> tuple[BoardStep, ...]:
    """Return the steps of a kind of board, in their order."""
    table = read_table(Path(__file__).with_name(TABLES[board]))
    table.take_format(1)
    found = []
    for one in table.take_tables("step"):
        for_clamped = one.take_choice("clamped", ("yes", "no"), "no") == "yes"
        step = _step(one)
        if not for_clamped or board == "bare-clamped":
            found.append(step)
    table.finish()
    return tuple(found)


def _step(table: Table) -> BoardStep:
    step = BoardStep(
        table.take_text("name"),
        table.take_text("title"),
        cast(Power, table.take_choice("power", get_args(Power))),
        table.take_text("caution"),
        table.take_text("do"),
        table.take_text("probe", "-").removeprefix("-"),
        tuple(_sought(figure) for figure in table.take_tables("figure")),
        table.take_text("repair"),
        cast(Source, table.take_choice("basis", get_args(Source))),
        table.take_text("reason"),
    )
    table.finish()
    return step


def _sought(table: Table) -> Sought:
    unit = table.take_choice("unit", ("ohm", "V", "mV", "nA", "pF", "us", "C", "-"), "-")
    edges = [
        table.take_number(key, -FARTHEST_LIMIT, FARTHEST_LIMIT) if table.has(key) else None for key in ("low", "high")
    ]
    sought = Sought(table.take_text("name"), unit.removeprefix("-"), edges[0], edges[1])
    table.finish()
    return sought


def figures_of(step: BoardStep, amounts: Mapping[str, Amount]) -> tuple[Figure, ...]:
    """Return the figures of a step with what was found of each by its name.

    Where one does not hold the others may be missing: nothing more was measured then. Else KeyError names the missing.
    """
    found = tuple(sought.found(amounts[sought.name]) for sought in step.figures if sought.name in amounts)
    if all(figure.holds for figure in found):
        return tuple(sought.found(amounts[sought.name]) for sought in step.figures)
    return found
