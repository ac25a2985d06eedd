"""Split pairs, split sections and quads of cables whose kind nobody told, at a reduced count."""

from tests.judge.run.section_trials import false_alarms, found_sections, found_with_traces, hidden_numbers
from tests.judge.run.split_trials import quads_of_every_asymmetry, untwisted_have_no_pairs, whole_run_splits


def test_whole_run_splits() -> None:
    """Sound and split are told apart in every kind, and nothing is said where the cable is too short for it."""
    whole_run_splits(3, 4)


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


def test_quads_of_every_asymmetry() -> None:
    """Quads, good or paired wrongly, are told by their diagonals up to an asymmetry of a tenth."""
    quads_of_every_asymmetry(8, 5)


def test_untwisted_leads_have_no_pairs() -> None:
    """A flat lead without twists never passes where pairs are asked."""
    untwisted_have_no_pairs(9, 24)
