"""Cables of an independent world, each mended by a user who does literally what the page says."""

import pytest

from tests.world import cables, prior_world
from tests.world.counts import Counts, count_many

UNTRUE_OF_THE_USER = ("unknown", "refused", "map colour", "not on the page")


@pytest.fixture(scope="module")
def met() -> Counts:
    """Return what is counted of 150 cables of installers with habits of their own."""
    return count_many(cables.cable, 1, range(150))


def test_every_sentence_is_understood_and_no_true_word_refused(met: Counts) -> None:
    """A user understands every sentence of every page, and nothing that he says truly is refused or contradicted."""
    assert not set(met.false) & set(UNTRUE_OF_THE_USER), met.failures()


def test_chances_come_true_where_the_habits_are_those_believed_in() -> None:
    """In the prior's own world chances are off by no more than two points, or four standard deviations of the count."""
    found = count_many(prior_world.wrong_cable, 1, range(100))
    for kind, rows in found.deciles.items():
        for number, decile in rows.items():
            assert abs(decile.off) <= max(0.02, decile.by_chance), (kind, number, decile)
