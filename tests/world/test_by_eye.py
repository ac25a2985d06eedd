"""Cables of an independent world mended by eye; at full count in `python -m tests.long mend`."""

from tests.long.mending import MOST_UNTIL_CARD
from tests.world.by_eye import by_eye


def test_few_looks_find_a_wrong_order_and_every_contact_is_seen_before_it_is_called_right() -> None:
    """Answered as it is: every wrong order gets its card, all end right, and no cable is called right that is not."""
    met = by_eye(31, 14)
    assert met.wrong_orders > 3
    assert (met.missed, met.false, met.twice) == (0, 0, 0), met.summary()
    assert met.right == met.cables, met.summary()
    assert sorted(met.cards)[len(met.cards) // 2] <= MOST_UNTIL_CARD, met.summary()


def test_wrong_answers_are_asked_once_more_and_never_make_a_cable_right() -> None:
    """One answer in ten is wrong or not known: contradictions are noticed, and no cable is called right that is not."""
    met = by_eye(32, 14, 0.05, 0.05)
    assert met.again > 3
    assert (met.false, met.twice) == (0, 0), met.summary()
