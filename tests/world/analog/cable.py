"""One cable as it is, every number of it: what a tester would have to find out."""

from dataclasses import dataclass

from tests.world.analog.kinds import Kind
from tests.world.analog.panels import Array
from tests.world.analog.wires import Wire

CONTACTS = tuple("12345678")


@dataclass(frozen=True)
class Split:
    """A section in which two contacts' conductors have changed places, metres from the near plug."""

    start_m: float
    length_m: float
    exchanged: tuple[str, str] = ("3", "5")


@dataclass(frozen=True)
class Break:
    """A conductor, named by its near contact, that is parted; 0 m = at the near plug, the length = at the far one."""

    contact: str
    at_m: float


@dataclass(frozen=True)
class Wet:
    """A section in whose core water stands; factor: its capacitances over dry ones (2.3 is flooded)."""

    start_m: float
    length_m: float
    factor: float = 1.6


@dataclass(frozen=True)
class Section:
    """A piece of the run along which nothing changes, conductors in the cable's numbering.

    pf: [n, n] direct capacitances of the whole piece, diagonal 0; to_reference_pf: [n] to foil or surroundings.
    nh_per_m: [n, n] external inductances, and metre of piece.
    """

    start_m: float
    length_m: float
    pf: Array
    to_reference_pf: Array
    nh_per_m: Array


@dataclass(frozen=True)
class Plug:
    """A plug: which conductor each contact 1 to 8 holds (None = empty), and what it adds.

    pf: [8, 8] between contacts, screen_pf: [8] to the shell, 0 where there is none. ohm: of each contact.
    screened: contact S is the cable's screen. screen_ohm: of its clamp.
    """

    holds: tuple[int | None, ...]
    pf: Array
    screen_pf: Array
    ohm: tuple[float, ...]
    screened: bool
    screen_ohm: float = 0.01


@dataclass(frozen=True)
class Joint:
    """A place where the run is joined: ohms of each conductor, pF between neighbours in it."""

    at_m: float
    ohm: tuple[float, ...]
    pf: Array


@dataclass(frozen=True)
class Cable:
    """A cable with both its plugs.

    sections: from the near end. ohm: of each conductor's metal from end to end, contacts and joints not counted.
    crowding: of the current at high frequency (proximity, strands). breaks: (conductor, metres from the near end).
    """

    kind: Kind
    length_m: float
    temperature_c: float
    wire: Wire
    crowding: float
    sections: tuple[Section, ...]
    ohm: tuple[float, ...]
    near: Plug
    far: Plug
    joints: tuple[Joint, ...] = ()
    breaks: tuple[tuple[int, float], ...] = ()
    screen_ohm: float = 0.0

    @property
    def screened(self) -> bool:
        """Whether the cable has a screen, taken to a plug or not."""
        return self.kind.screen != "none"
