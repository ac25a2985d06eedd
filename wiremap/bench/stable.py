"""When is a cable in: from looks at what is joined to "nothing", "moving", "not seated" or "in"; pure."""

from collections.abc import Collection, Sequence
from typing import Literal

from msgspec import Struct

from wiremap.reading.joined import Joined

Seat = Literal["nothing", "not-seated", "in"]

STILL_S = 0.25  # bounces of a plug that is pushed home are shorter; two looks must agree as well
NOT_SEATED_S = 0.6  # the second plug follows the first within this, when a hand knows the way


class Steady(Struct, frozen=True):
    """What is joined, and since when every look agreed.

    joined: pairs (a, b), a < b, of the tester's contacts from 0; None = the tester refused to look, since a voltage
    is there. looks: how many agreed.
    """

    joined: Joined
    since_s: float
    at_s: float
    looks: int = 1

    @property
    def age_s(self) -> float:
        """Return for how long it has been so."""
        return self.at_s - self.since_s

    @property
    def settled(self) -> bool:
        """Whether it has been so for long enough to be no bounce."""
        return self.looks >= 2 and self.age_s >= STILL_S


def after(before: Steady | None, joined: Joined, at_s: float) -> Steady:
    """Return what is known after one more look."""
    if before is None or before.joined != joined:
        return Steady(joined, at_s, at_s)
    return Steady(joined, before.since_s, at_s, before.looks + 1)


def seat(joined: Joined, sides: Sequence[Sequence[int]]) -> Seat:
    """Return what is plugged in.

    sides: for each plug the tester's contacts that should be joined to something, in the order in which they lie in
    the plug. A plug that is not home stands at an angle, so that contacts from one edge of it on reach nothing; one
    contact that reaches nothing elsewhere is a fault of the cable.
    """
    if joined is None:
        return "in"
    if not joined:
        return "nothing"
    reached = {contact for pair in joined for contact in pair}
    return "not-seated" if any(_tilted(side, reached) for side in sides) else "in"


def _tilted(side: Sequence[int], reached: Collection[int]) -> bool:
    missing = [place for place, contact in enumerate(side) if contact not in reached]
    if not missing or len(missing) > len(side) - 1:
        return False
    run = missing[-1] - missing[0] + 1 == len(missing)
    return run and (missing[0] == 0 or missing[-1] == len(side) - 1)
