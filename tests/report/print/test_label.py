"""The cable label: its name from both sides, and a code that is small enough to wrap."""

import io
from collections.abc import Sequence
from typing import get_args

import pytest
import zxingcpp
from PIL import Image

from tests.report.print.goldens import pdf_text
from tests.report.print.test_picture import assert_apart
from tests.report.print.written import written
from tests.report.proofs import REVERSED_AND_OPEN, crowded, proof
from tests.report.test_danger import EXCHANGED
from wiremap.reading.reading import Origin
from wiremap.records.captures.capture import Job
from wiremap.report.print.label import HEIGHT, MODULE, MODULES, WIDTH, label
from wiremap.report.proof import Proof
from wiremap.report.words.faults import Ends
from wiremap.report.words.records import label_run


def lines(shown: Proof) -> list[str]:
    """Return the texts of a label's first half, the second being the same."""
    (paper,) = written(lambda: label(shown))
    half = len(paper.texts) // 2
    assert paper.texts[:half] == paper.texts[half:]
    return paper.texts[:half]


def test_what_a_hand_looks_for_in_five_years_is_on_both_sides() -> None:
    """Name, verdict, day, both ends, pattern, length, which plug is new, the record's first digits: all of it twice."""
    shown = proof()
    digits = shown.digest.removeprefix("sha256:").upper()
    assert lines(shown) == [
        "MAST-CAM-01",
        "PASS 2026-03-01",
        "helm - mast, straight, 18.4 m",
        f"new plug mast, {digits[:4]} {digits[4:8]} {digits[8:12]}",
    ]
    text = " ".join(pdf_text(label(shown)).split())
    for line in lines(shown):
        assert text.count(line) == 2


def test_what_is_not_known_is_not_on_it() -> None:
    """Without a length, a pattern or a new plug the label says so, or nothing."""
    assert lines(proof(job=Job()))[0] == "Cable without a label"
    assert lines(proof(job=Job()))[3].startswith("record ")
    assert label_run(Ends(), True, None, None) == "near - far, no pattern"
    assert label_run(Ends("helm", ""), False, "loopback-100", None) == "helm, loopback-100"


@pytest.mark.parametrize(
    ("arrives", "origin", "said"),
    [
        (REVERSED_AND_OPEN, "tester", "FAIL 2026-03-01"),
        (range(8), "simulator", "SIMULATED 2026-03-01"),
        (REVERSED_AND_OPEN, "table", "FROM A TABLE, FAIL 2026-03-01"),
        (EXCHANGED, "tester", "FAIL, NO PoE 2026-03-01"),
    ],
)
def test_the_verdict_never_hides_what_it_rests_on(arrives: Sequence[int | None], origin: Origin, said: str) -> None:
    """What no tester measured carries its flag and never says PASS; danger stands beside the verdict."""
    assert lines(proof(arrives, origin=origin))[1] == said


@pytest.mark.parametrize("origin", get_args(Origin))
def test_letters_can_be_read_in_the_hand(origin: Origin) -> None:
    """With names of a usual length no letter is below 5 points, capitals of 1.3 mm, and nothing is cut."""
    (paper,) = written(lambda: label(proof(EXCHANGED, origin=origin)))
    assert min(paper.sizes) >= 5.0
    assert not any("…" in text for text in paper.texts)


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
