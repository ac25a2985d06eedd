"""Pairing, echoes and lengths at full count."""

from tests.judge.run import echo_checks, length_checks, pairing_checks, short_leads, witness_checks
from tests.long import Check
from tests.world import analog_calibrated, analog_lengths

CHECKS = (
    Check("pairing-same-as-networkx", pairing_checks.same_as_networkx, 6000),
    Check("pairing-error-rates", pairing_checks.error_rates, 4000),
    Check("pairing-worst-order", pairing_checks.worst_order, 4000),
    Check("pairing-false-alarms", witness_checks.false_alarms, 4000),
    Check("pairing-weaker-witnesses", witness_checks.weaker_witnesses, 3200),
    Check("pairing-short-cords", witness_checks.short_cords, 4000),
    Check("echo-matched-filter", echo_checks.matched_over_bound, 10_000),
    Check("echo-clock-counts", echo_checks.clock_counts, 700),
    Check("length-grids-agree", length_checks.grids_agree, 100),
    Check("length-interval-honesty", length_checks.interval_honesty, 10_000),
    Check("length-wider-spread", length_checks.wider_spread, 1000, least=200),
    Check("lengths-kind-unknown", analog_lengths.kind_unknown, 2400, least=48),
    Check("lengths-kind-unknown-without-trace", analog_lengths.kind_unknown_without_trace, 6000, least=120),
    Check("calibrated-kinds", analog_calibrated.held_by, 160, least=22),
    Check("calibrated-lengths", analog_calibrated.lengths_checked, 120, least=11),
    Check("lengths-kind-told", analog_lengths.kind_told, 1200, least=48),
    Check("lengths-kind-told-without-trace", analog_lengths.kind_told_without_trace, 6000, least=120),
    Check("short-leads", short_leads.short_leads, 2000, least=80),
)
