"""What is said of the plugs of a cable: their likely orders, the end at fault, where to look next."""

from typing import Literal

from msgspec import Struct

from wiremap.contact import End

Holds = tuple[tuple[str, str | None], ...]  # (contact, conductor name or None for an empty contact), in contact order
WrongEnd = Literal["near", "far", "both", "either"]


class Effort(Struct, frozen=True):
    """Minutes it takes to look into a plug at each end; None = it cannot be looked into."""

    near_minutes: float | None = 1.0
    far_minutes: float | None = 5.0

    @property
    def minutes(self) -> tuple[float | None, float | None]:
        """Return the minutes of both, near first."""
        return self.near_minutes, self.far_minutes


class LikelyOrder(Struct, frozen=True):
    """An order a plug may have.

    conductors: (contact, conductor name or None for an empty contact), in contact order. known_as: the
    termination it is, None = none. like, differs: the intended order nearest to it, and the contacts where it
    is not the same. carried: that order has no name; it is what goes with the near plug as `like`.
    """

    conductors: tuple[tuple[str, str | None], ...]
    probability: float
    known_as: str | None
    like: str
    differs: tuple[str, ...]
    carried: bool = False

    def to_builtins(self) -> dict[str, object]:
        """Return it as it stands in JSON."""
        plain: dict[str, object] = {"conductors": dict(self.conductors), "probability": round(self.probability, 4)}
        plain |= {"known_as": self.known_as, "like": self.like, "differs": list(self.differs)}
        return plain | ({"carried": True} if self.carried else {})


class Look(Struct, frozen=True):
    """The contact whose colour decides most for the time it takes, and how much, in bits."""

    end: End
    contact: str
    bits: float
    minutes: float

    def to_builtins(self) -> dict[str, object]:
        """Return it as it stands in JSON."""
        return {"end": self.end, "contact": self.contact, "bits": round(self.bits, 3), "minutes": self.minutes}


class AsBuilt(Struct, frozen=True):
    """What the plugs hold, by the evidence.

    near_at_fault, far_at_fault: chance that the plug needs re-terminating. wrong_end: the end that can be named,
    "either" where the evidence does not tell. near_orders, far_orders: likeliest first, each plug by itself.
    near_now, far_now: the likeliest pair of orders that go together. settled: that pair is known well
    enough to act on. next_look: None when settled or when no look would tell more.
    """

    colours: str
    near_at_fault: float
    far_at_fault: float
    wrong_end: WrongEnd
    near_orders: tuple[LikelyOrder, ...]
    far_orders: tuple[LikelyOrder, ...]
    near_now: Holds
    far_now: Holds
    settled: bool
    next_look: Look | None

    def to_builtins(self) -> dict[str, object]:
        """Return the orders as they stand in JSON under `as_built`."""
        return {
            "colours": self.colours,
            "settled": self.settled,
            "near": [order.to_builtins() for order in self.near_orders],
            "far": [order.to_builtins() for order in self.far_orders],
        }

    def ends_to_builtins(self) -> dict[str, object]:
        """Return the ends as they stand in JSON under `ends`."""
        return {
            "near_at_fault": round(self.near_at_fault, 4),
            "far_at_fault": round(self.far_at_fault, 4),
            "wrong_end": self.wrong_end,
        }
