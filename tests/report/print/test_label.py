"""The cable label: its name from both sides, and a code that is small enough to wrap."""

import io

import zxingcpp
from PIL import Image

from tests.report.print.goldens import pdf_text
from tests.report.print.test_picture import assert_apart
from tests.report.proofs import crowded, proof
from wiremap.report.print.label import HEIGHT, MODULE, MODULES, WIDTH, label


def test_the_name_is_on_both_sides() -> None:
    """Label, ends, verdict and day stand twice, so that they are seen from either side of the cable."""
    text = pdf_text(label(proof()))
    for wanted in ("MAST-CAM-01", "helm - mast", "PASS 2026-03-01"):
        assert text.count(wanted) == 2


def test_the_code_is_the_beginning_of_the_digest() -> None:
    """The code is read by a reader of somebody else's, at 300 dots an inch too, and begins the digest."""
    shown = proof()
    for dpi in (203, 300, 600):
        with Image.open(io.BytesIO(label(shown, "png", dpi))) as image:
            found = [code.text for code in zxingcpp.read_barcodes(image)]
        assert found == [shown.digest.removeprefix("sha256:")[:20].upper()]


def test_the_code_can_be_read_on_a_round_cable() -> None:
    """The code takes less than half of the way round a cable of 6 mm, so it is seen at once."""
    assert MODULES * MODULE < HEIGHT / 2
    assert HEIGHT >= 6 * 3.14
    assert WIDTH > HEIGHT


def test_long_names_stay_on_the_label() -> None:
    """However long the names are, no word lies over another or over the edge."""
    assert_apart(label(crowded()))
