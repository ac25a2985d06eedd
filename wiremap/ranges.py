"""What a number, a text or a date may be at all: wide ranges that everything physical lies in, and checks by them.

They keep nonsense out where a value is made, so that what judges, draws and writes need not ask again. They are no
thresholds: nothing of a cable is judged by them.
"""

import re
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import Any

from msgspec import Struct

from wiremap.errors import FileError

LONGEST_TEXT, LONGEST_FOUND, LONGEST_LIST = 200, 60, 100_000
MOMENT = re.compile(r"(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)Z", re.ASCII)
NAME = re.compile(r"[A-Za-z0-9]{1,8}", re.ASCII)
YEARS = (2000, 2199)  # a tester whose clock was never set says 1970 or 2000


class Range(Struct, frozen=True):
    """Numbers from low to high, both included; whole: no others than whole ones; unit as in words."""

    low: float
    high: float
    unit: str
    whole: bool = False

    def __str__(self) -> str:
        return (
            f"{'a whole number' if self.whole else 'a number'} from {self.low:g} to {self.high:g} {self.unit}".strip()
        )

    def has(self, value: object) -> bool:
        """Whether a value is such a number; NaN, True and numbers of any length are seen for what they are."""
        kinds = int if self.whole else int | float
        return isinstance(value, kinds) and not isinstance(value, bool) and self.low <= value <= self.high

    def misfits(self, values: Iterable[Any]) -> list[Any]:
        """Return the values that are no such numbers; no call for a plain one, since a reading has thousands."""
        low, high = self.low, self.high
        plain: tuple[type, ...] = (int,) if self.whole else (float, int)
        return [value for value in values if not ((type(value) in plain and low <= value <= high) or self.has(value))]


OHM = Range(0.0, 9.9e37, "ohm")  # what instruments write for open (SCPI-1999); no resistance is above it
STEP_OHM = Range(0.0, 1e6, "ohm")
DRIVE_OHM = Range(1.0, 1e5, "ohm")  # less is no source, more no step on 100 ohm
PICOFARADS = Range(-1e3, 1e6, "pF")  # noise goes below 0; 10 km of a screened pair show 600 000 pF
OWN_PICOFARADS = Range(0.0, 1e4, "pF")
PICOSECONDS = Range(-1e9, 1e9, "ps")  # a millisecond: an echo from 100 km
STEP_PS = Range(1e-3, 1e9, "ps")
TICKS = Range(0, 10**9, "ticks", whole=True)
MICROVOLTS = Range(-(10**9), 10**9, "microvolts", whole=True)
STEP_MICROVOLTS = Range(1000, 10**9, "microvolts", whole=True)
MILLIVOLTS = Range(-(10**6), 10**6, "millivolts", whole=True)  # a kilovolt on a data cable ends the tester
MICROSECONDS = Range(0, 10**13, "microseconds", whole=True)  # a watch of four months
COUNT = Range(1, 10**9, "", whole=True)
NVP = Range(0.2, 1.0, "of the speed of light")  # 0.1 is water; nothing is faster than light
RELATIVE_U = Range(0.0, 1.0, "")
SCALE = Range(0.1, 10.0, "")
PF_PER_M = Range(1.0, 1000.0, "pF/m")  # a pair in air has 10, a flooded one 200
OHM_PER_M = Range(1e-4, 100.0, "ohm/m")  # from 150 mm2 of copper to a hair of steel
LENGTH_M = Range(0.01, 1e5, "m")
TERMINATOR_OHM = Range(1.0, 1e6, "ohm")


def shown(value: object) -> str:
    """Return a value as an error shows it: short, and printable whatever it is."""
    try:
        text = repr(value)
    except (ValueError, RecursionError):  # a whole number of thousands of digits
        text = f"a {type(value).__name__} too long to show"
    return text if len(text) <= LONGEST_FOUND else text[: LONGEST_FOUND - 3] + "..."


def wrong(place: str, found: object, allowed: object) -> FileError:
    """Build the error for a value that is not allowed where it stands."""
    return FileError(f"{place} is {shown(found)}", f"Allowed there: {allowed}.")


def check_number(place: str, value: object, allowed: Range) -> None:
    """Refuse what is no number of the range."""
    if not allowed.has(value):
        raise wrong(place, value, allowed)


def check_numbers(place: str, values: Sequence[object], allowed: Range, otherwise: tuple[Any, ...] = (None,)) -> None:
    """Refuse a list with anything but numbers of the range, or one of a few other values; or one that never ends."""
    if len(values) > LONGEST_LIST:
        raise wrong(place, f"{len(values)} values", f"at most {LONGEST_LIST} values")
    if None in otherwise:
        values = [value for value in values if value is not None]
    for value in allowed.misfits(values):
        if not any(value is other or value == other for other in otherwise):
            raise wrong(place, value, f"{allowed}" + (", or null" if None in otherwise else ""))


def check_text(place: str, value: object, longest: int = LONGEST_TEXT) -> None:
    """Refuse what is no text, is too long, or has characters that a terminal would not print as one."""
    if not isinstance(value, str) or len(value) > longest or not value.isprintable():
        raise wrong(place, value, f"a text of at most {longest} characters that can be printed")


def check_names(place: str, names: Sequence[object], most: int) -> None:
    """Refuse names of contacts that are not short, not different from each other, or too many."""
    if not all(isinstance(name, str) and NAME.fullmatch(name) for name in names) or len(set(names)) != len(names):
        raise wrong(place, list(names), "different short names, as on the plug")
    if len(names) > most:
        raise wrong(place, f"{len(names)} names", f"at most {most} names")


def check_among(place: str, names: Sequence[object], known: Iterable[object]) -> None:
    """Refuse a name that is not among those known."""
    there = dict.fromkeys(known if names else ())
    for name in names:
        if name not in there:
            raise wrong(place, name, "one of " + ", ".join(map(str, there)))


def check_moment(place: str, value: object) -> None:
    """Refuse what is no date and time that a clock may have shown, such as a 30th of February or the year 1."""
    try:
        found = MOMENT.fullmatch(value) if isinstance(value, str) else None
        if found is None:
            raise ValueError
        year, month, day, hour, minute, second = map(int, found.groups())
        if not YEARS[0] <= datetime(year, month, day, hour, minute, second, tzinfo=UTC).year <= YEARS[1]:
            raise ValueError
    except ValueError as error:
        allowed = f"a time like 2026-03-01T08:30:00Z, from {YEARS[0]} to {YEARS[1]}"
        raise wrong(place, value, allowed) from error
