"""Split pairs, split sections and quads of cables whose kind nobody told, at a reduced count."""

from tests.judge.run.section_trials import false_alarms, found_sections, found_with_traces, hidden_numbers
from tests.judge.run.split_trials import whole_run_splits


def test_whole_run_splits() -> None:
    """Sound and split are told apart in every kind, and nothing is said where the cable is too short for it."""
    whole_run_splits(3, 6)


def test_sound_cables_have_no_split_section() -> None:
    """Sound cables, twice as uneven as assumed too, are not said to be split anywhere."""
    false_alarms(4, 12)


def test_split_sections_are_found() -> None:
    """Half a metre and more of split is found by capacitance alone, with its metres."""
    found_sections(5, 5)


def test_what_can_hide_is_no_longer_than_is_said() -> None:
    """Sections longer than the number on the page are found."""
    hidden_numbers(7, 4)


def test_split_sections_are_placed() -> None:
    """With traces the page says where a split section begins."""
    found_with_traces(6, 2)
