"""`wiremap test`: measure one cable, judge, keep, show."""

import typer

from wiremap.cli import options


def command(
    tester: options.TesterAddress = None,
    expect: options.Expect = None,
    screen: options.Screen = None,
    require: options.Require = None,
    far: options.Far = "tester",
    near_adapter: options.NearAdapter = None,
    far_adapter: options.FarAdapter = None,
    near_order: options.NearOrder = None,
    colours: options.Colours = None,
    near_colours: options.NearColours = None,
    far_colours: options.FarColours = None,
    sound: options.Sound = None,
    closed: options.Closed = None,
    joint: options.Joint = None,
    remote: options.Remote = None,
    port_near: options.PortNear = None,
    port_far: options.PortFar = None,
    services: options.Services = False,
    save: options.Save = None,
    job: options.Job = None,
    key: options.Key = None,
    as_json: options.Json = False,
    bell: options.Bell = False,
    repeat: options.Repeat = False,
) -> None:
    """Measure one cable, judge it and show what is wrong; --save keeps a capture."""
    from wiremap.cable.patterns import pattern
    from wiremap.cli.choices import far_word
    from wiremap.cli.output import EXIT, error_content, passing_word, ring, talk_error, terminal, write, write_json
    from wiremap.cli.repeating import go_on
    from wiremap.errors import FileError, UsageError
    from wiremap.judge.case import Case, judge_case, requirements
    from wiremap.judge.remedy.knowledge import statements
    from wiremap.records.calibrations import calibration_of
    from wiremap.records.captures.keep import job_of, keep
    from wiremap.records.keys import choose_key
    from wiremap.report.content import content
    from wiremap.report.terminal.page import page
    from wiremap.report.words.cases import all_services
    from wiremap.tester.measure import measure, open_tester

    said_so = statements(near_colours, far_colours, sound, closed, joint, remote, port_near, port_far)
    wanted = requirements(expect, screen, require, near_order, colours, said_so)
    about, names, work = job_of(job)
    signing = choose_key(key) if save is not None else None
    adapters = [pattern(name) if name else None for name in (near_adapter, far_adapter)]
    far_is = far_word(far)
    if repeat:
        if save is not None:
            raise UsageError("--repeat keeps no capture", "Leave out --save; keep one with a test of its own.")
        with open_tester(tester) as device:
            known = calibration_of(device.tester)

            def again() -> Case:
                seen = measure(device, far_is, near_adapter=adapters[0], far_adapter=adapters[1], calibration=known)
                return judge_case(seen, wanted, names)

            go_on(again, as_json, bell)
    with passing_word("Measuring ..."), open_tester(tester) as device:
        known = calibration_of(device.tester)
        reading = measure(device, far_is, near_adapter=adapters[0], far_adapter=adapters[1], calibration=known)
    case = judge_case(reading, wanted, names)
    said = content(case, "test", tester or device.line.address)
    below, trouble = [], None
    if save is not None:
        try:
            path = keep(save, case, about, work, signing)
        except FileError as error:
            trouble = error
            said |= error_content(error)
        else:
            said["capture"] = str(path)
            below.append(f"Kept: {path}")
    if as_json:
        write_json(said)
    else:
        write(page(case, terminal(), below))
        if services:
            write("".join(f"\n{text}" for text in all_services(case, terminal().width)) + "\n")
    if bell:
        ring(case.diagnosis.verdict)
    if trouble is not None:
        talk_error(trouble)
        raise typer.Exit(6)
    raise typer.Exit(EXIT[case.diagnosis.verdict])
