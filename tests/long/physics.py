"""Pairing, echoes and lengths at full count."""

from tests.judge.run import echo_checks, length_checks, pairing_checks, short_leads, witness_checks
from tests.long import Check

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
    Check("short-leads", short_leads.short_leads, 2000, least=80),
)
