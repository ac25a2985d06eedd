"""The drawn truth of a cable: what is in each contact of both plugs, and where every fault lies.

Nothing here is known to the product; it gets the reading alone.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from tests.world.tables import CONTACTS, END, SCREEN, Holds, Pattern, mates

Node = tuple[str, str]  # ("near", contact), ("far", contact)
CONTACT_OHM = 0.03
STRAND_OHM = 0.05
CRUSH_OHM = 0.2


@dataclass(frozen=True)
class Plug:
    """One plug. holds: the conductor in each contact, None = empty; meant: what its maker meant to put there.

    loose: contacts whose conductor is not crimped. strands: two contacts (the screen's among them) that an offcut
    joins. poor: (contact, ohms) of bad crimps. clamped: whether the cable's screen is on the plug's.
    """

    kind: str
    holds: Holds
    meant: Holds
    loose: frozenset[str] = frozenset()
    strands: tuple[tuple[str, str], ...] = ()
    poor: tuple[tuple[str, float], ...] = ()
    clamped: bool = False

    @property
    def at(self) -> dict[str, str | None]:
        """Return contact -> conductor."""
        return dict(zip(CONTACTS[self.kind], self.holds, strict=True))

    def where(self, conductor: str) -> str | None:
        """Return the contact that a conductor is in, None = it is not in the plug."""
        return next((contact for contact, name in self.at.items() if name == conductor), None)

    @property
    def sound(self) -> bool:
        """Whether it is as its maker meant it, and well made."""
        return self.holds == self.meant and self.well_made

    @property
    def well_made(self) -> bool:
        """Whether it has no fault but, perhaps, its order."""
        return not self.loose and not self.strands and not self.poor


@dataclass(frozen=True)
class Run:
    """The cable between the plugs. broken: (conductor, metres from near). crushed: (one, other, metres); the screen
    may be one of them, as "screen". poor: (conductor, metres, ohms)."""

    length_m: float
    ohm_per_m: float
    colours: str
    conductors: tuple[str, ...]
    broken: tuple[tuple[str, float], ...] = ()
    crushed: tuple[tuple[str, str, float], ...] = ()
    poor: tuple[tuple[str, float, float], ...] = ()
    screened: bool = False
    screen_broken: bool = False

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong between the plugs."""
        return not (self.broken or self.crushed or self.poor or self.screen_broken)


@dataclass(frozen=True)
class Truth:
    """A cable as it is. screen_asked: whether the job wants the screen through."""

    near: Plug
    far: Plug
    run: Run
    screen_asked: bool = False

    def plug(self, end: str) -> Plug:
        """Return the plug at an end."""
        return self.near if end == "near" else self.far

    def with_plug(self, end: str, plug: Plug) -> "Truth":
        """Return the cable with another plug at an end."""
        return replace(self, near=plug) if end == "near" else replace(self, far=plug)

    @property
    def conductors(self) -> tuple[str, ...]:
        """Return the conductors that the cable has, in a plug or not."""
        return self.run.conductors

    @cached_property
    def joints(self) -> list[tuple[Node, Node, float]]:
        """Return the resistors that the cable is made of: (node, node, ohms); nodes inside the run have own names."""
        found: list[tuple[Node, Node, float]] = []
        run = self.run
        for name in self.conductors:
            spots = sorted(
                {at for one, at in run.broken if one == name}
                | {at for one, at, _ in run.poor if one == name}
                | {at for a, b, at in run.crushed if name in (a, b)}
                | {0.0, run.length_m}
            )
            for here, there in pairwise(spots):
                ohm = (there - here) * run.ohm_per_m
                ohm += sum(more for one, at, more in run.poor if one == name and at == there)
                found.append(((name, f"{here} behind"), (name, f"{there} before"), ohm))
            for spot in spots:
                if (name, spot) not in run.broken:
                    found.append(((name, f"{spot} before"), (name, f"{spot} behind"), 1e-4))
            for end, inside in (("near", f"{0.0} behind"), ("far", f"{run.length_m} before")):
                plug = self.plug(end)
                contact = plug.where(name)
                if contact is not None and contact not in plug.loose:
                    found.append(((end, contact), (name, inside), CONTACT_OHM + dict(plug.poor).get(contact, 0.0)))
        if run.screened and not run.screen_broken:
            found.append((("screen", "near"), ("screen", "far"), run.length_m * run.ohm_per_m / 2))
        for a, b, at in run.crushed:
            one = ("screen", "near") if a == "screen" else (a, f"{at} before")
            found.append((one, (b, f"{at} before"), CRUSH_OHM))
        for end in ("near", "far"):
            plug = self.plug(end)
            if run.screened and plug.clamped:
                found.append(((end, SCREEN[plug.kind]), ("screen", end), CONTACT_OHM))
            found += [((end, a), (end, b), STRAND_OHM) for a, b in plug.strands]
        return found

    @cached_property
    def nets(self) -> dict[Node, frozenset[Node]]:
        """Return for each contact of both plugs the contacts that are joined to it, itself among them."""
        parent: dict[Node, Node] = {}

        def root(node: Node) -> Node:
            while parent.setdefault(node, node) != node:
                node = parent[node]
            return node

        for a, b, _ in self.joints:
            parent[root(a)] = root(b)
        groups: dict[Node, set[Node]] = {}
        for node in self.contacts:
            groups.setdefault(root(node), set()).add(node)
        return {node: frozenset(group) for group in groups.values() for node in group}

    @cached_property
    def contacts(self) -> tuple[Node, ...]:
        """Return the contacts of both plugs, near first, each plug's screen in its place."""
        return tuple((end, contact) for end in ("near", "far") for contact in all_contacts(self.plug(end).kind))

    def arrives(self, near: str) -> str | None:
        """Return the far contact that a near one alone is joined to, None = it is not joined to one only."""
        net = self.nets["near", near]
        far = [contact for end, contact in net if end == "far"]
        return far[0] if len(net) == 2 and len(far) == 1 else None

    @property
    def screen_right(self) -> bool:
        """Whether the screen is clamped at both ends, or nobody asks for it."""
        return not self.screen_asked or (self.near.clamped and self.far.clamped)

    def routes(self) -> dict[str, str]:
        """Return near contact -> far contact of every conductor that arrives alone."""
        found = {contact: self.arrives(contact) for contact in CONTACTS[self.near.kind]}
        return {near: far for near, far in found.items() if far is not None}

    def break_places(self, node: Node) -> set[str]:
        """Return where the break of a contact that is joined to nothing lies: "near", "run", "far"."""
        end, contact = node
        other = "far" if end == "near" else "near"
        plug = self.plug(end)
        name = plug.at.get(contact)
        if name is None or contact in plug.loose:
            return {end}
        places = {"run"} if any(one == name for one, _ in self.run.broken) else set()
        there = self.plug(other).where(name)
        if there is None or there in self.plug(other).loose:
            places.add(other)
        return places

    def keeps_pairs(self, end: str, pattern: Pattern) -> bool:
        """Whether every pair of the pattern at a plug holds two conductors that are twisted together."""
        wanted = dict(pattern.wanted)
        pairs = pattern.pairs if end == "near" else [(wanted[a], wanted[b]) for a, b in pattern.pairs]
        at = self.plug(end).at
        return all(mates(self.run.colours, at[a], at[b]) for a, b in pairs)

    def as_wanted(self, pattern: Pattern) -> bool:
        """Whether every conductor arrives where the pattern wants it and nothing else is joined to it.

        Conductors that the pattern does not ask for may be there as well.
        """
        wanted = {(("near", a), ("far", b)) for a, b in pattern.wanted}
        if any(self.nets[a] != frozenset((a, b)) for a, b in wanted):
            return False
        return not self.screen_asked or len(self.nets["near", SCREEN[self.near.kind]]) == 2


def all_contacts(kind: str) -> tuple[str, ...]:
    """Return all contacts of a plug, its screen where it stands in the plug."""
    return ("1", *CONTACTS[kind]) if kind == "m12a" else (*CONTACTS[kind], "S")


def fewest_terminations(truth: Truth, pattern: Pattern, with_pairs: bool) -> int:
    """Return how many plugs must be made anew, at the least, for the cable to be right; the run is sound.

    with_pairs: the tester sees which conductors are twisted together. Where it does not, and every conductor arrives
    where it is wanted, nobody can know of pairs that are split alike at both ends.
    """
    order = dict(pattern.wanted)
    wanted = {"near": set(order), "far": set(order.values())}
    near, far = truth.near.at, truth.far.at
    right = all(near[a] is not None and near[a] == far[b] for a, b in order.items())
    can_stay = set()
    for end in END:
        plug = truth.plug(end)
        made = not plug.loose & wanted[end] and not plug.strands and not plug.poor
        clamped = plug.clamped or not truth.screen_asked
        full = all(plug.at[contact] is not None for contact in wanted[end])
        kept = truth.keeps_pairs(end, pattern) or (right and not with_pairs)
        if made and clamped and full and kept:
            can_stay.add(end)
    if right and len(can_stay) == 2:
        return 0
    return 1 if can_stay else 2
