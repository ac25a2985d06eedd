"""Parts that a guided repair has tested: pieces of a run, leads, one plug moved alone; by readings made by hand."""

import pytest
from msgspec.structs import replace

from tests.bench.test_mend import after, answered
from tests.records.samples import reading
from wiremap.bench.mend.course.leads import A_LEAD, of_lead
from wiremap.bench.mend.course.pieces import of_joint, piece_of
from wiremap.bench.mend.course.plugs import THERE, WELL
from wiremap.bench.mend.events import Answered, Asked, Did, Mend, Tested
from wiremap.bench.mend.known import CLOSED, NEITHER, WAITS, learned
from wiremap.bench.mend.machine import done, left_out, what_now
from wiremap.bench.mend.mend_book import event_kept, kept_as
from wiremap.bench.mend.mend_page import mend_page
from wiremap.bench.mend.shown import step_shown
from wiremap.bench.mend.stage import Stage
from wiremap.contact import End
from wiremap.judge.case import requirements
from wiremap.judge.findings import Finding
from wiremap.judge.remedy.joints import Joint
from wiremap.judge.remedy.knowledge import Statements
from wiremap.report.terminal.display import Terminal

OPENED, CROSSED_OVER = (0, 1, None, 3, 4, 5, 6, 7), (2, 5, 0, 3, 4, 1, 6, 7)
JOINTS = ("deck plug=2m", "mast foot=5m", "masthead=8m")


def at_work(*joints: str, expect: str = "straight", leads: tuple[End, ...] = ()) -> Mend:
    """Return a repair of a run with these joints, and with leads at these ends."""
    return Mend(requirements(expect, statements=Statements(joints=joints)), leads=leads)


def now(mend: Mend) -> Stage:
    """Return what is wanted now, the near plug being seen to be well."""
    stage = what_now(mend)
    assert stage.asked == Asked("in-plug", "near", ("3",), "open")
    return what_now(after(answered(stage, WELL), mend=mend))


def test_the_middle_joint_is_opened_first_and_then_the_half_that_has_the_fault() -> None:
    """Of three joints two are opened: the fault is between the last of them and the far plug, where a look follows."""
    mend = after(Tested(reading(OPENED)), mend=at_work(*JOINTS))
    look = what_now(mend)
    mend = after(answered(look, WELL), mend=mend)
    first = what_now(mend)
    assert (first.kind, first.asked) == ("part", of_joint(Joint("mast foot", 5.0)))
    assert "Open the joint mast foot" in step_shown(mend, first).now
    for size in ((80, 24), (40, 16)):
        page = " ".join(mend_page(step_shown(mend, first), Terminal(*size)).split())
        assert "Power off, both ends unplugged before you open a joint." in page
    mend = after(Tested(reading(), of=first.asked), mend=mend)
    second = what_now(mend)
    assert (second.kind, second.asked) == ("part", of_joint(Joint("masthead", 8.0)))
    assert step_shown(mend, second).wrong[-1] == "It is between the joint mast foot and the far plug."
    mend = after(Tested(reading(), of=second.asked), mend=mend)
    far = what_now(mend)
    assert far.asked == Asked("in-plug", "far", ("3",), "open")
    card = what_now(after(answered(far, THERE), mend=mend))
    assert (card.kind, card.end) == ("card", "far")
    assert step_shown(mend, card).now.endswith("Put the run together again at mast foot and masthead.")


def test_a_fault_between_two_joints_replaces_that_piece_alone() -> None:
    """Sound up to one joint and not up to the next: no plug is cut, and both joints are named."""
    mend = after(Tested(reading(OPENED)), mend=at_work(*JOINTS))
    first = now(mend)
    mend = after(answered(what_now(mend), WELL), Tested(reading(OPENED), of=first.asked), mend=mend)
    second = what_now(mend)
    assert second.asked == of_joint(Joint("deck plug", 2.0))
    mend = after(Tested(reading(), of=second.asked), mend=mend)
    lead = what_now(mend)
    assert (lead.kind, lead.asked) == ("part", A_LEAD)
    over = what_now(after(Tested(reading(), of=A_LEAD), mend=mend))
    assert (over.kind, over.why) == ("stopped", "piece")
    said = step_shown(mend, over).now
    assert said.startswith(
        "The fault is between the joint deck plug and the joint mast foot: see to both joints first,"
    )


def test_a_joint_that_does_not_come_apart_is_left_out() -> None:
    """Not now: the next one is opened; when none is left, the plugs are looked into as without joints."""
    mend = after(Tested(reading(OPENED)), mend=at_work(*JOINTS[:2]))
    first = now(mend)
    mend = after(answered(what_now(mend), WELL), left_out(first), mend=mend)
    second = what_now(mend)
    assert second.kind == "part"
    assert second.asked != first.asked
    mend = after(left_out(second), mend=mend)
    assert what_now(mend).asked == Asked("in-plug", "far", ("3",), "open")


def test_where_the_distance_is_measured_no_joint_is_opened() -> None:
    """A break at 6.1 m lies between the joints at 5 and 8 m; one whose end is measured is sought at that end."""
    mend = after(Tested(reading(OPENED)), mend=at_work(*JOINTS))
    case = what_now(mend).case
    assert case is not None
    found = Finding("open", ("3",), ("3",), "run", 6.1)
    piece = piece_of(mend, learned(mend), case, [found])
    assert (piece.begins, piece.ends, piece.next_joint) == (Joint("mast foot", 5.0), Joint("masthead", 8.0), None)


def test_plugs_of_two_kinds_have_no_piece_that_fits_both_sockets() -> None:
    """A run from M12 to RJ45 is not opened: its pieces fit no pair of sockets."""
    mend = at_work(*JOINTS, expect="m12x-rj45")
    seen = replace(reading(), far_contacts=tuple("12345678"))
    case = what_now(after(Tested(seen), mend=at_work(*JOINTS))).case
    assert case is not None
    other = replace(case, pattern=mend.wanted.expect)
    assert piece_of(mend, learned(mend), other, [Finding("open", ("3",), ("3",))]).next_joint is None


def test_a_piece_of_a_crossed_cable_may_be_straight() -> None:
    """Its fault is in the piece if it shows there, whichever of the two the piece is."""
    broken = tuple(None if place == 2 else where for place, where in enumerate(CROSSED_OVER))
    mend = after(Tested(reading(broken)), mend=at_work("mast foot=5m", expect="crossover"))
    look = what_now(mend)
    assert look.asked is not None
    mend = after(answered(look, WELL), mend=mend)
    stage = what_now(mend)
    assert stage.kind == "part"
    case = stage.case
    assert case is not None
    for seen, there in ((reading(), False), (reading(OPENED), True), (reading(CROSSED_OVER), False)):
        known = learned(after(Tested(seen, of=stage.asked), mend=mend))
        piece = piece_of(mend, known, case, case.diagnosis.findings)
        assert piece.plugs == (("near",) if there else ("far",))


def test_another_lead_tells_a_plug_from_what_is_before_the_socket() -> None:
    """Exchanged before anything is asked: a fault that goes was the lead's, one that stays is behind the socket."""
    mend = after(Tested(reading(OPENED)), mend=at_work(leads=("near",)))
    swap = what_now(mend)
    assert (swap.kind, swap.work, swap.end) == ("do", "swap-lead", "near")
    assert step_shown(mend, swap).later
    mend = after(done(swap), mend=mend)
    assert what_now(mend).kind == "measure"
    gone = after(Tested(reading()), mend=mend)
    assert step_shown(gone, what_now(gone)).wrong == (
        "The fault went with the old lead at the near end: throw that lead away.",
    )
    stays = after(Tested(reading(OPENED)), mend=mend)
    stage = what_now(stays)
    assert stage.asked == Asked("in-plugs", None, ("3", "3"), "open")
    shown = step_shown(stays, stage)
    assert "With another lead it stayed: it is behind the near socket." in shown.wrong
    assert shown.now.startswith("Look into the near socket, and if all is well there into the far plug, for contact 3")
    none_there = after(Tested(reading(OPENED)), Answered(of_lead("near"), WAITS), mend=at_work(leads=("near",)))
    assert what_now(none_there).asked == stage.asked


def test_before_a_cable_is_given_up_a_good_lead_is_tested_in_its_place() -> None:
    """Both plugs well: if a good lead shows the fault too the tester has it; else the cable is to be replaced."""
    mend = after(
        Tested(reading(OPENED)),
        Answered(Asked("in-plug", "near", ("3",), "open"), WELL),
        Answered(Asked("in-plug", "far", ("3",), "open"), WELL),
        Answered(Asked("in-plugs", None, ("3", "3"), "open"), NEITHER),
        mend=at_work(),
    )
    lead = what_now(mend)
    assert (lead.kind, lead.asked) == ("part", A_LEAD)
    bad = what_now(after(Tested(reading(OPENED), of=A_LEAD), mend=mend))
    assert (bad.kind, bad.why) == ("stopped", "socket")
    assert "in the tester or its sockets, not in this cable" in step_shown(mend, bad).now
    assert what_now(after(Tested(reading(), of=A_LEAD), mend=mend)).why == "both-well"


@pytest.mark.parametrize(
    "event",
    [
        Tested(reading(), of=of_joint(Joint("mast foot", 5.0))),
        Tested(reading(), True, "watched", 15.0, 0, Asked("move-one", "far")),
        Tested(reading(), True, "looked", 15.2, 31),
        Did("open-joint", None, (), (), "mast foot"),
        Answered(Asked("reach", "far"), CLOSED),
    ],
)
def test_every_event_is_read_again_as_it_was_kept(event: Tested | Did | Answered) -> None:
    """What a test was of, how it was moved, which joint was opened: all of it is on the disk."""
    assert event_kept(kept_as(event)) == event


def test_a_part_is_no_test_of_the_cable() -> None:
    """A sound piece is no pass: the verdict stays that of the whole cable until that is tested again."""
    mend = after(Tested(reading(OPENED)), mend=at_work(*JOINTS))
    first = now(mend)
    mend = after(Tested(reading(), of=first.asked), mend=mend)
    assert step_shown(mend, what_now(mend)).verdict == "fail"


def test_a_lead_with_more_pairs_than_are_wanted_does_not_show_the_fault_of_a_cable_that_has_them_too() -> None:
    """Two pairs are wanted, cable and lead have four: what both have too many of is no fault of the sockets."""
    mend = after(Tested(reading(OPENED)), mend=at_work(expect="straight-2pair"))
    for word in (NEITHER, NEITHER, NEITHER):
        mend = after(answered(what_now(mend), word), mend=mend)
    assert what_now(mend).asked == A_LEAD
    sound = what_now(after(Tested(reading(), of=A_LEAD), mend=mend))
    assert (sound.kind, sound.why) == ("stopped", "both-well")
    bad = what_now(after(Tested(reading(OPENED), of=A_LEAD), mend=mend))
    assert (bad.kind, bad.why) == ("stopped", "socket")
