"""The verdict again, from the reading, pattern, rules and limits that a record holds and nothing else."""

from collections.abc import Mapping
from typing import Any, cast

from wiremap.cable.kinds import kind_from_builtins
from wiremap.cable.patterns import SCREEN_RULES, ScreenRule
from wiremap.errors import FileError
from wiremap.judge.case import check_near_order
from wiremap.judge.run.length.specified import wanted_from_builtins
from wiremap.judge.verdict import Diagnosis, Options, judged, to_builtins
from wiremap.reading.reading import Reading
from wiremap.records.canonical import encode
from wiremap.records.captures.capture import Record


def rejudge(record: Record, reading: Reading) -> Diagnosis:
    """Return what this version says of a record's reading; FileError or UsageError when it cannot be judged."""
    screen, require = record.rules.get("screen"), record.rules.get("require", [])
    if screen is not None and screen not in SCREEN_RULES:
        raise FileError(f"rules: screen is {screen!r}", "Allowed there: " + ", ".join(SCREEN_RULES) + ", or null.")
    if not isinstance(require, list) or not all(isinstance(word, str) for word in require):
        raise FileError(f"rules: require is {require!r}", "Allowed there: a list of checks.")
    limits = record.own_limits()
    length = wanted_from_builtins(record.rules.get("length"))
    terminators = record.rules.get("terminators")
    kind = kind_from_builtins(record.rules.get("kind"))
    options = Options(cast(ScreenRule | None, screen), tuple(require), limits, length, terminators, kind)
    found = judged(reading, record.expect, options)
    if found.laid is not None and record.expect is not None:
        check_near_order(record.near_order, record.expect)
    return found.diagnosis


def differs(record: Record, now: Diagnosis) -> str | None:
    """Return what the record says otherwise than this diagnosis: "verdict", "findings", or None when nothing."""
    said = to_builtins(now)
    if record.diagnosis.get("verdict") != said["verdict"]:
        return "verdict"
    return None if _faults(record.diagnosis) == _faults(said) else "findings"


def _faults(diagnosis: Mapping[str, Any]) -> list[bytes] | None:
    """Return fault and contacts of every finding, in one order; None where they are no findings."""
    findings = diagnosis.get("findings")
    if not isinstance(findings, list) or not all(isinstance(finding, dict) for finding in findings):
        return None
    return sorted(encode([finding.get(key) for key in ("fault", "near", "far")]) for finding in findings)
