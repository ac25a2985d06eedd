"""Cables of an independent world, each mended by a user who does literally what the page says; at full count in
`python -m tests.long world`."""

import pytest

from tests.long.world import MOST_OFF, MOST_OVER_CONFIDENT, honest
from tests.world import cables, prior_world
from tests.world.counts import Counts, count_many


@pytest.fixture(scope="module")
def met() -> Counts:
    """Return what is counted of 200 cables of installers with habits of their own."""
    return count_many(cables.cable, 2, range(200))


@pytest.fixture(scope="module")
def believed() -> Counts:
    """Return what is counted of 100 cables of the prior's own world."""
    return count_many(prior_world.wrong_cable, 1, range(100))


def test_no_sentence_is_false_and_no_true_word_refused(met: Counts, believed: Counts) -> None:
    """Every sentence of every page is understood and true, and nothing that a user says truly is refused."""
    assert not met.false, met.failures()
    assert not believed.false, believed.failures()


def test_every_cable_passes_or_ends_in_a_right_reason(met: Counts, believed: Counts) -> None:
    """What is faulty in its plugs alone passes in the end; what is broken between them, or of another kind, is told."""
    assert not met.wrong_endings, met.failures()
    assert not believed.wrong_endings, believed.failures()


def test_nothing_is_opened_for_nothing(met: Counts) -> None:
    """No plug that is hard to open is opened needlessly, and hardly any is made anew that could have stayed."""
    assert not met.needless_climbs, met.failures()
    assert met.more_than_needed <= 0.02 * met.mended, met.failures()


def test_chances_come_true_where_the_habits_are_those_believed_in(believed: Counts) -> None:
    """In the prior's own world chances are off by no more than two points, or four standard deviations of the count."""
    honest(believed, MOST_OFF)


def test_other_installers_make_no_chance_boast(met: Counts) -> None:
    """With installers of other habits chances above 90 % say at most five points more than comes true."""
    assert max(met.over_confident().values()) < MOST_OVER_CONFIDENT, met.summary()
