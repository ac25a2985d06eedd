"""Builders of readings and cables, plain ones and for Hypothesis; every test of judging starts here."""

import random
from collections.abc import Iterable, Mapping, Sequence

from hypothesis import strategies as st

from wiremap.cable.patterns import Pattern, pattern, pattern_names
from wiremap.contact import Contact, contact_from, far_contact, near_contact
from wiremap.reading.parts import Tester
from wiremap.reading.reading import Far, Ohm, Reading, square

Place = tuple[str, str]
Net = frozenset[Place]
BENCH = Tester(
    "WIREMAP", "BENCH-18", "0001", "1", ("RES", "LOW", "CAP", "GROUP", "ECHO", "TRACE", "FOREIGN", "WATCH"), 0.05
)


def places(near: Iterable[str], far: Iterable[str]) -> tuple[Place, ...]:
    """Return ("near", "1"), ... for the contacts of both ends."""
    return (*(("near", contact) for contact in near), *(("far", contact) for contact in far))


def nets_of(arrives: Mapping[str, str], near: Iterable[str], far: Iterable[str]) -> list[Net]:
    """Return the nets of a cable in which near contacts arrive at far ones and everything else floats."""
    joined: list[set[Place]] = [{("near", a), ("far", b)} for a, b in arrives.items()]
    used = set().union(*joined)
    return [*map(frozenset, joined), *(frozenset([place]) for place in places(near, far) if place not in used)]


def reading_of(
    nets: Iterable[Iterable[Place]],
    contacts_of: tuple[Sequence[str], Sequence[str]],
    *,
    ohm: Ohm = 0.3,
    changed: Mapping[tuple[str, str], Ohm] | None = None,
    low_level: Mapping[tuple[str, str], Ohm] | None = None,
    tester: Tester | None = BENCH,
    far_is: Far = "tester",
    near_far_only: bool = False,
) -> Reading:
    """Return the reading of a cable with these nets: `ohm` within a net, open between nets.

    contacts_of: the near contacts, and the far ones. changed: other values, by contacts as files write them ("near 1",
    "far 6"). low_level: the same at low level, None = as at full current. near_far_only: as a CSV file has it,
    nothing measured within an end.
    """
    near, far = contacts_of
    values: dict[tuple[Contact, Contact], Ohm] = {}
    for net in nets:
        inside = sorted(contact_from(f"{end} {contact}") for end, contact in net)
        values |= {(a, b): ohm for i, a in enumerate(inside) for b in inside[i + 1 :]}
    contacts = (*map(near_contact, near), *map(far_contact, far))

    def put(more: Mapping[tuple[str, str], Ohm]) -> tuple[tuple[Ohm, ...], ...]:
        put = dict(values)
        for (one, other), value in more.items():
            a, b = contact_from(one), contact_from(other)
            put.pop((b, a), None)
            put[a, b] = value
        if near_far_only:
            put |= {(a, b): None for a in contacts for b in contacts if a != b and a.end == b.end}
        return square(contacts, put, "open")

    return Reading(
        taken_utc=None,
        tester=tester,
        calibration=None,
        far=far_is,
        near_contacts=tuple(near),
        far_contacts=tuple(far),
        resistance_ohm=put(changed or {}),
        low_level_ohm=put({**(changed or {}), **(low_level or {})}) if tester else None,
        origin="tester" if tester else "unknown",
    )


def cable(expect: Pattern, arrives: Mapping[int, int] | Mapping[str, str], screen: bool = True) -> list[Net]:
    """Return the nets of a cable with the pattern's plugs, near contact -> far contact; screen: whether it is whole."""
    nets = nets_of({str(a): str(b) for a, b in arrives.items()}, expect.near_contacts, expect.far_contacts)
    both = frozenset({("near", expect.near_screen or ""), ("far", expect.far_screen or "")})
    return [net for net in nets if not net & both] + [both] if screen else nets


def joined(nets: Iterable[Net], *groups: str) -> list[Net]:
    """Return the nets with further contacts joined; groups: contacts as "near 1, near 2, far S"."""
    found = list(nets)
    for group in groups:
        inside = {(place.split()[0], place.split()[1]) for place in group.split(", ")}
        touched = [net for net in found if net & inside]
        found = [net for net in found if not net & inside] + [frozenset(inside.union(*touched))]
    return found


def plugs(expect: Pattern) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the contacts of both plugs of a pattern; for one with one plug the far socket's, like the near ones."""
    return expect.near_contacts, expect.far_contacts or expect.near_contacts


def apart(expect: Pattern) -> list[Net]:
    """Return the nets of empty sockets."""
    return [frozenset([place]) for place in places(*plugs(expect))]


def random_map(choose: random.Random, near: Sequence[str], far: Sequence[str]) -> dict[str, str]:
    """Return a partial map, near contact -> far contact, every size equally likely."""
    size = choose.randint(0, min(len(near), len(far)))
    return dict(zip(choose.sample(near, size), choose.sample(far, size), strict=True))


def random_nets(choose: random.Random, near: Sequence[str], far: Sequence[str], shorts: int) -> list[Net]:
    """Return the nets of a random cable, some of them shorted into one another `shorts` times."""
    nets = nets_of(random_map(choose, near, far), near, far)
    for _ in range(min(shorts, len(nets) - 1)):
        one, other = choose.sample(nets, 2)
        nets = [net for net in nets if net not in (one, other)] + [one | other]
    return nets


def spoiled_nets(choose: random.Random, expect: Pattern) -> list[Net]:
    """Return the nets of a cable made for the pattern by somebody who erred a few times.

    Pairs change places or are turned, two conductors are exchanged, one stays out of its contact, two nets touch.
    """
    arrives = dict(expect.conductors)
    pairs = [pair for pair in expect.near_pairs if set(pair) <= set(arrives)]
    touching = 0
    for _ in range(choose.randint(0, 4)):
        match choose.choice(("cross", "cross", "turn", "exchange", "open", "touch", "elsewhere")):
            case "cross" if len(pairs) > 1:
                (a, b), (c, d) = choose.sample(pairs, 2)
                arrives[a], arrives[b], arrives[c], arrives[d] = arrives[c], arrives[d], arrives[a], arrives[b]
            case "turn":
                a, b = choose.choice(pairs)
                arrives[a], arrives[b] = arrives[b], arrives[a]
            case "exchange":
                a, b = choose.sample(sorted(arrives), 2)
                arrives[a], arrives[b] = arrives[b], arrives[a]
            case "elsewhere":
                a = choose.choice(sorted(arrives))
                free = [c for c in expect.far_contacts if c != expect.far_screen and c not in arrives.values()]
                arrives[a] = choose.choice([*free, arrives[a]])
            case "open":
                for contact in choose.choice(pairs)[: choose.randint(1, 2)]:
                    arrives[contact] = ""
            case _:
                touching += choose.random() < 0.3
    nets = nets_of({a: b for a, b in arrives.items() if b}, expect.near_contacts, expect.far_contacts)
    for _ in range(touching):
        one, other = choose.sample(nets, 2)
        nets = [net for net in nets if net not in (one, other)] + [one | other]
    return nets


def two_plug_patterns() -> tuple[Pattern, ...]:
    """Return every pattern that ships and has two plugs."""
    return tuple(found for found in map(pattern, pattern_names()) if found.far_connector is not None)


def orders(expect: Pattern) -> st.SearchStrategy[dict[str, str]]:
    """Draw a full order of the pattern's conductors among its own contacts."""
    near, far = zip(*expect.conductors, strict=True)
    return st.permutations(far).map(lambda order: dict(zip(near, order, strict=True)))


def cables(expect: Pattern) -> st.SearchStrategy[list[Net]]:
    """Draw the nets of a cable for the pattern's plugs, with opens and shorts, the screen included."""
    return st.builds(
        lambda seed, shorts: random_nets(random.Random(seed), expect.near_contacts, expect.far_contacts, shorts),
        st.integers(0, 2**32),
        st.integers(0, 4),
    )
