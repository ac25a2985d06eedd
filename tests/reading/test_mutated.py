"""Readings and descriptions changed anywhere within, a few; `python -m tests.long mutated` changes many."""

from tests.reading.mutated import descriptions_are_refused_or_sound, readings_are_refused_or_judged


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
