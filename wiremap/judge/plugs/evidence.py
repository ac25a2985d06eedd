"""What was seen of a cable that tells how its plugs are wired: measured, read off by eye, or declared."""

import re
from collections.abc import Iterable, Sequence

from msgspec import Struct

from wiremap.cable.colours import ColourSet
from wiremap.cable.connectors import Connector
from wiremap.cable.mistakes import EMPTY
from wiremap.cable.terminations import Termination
from wiremap.contact import End
from wiremap.errors import UsageError
from wiremap.judge.findings import Place

UNREAD = "?"  # what is said of a contact that was looked into and whose colour could not be told
NO_BRACKETS = str.maketrans("", "", "()")
Reads = tuple[tuple[str, str], ...]


class Opened(Struct, frozen=True):
    """An open contact whose break was placed: the contact at `end`, and where the break is."""

    end: End
    contact: str
    place: Place


class Evidence(Struct, frozen=True):
    """All that is known of one cable's wiring; the screen is not in it.

    routes: (near contact, far contact) of each conductor that arrives alone. groups: contacts that a short joins,
    (near contacts, far contacts): which of them belong together is not known. Contacts in neither are open.
    pairs: near contacts that are twisted together, measured; pairs_sure False = only likely.
    near_reads, far_reads: (contact, what is seen in it), "-" = empty; a conductor's name or its looks.
    sound: ends declared to be as intended. unread: contacts whose colour could not be told: nobody need look again.
    """

    routes: tuple[tuple[str, str], ...]
    groups: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()
    pairs_sure: bool = True
    opened: tuple[Opened, ...] = ()
    near_reads: Reads = ()
    far_reads: Reads = ()
    sound: tuple[End, ...] = ()
    unread: tuple[tuple[End, str], ...] = ()

    def swapped(self) -> "Evidence":
        """Return the same seen from the other end; pairs become those of the far contacts that are known."""
        other: dict[End, End] = {"near": "far", "far": "near"}
        turned: dict[Place, Place] = {"near": "far", "far": "near", "run": "run"}
        leads = dict(self.routes)
        return Evidence(
            tuple((far, near) for near, far in self.routes),
            tuple((far, near) for near, far in self.groups),
            tuple((leads[a], leads[b]) for a, b in self.pairs if a in leads and b in leads),
            self.pairs_sure,
            tuple(Opened(other[one.end], one.contact, turned[one.place]) for one in self.opened),
            self.far_reads,
            self.near_reads,
            tuple(other[end] for end in self.sound),
            tuple((other[end], contact) for end, contact in self.unread),
        )


def seen_as(colours: ColourSet, word: str, among: Sequence[str]) -> frozenset[str]:
    """Return the conductors that `word` can mean: one by its name, or all that look like it.

    A conductor that cannot be told from others by eye stands for all of them, unless the one it is twisted with is said
    as well: "white with orange". UsageError when none fits.
    """
    wanted = re.sub(r"[ /]+", "-", word.translate(NO_BRACKETS).strip().lower())
    if "-with-" in wanted:
        for conductor in among:
            if colours.said(conductor).translate(NO_BRACKETS).lower().replace(" ", "-") == wanted:
                return frozenset([conductor])
    for conductor in among:
        if conductor.lower() == wanted:
            return frozenset(colours.alike(conductor)) & frozenset(among)
    alike = frozenset(name for name in among if colours.colour(name).looks.lower() == word.strip().lower())
    alike |= frozenset(name for name in among if colours.colour(name).letters == word.strip())
    if not alike:
        raise UsageError(
            f"there is no conductor '{word}' in this cable",
            "Known: " + ", ".join(among) + "; other colours are named with --colours, as plain-white.",
        )
    return alike


def read_off(text: str, plug: Connector) -> Reads:
    """Return what a user reads off a plug, from "1=white-orange,4=blue,8=-"; UsageError names the part.

    What could not be told ("3=?") is left out; see `not_told`.
    """
    return tuple((contact, word) for contact, word in _said_of(text, plug).items() if word != UNREAD)


def not_told(text: str, plug: Connector) -> tuple[str, ...]:
    """Return the contacts that were looked into and whose colour could not be told, from "3=?"."""
    return tuple(contact for contact, word in _said_of(text, plug).items() if word == UNREAD)


def _said_of(text: str, plug: Connector) -> dict[str, str]:
    found: dict[str, str] = {}
    for part in text.split(","):
        contact, equals, word = (piece.strip() for piece in part.partition("="))
        if not equals or not word or contact not in plug.conductor_contacts or contact in found:
            raise UsageError(
                f"colours: '{part.strip()}' cannot be used",
                f"Write contact=colour, each contact of {', '.join(plug.conductor_contacts)} once, "
                'as "1=white-orange,4=blue"; "-" for an empty contact, "?" where it cannot be told.',
            )
        found[contact] = word
    return found


def as_ordered(order: Termination, reads: Reads, colours: ColourSet) -> Reads:
    """Return what is in each contact of a plug that is terminated so; UsageError where a colour read off it is another.

    A contact that was seen to be empty is, whatever the termination would have in it.
    """
    empty = {contact for contact, word in reads if word == EMPTY}
    for contact, word in reads:
        held = order.conductor_at(contact)
        if contact not in empty and (held is None or held not in seen_as(colours, word, colours.names)):
            raise UsageError(
                f"contact {contact} was seen as {word}, where {order.name} has {held or 'nothing'}",
                "Look again, or leave out --near-order: the colours say enough.",
            )
    held_there = tuple(held for held in order.conductors if held[0] not in empty)
    return (*held_there, *(read for read in reads if read[0] in empty))


def routes_of(
    nets: Iterable[tuple[Sequence[str], Sequence[str]]],
) -> tuple[tuple[tuple[str, str], ...], tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]]:
    """Return (routes, groups) of nets given as (near contacts, far contacts); contacts alone in a net are left out."""
    routes = []
    groups = []
    for near, far in nets:
        if len(near) == len(far) == 1:
            routes.append((near[0], far[0]))
        elif len(near) + len(far) > 1:
            groups.append((tuple(near), tuple(far)))
    return tuple(sorted(routes)), tuple(sorted(groups))
