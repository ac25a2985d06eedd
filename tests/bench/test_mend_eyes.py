"""A repair by eye: which contact is looked at next, what is confirmed, what is said of what nobody looked at."""

from itertools import pairwise

from wiremap.bench.mend.events import Answered, Did, Mend, reported
from wiremap.bench.mend.machine import done, what_now
from wiremap.bench.mend.mend_page import mend_page
from wiremap.bench.mend.shown import step_shown
from wiremap.bench.mend.stage import Stage
from wiremap.cable.terminations import termination
from wiremap.judge.case import requirements
from wiremap.report.terminal.display import Terminal

T568B = dict(termination("T568B").conductors)
EXCHANGED = {**T568B, "3": T568B["6"], "6": T568B["3"]}
BY_EYE = Mend(requirements("straight"), live=False, by_eye=True)


def answered(mend: Mend, near: dict[str, str], far: dict[str, str], lies: dict[int, str] | None = None) -> list[Stage]:
    """Return all stages until something else than a question, answered by what is in the plugs; lies: by number."""
    stages = [what_now(mend)]
    while stages[-1].kind == "ask":
        asked = stages[-1].asked
        assert asked is not None
        word = (near if asked.end == "near" else far)[asked.contacts[0]]
        mend = reported(mend, Answered(asked, (lies or {}).get(len(stages), word)))
        stages.append(what_now(mend))
    return stages


def test_a_wrong_plug_has_its_card_after_a_few_looks() -> None:
    """The plug with the exchanged contacts is made anew; what nobody looked at is named as taken for likely."""
    *looks, card = answered(BY_EYE, T568B, EXCHANGED)
    assert len(looks) <= 7
    assert (card.kind, card.end) == ("card", "far")
    assert card.step is not None
    assert dict(card.step.order) == T568B
    assert card.assumed
    said = step_shown(BY_EYE, card).wrong
    assert said[0].startswith("Likely, and not looked at: near ")
    for size in ((80, 24), (40, 16)):
        assert said[0] in " ".join(mend_page(step_shown(BY_EYE, card), Terminal(*size)).split())


def test_nothing_is_right_that_nobody_saw() -> None:
    """A right cable is called so after all sixteen contacts, each asked for once; it says that nothing is measured."""
    *looks, over = answered(BY_EYE, T568B, T568B)
    assert len({look.asked for look in looks}) == len(looks) == 16
    assert (over.kind, over.why) == ("stopped", "by-eye")
    shown = step_shown(BY_EYE, over)
    assert (shown.verdict, shown.head, shown.flag) == ("pass", "COLOURS RIGHT, NOT MEASURED", "SEEN, NOT MEASURED")


def test_the_near_plug_is_looked_at_until_it_is_likely_what_it_holds() -> None:
    """The first looks are near, the next ones far: nobody walks to and fro."""
    ends = [look.asked.end for look in answered(BY_EYE, T568B, T568B) if look.asked is not None]
    changes = sum(one != other for one, other in pairwise(ends))
    assert ends[0] == "near"
    assert changes == 2


def test_one_answer_that_cannot_be_alone_makes_no_plug() -> None:
    """One answer is wrong: no card is made of it, and what was said in two contacts is asked once more."""
    for number in (1, 4, 9, 16):
        stages = answered(BY_EYE, T568B, T568B, {number: "-"})
        assert all(stage.kind != "card" for stage in stages), number
        assert stages[-1].case is not None
        assert stages[-1].case.diagnosis.verdict == "pass"
        assert any(stage.again for stage in stages)


def test_of_two_contacts_said_to_hold_one_conductor_both_are_asked_about_again_where_the_first_answer_changes() -> None:
    """Two wrong words that exchange two conductors make no cable right: the other contact is looked at again, too."""
    plugs = {"near": {**T568B, "1": "green", "6": "white-orange"}, "far": T568B}
    mend, lied = BY_EYE, {"6": ["green"], "1": ["green", "white-orange"]}
    again: list[str] = []
    while (stage := what_now(mend)).kind == "ask" and len(again) < 2:
        assert stage.asked is not None
        end, contact = stage.asked.end, stage.asked.contacts[0]
        assert end is not None
        word = lied[contact].pop(0) if end == "near" and lied.get(contact) else plugs[end][contact]
        again += [contact] if stage.again else []
        mend = reported(mend, Answered(stage.asked, word))
    assert sorted(again) == ["1", "6"]


def test_after_the_card_only_what_is_left_is_looked_at() -> None:
    """What was put into the new plug is known: its contacts are not asked for again."""
    *looks, card = answered(BY_EYE, T568B, EXCHANGED)
    mend = BY_EYE
    for look in looks:
        assert look.asked is not None
        plug = T568B if look.asked.end == "near" else EXCHANGED
        mend = reported(mend, Answered(look.asked, plug[look.asked.contacts[0]]))
    made = done(card)
    assert isinstance(made, Did)
    rest = answered(reported(mend, made), T568B, T568B)
    assert {look.asked.end for look in rest if look.asked is not None} == {"near"}
    assert (rest[-1].why, rest[-1].asked) == ("by-eye", None)
    asked_before = {look.asked for look in looks if look.asked is not None and look.asked.end == "near"}
    assert not asked_before & {look.asked for look in rest}


def test_who_cannot_tell_any_colour_is_asked_for_each_contact_once() -> None:
    """Sixteen times "I do not know": it ends undecided, and nothing is called right or wrong."""
    nothing = dict.fromkeys(T568B, "?")
    *looks, over = answered(BY_EYE, nothing, nothing)
    assert len({look.asked for look in looks}) == len(looks) == 16
    assert (over.kind, over.why) == ("stopped", "by-eye")
    assert step_shown(BY_EYE, over).verdict == "undecided"
