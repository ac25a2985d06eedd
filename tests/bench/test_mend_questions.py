"""Which question a guided repair asks, and which it spares: of contradictions, and of faults whose plug is unknown."""

from tests.bench.test_mend import EXCHANGED, after, answered
from tests.records.samples import reading
from wiremap.bench.mend.course.plugs import WELL
from wiremap.bench.mend.events import Answered, Asked, Did, FaultAt, Mend, Tested
from wiremap.bench.mend.known import CLOSED, NEITHER, WAITS, Known
from wiremap.bench.mend.machine import what_now
from wiremap.bench.mend.shown import step_shown
from wiremap.contact import ENDS

OPENED = (0, 1, None, 3, 4, 5, 6, 7)  # contact 3 reaches nothing
OF_BOTH = Asked("in-plugs", None, ("3", "3"), "open")


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


def one_by_one() -> Mend:
    """Return a repair where of both plugs nobody could tell, nor of the near one alone, and the far one is well."""
    mend = after(Tested(reading(OPENED)))
    both = what_now(mend)
    assert both.asked == OF_BOTH
    mend = after(answered(both, "?"), mend=mend)
    near = what_now(mend)
    assert (near.asked, near.again) == (Asked("in-plug", "near", ("3",), "open"), False)
    mend = after(answered(near, "?"), mend=mend)
    far = what_now(mend)
    assert (far.asked, far.again) == (Asked("in-plug", "far", ("3",), "open"), False)
    return after(answered(far, WELL), mend=mend)


def test_both_plugs_are_looked_into_in_one_question_and_none_is_given_up_for_one_word() -> None:
    """The near plug, then the far one; said to be in neither, both are looked into twice more before the cable goes.

    Where a plug cannot be got at each is asked about alone.
    """
    mend = after(Tested(reading(OPENED)))
    both = what_now(mend)
    assert (both.asked, both.choices, both.again) == (OF_BOTH, ("near", "far", NEITHER, CLOSED), False)
    assert step_shown(mend, both).now.startswith("Look into the near plug, and if all is well there into the far plug,")
    assert [choice.said for choice in step_shown(mend, both).choices] == [
        "in the near plug",
        "in the far plug",
        "in neither",
        "one of them is out of reach",
    ]
    alone = what_now(after(answered(both, CLOSED), mend=mend))
    assert alone.asked == Asked("in-plug", "near", ("3",), "open")
    card = what_now(after(answered(both, "far"), mend=mend))
    assert (card.kind, card.end) == ("card", "far")
    for _ in range(2):
        mend = after(answered(both, NEITHER), mend=mend)
        both = what_now(mend)
        assert (both.asked, both.choices, both.again) == (OF_BOTH, ("near", "far", NEITHER), True)
    assert what_now(after(answered(both, "near"), mend=mend)).end == "near"
    assert what_now(after(answered(both, NEITHER), mend=mend)).asked == Asked("lead")


def test_what_was_said_of_both_plugs_holds_when_one_of_them_was_made() -> None:
    """Looked into one by one, then both again; when the one that could not be told is made, nobody is asked again."""
    mend = one_by_one()
    both = what_now(mend)
    assert (both.asked, both.again) == (OF_BOTH, True)
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
    assert stage.asked.kind == "in-plugs"


def test_a_fault_that_another_order_moved_to_another_contact_is_the_same() -> None:
    """Both plugs were made against it, each time it stayed where it was in the other: nobody is asked about it anew."""
    opened, shorted = FaultAt("open", ("3",), ("6",)), FaultAt("short", ("1", "2"), ("1", "2"))
    known = Known(made=[("far", (opened,)), ("near", (shorted, opened))])
    for end in ENDS:
        assert known.was_made_against(end, FaultAt("open", ("6",), ("6",)))
    assert not known.was_made_against("near", FaultAt("high-resistance", ("6",), ("6",)))
    assert not known.was_made_against("near", FaultAt("open", ("6",), ("5",)))
    moved_first = Known(made=[("far", (opened,))])
    assert moved_first.was_made_against("far", FaultAt("open", ("3",), ("2",)))
    assert not moved_first.was_made_against("near", FaultAt("open", ("3",), ("2",)))
    at_one_end = Known(made=[("near", (FaultAt("open", ("3",), ()),))])
    assert not at_one_end.was_made_against("near", FaultAt("open", ("5",), ()))


def test_where_one_plug_was_made_in_vain_the_other_is_asked_about_until_that_is_told() -> None:
    """The far plug was made and the fault is there: the near one is looked into; not known, it is made, no more."""
    mend = after(Tested(reading(OPENED)))
    mend = after(answered(what_now(mend), "far"), mend=mend)
    card = what_now(mend)
    mend = after(Did("re-terminate", "far", (), card.faults), Tested(reading(OPENED)), mend=mend)
    near = what_now(mend)
    assert near.asked == Asked("in-plug", "near", ("3",), "open")
    mend = after(answered(near, WELL), mend=mend)
    both = what_now(mend)
    assert (both.asked, both.choices, both.again) == (OF_BOTH, ("near", NEITHER), True)
    assert step_shown(mend, both).now.startswith("In no plug as it is was it seen, yet the fault is there.")
    mend = after(answered(both, "?"), mend=mend)
    card = what_now(mend)
    assert (card.kind, card.end) == ("card", "near")
    mend = after(Did("re-terminate", "near", (), card.faults), Tested(reading(OPENED)), mend=mend)
    assert what_now(mend).asked == Asked("lead")
