"""Dark marks stand at the plug that is known to be wrong, and at no other; what can be in either plug is framed."""

from msgspec.structs import replace

from tests.report.print.goldens import pdf_text
from tests.report.proofs import REVERSED_AND_OPEN, case, loopback, proof, shorted
from wiremap.contact import End
from wiremap.judge.case import Case
from wiremap.judge.findings import Finding
from wiremap.judge.remedy.knowledge import statements
from wiremap.report.plug_marks import mark_of, plug_marks
from wiremap.report.print.phone_page import phone
from wiremap.report.print.picture import picture

EXCHANGED = (0, 1, 5, 3, 4, 2, 6, 7)
KEY_OF_DARK, KEY_OF_FRAMED = "Dark: wrong in that plug", "Framed: one of the two plugs is wrong there"


def found(finding: Finding, shown: Case | None = None) -> Case:
    """Return a cable that has this one fault and no advice."""
    shown = shown or case()
    bare = replace(shown.diagnosis, findings=(finding,))
    return replace(shown, diagnosis=bare, advice=replace(shown.advice, as_built=None))


def test_the_right_plug_stays_light() -> None:
    """With one plug known to be right, the exchanged contacts of the other alone are dark."""
    both: tuple[tuple[End, End], ...] = (("near", "far"), ("far", "near"))
    for right, wrong in both:
        marks = plug_marks(case(EXCHANGED, statements=statements(sound=[right])))
        assert dict(marks[wrong]) == {"3": "wrong", "6": "wrong"}
        assert dict(marks[right]) == {}


def test_an_end_that_nobody_knows_is_framed_at_both() -> None:
    """Two exchanged conductors can be in either plug: none is called wrong."""
    marks = plug_marks(case(EXCHANGED))
    assert dict(marks["near"]) == dict(marks["far"]) == {"3": "either", "6": "either"}


def test_a_fault_is_marked_where_it_is() -> None:
    """At its end, in no plug where it is in the cable itself, and never dark where it is only likely."""
    open_8 = Finding("open", ("8",), ("8",))
    assert plug_marks(found(replace(open_8, end="far"))) == {"near": {}, "far": {"8": "wrong"}}
    assert plug_marks(found(replace(open_8, end="run"))) == {"near": {}, "far": {}}
    likely = replace(open_8, end="near", certainty="likely")
    assert plug_marks(found(likely)) == {"near": {"8": "either"}, "far": {}}
    assert plug_marks(shorted())["near"] == dict.fromkeys("128S", "either")
    alone = Finding("short", ("1", "2"))
    assert plug_marks(found(alone, loopback())) == {"near": dict.fromkeys("12", "wrong"), "far": {}}


def test_a_voltage_of_equipment_marks_no_plug() -> None:
    """What equipment puts onto contacts is no fault of either plug."""
    assert plug_marks(found(Finding("foreign-voltage", ("4", "5"), ("7",)))) == {"near": {}, "far": {}}


def test_of_contacts_shown_as_one_the_surest_counts() -> None:
    """A box with several contacts is dark when one of them is wrong."""
    assert mark_of({"1": "either", "2": "wrong"}, ["1", "2", "3"]) == "wrong"
    assert mark_of({"1": "either"}, ["1", "3"]) == "either"
    assert mark_of({"1": "either"}, ["3"]) is None


def test_what_the_marks_mean_is_said_where_they_stand() -> None:
    """Picture and phone page explain the marks they have, and no others."""
    text = " ".join(pdf_text(picture(case(EXCHANGED), "pdf")).split())
    assert KEY_OF_FRAMED in text
    assert KEY_OF_DARK not in text
    page = phone(proof(REVERSED_AND_OPEN)).decode()
    assert page.count('class="wrong"') == 2  # contacts 3 and 6 of the mast's plug, whose partner is told by the order
    assert KEY_OF_DARK in page
    assert KEY_OF_FRAMED in page  # contact 8 is open at an end that nobody knows
    assert KEY_OF_DARK not in phone(proof()).decode()
