"""Single keys, and whole labels from a barcode reader that types them, told apart; pure.

A reader types a label within milliseconds and ends it with Enter; a hand presses one key at a time.
"""

from msgspec import Struct

from wiremap.bench.sweep_events import DeskKey, Labelled, Pressed
from wiremap.errors import spelled_out

KEYS: dict[str, DeskKey] = {
    " ": "main",
    "\r": "main",
    "\n": "main",
    "r": "retest",
    "n": "note",
    "s": "skip",
    "u": "undo",
    "q": "stop",
}
TYPE_LABEL = "l"
HAND_S = 0.06  # no hand presses two different keys within this, and no reader pauses for it
LONGEST_LABEL = 64


class Typed(Struct, frozen=True):
    """Characters not yet understood, and when the last of them came."""

    waiting: str = ""
    at_s: float = 0.0


def typed(before: Typed, text: str, at_s: float) -> tuple[Typed, tuple[Pressed | Labelled | str, ...]]:
    """Return what was typed by now; a text is the key for a label by hand.

    text: what came since, "" = nothing. A single character counts when nothing followed it at once.
    """
    events: list[Pressed | Labelled | str] = []
    waiting = before.waiting
    if waiting and at_s - before.at_s > HAND_S:
        events += _by_hand(waiting)
        waiting = ""
    for letter in text:
        if letter not in "\r\n":
            waiting = (waiting + letter)[-LONGEST_LABEL:]
        elif len(set(waiting)) > 1 or (waiting and waiting[0].lower() not in {*KEYS, TYPE_LABEL}):
            events.append(Labelled(spelled_out(waiting, lines=False)))
            waiting = ""
        else:
            events += _by_hand(waiting or letter)
            waiting = ""
    return Typed(waiting, at_s if text else before.at_s), tuple(events)


def _by_hand(waiting: str) -> list[Pressed | Labelled | str]:
    """Return what a key pressed, or held down, means; several different ones without an Enter mean nothing."""
    letter = waiting[0].lower()
    if len(set(waiting)) > 1:
        return []
    if letter == TYPE_LABEL:
        return [TYPE_LABEL]
    return [Pressed(KEYS[letter])] if letter in KEYS else []
