"""Cables of an independent world in a guided repair, by users who answer what they see, now and then wrongly; at full
count in `python -m tests.long mend`."""

import pytest

from tests.long.mending import MOST_OVER_THREE, many
from tests.world.mending import MendCounts


@pytest.fixture(scope="module")
def told_truly() -> MendCounts:
    """Return what is counted of 60 cables whose users answer what they see."""
    return many(11, range(60))


@pytest.fixture(scope="module")
def told_wrongly() -> MendCounts:
    """Return what is counted of 60 cables where one answer in ten is wrong, and one in ten is not known."""
    return many(12, range(60), 0.1, 0.1)


def test_every_cable_passes_or_is_rightly_replaced(told_truly: MendCounts) -> None:
    """What is faulty in its plugs alone passes in the end; what is broken between them, or of another kind, is told."""
    assert not told_truly.wrong_endings, told_truly.failures()


def test_questions_are_few_and_none_is_asked_twice_for_nothing(
    told_truly: MendCounts, told_wrongly: MendCounts
) -> None:
    """At most three questions for nearly every cable; one is asked again only to settle a contradiction."""
    assert told_truly.many_questions <= MOST_OVER_THREE * told_truly.cables + 2, told_truly.failures()
    assert not told_truly.twice, told_truly.failures()
    assert not told_wrongly.twice, told_wrongly.failures()


def test_wrong_answers_cost_terminations_and_never_a_false_pass(told_wrongly: MendCounts) -> None:
    """Wrong answers were given, and contradictions noticed; no cable passes that is not as it is wanted."""
    assert told_wrongly.wrong
    assert told_wrongly.unknown
    assert told_wrongly.again
    assert not told_wrongly.false_pass, told_wrongly.failures()
    assert told_wrongly.extra <= told_wrongly.wrong + told_wrongly.unknown, told_wrongly.failures()
