"""What comes late to the loop: a test that nobody waits for any more is not made, what is to be kept is."""

from pathlib import Path

from tests.phone.hands import Hands
from wiremap.bench.handset import LATE_S, TOO_LATE, What, Wish

SOUND = "none"


def asked(hands: Hands, what: What, age_s: float = 0.0, waits_s: float = 0.0) -> tuple[bool, str]:
    """Ask for something that was pressed so long ago, and which then waits so long for the tester."""
    hands.wishes += 1
    answer = hands.loop.ask(Wish(f"late-{hands.wishes:04}", what, hands.view().handset.count, (), age_s))
    hands.tester.now_s += waits_s
    hands.turns(1)
    return answer.result(0).ok, answer.result(0).text


def test_a_test_that_was_asked_for_long_ago_is_not_made(tmp_path: Path) -> None:
    """Whether it waited on the phone, off the Wi-Fi, or here, while the tester hung; pressed now it is made."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    for age_s, waits_s in ((LATE_S + 1, 0.0), (0.0, LATE_S + 1), (LATE_S / 2, LATE_S / 2 + 1)):
        assert asked(hands, "again", age_s, waits_s) == (False, TOO_LATE)
    assert len(hands.tester.measured) == 1
    assert asked(hands, "again", LATE_S / 2, LATE_S / 4)[0]
    assert len(hands.tester.measured) == 2


def test_what_is_to_be_kept_is_kept_however_late(tmp_path: Path) -> None:
    """Keep, and the label that was left, wait for the laptop as long as it takes."""
    hands = Hands(tmp_path)
    hands.plug(SOUND)
    assert asked(hands, "keep", 3600.0)[0]
    assert len(hands.captures()) == 1
