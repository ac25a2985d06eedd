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
Forget = Annotated[bool, typer.Option("--forget-length", help="Drop what a cable of known length gave.")]


def command(
    tester: options.TesterAddress = None,
    length: Length = None,
    length_u: LengthU = None,
    forget_length: Forget = False,
    as_json: options.Json = False,
) -> None:
    """Zero a tester with both sockets empty; with --length, scale it with a known good cable plugged in at both ends.

    The same good cord is what shorter cords of its kind are compared with. Unplug everything else first.
    """
    from wiremap.cable.limits import limits
    from wiremap.cable.patterns import pattern
    from wiremap.cli.output import write, write_json
    from wiremap.errors import UsageError
    from wiremap.judge.run.calibrated import scale_of, without_length, zero_of
    from wiremap.records.calibrations import calibration_of, keep_calibration
    from wiremap.report.words.measurements import calibration_lines
    from wiremap.tester.measure import measure, open_tester

    if length is not None and forget_length:
        raise UsageError("--length and --forget-length exclude each other", "Give one of them.")
    if length_u is not None and length is None:
        raise UsageError("--length-u says how well a length is known, and none was given", "Give --length too.")
    with open_tester(tester) as device:
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
        write("\n".join((*calibration_lines(found), f"Kept: {path}")) + "\n")


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
