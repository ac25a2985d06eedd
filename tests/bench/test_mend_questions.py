"""Which question a guided repair asks, and which it spares: of contradictions, and of faults whose plug is unknown."""

from tests.bench.test_mend import EXCHANGED, after, answered
from tests.records.samples import reading
from wiremap.bench.mend.course.plugs import NEITHER, THERE, WELL
from wiremap.bench.mend.events import Answered, Asked, Did, Tested
from wiremap.bench.mend.known import WAITS, Known
from wiremap.bench.mend.machine import what_now
from wiremap.bench.mend.shown import step_shown

OPENED = (0, 1, None, 3, 4, 5, 6, 7)  # contact 3 reaches nothing


def said(contact: str, colour: str) -> Answered:
    """Return that a colour was seen in a contact of the near plug."""
    return Answered(Asked("colour", "near", (contact,)), colour)


def test_of_two_contacts_that_cannot_both_be_so_the_one_that_was_said_twice_is_believed() -> None:
    """One colour in two contacts: one of them is asked once more; said again, the other is not believed, unasked."""
    mend = after(Tested(reading(EXCHANGED)), said("1", "blue"), said("4", "blue"))
    again = what_now(mend)
    assert again.again
    assert again.asked == Asked("colour", "near", ("4",))
    then = what_now(after(said("4", "blue"), mend=mend))
    assert not then.again
    assert then.unbelieved == (("near", "1"),)
    assert any("near 1 cannot be" in text for text in step_shown(mend, then).wrong)


def test_what_was_said_of_both_plugs_holds_when_one_of_them_was_made() -> None:
    """Both plugs were said to be well, twice; when the one that could not be told is made, nobody is asked again."""
    mend = after(Tested(reading(OPENED)))
    near = what_now(mend)
    assert near.asked is not None
    assert (near.asked.kind, near.asked.end) == ("in-plug", "near")
    mend = after(answered(near, "?"), mend=mend)
    far = what_now(mend)
    assert far.asked is not None
    assert (far.asked.kind, far.asked.end) == ("in-plug", "far")
    mend = after(answered(far, WELL), mend=mend)
    both = what_now(mend)
    assert both.asked is not None
    assert both.asked.kind == "in-plugs"
    mend = after(answered(both, NEITHER), mend=mend)
    card = what_now(mend)
    assert (card.kind, card.end) == ("card", "near")
    mend = after(Did("re-terminate", "near", (), card.faults), Tested(reading(OPENED)), mend=mend)
    assert what_now(mend).asked == Asked("lead")  # the last thing to try: it is no question
    mend = after(Answered(Asked("lead"), WAITS), mend=mend)
    assert (what_now(mend).kind, what_now(mend).why) == ("stopped", "both-well")


def test_the_plug_of_a_fault_is_sought_before_colours_are_asked_for() -> None:
    """Where a conductor reaches nothing and two are exchanged, the first question is where the first fault is."""
    mixed = (0, 1, 5, 3, 4, 2, 6, None)
    stage = what_now(after(Tested(reading(mixed))))
    assert stage.asked is not None
    assert stage.asked.kind == "in-plug"


def test_a_fault_that_another_order_moved_to_another_contact_is_the_same() -> None:
    """Both plugs were made against it, each time it stayed where it was in the other: nobody is asked about it anew."""
    known = Known(made=[("far", ("open near 3 far 6",)), ("near", ("short near 1,2 far 1,2", "open near 3 far 6"))])
    assert [known.was_made_against(end, "open near 6 far 6") for end in ("near", "far")] == [True, True]
    assert not known.was_made_against("near", "high-resistance near 6 far 6")
    assert not known.was_made_against("near", "open near 6 far 5")
    moved_first = Known(made=[("far", ("open near 3 far 6",))])
    assert moved_first.was_made_against("far", "open near 3 far 2")
    assert not moved_first.was_made_against("near", "open near 3 far 2")
    assert not Known(made=[("near", ("open near 3 far ",))]).was_made_against("near", "open near 5 far ")


def test_where_one_plug_was_made_in_vain_the_other_is_asked_about_until_that_is_told() -> None:
    """Not known is no answer: asked once more, and then that plug is made; nothing is asked once both are made."""
    mend = after(Tested(reading(OPENED)))
    mend = after(answered(what_now(mend), WELL), mend=mend)
    mend = after(answered(what_now(mend), THERE), mend=mend)
    card = what_now(mend)
    assert (card.kind, card.end) == ("card", "far")
    mend = after(Did("re-terminate", "far", (), card.faults), Tested(reading(OPENED)), mend=mend)
    for _ in range(2):
        both = what_now(mend)
        assert both.asked is not None
        assert (both.asked.kind, both.choices, both.again) == ("in-plugs", ("near", NEITHER), True)
        assert step_shown(mend, both).now.startswith("In no plug as it is was it seen, yet the fault is there.")
        mend = after(answered(both, "?"), mend=mend)
    card = what_now(mend)
    assert (card.kind, card.end) == ("card", "near")
    mend = after(Did("re-terminate", "near", (), card.faults), Tested(reading(OPENED)), mend=mend)
    assert what_now(mend).asked == Asked("lead")
