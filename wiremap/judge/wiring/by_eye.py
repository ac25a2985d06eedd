"""What colours show and what they cannot: pairs that are split, and everything that only a measurement tells."""

from collections.abc import Collection, Iterable, Iterator, Sequence

from msgspec.structs import replace

from wiremap.contact import Contact, far_contact, near_contact
from wiremap.judge.findings import Check, Finding, NotChecked
from wiremap.judge.wiring.continuity import Wiring
from wiremap.judge.wiring.layout import Layout
from wiremap.reading.joined import nets

FIRST: tuple[Check, ...] = ("continuity", "opens", "shorts", "split-pairs", "length")


def only_looked_at(found: Iterable[NotChecked]) -> tuple[NotChecked, ...]:
    """Return what was not checked of a cable whose colours were read: what conducts was seen of nothing.

    found: what a reading with these contacts joined leaves unchecked. Continuity stays in it, and makes the cable
    undecided, only where colours are missing or cannot be told apart.
    """
    checks: dict[Check, None] = dict.fromkeys(("opens", *(item.what for item in found)))
    ordered = sorted(checks, key=lambda check: FIRST.index(check) if check in FIRST else len(FIRST))
    return tuple(NotChecked(check, "colours-unsure" if check == "continuity" else "seen-only") for check in ordered)


def not_twisted(twisted: Sequence[Sequence[Contact]], pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Return those of these pairs of near contacts whose conductors are seen not to be twisted together."""
    group_of = {contact: number for number, group in enumerate(twisted) for contact in group}

    def apart(a: Contact, b: Contact) -> bool:
        return a in group_of and b in group_of and group_of[a] != group_of[b]

    return tuple(pair for pair in pairs if apart(near_contact(pair[0]), near_contact(pair[1])))


def by_colours(
    findings: Iterable[Finding], twisted: Sequence[Sequence[Contact]], seen: Wiring, layout: Layout
) -> list[Finding]:
    """Return the findings of a cable whose colours were read: with the end of an open that shows, and split pairs.

    twisted: see `Reading`. An open is at the end whose contact is empty while the other one holds a conductor. Pairs
    that sit right and are not twisted together are split, one finding for each closed group of them.
    """
    holding = {contact for group in twisted for contact in group}
    return [*(_placed(finding, holding) for finding in findings), *_split(twisted, seen, layout)]


def _placed(finding: Finding, holding: Collection[Contact]) -> Finding:
    if finding.fault != "open" or not finding.near or not finding.far:
        return finding
    near = {near_contact(name) in holding for name in finding.near}
    far = {far_contact(name) in holding for name in finding.far}
    if near == {True} and far == {False}:
        return replace(finding, end="far")
    return replace(finding, end="near") if near == {False} and far == {True} else finding


def _split(twisted: Sequence[Sequence[Contact]], seen: Wiring, layout: Layout) -> Iterator[Finding]:
    pairs = [(layout.names[a], layout.names[b]) for a, b in layout.pairs]
    split = {layout.names.index(a) for a, _ in not_twisted(twisted, pairs)}
    groups = [[layout.names.index(c.name) for c in group] for group in twisted if group[0].end == "near"]
    labels = nets(layout.near_count, [*layout.pairs, *((group[0], other) for group in groups for other in group[1:])])
    for label in dict.fromkeys(labels[contact] for contact in sorted(split)):
        conductors = [(near, far) for near, far in layout.conductors if labels[near] == label]
        if all(seen.arrives.get(near) == far for near, far in conductors):
            near, far = zip(*conductors, strict=True)
            yield Finding("split-pair", layout.near(near), tuple(layout.names[i] for i in far), detail="colours")
