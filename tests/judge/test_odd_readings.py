"""Readings that nobody expects: every pattern, every far mode, plugs that do not fit, everything in one net."""

import pytest
from msgspec.structs import replace

from tests.judge.simulated import PLACES, described, measured_reading
from wiremap.cable.patterns import pattern, pattern_names
from wiremap.contact import far_contact, near_contact
from wiremap.errors import WiremapError
from wiremap.judge.verdict import Diagnosis, judge
from wiremap.reading.reading import FARS, Far, Ohm, Reading, square
from wiremap.report.words.measurements import run_sentence


def judged(reading: Reading, name: str | None) -> Diagnosis | None:
    """Return the diagnosis, None where the reading does not fit the pattern; anything else is a defect."""
    try:
        return judge(reading, pattern(name) if name else None)
    except WiremapError:
        return None


@pytest.mark.parametrize("far", FARS)
@pytest.mark.parametrize("cell", ["open", "joined", 0.5, 150.0, 5000.0, None])
@pytest.mark.parametrize("count", [1, 4, 5, 8])
def test_plugs_of_any_size_against_every_pattern(far: Far, cell: Ohm, count: int) -> None:
    """A reading of a plug that is not the pattern's is refused with a sentence, in every far mode."""
    names = tuple(str(number + 1) for number in range(count))
    reading = Reading(
        None, None, None, far, names, names, square((*map(near_contact, names), *map(far_contact, names)), {}, cell)
    )
    for name in (None, *pattern_names()):
        judged(reading, name)
    assert judged(reading, "m12x-m12x") is None or count == 8


@pytest.mark.parametrize("far", FARS)
def test_everything_in_one_net(far: Far) -> None:
    """All contacts and the screen joined, with capacitances measured: judged against every pattern, and no pass."""
    reading = measured_reading(described(5.0))
    joined = replace(reading, far=far, resistance_ohm=square(PLACES, {}, 0.3))
    for name in (None, *pattern_names()):
        seen = judged(joined, name)
        assert seen is None or seen.verdict != "pass"


def test_pairs_that_were_not_seen_are_not_named() -> None:
    """Of a cable with two pairs of conductors two pairs are named as seen, whatever the pattern has."""
    two = ("white-orange", "orange", "white-green", "-", "-", "green", "-", "-")
    seen = judge(measured_reading(described(5.0, near=two)), pattern("straight"))
    assert seen.pairs is not None
    said = run_sentence(seen)
    assert "1-2 3-6" in said
    assert "4-5" not in said
    assert "7-8" not in said
    nothing = replace(seen.pairs, pairs=(), by_exclusion=())
    assert "Pairs" not in run_sentence(replace(seen, pairs=nothing))


def test_a_split_seen_from_one_end_is_said_of_that_end() -> None:
    """With the far plug in nothing a split pair is the near plug's, and nothing is said of contact to contact."""
    far_open = '[attached]\nfar = "open"\n'
    seen = judge(measured_reading(described(5.0, near="in-sequence", faults=far_open)), pattern("straight"))
    found = [finding for finding in seen.findings if finding.fault == "split-pair"]
    assert [(finding.end, finding.far) for finding in found] == [("near", ())]
