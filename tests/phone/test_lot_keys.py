"""What a thumb may ask of a lot: what is offered works, what two ask is done once, what is past is refused in words."""

import random
from collections.abc import Iterator
from typing import get_args

import pytest

from tests.bench.lots import STRAIGHT
from tests.bench.world import Cable, sides
from wiremap.bench.handset import LATE_S
from wiremap.bench.sweep import Sweep, step
from wiremap.bench.sweep_events import (
    KeepRecord,
    Labelled,
    Labels,
    Looked,
    Lost,
    Measure,
    NoRoom,
    Outcome,
    Plan,
    Pressed,
    Recorded,
    Stop,
    SweepEvent,
    WasMeasured,
)
from wiremap.bench.typed import KEYS
from wiremap.errors import UsageError
from wiremap.judge.case import JobNames, judge_case
from wiremap.phone.lot.keys import NOT_NOW, LotButton, LotKey, LotWish, event_for, offered

PLANS = [Plan(Labels("W-"), 4, sides(), 3), Plan(Labels(scanned=True), None, sides(), None)]
RACK = [Cable(number, fault) for number, fault in enumerate(("none", "exchanged", "open-edge"))]
OUTCOMES = [
    Outcome(
        "pass" if cable.fault == "none" else "fail", cable.joined, judge_case(cable.reading(0), STRAIGHT, JobNames())
    )
    for cable in RACK
]


def walks(count: int, steps: int) -> Iterator[Sweep]:
    """Give where lots stand that hands and thumbs lead at random."""
    draw = random.Random(11)
    for number in range(count):
        plan = PLANS[number % 2]
        sweep, at_s, tests = Sweep(plan, {}, 1), 0.0, 0
        cable: int | None = None
        for _ in range(steps):
            at_s += draw.choice((0.03, 0.3, 1.0))
            if draw.random() < 0.2:
                cable = draw.choice((None, 0, 1, 2))
            events: list[SweepEvent] = [_drawn(sweep, draw, cable, at_s)]
            while events:
                sweep, actions = step(sweep, events.pop(0))
                yield sweep
                for action in actions:
                    if isinstance(action, Measure) and cable is not None:
                        events.append(WasMeasured(OUTCOMES[cable]))
                    elif isinstance(action, Measure):
                        events.append(Lost())
                    elif isinstance(action, KeepRecord):
                        tests += 1
                        events.append(Recorded(tests) if draw.random() < 0.95 else NoRoom())


def _drawn(sweep: Sweep, draw: random.Random, cable: int | None, at_s: float) -> SweepEvent:
    buttons = offered(sweep)
    if buttons and draw.random() < 0.15:
        labels = [label for label in ("W-001", "W-002", "W-003", "W-004", "W-9") if label != sweep.label]
        return event_for(sweep, pressed(draw.choice(buttons), draw.choice(labels)))
    return Looked(RACK[cable].joined if cable is not None else frozenset(), at_s)


def pressed(button: LotButton, label: str = "W-77") -> LotWish:
    """Return the wish of a button that is pressed, and of a label or note that is typed."""
    text = {"label": label, "note": "seen"}.get(button.what, "")
    return LotWish("abcdefgh", button.what, button.seen, text)


STANDS = list({id(sweep): sweep for sweep in walks(24, 250)}.values())


def test_the_walks_come_everywhere() -> None:
    """The lots that are looked at stand in every phase that phones see, with every button."""
    assert {sweep.phase for sweep in STANDS} >= {
        *("clear", "waiting", "seating", "not-seated", "measuring", "checking", "recording"),
        *("label", "known-label", "shown", "reference", "lost", "full", "done"),
    }
    seen = {button.what for sweep in STANDS for button in offered(sweep)}
    assert seen == {*KEYS.values(), "label"}


def test_what_is_offered_does_something_and_nothing_else_would() -> None:
    """Every button changes the lot, every key without a button would not; while it measures there is none."""
    for sweep in STANDS:
        buttons = {button.what: button for button in offered(sweep)}
        if sweep.phase in NOT_NOW:
            assert not buttons
            continue
        for key in set(KEYS.values()):
            works = step(sweep, Pressed(key)) != (sweep, ())
            same = key == "retest" and step(sweep, Pressed(key)) == step(sweep, Pressed("main"))
            assert (key in buttons) == (works and not same), (sweep.phase, key)
        for button in buttons.values():
            assert button.says.strip()
            event = event_for(sweep, pressed(button))
            assert step(sweep, event) != (sweep, ())


def test_two_phones_at_once_make_one_step() -> None:
    """Both saw the same page and pressed the same: the second is refused in words, or a note beside the first."""
    refused = 0
    for sweep in STANDS:
        for button in offered(sweep):
            wish = pressed(button)
            after, actions = step(sweep, event_for(sweep, wish))
            if any(isinstance(action, Stop) for action in actions) or button.what == "note":
                continue
            for stands in (after, *_finished(after, actions)):
                with pytest.raises(UsageError) as error:
                    event_for(stands, wish)
                assert error.value.hint
                refused += 1
    assert refused > 1000


def _finished(sweep: Sweep, actions: object) -> list[Sweep]:
    """Return where a lot stands when what was asked for is finished, where that is a test."""
    assert isinstance(actions, tuple)
    if not any(isinstance(action, Measure) for action in actions) or sweep.tested != RACK[0].joined:
        return []
    measured, _ = step(sweep, WasMeasured(OUTCOMES[0]))
    checked, kept = step(step(measured, Looked(RACK[0].joined, 1e6))[0], Looked(RACK[0].joined, 1e6 + 1))
    if not any(isinstance(action, KeepRecord) for action in kept):
        return [measured, checked]
    return [measured, checked, step(checked, Recorded(10**6))[0]]


def test_what_was_meant_for_another_cable_is_not_done_to_this_one() -> None:
    """Of all that was ever on a page, only what the same page shows now is carried out; the rest is told why."""
    draw = random.Random(3)
    wishes = [pressed(button) for sweep in STANDS for button in offered(sweep)]
    for sweep in draw.sample(STANDS, 300):
        now = {(button.what, button.seen) for button in offered(sweep)}
        for wish in draw.sample(wishes, 60):
            try:
                event_for(sweep, wish)
            except UsageError:
                continue
            assert (wish.what, wish.seen) in now or wish.what == "retest" or sweep.phase in NOT_NOW


def test_a_label_that_moved_on_is_refused_with_words() -> None:
    """Skipping W-001 twice skips it once; the second thumb reads which label is next."""
    sweep = Sweep(PLANS[0], {}, 1, phase="waiting")
    skip = next(button for button in offered(sweep) if button.what == "skip")
    assert skip.says == "skip W-001"
    wish = LotWish("abcdefgh", "skip", skip.seen)
    after, _ = step(sweep, event_for(sweep, wish))
    with pytest.raises(UsageError, match="nothing was done, since W-002 is next now") as error:
        event_for(after, wish)
    assert error.value.hint == "Put the next cable in both sockets. Next: W-002."


@pytest.mark.parametrize(("text", "says"), [("", "is empty"), ("   ", "is empty"), ("x" * 65, "65 letters")])
def test_a_label_that_is_none_is_refused(text: str, says: str) -> None:
    """Nothing typed, blanks, or more than a label may have."""
    sweep = Sweep(PLANS[0], {}, 1, phase="waiting")
    label = next(button for button in offered(sweep) if button.what == "label")
    with pytest.raises(UsageError, match=says):
        event_for(sweep, LotWish("abcdefgh", "label", label.seen, text))
    event = event_for(sweep, LotWish("abcdefgh", "label", label.seen, " W\u202e9 "))
    assert event == Labelled(r"W\u202e9")  # what would turn a terminal's line around is spelled out


def test_only_what_was_typed_waits_for_ever() -> None:
    """A test, a skip and a stop are meant now; a label and a note whenever they come."""
    for what in get_args(LotKey):
        wish = LotWish("abcdefgh", what, age_s=LATE_S + 1)
        assert wish.is_late(0.0) == (what not in ("label", "note"))
        assert not LotWish("abcdefgh", what).is_late(LATE_S)
