"""Lengths of cables of the analog world at full count: what is asked, and what is so where the world is another."""

from tests.long import Check
from tests.world import analog_calibrated, analog_lengths, analog_stress

CHECKS = (
    Check("lengths-kind-unknown", analog_lengths.kind_unknown, 1200, least=48),
    Check("lengths-kind-unknown-without-trace", analog_lengths.kind_unknown_without_trace, 3600, least=120),
    Check("lengths-kind-told", analog_lengths.kind_told, 600, least=48),
    Check("lengths-kind-told-without-trace", analog_lengths.kind_told_without_trace, 3600, least=120),
    Check("lengths-held-out", analog_lengths.held_out, 300, least=48),
    Check("lengths-short-leads", analog_stress.short_leads, 480, least=72),
    Check("lengths-cold-and-hot", analog_stress.cold_and_hot, 120, least=24),
    Check("lengths-permittivity", analog_stress.permittivity, 120, least=24),
    Check("lengths-wet-with-trace", analog_stress.wet_with_trace, 144, least=24),
    Check("lengths-wet-without-trace", analog_stress.wet_without_trace, 360, least=72),
    Check("lengths-dry", analog_stress.dry, 480, least=24),
    Check("lengths-kinds-said", analog_stress.kinds_said, 480, least=48),
    Check("calibrated-kinds", analog_calibrated.held_by, 160, least=22, from_share=0.1),
    Check("calibrated-lengths", analog_calibrated.lengths_checked, 120, least=11),
)
