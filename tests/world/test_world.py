"""Cables of an independent world, each mended by a user who does literally what the page says."""

import pytest

from tests.world import cables, prior_world
from tests.world.counts import Counts, count_many


@pytest.fixture(scope="module")
def met() -> Counts:
    """Return what is counted of 300 cables of installers with habits of their own."""
    return count_many(cables.cable, 1, range(300))


def test_nothing_false_is_said(met: Counts) -> None:
    """Every sentence that is said without a chance and without "Probably" is true of the drawn cable."""
    assert not met.false, met.failures()


def test_every_cable_ends_as_it_should(met: Counts) -> None:
    """Cables that are faulty only in their plugs pass in the end, all others end in a right reason."""
    assert not met.wrong_endings, met.failures()


def test_hardly_a_plug_is_made_anew_in_vain(met: Counts) -> None:
    """In 99 % no more plugs are made anew than must be, and no plug that is hard to open is opened needlessly."""
    assert met.more_than_needed <= 0.01 * met.mended, met.failures()
    assert met.needless_climbs == 0, met.failures()


def test_chances_come_true_where_the_habits_are_those_believed_in() -> None:
    """In the prior's own world chances are off by no more than two points, or four standard deviations of the count."""
    found = count_many(prior_world.wrong_cable, 1, range(150))
    for kind, rows in found.deciles.items():
        for number, decile in rows.items():
            assert abs(decile.off) <= max(0.02, decile.by_chance), (kind, number, decile)
