"""Calibrations of testers, one file each under the user's folder, named after the tester's serial number."""

import re
from pathlib import Path

import msgspec

from wiremap.calibration import Calibration
from wiremap.errors import FileError
from wiremap.files import read_if_there
from wiremap.reading.parts import Tester
from wiremap.records.home import home
from wiremap.records.new_file import make_folder, write_over

FORMAT = 1
LARGEST_CALIBRATION_BYTES = 1_000_000
HINT = "Move the file away and run `wiremap calibrate` again."


def calibration_path(tester: Tester) -> Path:
    """Return where a tester's calibration is kept; what is no letter, digit, dot or dash in its serial becomes _."""
    name = re.sub(r"[^A-Za-z0-9.-]", "_", f"{tester.model}-{tester.serial}")
    return home() / "calibrations" / f"{name.strip('.') or '_'}.json"


def calibration_of(tester: Tester) -> Calibration | None:
    """Return what is known of a tester, None = it was never calibrated; FileError when its file cannot be used."""
    path = calibration_path(tester)
    content = read_if_there(path, LARGEST_CALIBRATION_BYTES, HINT)
    if content is None:
        return None
    try:
        plain = msgspec.json.decode(content)
    except (msgspec.DecodeError, RecursionError, UnicodeDecodeError) as error:
        raise FileError(f"{path}: not JSON ({error})", HINT) from error
    if not isinstance(plain, dict) or plain.get("format") != FORMAT:
        raise FileError(f"{path}: no calibration of format {FORMAT}", HINT)
    try:
        known = msgspec.convert({key: value for key, value in plain.items() if key != "format"}, Calibration)
    except (msgspec.ValidationError, RecursionError) as error:
        raise FileError(f"{path}: {error}", HINT) from error
    if known.tester_serial != tester.serial:
        raise FileError(f"{path}: is of the tester {known.tester_serial!r}, not {tester.serial!r}", HINT)
    return known


def keep_calibration(tester: Tester, known: Calibration) -> Path:
    """Write a tester's calibration in the place of the one before, whole or not at all; return where it is."""
    path = calibration_path(tester)
    plain: dict[str, object] = msgspec.to_builtins(known)
    content = msgspec.json.format(msgspec.json.encode({"format": FORMAT, **plain}), indent=1) + b"\n"
    hint = "Check the folder, or set WIREMAP_HOME."
    make_folder(path.parent, hint)
    write_over(path, content, hint)
    return path
