"""A pattern laid on the contacts of a reading: the one order in which judging numbers contacts.

A contact's index: near contacts first, each end in the order of its plug (the screen where the plug has it), whatever
order the reading has them in. For a pattern with one plug the far contacts come as the reading has them.
"""

from collections.abc import Iterable
from functools import lru_cache

from msgspec import Struct

from wiremap.cable.connectors import Connector
from wiremap.cable.patterns import Pattern, pattern_names
from wiremap.cable.patterns import pattern as pattern_named
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import UsageError
from wiremap.judge.wiring.cells import Resistor
from wiremap.judge.wiring.terminators import Bus

NONE = -1


class Layout(Struct, frozen=True):
    """A pattern laid on the contacts of a reading; contacts are indices, as said above.

    order: for each index, where the contact stands in the reading. names: contact names. near_count: so many are
    near. partner: the other contact of an expected conductor, NONE where there is none. joins: contacts expected
    to be joined otherwise than one near with one far. pairs: near contacts (plus, minus) of expected pairs.
    minus: far contacts that are a pair's minus. screens: near and far screen contact, NONE where there is none.
    """

    pattern: Pattern
    order: tuple[int, ...]
    names: tuple[str, ...]
    near_count: int
    partner: tuple[int, ...]
    joins: tuple[frozenset[int], ...]
    pairs: tuple[tuple[int, int], ...]
    minus: frozenset[int]
    screens: tuple[int, int]
    resistors: tuple[Resistor, ...]
    bus: Bus | None

    @property
    def conductors(self) -> tuple[tuple[int, int], ...]:
        """Return the expected conductors, near and far index."""
        return tuple((near, far) for near, far in enumerate(self.partner[: self.near_count]) if far != NONE)

    @property
    def near_places(self) -> range:
        """Return the indices of the near contacts."""
        return range(self.near_count)

    @property
    def far_places(self) -> range:
        """Return the indices of the far contacts."""
        return range(self.near_count, len(self.names))

    def near_place(self, name: str) -> int:
        """Return the index of a near contact; ValueError where there is none of that name."""
        return self.names.index(name, 0, self.near_count)

    def far_place(self, name: str) -> int:
        """Return the index of a far contact; ValueError where there is none of that name."""
        return self.names.index(name, self.near_count)

    def contact(self, place: int) -> Contact:
        """Return the contact at an index."""
        return (near_contact if place < self.near_count else far_contact)(self.names[place])

    def near(self, contacts: Iterable[int]) -> tuple[str, ...]:
        """Return the names of the near contacts among these, in order."""
        return tuple(self.names[i] for i in sorted(contacts) if i < self.near_count)

    def far(self, contacts: Iterable[int]) -> tuple[str, ...]:
        """Return the names of the far contacts among these, in order."""
        return tuple(self.names[i] for i in sorted(contacts) if i >= self.near_count)


def _fits_plug(found: tuple[str, ...], plug: Connector) -> bool:
    return set(found) in (set(plug.contacts), set(plug.conductor_contacts))


def fits(pattern: Pattern, near_contacts: tuple[str, ...], far_contacts: tuple[str, ...]) -> bool:
    """Whether a reading's contacts are those of the pattern's plugs; either end may lack its screen contact."""
    far_plug = pattern.far_connector
    return _fits_plug(near_contacts, pattern.near_connector) and (
        far_plug is None or _fits_plug(far_contacts, far_plug)
    )


def _in_plug_order(end: str, found: tuple[str, ...], plug: Connector, name: str) -> tuple[str, ...]:
    if not _fits_plug(found, plug):
        raise UsageError(
            f"the reading's {end} contacts {', '.join(found) or '(none)'} do not fit '{name}', "
            f"whose {end} plug has {', '.join(plug.contacts)}",
            _adapter_hint(end, found, plug)
            + "Name the pattern of this cable with --expect; the screen's contact may be missing.",
        )
    return tuple(contact for contact in plug.contacts if contact in found)


def _adapter_hint(end: str, found: tuple[str, ...], plug: Connector) -> str:
    """Return which adapter leads from a plug to contacts such as were read, as a question; "" where none does."""
    adapter = f"{plug.name}-rj45"
    socket = pattern_named(adapter).far_connector if adapter in pattern_names() else None
    if socket is None or not _fits_plug(found, socket):
        return ""
    return f"Is an {plug.short_title} plug in an adapter? Test again with --{end}-adapter {adapter}. "


@lru_cache(maxsize=256)
def lay_pattern(pattern: Pattern, near_contacts: tuple[str, ...], far_contacts: tuple[str, ...]) -> Layout:
    """Lay a pattern on a reading's contacts; UsageError lists both where they do not fit.

    Either end may lack its screen contact. For a pattern with one plug the far contacts are whatever the tester
    has, and nothing is expected of them.
    """
    near = _in_plug_order("near", near_contacts, pattern.near_connector, pattern.name)
    far_plug = pattern.far_connector
    far = _in_plug_order("far", far_contacts, far_plug, pattern.name) if far_plug else far_contacts
    place = {("near", contact): i for i, contact in enumerate(near)}
    place |= {("far", contact): len(near) + i for i, contact in enumerate(far)}
    wanted = [{place["near", a], place["far", b]} for a, b in pattern.conductors]
    for end, row in pattern.joins:
        group = {place[end, contact] for contact in row}
        touched = [other for other in wanted if other & group]
        wanted = [other for other in wanted if not other & group] + [group.union(*touched)]
    partner = [NONE] * len(place)
    joins = []
    for group in wanted:
        a, b = min(group), max(group)
        if len(group) == 2 and a < len(near) <= b:
            partner[a], partner[b] = b, a
        else:
            joins.append(frozenset(group))
    far_pairs = [{place["far", contact] for contact in pair} for pair in pattern.far_pairs]
    pairs = [(place["near", plus], place["near", minus]) for plus, minus in pattern.near_pairs]
    far_screen = pattern.far_screen if far_plug else pattern.near_screen
    return Layout(
        pattern=pattern,
        order=(*map(near_contacts.index, near), *(len(near) + far_contacts.index(contact) for contact in far)),
        names=near + far,
        near_count=len(near),
        partner=tuple(partner),
        joins=tuple(joins),
        pairs=tuple((p, m) for p, m in pairs if {partner[p], partner[m]} in far_pairs),
        minus=frozenset(place["far", minus] for _, minus in pattern.far_pairs),
        screens=(place.get(("near", pattern.near_screen or ""), NONE), place.get(("far", far_screen or ""), NONE)),
        resistors=tuple(
            Resistor(
                place[item.end, item.a],
                place[item.end, item.b],
                tuple((ohm * (1 - item.tolerance), ohm * (1 + item.tolerance)) for ohm in item.ohm),
            )
            for item in pattern.resistances
            if (item.end, item.a) in place and (item.end, item.b) in place
        ),
        bus=_bus(pattern, place),
    )


@lru_cache(maxsize=64)
def lay_near_plug(pattern: Pattern, near_contacts: tuple[str, ...], far_contacts: tuple[str, ...]) -> Layout:
    """Lay a pattern's near plug alone on a reading whose far plug is in no tester; UsageError where it does not fit.

    The far contacts are whatever the tester has, and nothing is expected of any contact.
    """
    near = _in_plug_order("near", near_contacts, pattern.near_connector, pattern.name)
    names = near + far_contacts
    screen = near.index(pattern.near_screen) if pattern.near_screen in near else NONE
    order = (*map(near_contacts.index, near), *range(len(near), len(names)))
    alone = (NONE,) * len(names)
    return Layout(pattern, order, names, len(near), alone, (), (), frozenset(), (screen, NONE), (), None)


def _bus(pattern: Pattern, place: dict[tuple[str, str], int]) -> Bus | None:
    known = pattern.terminators
    if known is None:
        return None
    (a, b), (c, d) = known.near, known.far
    near, far = (place["near", a], place["near", b]), (place["far", c], place["far", d])
    return Bus(near, far, known.ohm, known.tolerance, known.right)
