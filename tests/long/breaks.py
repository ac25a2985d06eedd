"""Broken and copper-clad conductors of cables that nobody told the product of, at full count."""

from tests.long import Check
from tests.world import analog_breaks, analog_metal

CHECKS = (
    Check("breaks: both plugs", analog_breaks.both_plugs, 600, least=120),
    Check("breaks: both plugs, with a trace", analog_breaks.both_plugs_with_trace, 180, least=36),
    Check("breaks: far plug free", analog_breaks.far_free, 600, least=120),
    Check("breaks: far plug free, with a trace", analog_breaks.far_free_with_trace, 180, least=36),
    Check("breaks: two contacts at a time", analog_breaks.two_contacts_at_a_time, 480, least=120),
    Check("breaks: several, and at plugs", analog_breaks.several, 480, least=120),
    Check("breaks: at plugs", analog_breaks.at_plugs, 480, least=120),
    Check("metal: told and untold", analog_metal.metal, 880, least=176),
)
