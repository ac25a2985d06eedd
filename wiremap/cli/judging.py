"""From what was asked on the command line to a cable that is judged; shared by the commands that judge."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from wiremap.cable.colours import ColourSet, colour_set
from wiremap.cable.limits import Limits, limits, limits_from_builtins
from wiremap.cable.patterns import SCREEN_RULES, Pattern, ScreenRule, pattern
from wiremap.cable.terminations import Termination, termination, usual_for
from wiremap.cli.telling import Telling, telling_from, told
from wiremap.errors import UsageError
from wiremap.judge.remedy.advice import advise, seen_through
from wiremap.judge.run.length.specified import WantedLength, wanted_from_builtins
from wiremap.judge.verdict import Options, judge, to_builtins
from wiremap.reading.reading import FARS, Far, Reading
from wiremap.reading.table import CELLS, Cells
from wiremap.records.captures.files import load
from wiremap.report.case import Case
from wiremap.report.wire_rows import nets_of
from wiremap.report.words.faults import CHECKS, Ends


@dataclass(frozen=True, slots=True)
class Asked:
    """What the user wants of a cable: pattern, screen, required checks, and how to speak of it."""

    expect: Pattern | None = None
    screen: ScreenRule | None = None
    require: tuple[str, ...] = ()
    near_order: Termination | None = None
    colours: ColourSet | None = None
    telling: Telling = field(default_factory=Telling)
    length: WantedLength | None = None


def asked(
    expect: str | None,
    screen: str | None,
    require: Sequence[str] | None,
    near_order: str | None = None,
    colours: str | None = None,
    telling: Telling | None = None,
) -> Asked:
    """Return what was asked, checked before anything is measured; UsageError or FileError when it cannot be."""
    if screen is not None and screen not in SCREEN_RULES:
        raise UsageError(f"--screen {screen}: not known", "Give one of " + ", ".join(SCREEN_RULES) + ".")
    checks = tuple(dict.fromkeys(word for words in require or () for word in words.split(",") if word))
    for check in checks:
        if check not in CHECKS:
            raise UsageError(f"--require {check}: no such check", "Give some of " + ", ".join(CHECKS) + ".")
    return Asked(
        pattern(expect) if expect else None,
        screen,
        checks,
        termination(near_order) if near_order else None,
        colour_set(colours) if colours else None,
        telling or Telling(),
    )


@dataclass(frozen=True, slots=True)
class Called:
    """What a job calls the cable and its ends, "" = nothing was said."""

    near: str = ""
    far: str = ""
    cable: str = ""


def judged(reading: Reading, wanted: Asked, called: Called, used: Limits | None = None) -> Case:
    """Judge a reading and return it with all that is needed to speak of it."""
    used = used or limits()
    diagnosis = judge(reading, wanted.expect, Options(wanted.screen, wanted.require, used, wanted.length))
    likest = wanted.expect or (pattern(diagnosis.nearest.pattern) if diagnosis.nearest else None)
    ends = Ends(called.near or "near", called.far or "far")
    order, colours = wanted.near_order, wanted.colours
    if likest is not None:
        ends = replace(ends, near_screen=likest.near_screen, far_screen=likest.far_screen)
        order = order or usual_for(likest, colours.names if colours else None)
    if likest is not None and order is not None:
        if order.connector != likest.near_connector:
            plug = likest.near_connector.title
            raise UsageError(
                f"--near-order {order.name} is for {order.connector.title}, the near plug is {plug}",
                "Name how the near plug of this cable is terminated.",
            )
        colours = colours or colour_set(order.colours)
    shown, advice = reading, None
    near_reads: tuple[tuple[str, str], ...] = ()
    if likest is not None:
        shown = seen_through(reading, diagnosis, likest)
        known = told(wanted.telling, likest, wanted.near_order, colours)
        near_reads = known.near_reads if wanted.near_order is None else ()
        advice = advise(shown, likest, diagnosis, used, known, colours)
    return Case(
        reading,
        nets_of(shown, likest, used),
        diagnosis,
        likest,
        ends,
        called.cable,
        order,
        wanted.near_order is not None,
        colours,
        wanted.require,
        shown,
        advice,
        wanted.telling.places,
        bool(wanted.telling.port_near or wanted.telling.port_far),
        near_reads,
    )


def content(case: Case, command: str, source: str) -> dict[str, Any]:
    """Return the JSON object of one cable, without its format number."""
    said = said_of(case)
    return {"command": command, "source": source, **said, "next_step": case.next_step()}


def said_of(case: Case) -> dict[str, Any]:
    """Return all that is said of a cable, as JSON and captures have it."""
    return to_builtins(case.diagnosis) | (case.advice.to_builtins() if case.advice else {})


def far_word(word: str) -> Far:
    """Return what the far plug is in; UsageError for a word that is none."""
    if word not in FARS:
        raise UsageError(f"--far {word}: not known", "Give one of " + ", ".join(FARS) + ".")
    return word


def rules(wanted: Asked) -> dict[str, Any]:
    """Return what else the judge was told, as a capture keeps it."""
    told_then = wanted.telling.to_builtins()
    said: dict[str, Any] = {"screen": wanted.screen, "require": list(wanted.require)}
    if wanted.length is not None:
        said["length"] = wanted.length.to_builtins()
    return said | ({"told": told_then} if told_then else {})


def cells_word(word: str | None) -> Cells | None:
    """Return what 0 and 1 mean in a CSV file; UsageError for a word that is none."""
    if word is not None and word not in CELLS:
        raise UsageError(f"--cells {word}: not known", "Give one of " + ", ".join(CELLS) + ".")
    return word


def judge_file(path: Path, wanted: Asked, cells: Cells | None, called: Called) -> Case:
    """Judge the reading in a file. A capture brings its own pattern, rules, limits and names, each unless told."""
    near = wanted.expect.near_connector if wanted.expect else None
    loaded = load(path, cells, near, wanted.expect.far_connector if wanted.expect else None)
    if loaded.capture is None:
        return judged(loaded.reading, wanted, called)
    kept = loaded.capture.record
    rule, checks = kept.rules.get("screen"), kept.rules.get("require", ())
    then = asked(None, rule, checks)
    wanted = Asked(
        wanted.expect or kept.expect,
        wanted.screen or then.screen,
        wanted.require or then.require,
        wanted.near_order or kept.near_order,
        wanted.colours or kept.colours,
        wanted.telling if wanted.telling != Telling() else telling_from(kept.rules.get("told", {})),
        wanted.length or wanted_from_builtins(kept.rules.get("length")),
    )
    job = kept.job
    named = Called(called.near or job.near, called.far or job.far, called.cable or job.cable)
    return judged(loaded.reading, wanted, named, limits_from_builtins(dict(kept.limits)))
