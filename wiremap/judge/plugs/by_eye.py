"""From colours read through both plugs to a Reading: what sits where, nothing measured."""

from collections.abc import Mapping
from itertools import product

from msgspec import Struct

from wiremap.cable.colours import ColourSet
from wiremap.cable.connectors import Connector
from wiremap.cable.mistakes import EMPTY
from wiremap.cable.patterns import Pattern
from wiremap.contact import Contact, End, far_contact, near_contact
from wiremap.errors import UsageError
from wiremap.judge.plugs.evidence import Reads, seen_as
from wiremap.reading.reading import Ohm, Reading, square


class _Seen(Struct, frozen=True):
    """A plug: the conductors that each contact may hold (none: it is empty), and the one where that is certain.

    A contact that was not read may be empty, so what it holds is never certain.
    """

    may_hold: Mapping[str, frozenset[str]]
    holds: Mapping[str, str]


def reading_by_eye(pattern: Pattern, colours: ColourSet, near: Reads, far: Reads) -> Reading:
    """Return the reading of a cable whose plugs were looked into; nothing in it was measured.

    near, far: (contact, colour read in it, "-" = empty); contacts left out were not read. Two contacts that hold the
    same conductor are "joined", two that cannot are "open", all else is not known. The pattern gives the plugs, the
    screen is not among their contacts. UsageError where the pattern has one plug, a colour is none of the cable's, or a
    conductor is said to be in two contacts of a plug.
    """
    if pattern.far_connector is None:
        raise UsageError(
            f"the colours of '{pattern.name}' cannot be judged by eye: it has one plug, whose contacts are joined",
            "Give a pattern with two plugs, or measure it: `wiremap test`.",
        )
    plugs = pattern.near_connector.conductor_contacts, pattern.far_connector.conductor_contacts
    here = _seen("near", pattern.near_connector, colours, near)
    there = _seen("far", pattern.far_connector, colours, far)
    ours, theirs = tuple(map(near_contact, plugs[0])), tuple(map(far_contact, plugs[1]))
    values: dict[tuple[Contact, Contact], Ohm] = {}
    for a, b in product(ours, theirs):
        if not here.may_hold[a.name] & there.may_hold[b.name]:
            values[a, b] = "open"
        elif a.name in here.holds and here.holds[a.name] == there.holds.get(b.name):
            values[a, b] = "joined"
    return Reading(
        taken_utc=None,
        tester=None,
        calibration=None,
        far="tester",
        near_contacts=plugs[0],
        far_contacts=plugs[1],
        resistance_ohm=square((*ours, *theirs), values, None),
        origin="eyes",
        twisted=(*_twisted("near", here.holds, colours), *_twisted("far", there.holds, colours)),
    )


def _seen(end: End, plug: Connector, colours: ColourSet, reads: Reads) -> _Seen:
    """Return what is in a plug: what one contact holds, no other one does."""
    read = {
        contact: frozenset[str]() if word == EMPTY else frozenset(seen_as(colours, word, colours.names))
        for contact, word in reads
    }
    for alike in read.values():
        contacts = [contact for contact, names in read.items() if names and names <= alike]
        if len(contacts) > len(alike):
            looks = colours.said(min(alike)) if len(alike) == 1 else colours.colour(min(alike)).looks
            times = "once" if len(alike) == 1 else f"{len(alike)} times"
            raise UsageError(
                f"{looks} was read in contacts {', '.join(contacts)} of the {end} plug; "
                f"a cable with the colours '{colours.name}' has it {times}",
                "Look again at these contacts; if the cable has other colours, name them with --colours.",
            )
    taken = frozenset[str]().union(*(names for names in read.values() if len(names) == 1))
    may_hold = {
        contact: names if len(names := read.get(contact, frozenset(colours.names))) < 2 else names - taken
        for contact in plug.conductor_contacts
    }
    holds = {contact: next(iter(may_hold[contact])) for contact in read if len(may_hold[contact]) == 1}
    return _Seen(may_hold, holds)


def _twisted(end: End, holds: Mapping[str, str], colours: ColourSet) -> tuple[tuple[Contact, ...], ...]:
    """Return the contacts whose conductor is known, those twisted together in one group; see `Reading`."""
    groups: dict[frozenset[str], list[Contact]] = {}
    for contact, name in holds.items():
        groups.setdefault(frozenset((name, *colours.mates(name))), []).append(Contact(end, contact))
    return tuple(map(tuple, groups.values()))
