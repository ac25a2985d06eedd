"""`wiremap watch`: watch a cable for intermittents while it is moved."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from wiremap.cli import options

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wiremap.bench.watch import Wanted
    from wiremap.bench.watcher import Watched
    from wiremap.cable.patterns import Pattern
    from wiremap.judge.case import JobNames, Requirements
    from wiremap.judge.findings import Finding
    from wiremap.reading.reading import Reading


def command(
    tester: options.TesterAddress = None,
    minutes: Annotated[
        float, typer.Option("--minutes", min=0, help="Watch for so long; 0 = until you stop it, which is no pass.")
    ] = 5.0,
    moves: Annotated[int, typer.Option("--moves", min=0, help="Movements that must be declared for a pass.")] = 3,
    expect: options.Expect = None,
    screen: options.Screen = None,
    require: options.Require = None,
    near_adapter: options.NearAdapter = None,
    far_adapter: options.FarAdapter = None,
    near_order: options.NearOrder = None,
    colours: options.Colours = None,
    save: options.Save = None,
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="FILE", help="A .png, .pdf or .svg of the events in time.")
    ] = None,
    job: options.Job = None,
    key: options.Key = None,
    as_json: options.Json = False,
    bell: options.Bell = False,
) -> None:
    """Watch all contacts while the cable is moved; each opening of 2 ms or more is kept with its time.

    Keys: space or Enter each time you move the cable, q stops. A pass needs the whole time and all movements,
    without an event.
    """
    from wiremap.bench.watch import Wanted
    from wiremap.cli.choices import adapters
    from wiremap.cli.output import EXIT, terminal, write, write_json
    from wiremap.cli.watch_desk import check_picture, requirements_after, said_of_watch, write_picture
    from wiremap.judge.case import judge_case, requirements
    from wiremap.records.captures.keep import job_of, keep
    from wiremap.records.keys import choose_key
    from wiremap.report.content import content
    from wiremap.report.terminal.page import page

    check_picture(picture)
    wanted = requirements(expect, screen, require, near_order, colours)
    about, names, work = job_of(job)
    signing = choose_key(key) if save is not None else None
    enough = Wanted(60 * minutes, moves)
    seen = _watch(tester, adapters(near_adapter, far_adapter), wanted, names, enough, as_json, bell)
    wanted = requirements_after(wanted, seen.watched, enough)
    case = judge_case(seen.reading, wanted, names)
    said = content(case, "watch", seen.source) | said_of_watch(seen.watched)
    below = seen.summary
    if save is not None:
        said["capture"] = str(keep(save, case, about, work, signing))
        below.append(f"Kept: {said['capture']}")
    if picture is not None and seen.watched is not None:
        write_picture(picture, seen.watched)
        below.append(f"Picture: {picture}")
    if as_json:
        write_json(said)
    else:
        write(page(case, terminal(), below))
    raise typer.Exit(EXIT[case.diagnosis.verdict])


class _Seen(NamedTuple):
    """What a watch gave. watched None: nothing could be watched, since something feeds the cable."""

    source: str
    reading: "Reading"
    watched: "Watched | None"
    summary: list[str]


def _watch(
    address: str | None,
    sides: "tuple[Pattern | None, Pattern | None]",
    wanted: "Requirements",
    names: "JobNames",
    enough: "Wanted",
    as_json: bool,
    bell: bool,
) -> _Seen:
    """Measure once, then watch until it is enough, somebody stops it, or the tester refuses."""
    import time
    from dataclasses import replace

    from wiremap.bench.watcher import watch
    from wiremap.cli.keyboard import Keyboard
    from wiremap.cli.watch_desk import WatchDesk
    from wiremap.judge.case import judge_case
    from wiremap.records.calibrations import calibration_of
    from wiremap.report.words.cases import ends_of
    from wiremap.tester.measure import measure, open_tester

    near, far = sides
    with open_tester(address) as device, Keyboard().single_keys() as keyboard:
        known = calibration_of(device.tester)

        def read() -> "Reading":
            return measure(device, near_adapter=near, far_adapter=far, calibration=known)

        def look_closer() -> "tuple[Reading, Sequence[Finding]]":
            seen = read()
            return seen, judge_case(seen, wanted, names).diagnosis.findings

        reading, watched = read(), None
        desk = WatchDesk(keyboard, enough, ends_of(judge_case(reading, wanted, names)), as_json, bell)
        if not reading.foreign and reading.far != "equipment":
            watched = watch(device, enough, desk, time.monotonic, look_closer, near, far)
            if watched.end == "refused":
                reading = read()
            reading = replace(reading, events=watched.log.events)
        return _Seen(address or device.line.address, reading, watched, desk.summary(watched))
