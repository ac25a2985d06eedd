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
        float | None,
        typer.Option("--minutes", min=0, help="Watch for so long, else 5; 0 = until you stop it, which is no pass."),
    ] = None,
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
    """Watch all contacts while the cable is moved; each opening of 3 ms or more is kept with its time.

    Keys: space or Enter each time you move the cable, q stops. A pass needs the whole time and all movements,
    without an event. Without a terminal --minutes must be given, and the watch ends with it.
    """
    from wiremap.bench.watch import Wanted
    from wiremap.cli.choices import adapters
    from wiremap.cli.one_cable import names_and_keep, show
    from wiremap.cli.output import EXIT_OF_ERROR, talk_error
    from wiremap.cli.watch_desk import check_picture, requirements_after, said_of_watch, seconds_to_watch, write_picture
    from wiremap.judge.case import judge_case, requirements
    from wiremap.records.broken import keeping

    check_picture(picture)
    cable = options.CableOptions(job=job, save=save, key=key, as_json=as_json)
    wanted, (names, keep) = requirements(expect, screen, require, near_order, colours), names_and_keep(cable)
    enough = Wanted(seconds_to_watch(minutes), moves)
    seen = _watch(tester, adapters(near_adapter, far_adapter), wanted, names, enough, as_json, bell)
    with keeping(seen.reading):
        case = judge_case(seen.reading, requirements_after(wanted, seen.watched, enough), names)
    code = show(case, "watch", seen.source, cable, keep, said_of_watch(seen.watched), seen.summary)
    if picture is not None and seen.watched is not None:
        trouble = write_picture(picture, seen.watched, seen.reading.origin)
        if trouble is not None:
            talk_error(trouble)
            code = EXIT_OF_ERROR[trouble.kind]
    raise typer.Exit(code)


class _Seen(NamedTuple):
    """What a watch gave. watched None: something feeds the cable, or no cable is in both sockets."""

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

    from msgspec.structs import replace

    from wiremap.bench.watcher import REPEAT_INSTEAD, watch
    from wiremap.cli.choices import language_of_tester
    from wiremap.cli.keyboard import Keyboard
    from wiremap.cli.watch_desk import WatchDesk
    from wiremap.errors import TesterError
    from wiremap.judge.case import judge_case
    from wiremap.records.calibrations import calibration_of
    from wiremap.records.commissions import refuse_failed
    from wiremap.report.words.cases import ends_of, shows_set_up_alone
    from wiremap.tester.measure import measure, open_tester

    near, far = sides
    if language_of_tester(None, address) is not None:
        raise TesterError("a tester that prints its own text cannot watch: short openings escape it", REPEAT_INSTEAD)
    with open_tester(address) as device, Keyboard().single_keys() as keyboard:
        refuse_failed(device.tester)
        known = calibration_of(device.tester)

        def read() -> "Reading":
            return measure(device, near_adapter=near, far_adapter=far, calibration=known)

        def look_closer() -> "tuple[Reading, Sequence[Finding]]":
            seen = read()
            return seen, judge_case(seen, wanted, names).diagnosis.findings

        reading, watched = read(), None
        case = judge_case(reading, wanted, names)
        desk = WatchDesk(keyboard, enough, ends_of(case), as_json, bell)
        if not reading.foreign and reading.far != "equipment" and not shows_set_up_alone(case):
            watched = watch(device, enough, desk, time.monotonic, look_closer, near, far)
            if watched.end == "refused":
                reading = read()
            reading = replace(reading, events=watched.log.events)
        return _Seen(address or device.line.address, reading, watched, desk.summary(watched))
