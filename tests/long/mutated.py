"""Readings, patterns, colours and captures changed anywhere within, at full count."""

from tests.long import Check
from tests.reading.mutated import descriptions_are_refused_or_sound, readings_are_refused_or_judged
from tests.reading.plausible import plausible_are_judged


def readings(seed: int, count: int) -> str:
    """Change full readings of the simulator, judge them in every far mode and put them on a page."""
    refused, shown = readings_are_refused_or_judged(seed, count)
    assert refused + shown == count
    return f"{refused} refused with a hint, {shown} judged and shown, no crash, no warning, no nan"


def descriptions(seed: int, count: int) -> str:
    """Change patterns, colours, terminations and captures."""
    refused, sound = descriptions_are_refused_or_sound(seed, count)
    assert refused + sound == count
    return f"{refused} refused, {sound} read, no crash"


CHECKS = (
    Check("mutated: full readings", readings, 10_000),
    Check("mutated: plausible readings are judged", plausible_are_judged, 50_000),
    Check("mutated: patterns, colours, captures", descriptions, 100_000),
)
