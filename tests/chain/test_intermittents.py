"""A cable that comes and goes while it is tested: said so, and never of its run."""

from tests.chain.intermittents import never_said_of_the_run, read_once
from wiremap.judge.case import JobNames, judge_case, requirements
from wiremap.report.words.cases import sentences, what_next


def test_no_run_is_blamed_for_a_contact_that_opens_at_any_moment() -> None:
    """At moments at random, for 2 to 600 ms, nothing is called split and no cable is to be replaced."""
    assert "intermittent" in never_said_of_the_run(2, 6)


def test_a_contact_that_was_open_at_first_and_joined_then_is_named() -> None:
    """A contact open while resistances were measured and whole afterwards came and went, and that is no longer open."""
    when = {"end": "far", "from_s": 0.05, "for_s": 0.2}
    reading = read_once(board="reference", kind="UTP", length_m=6.0, conductor="white-brown", **when)
    case = judge_case(reading, requirements("straight"), JobNames())
    assert case.diagnosis.verdict == "fail"
    assert sentences(case)[0] == "Contact 7 came and went while the cable was measured."
    assert what_next(case).startswith("Hold the cable still and test again.")
