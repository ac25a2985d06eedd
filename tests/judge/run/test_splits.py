"""Split pairs and quads of cables whose kind nobody told, at a reduced count."""

from tests.judge.run.split_trials import whole_run_splits


def test_whole_run_splits() -> None:
    """Sound and split are told apart in every kind, and nothing is said where the cable is too short for it."""
    whole_run_splits(3, 8)
