"""A Reading: what the tester saw of one cable, unjudged.

Contacts are names ("1".."8", "S"). Where near and far contacts stand side by side, as in the resistance
matrix, they are ordered near contacts first, then far, and are a `Contact` each, written "near 1", "far 6" in files.
"""

from collections.abc import Iterable, Mapping
from typing import Literal, get_args

from msgspec import Struct

from wiremap import ranges
from wiremap.calibration import LARGEST_MATRIX, Calibration
from wiremap.contact import Contact, contact_from, far_contact, near_contact
from wiremap.errors import FileError
from wiremap.reading.parts import Capacitance, Echo, Event, ForeignVoltage, HeardText, Tester, Trace
from wiremap.reading.soundness import (
    check_calibration,
    check_capacitance,
    check_echo,
    check_event,
    check_foreign,
    check_heard,
    check_ohms,
    check_tester,
    check_trace,
    check_twisted,
    wrong_in_reading,
)

Ohm = float | Literal["open", "joined"] | None
Far = Literal["tester", "open", "joined", "remote", "equipment"]
FARS: tuple[Far, ...] = get_args(Far)
Origin = Literal["tester", "simulator", "table", "eyes", "unknown"]
FORMAT = 1
NO_READING = "Give a reading or a capture that wiremap wrote, a table (CSV), or the text of a tester."
TELLS_OHMS, TELLS_JOINED = "RES", "CONT"  # words of a tester whose scan tells ohms, or no more than joined and open


class Reading(Struct, frozen=True, forbid_unknown_fields=True):
    """What the tester saw, unjudged; one that exists is sound.

    taken_utc: "YYYY-MM-DDTHH:MM:SSZ", None where nobody knows. tester, calibration: None = not known.
    far: what the far plug was in.
    resistance_ohm: square over near, then far contacts; symmetric, diagonal 0.0. A number is ohms (>= 0),
        "open" above the tester's range, "joined" joined with ohms unknown, None not measured.
    low_level_ohm: the same at no more than 20 mV, None = not measured at all.
    origin: where it comes from: a tester, the simulator of one, a table that was typed or exported by something else,
        eyes (colours read off plugs, nothing measured), or unknown, as in files from before this was kept.
    twisted: of a reading by eye, contacts of one end in groups whose conductors are twisted together, as their colours
        say; a contact alone in its group is twisted with none of those seen; of contacts in no group it is not known.
    heard: the text that it was read off, None = it was read off none.
    """

    taken_utc: str | None
    tester: Tester | None
    calibration: Calibration | None
    far: Far
    near_contacts: tuple[str, ...]
    far_contacts: tuple[str, ...]
    resistance_ohm: tuple[tuple[Ohm, ...], ...]
    low_level_ohm: tuple[tuple[Ohm, ...], ...] | None = None
    capacitance: Capacitance | None = None
    echoes: tuple[Echo, ...] = ()
    traces: tuple[Trace, ...] = ()
    foreign: tuple[ForeignVoltage, ...] = ()
    events: tuple[Event, ...] = ()
    origin: Origin = "unknown"
    twisted: tuple[tuple[Contact, ...], ...] = ()
    heard: HeardText | None = None

    def __post_init__(self) -> None:
        """Check shapes and values; FileError names the place and what is allowed there."""
        if self.taken_utc is not None:
            ranges.check_moment("reading: taken_utc", self.taken_utc)
        ranges.check_names("reading: near_contacts", self.near_contacts, LARGEST_MATRIX)
        ranges.check_names("reading: far_contacts", self.far_contacts, LARGEST_MATRIX)
        if not self.near_contacts:
            raise wrong_in_reading("near_contacts", [], "at least one contact")
        contacts = self.contacts
        if len(contacts) > LARGEST_MATRIX:
            raise wrong_in_reading("contacts", len(contacts), f"at most {LARGEST_MATRIX} contacts in all")
        check_ohms("resistance_ohm", self.resistance_ohm, contacts)
        if self.low_level_ohm is not None:
            check_ohms("low_level_ohm", self.low_level_ohm, contacts)
        if self.tester is not None:
            check_tester(self.tester)
        if self.calibration is not None:
            check_calibration(self.calibration, contacts)
        if self.capacitance is not None:
            check_capacitance(self.capacitance, contacts)
        for what, parts in (("an echo", self.echoes), ("a trace", self.traces), ("an event", self.events)):
            named = [contact for part in parts for contact in (part.a, part.b)]
            ranges.check_among(f"reading: contact of {what}", named, contacts)
        ranges.check_among("reading: contact of a voltage", [voltage.contact for voltage in self.foreign], contacts)
        for echo in self.echoes:
            check_echo(echo)
        for trace in self.traces:
            check_trace(trace)
        for voltage in self.foreign:
            check_foreign(voltage)
        for event in self.events:
            check_event(event)
        check_twisted(self.twisted, contacts)
        if self.heard is not None:
            check_heard(self.heard)

    @property
    def contacts(self) -> tuple[Contact, ...]:
        """Return all contacts in matrix order, near ones first."""
        return (*map(near_contact, self.near_contacts), *map(far_contact, self.far_contacts))

    @property
    def joined_only(self) -> bool:
        """Whether joined is told from open and no more: no ohms, and so nothing of what leaks."""
        words = () if self.tester is None else self.tester.features
        if TELLS_OHMS in words or TELLS_JOINED in words:
            return TELLS_OHMS not in words
        cells = {value for row, cells in enumerate(self.resistance_ohm) for value in cells[:row]}
        return "joined" in cells and not any(isinstance(value, int | float) for value in cells)


def square(
    contacts: Iterable[Contact], values: Mapping[tuple[Contact, Contact], Ohm], otherwise: Ohm
) -> tuple[tuple[Ohm, ...], ...]:
    """Build a symmetric matrix over contacts from values given once for each two of them; 0.0 on the diagonal."""
    place = {contact: number for number, contact in enumerate(contacts)}
    rows = [[otherwise] * len(place) for _ in place]
    for (a, b), value in values.items():
        rows[place[a]][place[b]] = rows[place[b]][place[a]] = value
    for number, row in enumerate(rows):
        row[number] = 0.0
    return tuple(map(tuple, rows))


def to_builtins(reading: Reading) -> dict[str, object]:
    """Return the reading as plain dicts, lists, numbers and texts, for a record."""
    import msgspec

    plain: dict[str, object] = msgspec.to_builtins(reading, enc_hook=str)
    return {"format": FORMAT, **plain}


def from_builtins(plain: object) -> Reading:
    """Return the reading that `to_builtins` gave; FileError names the place that is wrong.

    A key left out means its default; a key that is not known, however deep, is refused.
    """
    import msgspec

    if not isinstance(plain, dict) or plain.get("format") != FORMAT or isinstance(plain["format"], bool):
        if not isinstance(plain, dict) or "format" not in plain:
            raise FileError("reading: is none, it has no format number", NO_READING)
        raise FileError(
            f"reading: format is {ranges.shown(plain['format'])}",
            f"This version reads format {FORMAT}; a newer wiremap may read more.",
        )
    fields = {key: value for key, value in plain.items() if key != "format"}
    try:
        return msgspec.convert(fields, Reading, dec_hook=_contact)
    except (msgspec.ValidationError, UnicodeEncodeError, RecursionError) as error:
        if isinstance(error.__cause__, FileError):
            raise error.__cause__ from error
        raise FileError(f"reading: {error}", "The place is named after '$'; mend it there.") from error


def _contact(wanted: type, text: object) -> object:
    """Return the contact that a text of a file names, for the decoder."""
    if wanted is not Contact or not isinstance(text, str):
        raise ValueError(f"{str(text)[:40]!r} is no contact; 'near 3' and 'far S' are")
    return contact_from(text)


def from_json(content: bytes) -> Reading:
    """Return the reading in a JSON object; FileError when it is none, or says a key twice."""
    import json

    try:
        plain = json.loads(content.decode("utf-8-sig"), object_pairs_hook=_once, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise FileError(
            f"reading: not JSON ({error})", "Give a reading as it stands in a capture, a capture, or a table (CSV)."
        ) from error
    return from_builtins(plain)


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        raise ValueError(f"key '{next(name for name in names if names.count(name) > 1)}' stands twice")
    return found


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number; not measured is null")
