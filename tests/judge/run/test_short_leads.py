"""Short leads: a sound one never fails, and what it is too short for is said."""

import pytest

from tests.judge.run.short_leads import short_leads
from tests.judge.simulated import described, measured_reading
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.judge.run.echo import reflections
from wiremap.judge.verdict import judge


def test_sound_short_leads_pass() -> None:
    """Of sound leads of 0.05 to 0.6 m none fails, and their length is within its interval."""
    short_leads(11, 80)


@pytest.mark.parametrize("length_m", [0.05, 0.1, 0.2, 0.3, 0.4, 0.5])
@pytest.mark.parametrize("kind", ["UTP", "F/UTP"])
def test_an_end_within_the_launch_is_no_long_line(kind: str, length_m: float) -> None:
    """Where the end answers within the launch, a trace gives neither an impedance nor an echo."""
    for trace in measured_reading(described(length_m, kind=kind)).traces:
        seen = reflections(trace, limits())
        assert seen.within_launch
        assert seen.launch_ohm is None
        assert seen.steps == ()


@pytest.mark.parametrize("length_m", [0.8, 3.0, 95.0])
def test_a_plateau_before_the_end_is_a_launch(length_m: float) -> None:
    """From 0.8 m the launch is read before the end answers."""
    for trace in measured_reading(described(length_m)).traces:
        seen = reflections(trace, limits())
        assert not seen.within_launch
        assert seen.launch_ohm == pytest.approx(100.0, rel=0.05)


@pytest.mark.parametrize("length_m", [0.05, 0.1, 0.15])
def test_a_split_lead_too_short_to_tell_is_not_called_sound(length_m: float) -> None:
    """A split pair in a lead too short for it stands among what was not checked, not among what passed."""
    said = judge(measured_reading(described(length_m, near="in-sequence")), pattern("straight"))
    too_short = ("split-pairs", "too-short") in [(item.what, item.why) for item in said.not_checked]
    assert too_short or [finding.fault for finding in said.findings] == ["split-pair"]
    assert said.verdict == ("pass" if too_short else "fail")


@pytest.mark.parametrize("length_m", [0.4, 0.6])
def test_a_split_lead_long_enough_fails(length_m: float) -> None:
    """From 0.4 m a split pair is found."""
    said = judge(measured_reading(described(length_m, near="in-sequence")), pattern("straight"))
    assert "split-pair" in [finding.fault for finding in said.findings]
    assert said.verdict == "fail"
