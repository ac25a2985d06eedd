"""Readings and descriptions changed anywhere within, a few; `python -m tests.long mutated` changes many."""

from tests.reading.mutated import descriptions_are_refused_or_sound, readings_are_refused_or_judged
from tests.reading.plausible import plausible_are_judged


def test_a_mutated_reading_is_refused_or_judged() -> None:
    """Whatever is changed in a reading, it is refused with a hint, or judged and shown without a warning."""
    refused, shown = readings_are_refused_or_judged(seed=7, count=300)
    assert refused > 100
    assert shown > 20


def test_a_mutated_description_is_refused_or_sound() -> None:
    """Whatever is changed in a pattern, in colours or in a capture, it is refused with a hint or read."""
    refused, sound = descriptions_are_refused_or_sound(seed=7, count=4000)
    assert refused > 2000
    assert sound > 200


def test_plausible_readings_are_judged_and_shown() -> None:
    """Cables wrong in any way, in every far mode, are judged and put on a page: no crash, no warning, no nan."""
    assert "pass" in plausible_are_judged(seed=5, count=120)
