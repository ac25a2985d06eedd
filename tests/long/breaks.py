"""Broken conductors of cables whose kind nobody told, at full count."""

from tests.long import Check
from tests.world import analog_breaks

CHECKS = (
    Check("breaks: both plugs", analog_breaks.both_plugs, 600, least=120),
    Check("breaks: both plugs, with a trace", analog_breaks.both_plugs_with_trace, 180, least=36),
    Check("breaks: far plug free", analog_breaks.far_free, 600, least=120),
    Check("breaks: far plug free, with a trace", analog_breaks.far_free_with_trace, 180, least=36),
    Check("breaks: several, and at plugs", analog_breaks.several, 480, least=120),
)
