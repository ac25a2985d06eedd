"""What endangers people or equipment stands first, wherever a cable is shown."""

import pytest

from tests.report.print.goldens import pdf_text
from tests.report.proofs import case, proof
from wiremap.report.content import content
from wiremap.report.print.label import label
from wiremap.report.print.phone_page import phone
from wiremap.report.print.sheet import sheet
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import DANGER, page
from wiremap.report.words.cases import dangers

EXCHANGED = (0, 1, 3, 2, 4, 5, 6, 7)  # contacts 3 and 4: plus and minus of two feeds on one pair


@pytest.mark.parametrize(("width", "height"), [(80, 24), (80, None), (40, 16)])
def test_danger_is_the_first_line_of_a_page(width: int, height: int | None) -> None:
    """The danger of power stands before the verdict, in a few words where the window is small, else whole."""
    assert dangers(case(EXCHANGED))
    shown = page(case(EXCHANGED), Terminal(width, height))
    first = shown.splitlines()[0]
    assert first.startswith(("DO NOT CONNECT", DANGER[:20]))
    if height is None:
        assert all(sentence in " ".join(shown.split()) for sentence in dangers(case(EXCHANGED)))


def test_danger_is_on_everything_that_leaves_the_program() -> None:
    """Sheet, phone page, label and JSON say it, whole but for the label."""
    shown = proof(EXCHANGED)
    (sentence, *_) = shown.dangers
    assert sentence in " ".join(pdf_text(sheet(shown)).split())
    assert sentence in phone(shown).decode()
    assert pdf_text(label(shown)).count("NO PoE") == 2
    assert content(case(EXCHANGED), "judge", "x")["dangers"] == list(dangers(case(EXCHANGED)))


def test_a_cable_without_danger_says_nothing_of_it() -> None:
    """Of a sound cable, or one whose fault endangers nothing, no danger is said."""
    assert dangers(case()) == ()
    assert "DANGER" not in page(case(), Terminal(80, 24))
    assert "NO PoE" not in pdf_text(label(proof()))
    assert "dangers" not in content(case(), "judge", "x")
