"""Readings of an RJ45 cable on the bench, and what a diagnosis says of them in a few words."""

from collections.abc import Mapping

from msgspec.structs import replace

from tests.strategies import cable, joined, plugs, reading_of
from wiremap.cable.patterns import pattern
from wiremap.judge.findings import Finding
from wiremap.judge.verdict import Diagnosis
from wiremap.reading.reading import Ohm, Reading

STRAIGHT = pattern("straight")
EIGHT = {n: n for n in range(1, 9)}


def rj45(
    arrives: Mapping[int, int] | None = None,
    *groups: str,
    screen: bool = True,
    changed: Mapping[tuple[str, str], Ohm] | None = None,
    low_level: Mapping[tuple[str, str], Ohm] | None = None,
) -> Reading:
    """Return a bench reading of an RJ45 cable, straight unless said otherwise."""
    nets = joined(cable(STRAIGHT, EIGHT if arrives is None else arrives, screen), *groups)
    return reading_of(nets, plugs(STRAIGHT), changed=changed, low_level=low_level)


def faults(diagnosis: Diagnosis) -> list[str]:
    """Return the faults found, in order."""
    return [finding.fault for finding in diagnosis.findings]


def rounded(finding: Finding) -> Finding:
    """Return the finding with its numbers to a microohm."""
    value, limit = (None if number is None else round(number, 6) for number in (finding.value, finding.limit))
    return replace(finding, value=value, limit=limit)


def missing(diagnosis: Diagnosis) -> dict[str, str]:
    """Return what was not checked, with the reasons."""
    return {item.what: item.why for item in diagnosis.not_checked}
