"""What continuity findings must be, worked out from nets and pattern alone; shares no function with judge."""

from collections.abc import Iterable, Iterator, Sequence

import networkx as nx

from tests.strategies import Net, Place
from wiremap.cable.patterns import Pattern
from wiremap.judge.findings import Finding

Said = tuple[str, frozenset[object], frozenset[str]]
ORDER = ("reversed-pair", "crossed-pairs", "miswire")


def wanted_nets(expect: Pattern, places: Iterable[Place]) -> set[Net]:
    """Return the partition of all contacts that the pattern asks for; the screens stand alone."""
    graph: nx.Graph[Place] = nx.Graph()
    graph.add_nodes_from(places)
    graph.add_edges_from((("near", a), ("far", b)) for a, b in expect.conductors)
    for end, row in expect.joins:
        nx.add_path(graph, [(end, contact) for contact in row])
    return {frozenset(part) for part in nx.connected_components(graph)}


def said(finding: Finding) -> Said:
    """Return a finding so that two are equal when they say the same: conductors for orders, else contacts."""
    if finding.fault in ORDER:
        body: frozenset[object] = frozenset(zip(finding.near, finding.far, strict=True))
    else:
        body = frozenset([("near", c) for c in finding.near] + [("far", c) for c in finding.far])
    return finding.fault, body, frozenset(finding.polarity_exchanged)


def mirrored(finding: Finding) -> Said:
    """Return what the finding says when the ends are exchanged."""
    fault, body, exchanged = said(
        Finding(finding.fault, finding.far, finding.near, polarity_exchanged=finding.polarity_exchanged)
    )
    return fault, body, frozenset("-".join(reversed(conductor.split("-"))) for conductor in exchanged)


def check_promises(nets: Sequence[Net], expect: Pattern, wanted: set[Net], findings: Sequence[Finding]) -> None:
    """Assert what the rules promise of any cable.

    No finding exactly when the cable matches; every misplaced conductor in exactly one finding, and no other; every
    contact that is not right is named, and no right one; every net that is too large is one short; an open names
    only contacts that float and should not, each once.
    """
    screens = {("near", expect.near_screen), ("far", expect.far_screen if expect.far_connector else expect.near_screen)}
    whole = frozenset(screens)
    right = {place for net in nets for place in net if net in wanted or net == whole}
    misplaced: set[tuple[str, str]] = set()
    too_large: set[Net] = set()
    floating: set[Place] = set()
    for net in nets:
        if net in wanted or net == whole:
            continue
        if len(net) == 1:
            floating |= net
        elif any(net <= group for group in wanted):
            pass
        elif len(net) == 2 and not net & screens and {end for end, _ in net} == {"near", "far"}:
            ends = dict(net)
            misplaced.add((ends["near"], ends["far"]))
        else:
            too_large.add(net)
    assert bool(findings) == any(place not in right for net in nets for place in net)
    named = [place for finding in findings for place in named_in(finding)]
    assert set(named) == {place for net in nets for place in net if place not in right}
    conductors = [pair for f in findings if f.fault in ORDER for pair in zip(f.near, f.far, strict=True)]
    assert len(conductors) == len(set(conductors))
    assert set(conductors) == misplaced
    shorts = [named_in(finding) for finding in findings if finding.fault in ("short", "screen-short")]
    assert len(shorts) == len(too_large)
    assert {frozenset(short) for short in shorts} == too_large
    for finding in findings:
        if finding.fault in ("short", "screen-short"):
            assert (finding.fault == "screen-short") == bool(screens.intersection(named_in(finding)))
    opens = [place for finding in findings if finding.fault == "open" for place in named_in(finding)]
    assert len(opens) == len(set(opens))
    assert floating <= set(opens)


def named_in(finding: Finding) -> list[Place]:
    """Return the contacts a finding names."""
    return [("near", contact) for contact in finding.near] + [("far", contact) for contact in finding.far]


def findings_again(nets: Sequence[Net], expect: Pattern) -> set[Said]:
    """Return what is to be said of a cable whose pattern has no joins, by the rules as they are written.

    A second working-out: a directed graph of the expected conductors, and one of their pairs, read by networkx.
    """
    screens = {("near", expect.near_screen), ("far", expect.far_screen)}
    alone = {place for net in nets if len(net) == 1 for place in net} - screens
    conductor = {}
    found: set[Said] = set()
    for net in nets:
        ends = sorted(end for end, _ in net)
        if len(net) == 1 or net == screens:
            continue
        if ends == ["far", "near"] and not net & screens:
            (far,) = (contact for end, contact in net if end == "far")
            (near,) = (contact for end, contact in net if end == "near")
            conductor[near] = far
        else:
            found.add(("screen-short" if net & screens else "short", frozenset(net), frozenset()))
    route = dict(expect.conductors)
    back = {far: near for near, far in expect.conductors}
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(route)
    wire: dict[tuple[str, str], tuple[str, str]] = {}
    for near, far in conductor.items():
        step = (near if near in route else f"from {near}", back.get(far, f"to {far}"))
        graph.add_edge(*step)
        wire[step] = (near, far)
    threads = [graph.subgraph(part) for part in nx.weakly_connected_components(graph)]
    for thread in threads:
        first = [node for node in thread if thread.in_degree(node) == 0]
        last = [node for node in thread if thread.out_degree(node) == 0]
        missing = {("far", route[node]) for node in first if node in route}
        missing |= {("near", node) for node in last if node in route}
        if missing & alone:
            found.add(("open", frozenset(missing & alone), frozenset()))
    told: set[tuple[str, str]] = set()
    partners = [set(pair) for pair in expect.near_pairs if set(pair) <= set(route)]
    for thread in threads:
        wires = {wire[step] for step in thread.edges}
        if len(thread) == 2 and len(wires) == 2 and set(thread) in partners:
            found.add(("reversed-pair", frozenset(wires), frozenset()))
            told |= wires
    for crossing, turned in _crossed(partners, conductor, expect):
        found.add(("crossed-pairs", crossing, turned))
        told |= crossing
    for thread in threads:
        left = {wire[step] for step in thread.edges if step[0] != step[1]} - told
        if left:
            found.add(("miswire", frozenset(left), frozenset()))
    return found


def _crossed(
    partners: Sequence[set[str]], conductor: dict[str, str], expect: Pattern
) -> Iterator[tuple[frozenset[tuple[str, str]], frozenset[str]]]:
    """Yield the conductors of pairs that are led whole to each other, and of these the ones whose polarity changes."""
    route = dict(expect.conductors)
    back = {far: near for near, far in expect.conductors}
    plus = {("near", a) for a, _ in expect.near_pairs} | {("far", a) for a, _ in expect.far_pairs}
    pairs: nx.DiGraph[frozenset[str]] = nx.DiGraph()
    for one in partners:
        goes_to = {back.get(conductor.get(node, "")) for node in one}
        if goes_to != one and goes_to in partners:
            pairs.add_edge(frozenset(one), frozenset(node for node in goes_to if node))
    for part in nx.weakly_connected_components(pairs):
        group = pairs.subgraph(part)
        starts = [pair for pair in group if group.in_degree(pair) == 0]
        stops = [pair for pair in group if group.out_degree(pair) == 0]
        if any(node in conductor for pair in stops for node in pair):
            continue
        if any(route[node] in conductor.values() for pair in starts for node in pair):
            continue
        crossing = {(node, conductor[node]) for pair in group if pair not in stops for node in pair}
        turned = {f"{a}-{b}" for a, b in crossing if (("near", a) in plus) != (("far", b) in plus)}
        yield frozenset(crossing), frozenset(turned)
