"""Whether what a Reading is made of is sound: shapes, contacts, and every number within what can be at all.

Every check raises FileError, which names the place, the value and what is allowed there.
"""

from collections.abc import Sequence
from itertools import chain
from typing import TYPE_CHECKING

from wiremap import calibration, ranges
from wiremap.calibration import Calibration
from wiremap.contact import Contact
from wiremap.errors import FileError

if TYPE_CHECKING:
    from wiremap.reading.parts import Capacitance, Echo, Event, ForeignVoltage, HeardText, Tester, Trace

AnyRows = Sequence[Sequence[object]]
_WORDS = {"open", "joined", None}  # what stands in a matrix of resistances beside numbers
MOST_HEARD_LINES = 400
MOST_FEATURES = 100


def wrong_in_reading(key: str, found: object, allowed: object) -> FileError:
    """Build the error for a value in a reading that is not allowed."""
    return ranges.wrong(f"reading: {key}", found, allowed)


def check_square(key: str, rows: AnyRows, contacts: Sequence[Contact]) -> None:
    """Refuse a matrix that is no symmetric square over the contacts."""
    size = len(contacts)
    if len(rows) != size or any(len(row) != size for row in rows):
        shape = f"{len(rows)} rows of {sorted({len(row) for row in rows})}"
        raise wrong_in_reading(key, shape, f"a square of {size} x {size}, near contacts then far")
    if list(map(tuple, rows)) == list(zip(*rows, strict=True)):
        return
    for i in range(size):
        for j in range(i):
            if rows[i][j] != rows[j][i]:
                place = f"{key} between {contacts[j]} and {contacts[i]}"
                raise wrong_in_reading(place, (rows[j][i], rows[i][j]), "the same value in both directions")


def check_ohms(key: str, rows: AnyRows, contacts: Sequence[Contact]) -> None:
    """Refuse a matrix of resistances with anything in it that is none."""
    check_square(key, rows, contacts)
    cells = list(chain.from_iterable(rows))
    plain = {float, int, str, type(None)}.issuperset(map(type, cells))
    if plain and not ranges.OHM.misfits(set(cells) - _WORDS) and {0.0}.issuperset(cells[:: len(contacts) + 1]):
        return
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            if value is None or value == "open" or value == "joined":
                fits = i != j
            else:
                fits = ranges.OHM.has(value) and (i != j or value == 0)
            if not fits:
                place = f"{key} between {contacts[i]} and {contacts[j]}"
                raise wrong_in_reading(
                    place, value, f'{ranges.OHM}, "open", "joined" or null; 0 from a contact to itself'
                )


def _check_row(key: str, values: Sequence[object] | None, contacts: Sequence[Contact]) -> None:
    if values is not None and len(values) != len(contacts):
        raise wrong_in_reading(key, f"{len(values)} values", f"{len(contacts)} values")


def check_capacitance(seen: "Capacitance", contacts: Sequence[Contact]) -> None:
    """Refuse capacitances of another shape than the contacts have, and numbers that are none."""
    _check_row("capacitance.single_pf", seen.single_pf, contacts)
    ranges.check_numbers("reading: capacitance.single_pf", seen.single_pf or (), ranges.PICOFARADS)
    for key, rows in (("two_terminal_pf", seen.two_terminal_pf), ("double_pf", seen.double_pf)):
        if rows is not None:
            check_square(f"capacitance.{key}", rows, contacts)
            ranges.check_numbers(f"reading: capacitance.{key}", list(chain.from_iterable(rows)), ranges.PICOFARADS)
    ranges.check_numbers("reading: capacitance.pin_pf", (seen.pin_pf,), ranges.OWN_PICOFARADS)
    ranges.check_numbers("reading: capacitance.sd_pf", (seen.sd_pf,), ranges.PICOFARADS)
    ranges.check_number("reading: capacitance.repeats", seen.repeats, ranges.COUNT)


def check_calibration(known: Calibration, contacts: Sequence[Contact]) -> None:
    """Refuse a calibration (sound by itself) whose matrices are of other contacts than the reading's."""
    for key in calibration.ROWS:
        _check_row(f"calibration.{key}", getattr(known, key), contacts)
    for key in calibration.MATRICES:
        if (rows := getattr(known, key)) is not None:
            check_square(f"calibration.{key}", rows, contacts)


def check_tester(tester: "Tester") -> None:
    """Refuse a tester whose words cannot be printed, or whose step is none."""
    for key in ("maker", "model", "serial", "firmware"):
        ranges.check_text(f"reading: tester.{key}", getattr(tester, key))
    if len(tester.features) > MOST_FEATURES:
        raise wrong_in_reading("tester.features", f"{len(tester.features)} words", f"at most {MOST_FEATURES} words")
    for word in tester.features:
        ranges.check_text("reading: tester.features", word)
    ranges.check_number("reading: tester.resolution_ohm", tester.resolution_ohm, ranges.STEP_OHM)
    ranges.check_numbers("reading: tester.low_level_sd_ohm", (tester.low_level_sd_ohm,), ranges.STEP_OHM)
    ranges.check_numbers("reading: tester.highest_mv", (tester.highest_mv,), ranges.MILLIVOLTS)


def check_echo(echo: "Echo") -> None:
    """Refuse an echo whose times are none, or whose dithers are not one a tick."""
    ranges.check_number("reading: echoes.tick_ps", echo.tick_ps, ranges.STEP_PS)
    ranges.check_number("reading: echoes.launch_ps", echo.launch_ps, ranges.PICOSECONDS)
    ranges.check_number("reading: echoes.drive_ohm", echo.drive_ohm, ranges.DRIVE_OHM)
    ranges.check_numbers("reading: echoes.ticks", echo.ticks, ranges.TICKS)
    if echo.polarity not in (-1, 0, 1):
        raise wrong_in_reading("echoes.polarity", echo.polarity, "-1, 0 or 1")
    if echo.dither_ps is not None:
        ranges.check_numbers("reading: echoes.dither_ps", echo.dither_ps, ranges.PICOSECONDS, ())
        if len(echo.dither_ps) != len(echo.ticks):
            raise wrong_in_reading(
                "echoes.dither_ps", f"{len(echo.dither_ps)} values", f"one for each of {len(echo.ticks)} ticks"
            )


def check_trace(trace: "Trace") -> None:
    """Refuse a trace whose samples, steps or source are none."""
    ranges.check_number("reading: traces.t0_ps", trace.t0_ps, ranges.PICOSECONDS)
    ranges.check_number("reading: traces.dt_ps", trace.dt_ps, ranges.STEP_PS)
    ranges.check_numbers("reading: traces.microvolts", trace.microvolts, ranges.MICROVOLTS, ())
    ranges.check_number("reading: traces.step_microvolts", trace.step_microvolts, ranges.STEP_MICROVOLTS)
    ranges.check_number("reading: traces.drive_ohm", trace.drive_ohm, ranges.DRIVE_OHM)


def check_foreign(voltage: "ForeignVoltage") -> None:
    """Refuse a voltage that is none."""
    ranges.check_number("reading: foreign.millivolts", voltage.millivolts, ranges.MILLIVOLTS)


def check_event(event: "Event") -> None:
    """Refuse an event whose number or times are none."""
    ranges.check_number("reading: events.number", event.number, ranges.COUNT)
    ranges.check_number("reading: events.at_us", event.at_us, ranges.MICROSECONDS)
    ranges.check_numbers("reading: events.for_us", (event.for_us,), ranges.MICROSECONDS)


def check_twisted(groups: Sequence[Sequence[Contact]], contacts: Sequence[Contact]) -> None:
    """Refuse groups of contacts that are none: empty ones, of two ends, or with a contact that stands in two."""
    inside = [contact for group in groups for contact in group]
    ranges.check_among("reading: contact of twisted", inside, contacts)
    if len(set(inside)) != len(inside) or any(len({contact.end for contact in group}) != 1 for group in groups):
        shown = "; ".join(", ".join(map(str, group)) for group in groups)
        raise wrong_in_reading("twisted", shown, "groups of contacts of one end, each contact in one group")


def check_heard(heard: "HeardText") -> None:
    """Refuse text of a tester that cannot be printed, is too long, or was seen alike no time."""
    if len(heard.lines) > MOST_HEARD_LINES:
        raise wrong_in_reading("heard.lines", f"{len(heard.lines)} lines", f"at most {MOST_HEARD_LINES} lines")
    for line in heard.lines:
        ranges.check_text("reading: heard.lines", line)
    ranges.check_number("reading: heard.alike", heard.alike, ranges.COUNT)
    for line in heard.language.split("\n"):
        ranges.check_text("reading: heard.language", line)
