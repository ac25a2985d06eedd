"""What a Reading is made of: who measured, and one measurement of each kind."""

from typing import Literal

from msgspec import Struct

from wiremap.contact import Contact


class Tester(Struct, frozen=True, forbid_unknown_fields=True):
    """Who measured: the four fields of its identification, what it can do, and how finely it sees.

    resolution_ohm: smallest step of a conductor's resistance, ohms. low_level_sd_ohm: standard deviation of a
    conductor's resistance at 20 mV or less, ohms; None = not said, it is then taken to be as fine as the other.
    highest_mv: millivolts beyond which it shows no more of a foreign voltage; None = not said, what it shows is meant.
    """

    maker: str
    model: str
    serial: str
    firmware: str
    features: tuple[str, ...] = ()
    resolution_ohm: float = 2.0
    low_level_sd_ohm: float | None = None
    highest_mv: int | None = None


class Capacitance(Struct, frozen=True, forbid_unknown_fields=True):
    """Capacitances over all contacts (near, then far), pF, open-socket values not yet subtracted.

    two_terminal_pf: [i][j] between two contacts, all others floating; symmetric, None = not measured.
    single_pf: [i] one contact against all others held low. double_pf: [i][j] two contacts together against
    all others held low; symmetric. pin_pf: one contact's own, to the tester's ground. screen_tied: whether
    the screen was held low during two_terminal_pf. repeats: measurements averaged into each value; sd_pf:
    standard deviation of one of them, None where repeats is 1.
    """

    two_terminal_pf: tuple[tuple[float | None, ...], ...] | None
    single_pf: tuple[float | None, ...] | None
    double_pf: tuple[tuple[float | None, ...], ...] | None
    pin_pf: float | None
    screen_tied: bool
    repeats: int
    sd_pf: float | None = None


class Echo(Struct, frozen=True, forbid_unknown_fields=True):
    """Times of the first echo between two contacts, such as near 1 and near 2.

    ticks: one count per repeat; None = no echo within range. tick_ps: length of a tick. launch_ps: from the
    start of the count to the step at the contact. drive_ohm: source resistance. polarity: +1 rising (open),
    -1 falling (short), 0 not known. dither_ps: shift of the step in each repeat, None = none applied.
    """

    a: Contact
    b: Contact
    ticks: tuple[int | None, ...]
    tick_ps: float
    launch_ps: float
    drive_ohm: float
    polarity: int = 1
    dither_ps: tuple[float, ...] | None = None


class Trace(Struct, frozen=True, forbid_unknown_fields=True):
    """A sampled reflection between two contacts: microvolts[k] at t0_ps + k dt_ps after the middle of the step.

    The voltage is that of a less that of b; a is driven by step_microvolts, b held low, through drive_ohm each.
    """

    a: Contact
    b: Contact
    t0_ps: float
    dt_ps: float
    microvolts: tuple[int, ...]
    step_microvolts: int = 3_300_000
    drive_ohm: float = 50.0


class ForeignVoltage(Struct, frozen=True, forbid_unknown_fields=True):
    """A voltage that was there before the tester drove anything.

    kind: "dc", "ac", "probing" (a power source looking for a device), "link" (a live port), "cell" (a wet
    joint that collapses under load).
    """

    contact: Contact
    millivolts: int
    kind: Literal["dc", "ac", "probing", "link", "cell"]


class Event(Struct, frozen=True, forbid_unknown_fields=True):
    """A change seen while watching: contacts a and b opened or joined.

    at_us: since the watch began. for_us: how long the new state lasted, None = it still lasts.
    """

    number: int
    a: Contact
    b: Contact
    change: Literal["opened", "joined"]
    at_us: int
    for_us: int | None


class HeardText(Struct, frozen=True, forbid_unknown_fields=True):
    """What a tester printed that has a language of its own, the last lines of it, and how it was read.

    alike: how many scans of it were alike; its line has no check value. language: the description, a TOML text.
    """

    lines: tuple[str, ...]
    alike: int
    language: str
