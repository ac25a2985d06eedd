"""What is printed, and what a first screen shows, of every named cable with its far plug in anything."""

import pytest

from tests.named_cables import NAMES, judged, readings
from tests.report.print.written import written
from wiremap.judge.case import Case
from wiremap.records.captures.capture import Job, read_capture, to_bytes
from wiremap.records.captures.keep import record_of
from wiremap.report.print.label import label
from wiremap.report.print.phone_page import phone
from wiremap.report.print.picture import picture
from wiremap.report.print.sheet import sheet
from wiremap.report.proof import Proof

JOB = Job(vessel="Survey catamaran", cable="mast camera", near="helm", far="mast", who="the technician")


def printed(case: Case) -> dict[str, list[str]]:
    """Return all texts of everything that is printed of a cable."""
    kept = read_capture(to_bytes(record_of(case, JOB), None), "kept")
    proof = Proof(case, kept)
    page = phone(proof).decode().partition("</style>")[2]
    drawn = {
        "sheet": lambda: sheet(proof),
        "letter": lambda: sheet(proof, "letter"),
        "label": lambda: label(proof),
        "picture": lambda: picture(case, "png", 80),
    }
    return {"phone": [page]} | {
        name: [text for one in written(make) for text in one.texts] for name, make in drawn.items()
    }


@pytest.mark.parametrize("name", NAMES)
def test_what_is_printed_asks_for_no_command_line_and_cuts_no_sentence(name: str) -> None:
    """No option, no sentence that ends in dots; paper is read by people who have neither the program nor the time."""
    for far in readings(name):
        for where, texts in printed(judged(name, far)).items():
            for text in texts:
                assert "--" not in text, (far, where, text)
                assert "…" not in text, (far, where, text)
                assert "..." not in text, (far, where, text)
