"""Split pairs, split sections and quads of cables whose kind nobody told, at full count."""

from tests.judge.run.section_trials import false_alarms, found_sections, found_with_traces, hidden_numbers
from tests.judge.run.split_trials import quads_of_every_asymmetry, untwisted_have_no_pairs, whole_run_splits
from tests.long import Check

CHECKS = (
    Check("splits: of the whole run", whole_run_splits, 14, least=4),
    Check("splits: quads of every asymmetry", quads_of_every_asymmetry, 240, least=4),
    Check("splits: untwisted leads", untwisted_have_no_pairs, 400, least=20),
    Check("splits: false alarms of sections", false_alarms, 60, least=8),
    Check("splits: sections without traces", found_sections, 18, least=3),
    Check("splits: what can hide", hidden_numbers, 30, least=4),
    Check("splits: sections with traces", found_with_traces, 6, least=2),
)
