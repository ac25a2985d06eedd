"""`wiremap calibrate`: zero a tester with empty sockets, scale it with a cable of known length."""

from typing import Annotated

import typer

from wiremap.calibration import Calibration
from wiremap.cli import options

Length = Annotated[
    float | None,
    typer.Option("--length", metavar="M", help="Length in metres of the sound straight cable that is plugged in."),
]
LengthU = Annotated[
    float | None,
    typer.Option("--length-u", metavar="M", help="How well that length is known (standard uncertainty); else 1 %."),
]
KindName = Annotated[
    str | None,
    typer.Option(
        "--kind", metavar="OWN-NAME", help="Teach a kind of cable of this name with the cable of known length."
    ),
]
Like = Annotated[
    str | None, typer.Option("--like", metavar="KIND", help="What the cable is sold as; else the likeliest kind.")
]
Of = Annotated[
    str | None, typer.Option("--of", metavar="reel|make|kind", help="What is taught; else the reel it was cut from.")
]
Temperature = Annotated[
    float | None,
    typer.Option("--temperature", metavar="C", min=-40, max=80, help="The cable's temperature, degrees Celsius."),
]
Forget = Annotated[bool, typer.Option("--forget-length", help="Drop what a cable of known length gave.")]


def command(
    tester: options.TesterAddress = None,
    length: Length = None,
    length_u: LengthU = None,
    kind: KindName = None,
    like: Like = None,
    of: Of = None,
    temperature: Temperature = None,
    forget_length: Forget = False,
    as_json: options.Json = False,
) -> None:
    """Zero a tester with both sockets empty; with --length, scale it with a known good cable plugged in at both ends.

    The same good cord is what shorter cords of its kind are compared with. With --kind the cable teaches its reel, its
    make or its kind under a name of your own, and the tester stays as it is. Unplug everything else first.
    """
    if kind is not None or like is not None or of is not None or temperature is not None:
        _teach(tester, kind, like, of, temperature, length, length_u, forget_length, as_json)
        return
    from wiremap.cable.limits import limits
    from wiremap.cable.patterns import pattern
    from wiremap.cli.output import write_json, write_line
    from wiremap.errors import UsageError
    from wiremap.judge.run.calibrated import scale_of, without_length, zero_of
    from wiremap.records.calibrations import calibration_of, keep_calibration
    from wiremap.records.commissions import refuse_failed
    from wiremap.report.words.measurements import calibration_lines
    from wiremap.tester.measure import measure, open_tester

    if length is not None and forget_length:
        raise UsageError("--length and --forget-length exclude each other", "Give one of them.")
    if length_u is not None and length is None:
        raise UsageError("--length-u says how well a length is known, and none was given", "Give --length too.")
    with open_tester(tester) as device:
        refuse_failed(device.tester)
        known = calibration_of(device.tester)
        if forget_length:
            if known is None:
                raise UsageError("this tester was never calibrated", "There is nothing to forget.")
            found = without_length(known)
        else:
            reading = measure(device, calibration=known)
            if length is None:
                found = zero_of(reading, known)
            else:
                share = length_u if length_u is not None else 0.01 * length
                found = scale_of(reading, pattern("straight"), length, share, known, limits())
        path = keep_calibration(device.tester, found)
    if as_json:
        write_json(
            {"command": "calibrate", "source": tester or "", "calibration": str(path), **brief_calibration(found)}
        )
    else:
        for said in (*calibration_lines(found), f"Kept: {path}"):
            write_line(said, 2)


def _teach(
    tester: str | None,
    name: str | None,
    like: str | None,
    of: str | None,
    celsius: float | None,
    length_m: float | None,
    length_u_m: float | None,
    forget_length: bool,
    as_json: bool,
) -> None:
    from wiremap.cable.limits import limits
    from wiremap.cli.output import write_json, write_line
    from wiremap.errors import UsageError
    from wiremap.judge.taught import LEVELS, kind_taught
    from wiremap.records.calibrations import calibration_of
    from wiremap.records.commissions import refuse_failed
    from wiremap.records.own_kinds import check_new_kind, keep_kind, kind_called
    from wiremap.report.words.measurements import taught_lines
    from wiremap.tester.measure import measure, open_tester

    if name is None or length_m is None or forget_length:
        raise UsageError(
            "--kind, --like, --of and --temperature teach a kind of cable",
            "Give a name and the cable's length with them: --kind my-reel --length 20 --like cat6-utp.",
        )
    level = of or "reel"
    if level not in LEVELS:
        raise UsageError(f"--of {level}: not known", "Give one of " + ", ".join(LEVELS) + ".")
    check_new_kind(name)
    known = kind_called(like) if like else None
    with open_tester(tester) as device:
        refuse_failed(device.tester)
        reading = measure(device, calibration=calibration_of(device.tester))
    share = length_u_m if length_u_m is not None else 0.01 * length_m
    found = kind_taught(reading, name, length_m, share, level, known, celsius, limits())
    path = keep_kind(found)
    if as_json:
        content = {"command": "calibrate", "source": tester or "", "kept": str(path)}
        write_json({**content, "kind": found.name, **found.to_builtins()})
    else:
        for said in (*taught_lines(found), f"Kept: {path}"):
            write_line(said, 2)


def brief_calibration(found: Calibration) -> dict[str, object]:
    """Return the figures of a calibration that fit on a line."""
    return {
        "made_utc": found.made_utc,
        "pin_pf": found.pin_pf,
        "zero": found.open_pf is not None,
        "known_length_m": found.known_length_m,
        "nvp": found.nvp,
        "nvp_u": found.nvp_u,
        "capacitance_pf_per_m": found.capacitance_pf_per_m,
        "capacitance_u_pf_per_m": found.capacitance_u_pf_per_m,
        "ohm_per_m": found.ohm_per_m,
        "ohm_u_per_m": found.ohm_u_per_m,
    }
