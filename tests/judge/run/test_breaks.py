"""Where several breaks lie: each part of a conductor tells its own."""

import pytest

from tests.judge.simulated import described, fault, measured_reading
from wiremap.cable.patterns import pattern
from wiremap.judge.findings import Finding
from wiremap.judge.verdict import judge

STRAIGHT = pattern("straight")
T568B = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")


def opens(near: tuple[str, ...], far: tuple[str, ...], faults: str = "") -> list[Finding]:
    """Return the opens found in a cable of 12 m, measured by grounded groups."""
    cable = described(12.0, near, far, faults=faults)
    found = judge(measured_reading(cable, two_terminal=False, traces=False, echoes=False, step_ohm=0.05), STRAIGHT)
    return [finding for finding in found.findings if finding.fault == "open"]


def test_two_conductors_that_each_miss_one_plug_are_not_one_broken_in_the_run() -> None:
    """A contact whose conductor is missing in the other plug is open there, not halfway between."""
    found = opens((*T568B[:5], "-", "white-brown", "brown"), (*T568B[:5], "green", "white-brown", "-"))
    assert {(finding.near, finding.far): finding.end for finding in found} == {
        (("6",), ("6",)): "near",
        (("8",), ("8",)): "far",
    }
    crossed = opens((*T568B[:5], "green", "white-brown", "-"), (*T568B[:5], "brown", "white-brown", "-"))
    at_m = {(finding.near, finding.far): finding.at_m for finding in crossed if finding.at_m is not None}
    assert at_m == {(("6",), ()): pytest.approx(12.0, abs=0.5), ((), ("6",)): pytest.approx(0.0, abs=0.5)}


def test_both_conductors_of_a_pair_are_placed_each() -> None:
    """A part shows as much as it is long to everything on ground, its broken partner's parts included."""
    found = opens(T568B, T568B, fault("open", ["brown"], 3.0) + fault("open", ["white-brown"], 9.0))
    at_m = {finding.near[0]: finding.at_m for finding in found if finding.end == "run"}
    assert at_m == {"7": pytest.approx(9.0, abs=0.4), "8": pytest.approx(3.0, abs=0.4)}
