"""`wiremap test`: measure one cable, judge, keep, show."""

from typing import TYPE_CHECKING

import typer

from wiremap.cli import options

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from wiremap.cable.patterns import Pattern
    from wiremap.errors import FileError
    from wiremap.judge.case import Case
    from wiremap.reading.reading import Far, Reading
    from wiremap.tester.measure import OpenTester


@options.with_cable_options
def command(
    tester: options.TesterAddress = None,
    far: options.Far = "tester",
    near_adapter: options.NearAdapter = None,
    far_adapter: options.FarAdapter = None,
    *,
    cable: options.CableOptions,
    save: options.Save = None,
    key: options.Key = None,
    bell: options.Bell = False,
    repeat: options.Repeat = False,
) -> None:
    """Measure one cable, judge it and show what is wrong; --save keeps a capture."""
    from wiremap.cli.choices import adapters, far_word
    from wiremap.cli.output import EXIT, passing_word
    from wiremap.cli.repeating import go_on
    from wiremap.errors import UsageError
    from wiremap.judge.case import judge_case
    from wiremap.records.captures.keep import job_of, keep
    from wiremap.records.keys import choose_key
    from wiremap.tester.measure import open_tester

    wanted, (about, names, work) = cable.requirements(), job_of(cable.job)
    signing = choose_key(key) if save is not None else None
    sides, far_is = adapters(near_adapter, far_adapter), far_word(far)
    if repeat and save is not None:
        raise UsageError("--repeat keeps no capture", "Leave out --save; keep one with a test of its own.")

    def seen(device: "OpenTester") -> "Case":
        return judge_case(_measured(device, far_is, sides), wanted, names)

    if repeat:
        with open_tester(tester) as device:
            go_on(lambda: seen(device), cable.as_json, bell)
    with passing_word("Measuring ..."), open_tester(tester) as device:
        source = tester or device.line.address
        case = seen(device)
    kept, trouble = (None, None) if save is None else _kept(lambda: keep(save, case, about, work, signing))
    _show(case, source, kept, trouble, cable.as_json, cable.services)
    _ring(case, bell)
    raise typer.Exit(EXIT[case.diagnosis.verdict] if trouble is None else 6)


def _measured(device: "OpenTester", far: "Far", sides: "tuple[Pattern | None, Pattern | None]") -> "Reading":
    """Measure with what is known of this tester; sides: the adapters at either end."""
    from wiremap.records.calibrations import calibration_of
    from wiremap.tester.measure import measure

    known = calibration_of(device.tester)
    return measure(device, far, near_adapter=sides[0], far_adapter=sides[1], calibration=known)


def _ring(case: "Case", bell: bool) -> None:
    from wiremap.cli.output import ring

    if bell:
        ring(case.diagnosis.verdict)


def _kept(keep: "Callable[[], Path]") -> "tuple[Path | None, FileError | None]":
    """Return where a capture was kept, or why it could not be: what was measured is shown all the same."""
    from wiremap.errors import FileError

    try:
        return keep(), None
    except FileError as error:
        return None, error


def _show(
    case: "Case", source: str, kept: "Path | None", trouble: "FileError | None", as_json: bool, services: bool
) -> None:
    from wiremap.cli.output import error_content, talk_error, terminal, write, write_json
    from wiremap.report.content import content
    from wiremap.report.terminal.page import page
    from wiremap.report.words.cases import all_services

    if as_json:
        said = content(case, "test", source)
        said |= {"capture": str(kept)} if kept is not None else {}
        write_json(said | (error_content(trouble) if trouble is not None else {}))
    else:
        write(page(case, terminal(), [f"Kept: {kept}"] if kept is not None else []))
        if services:
            write("".join(f"\n{text}" for text in all_services(case, terminal().width)) + "\n")
    if trouble is not None:
        talk_error(trouble)
