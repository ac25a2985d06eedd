"""`wiremap test`: measure one cable, judge, keep, show."""

from typing import TYPE_CHECKING, Annotated

import typer

from wiremap.cli import options

if TYPE_CHECKING:
    from wiremap.cable.patterns import Pattern
    from wiremap.judge.case import Case
    from wiremap.reading.reading import Far, Reading
    from wiremap.tester.listening import Listener
    from wiremap.tester.measure import OpenTester


@options.with_cable_options
def command(
    tester: options.TesterAddress = None,
    far: options.Far = "tester",
    talks: options.Talks = None,
    *,
    cable: options.CableOptions,
    bell: options.Bell = False,
    repeat: options.Repeat = False,
    minutes: Annotated[
        float | None, typer.Option("--minutes", min=0, help="With --repeat: for so long, else until interrupted.")
    ] = None,
) -> None:
    """Measure one cable, judge it and show what is wrong; --save keeps a capture."""
    from wiremap.cli.choices import adapters, far_word, language_of_tester
    from wiremap.cli.one_cable import names_and_keep, show
    from wiremap.cli.output import EXIT, passing_word, ring
    from wiremap.cli.repeating import check_minutes, go_on
    from wiremap.errors import UsageError
    from wiremap.judge.case import judge_case
    from wiremap.records.broken import keeping
    from wiremap.tester.listening import open_any

    if repeat and cable.save is not None:
        raise UsageError("--repeat keeps no capture", "Leave out --save; keep one with a test of its own.")
    check_minutes(repeat, minutes)
    wanted, (names, keep) = cable.requirements(), names_and_keep(cable)
    sides, far_is = adapters(cable.near_adapter, cable.far_adapter), far_word(far)

    language = language_of_tester(talks, tester)

    def seen(device: "OpenTester | Listener") -> "Case":
        reading = _measured(device, far_is, sides)
        with keeping(reading):
            return judge_case(reading, wanted, names)

    if repeat:
        with open_any(tester, language) as device:
            verdict = go_on(lambda: seen(device), cable.as_json, bell, None if minutes is None else 60 * minutes)
        raise typer.Exit(EXIT[verdict])
    with passing_word("Measuring ..."), open_any(tester, language) as device:
        source = tester or device.line.address
        case = seen(device)
    code = show(case, "test", source, cable, keep)
    if bell:
        ring(case.diagnosis.verdict)
    raise typer.Exit(code)


def _measured(device: "OpenTester | Listener", far: "Far", sides: "tuple[Pattern | None, Pattern | None]") -> "Reading":
    """Measure with what is known of this tester; sides: the adapters at either end."""
    from wiremap.records.calibrations import calibration_of
    from wiremap.records.commissions import refuse_failed
    from wiremap.tester.listening import Listener
    from wiremap.tester.measure import measure

    if isinstance(device, Listener):
        return device.reading(far, *sides)
    refuse_failed(device.tester)
    known = calibration_of(device.tester)
    return measure(device, far, near_adapter=sides[0], far_adapter=sides[1], calibration=known)
