"""What a netlist is made of: kinds of part that can be bought, parts on a board, and nets that join their pins."""

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum

GROUND = "GND"
FREE = "free"  # a pin that is soldered to nothing, on purpose


class Use(StrEnum):
    """What a pin does to its net: words of the exchange format for netlists."""

    PASSIVE = "passive"
    INPUT = "input"
    OUTPUT = "output"
    BIDIRECTIONAL = "bidirectional"
    TRI_STATE = "tri_state"
    POWER_IN = "power_in"
    POWER_OUT = "power_out"


@dataclass(frozen=True)
class Pin:
    """A pin of a kind of part: its number on the package, its name on the data sheet, what it does."""

    number: str
    name: str
    use: Use = Use.PASSIVE


@dataclass(frozen=True)
class Kind:
    """A part as it is bought.

    quantity: ohm of a resistor, farad of a capacitor, None for all else. tolerance: a fraction, None if none matters.
    watt, volt: what it must be good for at 70 C; None where nothing on the board comes near what any such part stands.
    eur: an estimate for one, in small numbers, without shipping; no shop was asked. free: the names of pins that may
    be soldered to nothing.
    """

    name: str
    letter: str
    value: str
    package: str
    footprint: str
    pins: tuple[Pin, ...]
    eur: float
    quantity: float | None = None
    tolerance: float | None = None
    watt: float | None = None
    volt: float | None = None
    ask_for: str = ""
    free: str = ""

    def __post_init__(self) -> None:
        """Refuse pins that share a number, and quantities that are none."""
        numbers = [pin.number for pin in self.pins]
        if len(set(numbers)) != len(numbers):
            raise ValueError(f"{self.name} {self.value}: two pins have one number")
        if self.quantity is not None and self.quantity <= 0:
            raise ValueError(f"{self.name} {self.value}: {self.quantity} is no quantity")


@dataclass(frozen=True)
class Part:
    """A part on a board: its reference, its kind, the net of each pin in the order of the kind's pins, its purpose."""

    reference: str
    kind: Kind
    nets: tuple[str, ...]
    purpose: str

    def __post_init__(self) -> None:
        """Refuse a part that has more or fewer nets than pins."""
        if len(self.nets) != len(self.kind.pins):
            raise ValueError(f"{self.reference}: {len(self.nets)} nets for {len(self.kind.pins)} pins")

    def net(self, name: str) -> str:
        """Return the net of a pin by its number, or by its name where only one has that name; KeyError if none."""
        pins = list(zip(self.kind.pins, self.nets, strict=True))
        for nets in ([net for pin, net in pins if pin.number == name], [net for pin, net in pins if pin.name == name]):
            if len(nets) == 1:
                return nets[0]
        raise KeyError(f"{self.reference} has no one pin {name!r}")


@dataclass(frozen=True)
class Extra:
    """What is bought with a board and has no pins on it: sockets, strips, the circuit board itself."""

    text: str
    count: int
    eur: float


@dataclass(frozen=True)
class Board:
    """A whole board: its parts, and what is bought beside; whether power over the cable may meet it by accident."""

    name: str
    title: str
    stands_57v: bool
    parts: tuple[Part, ...]
    extras: tuple[Extra, ...]

    def part(self, reference: str) -> Part:
        """Return a part by its reference; KeyError if there is none."""
        for part in self.parts:
            if part.reference == reference:
                return part
        raise KeyError(f"{self.name} has no part {reference}")

    def nets(self) -> dict[str, tuple[tuple[Part, Pin], ...]]:
        """Return each net with the pins that it joins, both in the order of the parts; free pins are in none."""
        found: defaultdict[str, list[tuple[Part, Pin]]] = defaultdict(list)
        for part in self.parts:
            for pin, net in zip(part.kind.pins, part.nets, strict=True):
                if net != FREE:
                    found[net].append((part, pin))
        return {net: tuple(pins) for net, pins in found.items()}

    def between(self, a: str, b: str, name: str) -> Part:
        """Return the one part with two pins of a kind's name ("resistor") that joins two nets; KeyError if not one."""
        found = [part for part in self.parts if part.kind.name == name and set(part.nets) == {a, b}]
        if len(found) != 1:
            raise KeyError(f"{self.name} has {len(found)} parts of kind {name!r} between {a} and {b}")
        return found[0]
