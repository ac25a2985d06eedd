"""Continuity faults: the worked examples, and what the rules promise of any cable."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.judge.wiring.oracle import Said, check_promises, findings_again, mirrored, said, wanted_nets
from tests.long.judge import check_cables, continuity_of, every_order, nets_with_shorts, partial_maps, spoiled
from tests.strategies import Net, apart, cable, cables, joined, nets_of, orders, places, plugs, two_plug_patterns
from wiremap.cable.patterns import Pattern, ScreenRule, pattern
from wiremap.errors import UsageError
from wiremap.judge.findings import Finding, NotChecked
from wiremap.judge.wiring.continuity import continuity, screen, wiring
from wiremap.judge.wiring.layout import Layout, lay_pattern

STRAIGHT = pattern("straight")
EIGHT = {n: n for n in range(1, 9)}


def on(expect: Pattern) -> Layout:
    """Lay a pattern on its own contacts."""
    return lay_pattern(expect, *plugs(expect))


def order(fault: str, wires: str, exchanged: str = "") -> Said:
    """Return a finding of conductors, "1-3 2-6", as `said` does."""
    pairs = [tuple(wire.split("-")) for wire in wires.split()]
    return fault, frozenset(pairs), frozenset(exchanged.split())


def of(fault: str, near: str = "", far: str = "") -> Said:
    """Return a finding of contacts as `said` does."""
    return fault, frozenset([("near", c) for c in near.split()] + [("far", c) for c in far.split()]), frozenset()


def miswired(wires: str, *groups: str) -> list[Net]:
    """Return a straight cable in which some conductors go elsewhere ("1-3 2-6 8-") and contacts are joined."""
    arrives = {str(a): str(b) for a, b in EIGHT.items()}
    for wire in wires.split():
        near, arrives[near] = wire.split("-")
    return joined(nets_of({a: b for a, b in arrives.items() if b}, *plugs(STRAIGHT)), *groups)


WORKED = {
    "pair 3-6 open, pair 1-2 in its place": (
        miswired("1-3 2-6 3- 6-"),
        {of("open", "3", "1"), of("open", "6", "2"), order("crossed-pairs", "1-3 2-6")},
    ),
    "pairs crossed, one of them reversed": (
        miswired("1-3 2-6 3-2 6-1"),
        {order("crossed-pairs", "1-3 2-6 3-2 6-1", "3-2 6-1")},
    ),
    "three in a ring": (miswired("1-2 2-3 3-1"), {order("miswire", "1-2 2-3 3-1")}),
    "two rings": (
        miswired("1-3 2-6 3-1 6-4 4-2"),
        {order("miswire", "1-3 3-1"), order("miswire", "2-6 6-4 4-2")},
    ),
    "near 1 and 2 joined, neither arrives": (
        miswired("1- 2-", "near 1, near 2"),
        {of("short", "1 2"), of("open", "", "1"), of("open", "", "2")},
    ),
    "far 3 and 6 joined, near 6 broken": (
        miswired("6-", "far 3, far 6"),
        {of("short", "3", "3 6"), of("open", "6")},
    ),
    "shifted by one": (
        miswired("1-2 2-3 3-4 4-5 5-6 6-7 7-8 8-"),
        {order("miswire", "1-2 2-3 3-4 4-5 5-6 6-7 7-8"), of("open", "8", "1")},
    ),
}


@pytest.mark.parametrize("name", WORKED)
def test_worked_by_hand(name: str) -> None:
    """The examples worked by hand come out as they were worked."""
    nets, wanted = WORKED[name]
    assert {said(finding) for finding in continuity_of(nets, on(STRAIGHT))} == wanted
    assert findings_again(nets, STRAIGHT) == wanted


def test_conductors_are_named_in_near_order() -> None:
    """near[i] arrives at far[i], in near order, and the polarity exchanged is named by conductor."""
    (found,) = continuity_of(miswired("6-1 3-2 2-6 1-3"), on(STRAIGHT))
    assert found == Finding(
        "crossed-pairs", ("1", "2", "3", "6"), ("3", "6", "2", "1"), polarity_exchanged=("3-2", "6-1")
    )


def test_a_reversed_pair() -> None:
    """Two conductors of one pair exchanged are a reversed pair, and one of another pair a miswire."""
    assert {said(f) for f in continuity_of(miswired("4-5 5-4"), on(STRAIGHT))} == {order("reversed-pair", "4-5 5-4")}
    assert {said(f) for f in continuity_of(miswired("4-6 6-4"), on(STRAIGHT))} == {order("miswire", "4-6 6-4")}


def test_pairs_are_not_crossed_when_their_places_are_taken() -> None:
    """A chain of pairs is no crossing when a conductor arrives where its first pair should."""
    found = {said(f) for f in continuity_of(miswired("1-3 2-6 3-1 6-"), on(STRAIGHT))}
    assert found == {order("miswire", "1-3 3-1"), order("miswire", "2-6"), of("open", "6", "2")}


def test_one_missing_wire_is_one_open() -> None:
    """A conductor that is missing floats at both ends and is one finding; a half one names the end that floats."""
    assert {said(f) for f in continuity_of(miswired("5-"), on(STRAIGHT))} == {of("open", "5", "5")}
    found = {said(f) for f in continuity_of(miswired("5-", "near 5, near 4"), on(STRAIGHT))}
    assert found == {of("short", "4 5", "4"), of("open", "", "5")}


def test_a_conductor_the_pattern_does_not_have() -> None:
    """A conductor between contacts that the pattern leaves empty is a miswire, alone or at the end of a chain."""
    two = pattern("straight-2pair")
    assert {said(f) for f in continuity_of(cable(two, EIGHT), on(two))} == {
        order("miswire", f"{n}-{n}") for n in (4, 5, 7, 8)
    }
    assert {said(f) for f in continuity_of(cable(two, {1: 1, 2: 2, 3: 3, 6: 7}), on(two))} == {
        order("miswire", "6-7"),
        of("open", "", "6"),
    }
    assert {said(f) for f in continuity_of(cable(two, {1: 1, 2: 2, 3: 3, 8: 6}), on(two))} == {
        order("miswire", "8-6"),
        of("open", "6"),
    }


LOOPBACK = pattern("loopback-100")


def loopback(*groups: str) -> list[Net]:
    """Return the nets of a loopback plug in the near socket, the far socket empty."""
    return joined(apart(LOOPBACK), *groups)


@pytest.mark.parametrize(
    ("nets", "wanted"),
    [
        (loopback("near 1, near 3", "near 2, near 6"), set()),
        (loopback("near 1, near 3"), {of("open", "2 6")}),
        (loopback(), {of("open", "1 3"), of("open", "2 6")}),
        (loopback("near 1, near 2", "near 3, near 6"), {of("short", "1 2"), of("short", "3 6")}),
        (loopback("near 1, near 2"), {of("short", "1 2"), of("open", "3"), of("open", "6")}),
        (loopback("near 1, near 3, near 2, near 6"), {of("short", "1 2 3 6")}),
        (
            loopback("near 1, near 3", "near 2, near 6", "near 4, near 7", "near 5, near 8"),
            {of("short", "4 7"), of("short", "5 8")},
        ),
        (loopback("near 1, near 3, near S", "near 2, near 6"), {of("screen-short", "1 3 S")}),
        (loopback("near 1, near 3", "near 2, near 6", "near 4, far 4"), {order("miswire", "4-4")}),
    ],
)
def test_loopback_plugs(nets: list[Net], wanted: set[Said]) -> None:
    """A join that is missing is open at that end; one that should not be is a short."""
    assert {said(finding) for finding in continuity_of(nets, on(LOOPBACK))} == wanted


def test_loopback_promises() -> None:
    """Of loopback plugs with random nets, too, every contact that is not right is named, and no other."""
    choose = random.Random(11)
    for expect in (LOOPBACK, pattern("loopback-all")):
        near, far = plugs(expect)
        laid = on(expect)
        wanted = wanted_nets(expect, places(near, far))
        for _ in range(500):
            nets = [frozenset([place]) for place in places(near, far)]
            for _ in range(choose.randint(0, 6)):
                one, other = choose.sample([net for net in nets if ("near", "S") not in net or len(net) < 3], 2)
                nets = [net for net in nets if net not in (one, other)] + [one | other]
            check_promises(nets, expect, wanted, continuity_of(nets, laid))


BRANCHED = replace(
    STRAIGHT,
    name="branched",
    conductors=(("1", "1"), ("2", "2")),
    joins=(("near", ("1", "3")),),
    near_pairs=(("1", "2"),),
    far_pairs=(("1", "2"),),
)


@pytest.mark.parametrize(
    ("groups", "wanted"),
    [
        (("near 1, near 3, far 1", "near 2, far 2"), set()),
        (("near 1, near 3", "near 2, far 2"), {of("open", "1 3", "1")}),
        (("near 1, far 1", "near 2, far 2"), {of("open", "1 3", "1")}),
        (("near 1, near 3, far 1, near 2, far 2",), {of("short", "1 2 3", "1 2")}),
        (("near 1, near 3, far 2",), {of("short", "1 3", "2"), of("open", "", "1"), of("open", "2")}),
        (("near 3, far 2", "near 2, far 1"), {order("miswire", "3-2 2-1"), of("open", "1")}),
    ],
)
def test_a_join_that_leads_on(groups: tuple[str, ...], wanted: set[Said]) -> None:
    """Where two near contacts lead to one far contact, a part of the join is no short, and its contacts are open."""
    nets = joined(apart(BRANCHED), *groups)
    findings = continuity_of(nets, on(BRANCHED))
    assert {said(finding) for finding in findings} == wanted
    check_promises(nets, BRANCHED, wanted_nets(BRANCHED, places(*plugs(BRANCHED))), findings)
    turned = continuity_of(nets, on(BRANCHED.swapped()), mirror=True)
    assert {mirrored(finding) for finding in turned} == wanted


@pytest.mark.parametrize(
    ("rule", "groups", "findings", "missing"),
    [
        ("any", ("near S, far S",), [], []),
        ("any", (), [], [NotChecked("screen", "not-asked")]),
        ("both", ("near S, far S",), [], []),
        ("both", (), [Finding("screen-open", ("S",), ("S",))], []),
        ("both", ("near S, near 4",), [Finding("screen-open", (), ("S",))], []),
        ("both", ("near S, near 4, far S",), [], []),
        ("near", (), [], [NotChecked("screen", "which-end")]),
        ("near", ("near S, far S",), [Finding("screen-short", ("S",), ("S",), end="far")], []),
        ("far", ("near S, far S",), [Finding("screen-short", ("S",), ("S",), end="near")], []),
        ("none", ("near S, far S",), [Finding("screen-short", ("S",), ("S",))], []),
    ],
)
def test_screen_rules(
    rule: ScreenRule, groups: tuple[str, ...], findings: list[Finding], missing: list[NotChecked]
) -> None:
    """The screen is judged by what it must do; what continuity cannot tell of it is not checked."""
    laid = on(STRAIGHT)
    nets = joined(miswired(""), *groups)
    number = {place: i for i, net in enumerate(nets) for place in net}
    seen = wiring([number[place] for place in places(*plugs(STRAIGHT))], laid)
    assert screen(seen, laid, rule, measured=True) == (findings, missing)
    assert screen(seen, laid, rule, measured=False) == ([], [NotChecked("screen", "not-measured")])


def test_a_screen_on_a_conductor_is_a_screen_short() -> None:
    """A conductor joined to the screen is a screen short with all contacts of that net, whatever the screen must do."""
    found = {said(f) for f in continuity_of(miswired("", "near 3, near S, far S"), on(STRAIGHT))}
    assert found == {of("screen-short", "3 S", "3 S")}
    found = {said(f) for f in continuity_of(miswired("3-", "near S, far 3"), on(STRAIGHT))}
    assert found == {of("screen-short", "S", "3"), of("open", "3")}


def test_contacts_may_come_in_any_order_and_without_the_screen() -> None:
    """A reading's contacts are matched by name: another order, and no contact for a screen, change nothing."""
    straight = lay_pattern(STRAIGHT, tuple("87654321"), ("S", *"12345678"))
    assert straight.names == (*"12345678", *"12345678", "S")
    assert straight.order == (7, 6, 5, 4, 3, 2, 1, 0, 9, 10, 11, 12, 13, 14, 15, 16, 8)
    assert straight.screens[0] == -1


@pytest.mark.parametrize(
    ("near", "far"), [("1234S", "12345678S"), ("12345678S", "1234"), ("1234567", "12345678"), ("", "")]
)
def test_contacts_that_do_not_fit(near: str, far: str) -> None:
    """A reading whose contacts are not the pattern's is a wrong request, and both are listed."""
    with pytest.raises(UsageError, match=r"do not fit 'straight', whose (near|far) plug has 1, 2, 3, 4, 5, 6, 7, 8, S"):
        lay_pattern(STRAIGHT, tuple(near), tuple(far))


def test_unsure_contacts_are_not_called_open() -> None:
    """A contact of which not everything was measured is not said to be open."""
    laid = on(STRAIGHT)
    nets = miswired("5-")
    number = {place: i for i, net in enumerate(nets) for place in net}
    seen = wiring([number[place] for place in places(*plugs(STRAIGHT))], laid)
    assert continuity(seen, laid, unsure={4}) == (Finding("open", (), ("5",)),)
    assert continuity(seen, laid, unsure={4, 13}) == ()


def test_every_order_keeps_the_promises() -> None:
    """Orders of every pattern's conductors: no finding exactly when right, each misplaced conductor in one finding."""
    assert every_order(2, 150)


def test_partial_maps_keep_the_promises() -> None:
    """So do partial maps of eight contacts, and turning the cable end for end mirrors the findings."""
    assert partial_maps(2, 3000)


def test_shorted_nets_keep_the_promises() -> None:
    """So do random nets with opens and shorts, the screens among them."""
    assert nets_with_shorts(2, 3000)


def test_spoiled_cables_are_judged_alike_twice() -> None:
    """Cables as people spoil them give the findings that a second working-out of the rules gives."""
    assert spoiled(2, 1600)


@settings(deadline=None, derandomize=True, database=None, max_examples=60)
@given(st.sampled_from(two_plug_patterns()).flatmap(lambda expect: st.tuples(st.just(expect), cables(expect))))
def test_any_cable_of_any_pattern(drawn: tuple[Pattern, list[Net]]) -> None:
    """Any cable of any pattern keeps the promises, small counter-examples first."""
    expect, nets = drawn
    assert check_cables(expect, [nets]) == 1


@settings(deadline=None, derandomize=True, database=None, max_examples=40)
@given(st.sampled_from(two_plug_patterns()).flatmap(lambda expect: st.tuples(st.just(expect), orders(expect))))
def test_any_order_of_any_pattern(drawn: tuple[Pattern, dict[str, str]]) -> None:
    """Whatever the order of a cable's conductors, only their order is found wrong."""
    expect, arrives = drawn
    findings = continuity_of(cable(expect, arrives), on(expect))
    assert {finding.fault for finding in findings} <= {"reversed-pair", "crossed-pairs", "miswire"}
    assert bool(findings) == (arrives != dict(expect.conductors))
