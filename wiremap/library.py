"""The package as a library: from a reading to a diagnosis, and from that to what is in the plugs and what to do."""

from collections.abc import Sequence
from os import PathLike
from pathlib import Path

from msgspec.structs import replace

from wiremap.cable.kinds import Kind
from wiremap.cable.limits import Limits, limits
from wiremap.cable.patterns import Pattern, pattern
from wiremap.cable.terminations import Termination, termination
from wiremap.errors import UsageError
from wiremap.judge.case import Requirements, judge_case, read_by_eye, requirements
from wiremap.judge.remedy.advice import Advice
from wiremap.judge.remedy.knowledge import Statements
from wiremap.judge.run.length.specified import WantedLength
from wiremap.judge.verdict import Diagnosis, Options, judge
from wiremap.reading.reading import Reading
from wiremap.reading.table_cells import CellMeaning
from wiremap.records.captures.files import load
from wiremap.records.own_kinds import kind_called


def read(path: str | PathLike[str], cells: CellMeaning | None = None) -> Reading:
    """Return the reading in a file: a table (CSV), a reading (JSON) or a capture.

    cells: what a table of 0 and 1 alone means, "continuity" (1 = joined) or "ohms"; None = not needed. FileError names
    the file and the place that is wrong.
    """
    return load(Path(path), cells).reading


def plugs_seen(near_colours: str, far_colours: str, expect: Pattern | str, colours: str | None = None) -> Reading:
    """Return the reading of a cable both of whose plugs were looked into, nothing measured; its origin is "eyes".

    near_colours, far_colours: contact=colour, "1=white-orange,2=orange,8=-", "-" = an empty contact; contacts left out
    were not read. expect: the pattern, which says what plugs these are. colours: the cable's, a name or a TOML file;
    None = as is usual. UsageError for a colour that the cable has not, or not so often. For `advise` give the same
    colours as statements.
    """
    wanted = requirements(colours=colours, statements=Statements(near_colours, far_colours))
    return read_by_eye(replace(wanted, expect=pattern(expect) if isinstance(expect, str) else expect))


def diagnose(
    reading: Reading,
    expect: Pattern | str | None = None,
    *,
    screen: str | None = None,
    require: Sequence[str] = (),
    length_m: tuple[float, float] | None = None,
    terminators: int | None = None,
    cable: Kind | str | None = None,
    used: Limits | None = None,
) -> Diagnosis:
    """Return what is to be said of a cable: verdict, findings, what was not checked, pairs, lengths in metres.

    expect: a pattern, its name or its TOML file; None = nothing is expected, and the verdict is never "pass".
    screen: where the screen must be joined ("any", "both", "near", "far", "none"); None = as the pattern says.
    require: checks without which the verdict is "undecided", such as "split-pairs" and "length".
    length_m: (length, tolerance) that the cable must have, metres; None = any. terminators: how many a bus must have,
    None = as many as its pattern allows. cable: the kind of cable, its name or its TOML file, None = not known. used:
    limits, None = those that ship.
    UsageError when a word is not known or the reading's contacts do not fit the pattern; FileError for a bad file.
    """
    wanted = _required(expect, screen, require, length_m)
    named = kind_called(cable) if isinstance(cable, str) else cable
    options = Options(wanted.screen, wanted.require, used or limits(), wanted.length, terminators, named)
    return judge(reading, wanted.expect, options)


def advise(
    reading: Reading,
    expect: Pattern | str | None = None,
    *,
    statements: Statements | None = None,
    near_order: Termination | str | None = None,
    screen: str | None = None,
    require: Sequence[str] = (),
    used: Limits | None = None,
) -> Advice:
    """Return what follows from the diagnosis of a reading, which is made with the same arguments as `diagnose` has.

    `as_built`: the orders of conductors that the plugs may hold, likeliest first, and which end is wrong; None = the
    order is right, or cannot be told. `repair`: what to do, step by step; None = nothing is wrong. `services`: what
    the wire map allows to run; empty where both ends were not seen.
    statements: what somebody knows of the plugs (colours read off, plugs that are right or closed, joints, ports).
    near_order: how the near plug is terminated, a name or a TOML file; None = not known.
    UsageError also when what is stated cannot be what was measured.
    """
    wanted = _required(expect, screen, require, None)
    order = termination(near_order) if isinstance(near_order, str) else near_order
    wanted = replace(wanted, near_order=order, statements=statements or Statements())
    return judge_case(reading, wanted, used=used).advice


def _required(
    expect: Pattern | str | None, screen: str | None, require: Sequence[str], length_m: tuple[float, float] | None
) -> Requirements:
    if isinstance(require, str):
        raise UsageError(f"require is the text {require!r}", "Give a list of checks, even of one.")
    checked = requirements(screen=screen, require=require, length=WantedLength(*length_m) if length_m else None)
    return replace(checked, expect=pattern(expect) if isinstance(expect, str) else expect)
