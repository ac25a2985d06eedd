"""What to do about a cable: the plan, its reasons, and cables mended by it until they pass."""

from collections import Counter
from typing import get_args

import pytest

from tests.judge.plugs.as_built_trials import STRAIGHT, T568A, T568B, TIA
from tests.judge.remedy.repair_trials import JOINT, RULES, Bench, Cable, Trouble, mend_many
from wiremap.cable.patterns import pattern
from wiremap.contact import End
from wiremap.errors import UsageError
from wiremap.judge.findings import Fault, Finding
from wiremap.judge.plugs.as_built import as_built
from wiremap.judge.plugs.evidence import Evidence
from wiremap.judge.plugs.found import Effort
from wiremap.judge.remedy.advice import advice_on
from wiremap.judge.remedy.joints import joint_at, joint_from
from wiremap.judge.remedy.knowledge import Knowledge
from wiremap.judge.remedy.repair import (
    NOT_A_FAULT_OF_THE_CABLE,
    OF_A_PIECE,
    ORDER_FAULTS,
    PLUG,
    SURFACE,
    WHOLE_CABLE,
    Repair,
    repair,
)
from wiremap.judge.verdict import judge
from wiremap.judge.wiring.laid_reading import lay_reading
from wiremap.report.words.faults import Ends
from wiremap.report.words.repair import next_of
from wiremap.report.words.repair import plan as said

CROSSOVER = pattern("crossover")
ENDS = Ends("helm", "mast")


def of(findings: tuple[Finding, ...], evidence: Evidence | None = None) -> Repair:
    """Plan the repair of a straight cable of eight."""
    built = as_built(STRAIGHT, TIA, evidence, 8) if evidence else None
    routes = evidence.routes if evidence else ()
    return repair(STRAIGHT, TIA, findings, built, routes)


def straight(changed: dict[int, int]) -> tuple[tuple[str, str], ...]:
    """Return routes, some near contacts arriving elsewhere."""
    arrives = {n: n for n in range(1, 9)} | changed
    return tuple((str(near), str(far)) for near, far in arrives.items())


def test_of_every_fault_it_is_known_how_it_is_mended() -> None:
    """Each fault is one of the order, of a plug, of a surface, of the whole cable, or none of the cable's.

    No termination mends a length; terminators are plugged on and off.
    """
    not_by_termination = ("too-long", "too-short", "terminators")
    lists = (ORDER_FAULTS, PLUG, OF_A_PIECE, SURFACE, WHOLE_CABLE, NOT_A_FAULT_OF_THE_CABLE, not_by_termination)
    assert Counter(fault for faults in lists for fault in faults) == Counter(get_args(Fault))


def test_the_named_end_gets_the_order_of_the_other() -> None:
    """With the helm read as T568B a reversed pair at the mast is mended there, and two conductors move."""
    reads = (("4", "blue"), ("1", "white-orange"))
    plan = of((Finding("reversed-pair", ("4", "5"), ("5", "4")),), Evidence(straight({4: 5, 5: 4}), near_reads=reads))
    step = plan.steps[0]
    assert (step.action, step.end, step.known_as) == ("re-terminate", "far", "T568B")
    assert step.changes == ("4", "5")
    assert set(step.moves) == {("4", "5"), ("5", "4")}
    assert plan.instead[0].end == "near"
    assert plan.instead[0].changes == ("4", "5")


def test_look_first_while_it_is_not_settled() -> None:
    """While nobody knows which end, the first step is to look, and then to crimp."""
    plan = of((Finding("reversed-pair", ("4", "5"), ("5", "4")),), Evidence(straight({4: 5, 5: 4})))
    assert [step.action for step in plan.steps] == ["look", "re-terminate"]
    assert plan.steps[0].look is not None


@pytest.mark.parametrize(
    ("fault", "changed"),
    [
        ("reversed-pair", {1: 2, 2: 1}),
        ("reversed-pair", {4: 5, 5: 4}),
        ("crossed-pairs", {4: 7, 5: 8, 7: 4, 8: 5}),
        ("crossed-pairs", {1: 4, 2: 5, 4: 1, 5: 2}),
        ("crossed-pairs", {3: 7, 6: 8, 7: 3, 8: 6}),
    ],
)
@pytest.mark.parametrize("minutes", [(5.0, 5.0), (2.0, 2.0)])
@pytest.mark.parametrize("named", [True, False])
def test_of_two_plans_alike_the_one_with_a_standard_order(
    fault: Fault, changed: dict[int, int], minutes: tuple[float, float], named: bool
) -> None:
    """Where either plug could be made to match the other with equal ease, the one that then has a standard order is."""
    near = tuple(changed)
    contacts = tuple(map(str, near)), tuple(str(changed[one]) for one in near)
    reads = tuple((str(place), name) for place, name in enumerate(T568B, start=1)) if named else ()
    for turned in (False, True):
        here, there = ((), reads) if turned else (reads, ())
        evidence = Evidence(straight(changed), near_reads=here, far_reads=there)
        built = as_built(STRAIGHT, TIA, evidence, 8)
        effort = Effort(*minutes)
        plan = repair(STRAIGHT, TIA, (Finding(fault, *contacts),), built, evidence.routes, effort=effort)
        made = [step for step in plan.steps if step.action == "re-terminate"]
        assert len(made) == 1
        assert not made[0].order or made[0].known_as is not None, (plan, built)


@pytest.mark.parametrize("right", ["near", "far"])
def test_of_two_plugs_that_would_do_the_one_that_was_said_to_be_right_stays(right: End) -> None:
    """A crossover cable where straight is wanted: either plug could become the other's like, so the wrong one does."""
    turned = straight({1: 3, 2: 6, 3: 1, 6: 2})
    plan = of((Finding("miswire"),), Evidence(turned, near_reads=(("1", "white-orange"),), sound=(right,)))
    other = {"near": ("far", "T568B"), "far": ("near", "T568A")}[right]
    assert [(step.action, step.end, step.known_as) for step in plan.steps] == [("re-terminate", *other)]
    assert [step.end for step in plan.instead] == [right]


def test_both_plugs_when_both_split_their_pairs() -> None:
    """In sequence at both ends: no one plug can put it right, both are made anew as a standard order."""
    pairs = (("1", "2"), ("3", "4"), ("5", "6"), ("7", "8"))
    split = Finding("split-pair", ("3", "4", "5", "6"), ("3", "4", "5", "6"))
    plan = of(
        (split,), Evidence(straight({}), pairs=pairs, near_reads=tuple(zip("12345678", IN_SEQUENCE, strict=True)))
    )
    made = [step for step in plan.steps if step.action == "re-terminate"]
    assert [(step.end, step.known_as) for step in made] == [("near", "T568B"), ("far", "T568B")]


IN_SEQUENCE = ("white-orange", "orange", "white-green", "green", "white-blue", "blue", "white-brown", "brown")


def test_sound_but_the_wrong_kind() -> None:
    """A straight cable where crossover is wanted: use it as that, else look; once seen, one end as T568A."""
    bench = Bench(CROSSOVER, Cable(T568B, T568B, screened=False))
    found, advice = bench.test()
    assert found.nearest is not None
    assert found.nearest.pattern == "straight"
    said_now = next_of(advice, ENDS, other_kind=("straight", 8))
    assert said_now is not None
    assert said_now.startswith("Use it where straight is wanted; else look at contact")
    bench.known = Knowledge(near_colours=(("1", "white-orange"), ("4", "blue")))
    _, advice = bench.test()
    assert advice.repair is not None
    assert [(step.end, step.known_as) for step in advice.repair.steps] == [("near", "T568A")]


def test_a_break_in_the_run_is_replaced() -> None:
    """A break between the ends, water and the wrong metal cannot be mended at a plug: replace the cable."""
    plan = of((Finding("open", ("3",), ("3",), "run", 6.0),))
    assert [step.action for step in plan.steps] == ["replace"]
    assert said(plan, ENDS)[0].startswith("Replace the cable: re-terminating cannot mend")
    for fault in ("wet-or-wrong-cable", "conductor-metal"):
        assert [step.action for step in of((Finding(fault),)).steps] == ["replace"]


def test_a_joint_is_opened_first() -> None:
    """A break near a joint that the user named is looked for there before the cable is replaced."""
    finding = Finding("open", ("3",), ("3",), "run", 8.8)
    plan = repair(STRAIGHT, TIA, (finding,), joints=(JOINT,))
    assert [(step.action, step.place) for step in plan.steps] == [("open-joint", "mast foot"), ("replace", None)]
    assert joint_at(12.0, (JOINT,)) is None
    assert joint_at(None, (JOINT,)) is None
    assert joint_from("mast foot=9m") == JOINT
    assert joint_from("deck plug = 3.5").at_m == 3.5
    with pytest.raises(UsageError, match="cannot be used"):
        joint_from("mast foot")


def test_a_joint_with_its_conductors_exchanged() -> None:
    """With both plugs read as right and the mapping wrong, the joint is left; opening it mends the run."""
    order = ("white-blue", "blue", "white-green", "orange", "white-orange", "green", "white-brown", "brown")
    cable = Cable(T568B, T568B, joint=order, screened=False)
    bench = Bench(STRAIGHT, cable)
    reads = tuple(zip("12345678", T568B, strict=True))
    known = type(bench.known)(near_colours=reads, far_colours=reads, joints=(JOINT,))
    bench.known = known
    assert bench.mend()
    assert bench.actions == ["open-joint mast foot"]


def test_nothing_to_mend() -> None:
    """Foreign voltage or attached equipment is no fault of the cable, and a sound cable needs nothing."""
    assert of((Finding("foreign-voltage", ("1",)),)).steps == ()
    assert of((Finding("equipment-attached"),)).steps == ()
    assert of(()).steps == ()


def test_one_plug_only() -> None:
    """A loopback plug has one end to make anew."""
    plan = repair(pattern("loopback-100"), TIA, (Finding("open", ("1", "3")),))
    assert next((step.action, step.end) for step in plan.steps) == ("re-terminate", "near")


def test_an_end_hard_to_reach_is_left_for_last() -> None:
    """Of two plugs that would do as well, the one that is quicker to reach is made anew first."""
    finding = Finding("open", ("3",), ("3",))
    near = repair(STRAIGHT, TIA, (finding,))
    far = repair(STRAIGHT, TIA, (finding,), effort=Effort(None, 2.0))
    assert [step.action for step in near.steps[:2]] == ["find", "re-terminate"]
    assert near.steps[1].end == "near"
    assert far.steps[1].end == "far"
    assert near.steps[-1].action == far.steps[-1].action == "replace"


@pytest.mark.parametrize(
    "cable",
    [
        Cable(T568B, tuple(reversed(T568B))),
        Cable(T568A, T568B),
        Cable(T568B, T568B, (Trouble("open", ("blue",), "near"),)),
        Cable(T568B, T568B, (Trouble("short", ("blue", "green"), "far"),)),
        Cable(T568B, T568B, (Trouble("open", ("brown",), 6.0),)),
        Cable(T568B, T568B, (Trouble("resistance", ("orange",), "far", 30.0),)),
        Cable(T568B, T568B, (Trouble("film", ("orange",), "near", 5.0),)),
        Cable(T568B, T568B, (Trouble("leak", ("orange", "brown"), "near", 5e4),)),
        Cable(T568B, T568B, (Trouble("screen-open", (), "near"),)),
        Cable(T568B, T568B, wet=True),
        Cable(IN_SEQUENCE, IN_SEQUENCE),
        Cable(("-", *T568B[:-1]), T568B),
    ],
    ids=["rolled", "A-B", "open", "short", "break", "resistance", "film", "leak", "screen", "wet", "split", "shifted"],
)
def test_each_fault_is_mended(cable: Cable) -> None:
    """Doing what is said and testing again ends with a pass, for each fault the virtual cable knows."""
    bench = Bench(STRAIGHT, cable)
    assert bench.mend()
    assert bench.tests <= 6


def test_random_cables_are_mended() -> None:
    """Cables wrong in up to three ways pass after the steps that were said, whatever they were."""
    passed, wrong, tests = mend_many(5, 5)
    assert passed == wrong == 5
    assert max(tests) <= 12


def test_advice_in_json() -> None:
    """Advice stands in JSON as as_built, ends, repair and services; what was not made is absent."""
    bench = Bench(STRAIGHT, Cable(T568B, tuple(reversed(T568B)), screened=False))
    seen = bench.cable.reading(1)
    found = judge(seen, STRAIGHT)
    plain = advice_on(lay_reading(seen, STRAIGHT, RULES), found).to_builtins()
    assert set(plain) == {"as_built", "ends", "repair", "services"}
    assert plain["ends"]["wrong_end"] == "either"
    assert plain["repair"]["steps"][0]["action"] == "look"
    sound = Bench(STRAIGHT, Cable(T568B, T568B, screened=False)).cable.reading(1)
    assert set(advice_on(lay_reading(sound, STRAIGHT, RULES), judge(sound, STRAIGHT)).to_builtins()) == {"services"}
