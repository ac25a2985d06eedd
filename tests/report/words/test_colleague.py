"""What a colleague would say of a cable that is of another kind, or whose better plug is the one at hand."""

import pytest

from tests.strategies import cable, plugs, reading_of
from wiremap.cable.patterns import pattern
from wiremap.cable.terminations import termination
from wiremap.judge.case import Case, judge_case, requirements
from wiremap.judge.remedy.knowledge import Statements
from wiremap.report.words.cases import sentences, what_next

STRAIGHT = pattern("straight")
AS_WIRED = {n: n for n in range(1, 9)}
CROSSED = AS_WIRED | {1: 3, 2: 6, 3: 1, 6: 2}
ROLLED = {n: 9 - n for n in range(1, 9)}
READ_AS_B = ",".join(f"{contact}={colour}" for contact, colour in termination("T568B").conductors)


def case_of(
    arrives: dict[int, int], expect: str, near: str = "", closed: tuple[str, ...] = (), sound: tuple[str, ...] = ()
) -> Case:
    """Return the case of a cable with RJ45 plugs, near contact -> far contact, and what the user says."""
    said = Statements(near, closed=closed, sound=sound)
    reading = reading_of(cable(STRAIGHT, arrives), plugs(STRAIGHT))
    return judge_case(reading, requirements(expect, statements=said))


def test_four_pairs_serve_where_two_are_wanted() -> None:
    """A sound cable of four pairs does for a job of two, whatever its other conductors do that endangers nothing."""
    serves = "It has all that straight-2pair wants, and more: it serves. Label it and use it."
    assert what_next(case_of(AS_WIRED, "straight-2pair")) == serves
    assert what_next(case_of({n: n for n in (1, 2, 3, 5, 6, 7, 8)}, "straight-2pair")) == serves
    assert "serves" not in what_next(case_of(AS_WIRED | {1: 2, 2: 1}, "straight-2pair"))
    assert "serves" not in what_next(case_of(AS_WIRED | {4: 7, 7: 4}, "straight-2pair"))  # dangerous with power


def test_two_pairs_cannot_be_made_four() -> None:
    """A cable of two pairs is never to be re-terminated as one of four: it is used as what it is, or replaced."""
    said = what_next(case_of({1: 1, 2: 2, 3: 3, 6: 6}, "straight"))
    assert "se it where straight-2pair is wanted, or replace it: it has 4 conductors." in said
    assert "e-terminate" not in said


def test_a_straight_cable_is_no_rollover_with_a_plug_turned_over() -> None:
    """A straight cable where a rollover is wanted is called that; a rolled one for straight is turned over."""
    assert sentences(case_of(AS_WIRED, "rollover"))[0] == "This is a sound straight cable, but rollover was asked for."
    assert what_next(case_of(AS_WIRED, "rollover")).startswith("Use it where straight is wanted; else look at")
    assert sentences(case_of(ROLLED, "straight"))[0].startswith("Wired as if one plug were turned over")


@pytest.mark.parametrize("closed", ["far=60", "far"])
def test_the_plug_at_hand_is_made_as_the_other_standard(closed: str) -> None:
    """Near T568B and far T568A, the far one closed: the near one is made T568A, and nobody opens the other."""
    said = what_next(case_of(CROSSED, "straight", READ_AS_B, (closed,)))
    assert said.startswith("Use it where crossover is wanted; else re-terminate the near end as T568A")
    plan = case_of(CROSSED, "straight", READ_AS_B, (closed,)).advice.repair
    assert plan is not None
    assert [(step.end, step.known_as) for step in plan.steps] == [("near", "T568A")]


def test_a_closed_near_plug_is_left_too() -> None:
    """The same the other way round: with the near plug closed the far one is made T568B."""
    plan = case_of(CROSSED, "straight", READ_AS_B, ("near",)).advice.repair
    assert plan is not None
    assert [(step.end, step.known_as) for step in plan.steps] == [("far", "T568B")]


def test_what_nobody_can_reach_begins_where_one_stands() -> None:
    """With both plugs closed and 3 and 4 exchanged one plug is opened, the near one, and the other stays shut."""
    plan = case_of(AS_WIRED | {3: 4, 4: 3}, "straight", closed=("near", "far")).advice.repair
    assert plan is not None
    assert [(step.action, step.end) for step in plan.steps] == [("re-terminate", "near")]
    assert [step.end for step in plan.instead] == ["far"]
