"""Split pairs and quads of cables whose kind nobody told, at full count."""

from tests.judge.run.split_trials import whole_run_splits
from tests.long import Check

CHECKS = (Check("splits: of the whole run", whole_run_splits, 24),)
