"""The package as a library: what a program gets that has a reading."""

import subprocess
import sys

import pytest

import wiremap
from tests.strategies import cable, joined, plugs, reading_of
from wiremap.cable.patterns import pattern

STRAIGHT = pattern("straight")
EXCHANGED = {1: 1, 2: 2, 3: 6, 4: 4, 5: 5, 6: 3, 7: 7, 8: 8}


def reading(arrives: dict[int, int] | None = None) -> wiremap.Reading:
    """Return the reading of a straight cable with its screen, or of one whose conductors arrive elsewhere."""
    return reading_of(joined(cable(STRAIGHT, arrives or {n: n for n in range(1, 9)}, True)), plugs(STRAIGHT))


def test_every_public_name_is_there() -> None:
    """Each name in `__all__` can be had, and one that is none is refused as Python does."""
    for name in wiremap.__all__:
        assert getattr(wiremap, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'judge_all'"):
        _ = wiremap.judge_all


def test_plugs_that_were_looked_into_are_a_reading() -> None:
    """Colours read off both plugs are diagnosed and advised on as a measured reading is, and never look measured."""
    near = "1=white-orange,2=orange,3=white-green,4=blue,5=white-blue,6=green,7=white-brown,8=brown"
    far = near.replace("4=blue,5=white-blue", "4=white-blue,5=blue")
    seen = wiremap.plugs_seen(near, far, "straight")
    assert seen.origin == "eyes"
    said = wiremap.diagnose(seen, STRAIGHT)
    assert [(one.fault, one.near) for one in said.findings] == [("reversed-pair", ("4", "5"))]
    built = wiremap.advise(seen, "straight", statements=wiremap.Statements(near, far)).as_built
    assert built is not None
    assert built.wrong_end == "far"
    with pytest.raises(wiremap.UsageError, match="has it once"):
        wiremap.plugs_seen("1=blue,2=blue", far, STRAIGHT)


def test_importing_costs_little() -> None:
    """`import wiremap` loads none of its rooms but the version."""
    code = "import sys, wiremap; print(*sorted(name for name in sys.modules if name.startswith('wiremap.')))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["wiremap.version"]


def test_a_diagnosis_of_a_sound_cable() -> None:
    """A sound cable passes; a check that is required and was not made leaves it undecided."""
    assert wiremap.diagnose(reading(), "straight").verdict == "pass"
    assert wiremap.diagnose(reading(), STRAIGHT, screen="both").verdict == "pass"
    lacking = wiremap.diagnose(reading(), "straight", require=["length"])
    assert lacking.verdict == "undecided"
    assert "length" in {item.what for item in lacking.not_checked}
    assert wiremap.diagnose(reading()).verdict == "undecided"


def test_advice_follows_what_is_stated() -> None:
    """Of a reversed pair advice says which plug, once its colours are stated, and what the wire map allows."""
    found = wiremap.diagnose(reading(EXCHANGED), "straight")
    assert [finding.fault for finding in found.findings] == ["reversed-pair"]
    order = "1=white-orange,2=orange,3=green,4=blue,5=white-blue,6=white-green,7=white-brown,8=brown"
    advice = wiremap.advise(reading(EXCHANGED), "straight", statements=wiremap.Statements(near_colours=order))
    assert advice.as_built is not None
    assert advice.as_built.wrong_end == "near"
    assert advice.repair is not None
    assert advice.repair.steps[0].end == "near"
    assert advice.services
    assert wiremap.advise(reading(), "straight").repair is None


@pytest.mark.parametrize(
    ("expect", "screen", "require", "says"),
    [
        ("straight", "left", (), "left"),
        ("straight", None, ("colour",), "colour"),
        ("straight", None, "length", "'length'"),
        ("strait", None, (), "strait"),
    ],
)
def test_words_that_are_not_known(expect: str, screen: str | None, require: str | tuple[str, ...], says: str) -> None:
    """A word that is not known is refused with the word and a hint."""
    with pytest.raises(wiremap.WiremapError) as refused:
        wiremap.diagnose(reading(), expect, screen=screen, require=require)
    assert says in refused.value.what
    assert refused.value.hint
