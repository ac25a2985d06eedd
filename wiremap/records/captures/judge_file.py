"""The reading in a file, judged; that of a capture as it was judged then, unless told otherwise."""

from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from wiremap.cable.connectors import Connector
from wiremap.cable.kinds import kind_from_builtins
from wiremap.cable.patterns import Pattern
from wiremap.errors import UsageError
from wiremap.judge.case import Case, JobNames, Requirements, judge_case, read_by_eye, requirements
from wiremap.judge.remedy.knowledge import statements_from_builtins
from wiremap.judge.run.length.specified import wanted_from_builtins
from wiremap.reading.adapters import in_cable_contacts
from wiremap.reading.table_cells import CellMeaning
from wiremap.records.captures.files import load_content, read_bounded

if TYPE_CHECKING:
    from wiremap.reading.talk.language import Language
    from wiremap.records.captures.capture import Record


Adapters = tuple[Pattern | None, Pattern | None]


def judge_file(
    path: Path, wanted: Requirements | None = None, cells: CellMeaning | None = None, names: JobNames | None = None
) -> Case:
    """Judge the reading in a file; see `judge_content`. FileError when it cannot be read."""
    return judge_content(read_bounded(path), str(path), wanted, cells, names)


def judge_content(
    content: bytes,
    source: str,
    wanted: Requirements | None = None,
    cells: CellMeaning | None = None,
    names: JobNames | None = None,
    adapters: Adapters = (None, None),
    talks: "Language | None" = None,
) -> Case:
    """Judge the reading in a file's bytes; FileError, naming the source, when there is none.

    cells: what 0 and 1 in a table mean. talks: the language of a tester that printed it. adapters: what stood between
    the cable's plugs and the tester whose contacts a table or a reading has. A capture brings its own pattern, rules,
    limits and names, each in place of what `wanted` and `names` do not say, and is in the cable's contacts already:
    UsageError where adapters are named.
    """
    wanted, names = wanted or Requirements(), names or JobNames()
    loaded = load_content(content, source, cells, *_plugs(wanted.expect, adapters), talks)
    record = loaded.record
    if record is None:
        reading = in_cable_contacts(loaded.reading, *adapters)
        return replace(judge_case(reading, wanted, names), read_as=loaded.read_as)
    if any(adapters):
        raise UsageError(
            f"{source}: is a capture, which has the contacts of the cable's own plugs",
            "Leave out --near-adapter and --far-adapter.",
        )
    kept = _requirements_of(record)
    wanted = _over(wanted, kept)
    reading = loaded.reading
    if reading.origin == "eyes" and _colours(wanted) != _colours(kept):
        reading = read_by_eye(wanted)
    job = record.job
    names = JobNames(names.near or job.near, names.far or job.far, names.cable or job.cable)
    return judge_case(reading, wanted, names, record.own_limits())


def _over(wanted: Requirements, kept: Requirements) -> Requirements:
    """Return what is asked for now, with what a capture was made with of all that nothing is said of."""
    return Requirements(
        wanted.expect or kept.expect,
        wanted.screen or kept.screen,
        wanted.require or kept.require,
        wanted.near_order or kept.near_order,
        wanted.colours or kept.colours,
        wanted.statements.over(kept.statements),
        wanted.length or kept.length,
        kept.terminators if wanted.terminators is None else wanted.terminators,
        wanted.kind or kept.kind,
    )


def _colours(wanted: Requirements) -> tuple[object, ...]:
    """Return all that a reading by eye is made of beside its pattern; one that is told otherwise is read anew."""
    return wanted.colours, wanted.statements.near_colours, wanted.statements.far_colours


def _plugs(expect: Pattern | None, adapters: Adapters) -> tuple[Connector | None, Connector | None]:
    """Return the plugs that a table's contacts are of: those at the tester's end of adapters, else the cable's."""
    near, far = adapters
    at_tester = near.far_connector if near else None, far.far_connector if far else None
    own = (expect.near_connector, expect.far_connector) if expect else (None, None)
    return at_tester[0] if near else own[0], at_tester[1] if far else own[1]


def _requirements_of(record: "Record") -> Requirements:
    rules = requirements(
        None,
        record.rules.get("screen"),
        record.rules.get("require", ()),
        statements=statements_from_builtins(record.rules.get("told", {})),
        length=wanted_from_builtins(record.rules.get("length")),
        terminators=record.rules.get("terminators"),
        cable=kind_from_builtins(record.rules.get("kind")),
    )
    return replace(rules, expect=record.expect, near_order=record.near_order, colours=record.colours)
