"""What a lot of cables should be: read from a job file once, kept beside the ledger, the same on every bench."""

import json
import re
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.patterns import MOST_TERMINATORS, SCREEN_RULES
from wiremap.cable.tables import Table, read_table
from wiremap.errors import FileError, UsageError
from wiremap.files import is_there
from wiremap.ranges import check_text
from wiremap.records.home import home
from wiremap.records.new_file import check_folder_to_make, make_folder, write_new_file

FORMAT = 1
PLAN = "lot.toml"
HINT = "Check that you may write there, or set WIREMAP_HOME."
OWN_FILES = ("expect", "near_adapter", "far_adapter", "near_order", "colours", "kind")
LOT_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,59}")


class LotPlan(Struct, frozen=True):
    """Settings of a lot.

    expect: a pattern by name or file, "" = none. screen: "" = the pattern's own rule. require: checks without which
    there is no pass. count: cables in the lot, 0 = no end. length_m, tolerance_m: what was wanted, 0 = nothing.
    prefix, digits, first: of a running label; scanned: labels come from a barcode reader instead.
    reference_every: insertions between tests of the reference cord, 0 = it is never asked for.
    near, far: names of the ends. near_adapter, far_adapter: patterns by name, "" = none. near_order, colours: as of
    `wiremap test`, "" = not known. terminators: how many a bus must have, None = as many as its pattern allows.
    kind: of cable, by name or file, "" = nobody named one.
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
    kind: str = ""

    def __post_init__(self) -> None:
        for key in LotPlan.__struct_fields__:
            if isinstance(value := getattr(self, key), str):
                check_text(f"lot: {key}", value)


def at_home(plan: LotPlan) -> LotPlan:
    """Return a plan whose own files are named in full, so that the lot goes on from any folder."""
    named = {key: getattr(plan, key) for key in OWN_FILES}
    files: dict[str, Any] = {key: str(Path(name).absolute()) for key, name in named.items() if name.endswith(".toml")}
    return replace(plan, **files)


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
        kind=table.take_text("kind", ""),
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
    for key in LotPlan.__struct_fields__:
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


def settled_plan(folder: Path, wanted: LotPlan | None) -> LotPlan:
    """Return the plan a lot began with, that of a new lot is `wanted`; nothing is written.

    UsageError when the lot began with other settings than are wanted now: its cables could not be compared. FileError
    when its plan cannot be read, or nothing can be written where the lot is, or is to be.
    """
    path = folder / PLAN
    check_folder_to_make(folder, HINT)
    if not is_there(path):
        return wanted or LotPlan()
    kept = read_plan(path)
    if wanted is not None and wanted != kept:
        differs = [key for key in LotPlan.__struct_fields__ if getattr(wanted, key) != getattr(kept, key)]
        raise UsageError(
            f"the lot '{folder.name}' began with other settings ({', '.join(differs)})",
            "Go on without giving them again, or begin a lot of another name.",
        )
    return kept


def keep_plan(folder: Path, plan: LotPlan) -> None:
    """Keep the plan of a lot that begins; one that is there is left as it is. FileError when it cannot be written."""
    if not is_there(folder / PLAN):
        make_folder(folder, HINT)
        write_new_file(folder / PLAN, plan_text(plan).encode("utf-8"), HINT)
