"""What a lot of cables should be: read from a job file once, kept beside the ledger, the same on every bench."""

import json
import re
from dataclasses import dataclass
from pathlib import Path

from wiremap.cable.patterns import MOST_TERMINATORS, SCREEN_RULES
from wiremap.cable.tables import Table, read_table
from wiremap.errors import FileError, UsageError
from wiremap.records.home import home
from wiremap.records.new_file import write_new

FORMAT = 1
PLAN = "lot.toml"
LOT_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,59}")


@dataclass(frozen=True, slots=True)
class LotPlan:
    """Settings of a lot.

    expect: a pattern by name or file, "" = none. screen: "" = the pattern's own rule. require: checks without which
    there is no pass. count: cables in the lot, 0 = no end. length_m, tolerance_m: what was wanted, 0 = nothing.
    prefix, digits, first: of a running label; scanned: labels come from a barcode reader instead.
    reference_every: insertions between tests of the reference cord, 0 = it is never asked for.
    near, far: names of the ends. near_adapter, far_adapter: patterns by name, "" = none. near_order, colours: as of
    `wiremap test`, "" = not known. terminators: how many a bus must have, None = as many as its pattern allows.
    """

    expect: str = ""
    screen: str = ""
    require: tuple[str, ...] = ()
    count: int = 0
    length_m: float = 0.0
    tolerance_m: float = 0.0
    prefix: str = ""
    digits: int = 3
    first: int = 1
    scanned: bool = False
    reference_every: int = 100
    near: str = ""
    far: str = ""
    near_adapter: str = ""
    far_adapter: str = ""
    near_order: str = ""
    colours: str = ""
    terminators: int | None = None


def lots_folder() -> Path:
    """Return where all lots of this bench are."""
    return home() / "lots"


def lot_folder(name: str) -> Path:
    """Return a lot's folder, which may not exist; UsageError for a name that no folder should have."""
    if not LOT_NAME.fullmatch(name) or name.endswith((".", " ")):
        raise UsageError(
            f"'{name}' cannot be the name of a lot",
            "Use up to 60 letters, digits, spaces, dots, - and _, a letter or digit first.",
        )
    return lots_folder() / name


def read_plan(path: Path) -> LotPlan:
    """Read a job file; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(FORMAT)
    plan = LotPlan(
        expect=table.take_text("expect", ""),
        screen=table.take_choice("screen", ("", *SCREEN_RULES), ""),
        require=table.take_names("require", ()),
        count=_whole(table, "count", 0, 1_000_000, 0),
        length_m=table.take_number("length_m", 0, 1000, 0.0),
        tolerance_m=table.take_number("tolerance_m", 0, 1000, 0.0),
        prefix=table.take_text("prefix", ""),
        digits=_whole(table, "digits", 1, 9, 3),
        first=_whole(table, "first", 0, 999_999_999, 1),
        scanned=table.take_choice("labels", ("running", "scanned"), "running") == "scanned",
        reference_every=_whole(table, "reference_every", 0, 100_000, 100),
        near=table.take_text("near", ""),
        far=table.take_text("far", ""),
        near_adapter=table.take_text("near_adapter", ""),
        far_adapter=table.take_text("far_adapter", ""),
        near_order=table.take_text("near_order", ""),
        colours=table.take_text("colours", ""),
        terminators=_whole(table, "terminators", 0, MOST_TERMINATORS, 0) if table.has("terminators") else None,
    )
    table.finish()
    return plan


def planned_cables(folder: Path) -> int | None:
    """Return how many cables a lot is to have, None = its plan gives no number or cannot be read."""
    try:
        return read_plan(folder / PLAN).count or None
    except FileError:
        return None


def _whole(table: Table, key: str, low: int, high: int, default: int) -> int:
    value = table.take_number(key, low, high, default)
    if value != int(value):
        raise table.wrong(key, value, f"a whole number from {low} to {high}")
    return int(value)


def plan_text(plan: LotPlan) -> str:
    """Return a plan as the text of a job file; what is as usual is left out."""
    usual = LotPlan()
    lines = [f"format = {FORMAT}"]
    for key in LotPlan.__dataclass_fields__:
        value = getattr(plan, key)
        if value == getattr(usual, key):
            continue
        if key == "scanned":
            lines.append('labels = "scanned"')
        elif isinstance(value, tuple):
            lines.append(f"{key} = [{', '.join(json.dumps(item, ensure_ascii=False) for item in value)}]")
        else:
            lines.append(f"{key} = {json.dumps(value, ensure_ascii=False)}")
    return "\n".join(lines) + "\n"


def plan_of_lot(folder: Path, wanted: LotPlan | None) -> LotPlan:
    """Return the plan a lot began with; a new lot begins with `wanted`, which is then kept in its folder.

    UsageError when the lot began with other settings than are wanted now: its cables could not be compared.
    """
    path = folder / PLAN
    if path.exists():
        kept = read_plan(path)
        if wanted is not None and wanted != kept:
            differs = [key for key in LotPlan.__dataclass_fields__ if getattr(wanted, key) != getattr(kept, key)]
            raise UsageError(
                f"the lot '{folder.name}' began with other settings ({', '.join(differs)})",
                "Go on without giving them again, or begin a lot of another name.",
            )
        return kept
    plan = wanted or LotPlan()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_new(path, plan_text(plan).encode("utf-8"))
    except OSError as error:
        raise FileError(f"{path}: cannot be written ({error.strerror})", "Check that you may write there.") from error
    return plan
