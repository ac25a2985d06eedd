"""The reading in a file, judged; that of a capture as it was judged then, unless told otherwise."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from wiremap.judge.case import Case, JobNames, Requirements, judge_case, requirements
from wiremap.judge.remedy.knowledge import Statements, statements_from_builtins
from wiremap.judge.run.length.specified import wanted_from_builtins
from wiremap.reading.table_cells import CellMeaning
from wiremap.records.captures.files import load

if TYPE_CHECKING:
    from wiremap.records.captures.capture import Record


def judge_file(
    path: Path, wanted: Requirements | None = None, cells: CellMeaning | None = None, names: JobNames | None = None
) -> Case:
    """Judge the reading in a file; FileError when there is none. cells: what 0 and 1 in a table mean.

    A capture brings its own pattern, rules, limits and names, each in place of what `wanted` and `names` do not say.
    """
    wanted, names = wanted or Requirements(), names or JobNames()
    near = wanted.expect.near_connector if wanted.expect else None
    loaded = load(path, cells, near, wanted.expect.far_connector if wanted.expect else None)
    record = loaded.record
    if record is None:
        return replace(judge_case(loaded.reading, wanted, names), read_as=loaded.read_as)
    kept = _requirements_of(record)
    wanted = Requirements(
        wanted.expect or kept.expect,
        wanted.screen or kept.screen,
        wanted.require or kept.require,
        wanted.near_order or kept.near_order,
        wanted.colours or kept.colours,
        wanted.statements if wanted.statements != Statements() else kept.statements,
        wanted.length or kept.length,
        kept.terminators if wanted.terminators is None else wanted.terminators,
    )
    job = record.job
    names = JobNames(names.near or job.near, names.far or job.far, names.cable or job.cable)
    return judge_case(loaded.reading, wanted, names, record.own_limits())


def _requirements_of(record: "Record") -> Requirements:
    rules = requirements(
        None,
        record.rules.get("screen"),
        record.rules.get("require", ()),
        statements=statements_from_builtins(record.rules.get("told", {})),
        length=wanted_from_builtins(record.rules.get("length")),
        terminators=record.rules.get("terminators"),
    )
    return replace(rules, expect=record.expect, near_order=record.near_order, colours=record.colours)
