"""Pictures and sentences of what was measured of a run."""

import re
import struct
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace

from tests.judge.simulated import FAR_OPEN, described, fault, measured_reading
from tests.report.print.goldens import pdf_text
from tests.report.terminal.golden_pages import SPLIT_SECTION
from wiremap.cable.patterns import pattern
from wiremap.judge.measurements import Length, Pairing
from wiremap.judge.verdict import judge
from wiremap.reading.reading import Reading
from wiremap.report.print.canvas import FileKind
from wiremap.report.print.run_picture import has_run, run_picture
from wiremap.report.words.measurements import length_words, pairing_words, run_sentence

STRAIGHT = pattern("straight")


def drawn(reading: Reading, kind: FileKind = "png") -> bytes:
    """Return the picture of a reading judged as straight."""
    return run_picture(reading, judge(reading, STRAIGHT), STRAIGHT, kind)


def height_px(png: bytes) -> int:
    """Return the height that a PNG's header tells."""
    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    height: int = struct.unpack(">I", png[20:24])[0]
    return height


CABLES = {
    "sound": described(12.0),
    "split": described(20.0, near="in-sequence"),
    "short": described(20.0, faults=fault("short", ("white-orange", "orange"), 8.0)),
    "open": described(9.0, faults=fault("open", ("green", "blue"), 4.0)),
    "from one end": described(9.0, faults=FAR_OPEN),
    "screened": described(3.0, kind="F/UTP", top='screen = "joined"'),
}


@pytest.mark.parametrize("name", CABLES)
def test_picture_of_a_run(name: str) -> None:
    """Whatever is wrong with a cable, its run can be drawn, the same reading in the same bytes."""
    reading = measured_reading(CABLES[name])
    picture = drawn(reading)
    assert height_px(picture) > 1000
    assert drawn(reading) == picture


def test_what_was_not_measured_takes_no_room() -> None:
    """Without traces, or without capacitance, the picture has only the parts there are."""
    whole = height_px(drawn(measured_reading(CABLES["sound"])))
    no_traces = height_px(drawn(measured_reading(CABLES["sound"], traces=False)))
    no_pairs = height_px(drawn(measured_reading(CABLES["sound"], grouped=False, two_terminal=False)))
    assert no_traces < whole
    assert no_pairs < whole
    bare = measured_reading(CABLES["sound"], grouped=False, two_terminal=False, traces=False, echoes=False)
    assert not has_run(bare, judge(bare, STRAIGHT))
    assert height_px(drawn(bare)) < 400


def test_what_no_tester_measured_says_so() -> None:
    """A simulated run has its flag above all, a measured one none."""
    found = measured_reading(described(5.0))
    assert "SIMULATED" in pdf_text(drawn(replace(found, origin="simulator"), "pdf"))
    assert "SIMULATED" not in pdf_text(drawn(replace(found, origin="tester"), "pdf"))


def test_kinds_of_file() -> None:
    """The picture is made as PNG, SVG and PDF."""
    reading = measured_reading(CABLES["sound"])
    assert drawn(reading, "pdf").startswith(b"%PDF-")
    root = ElementTree.fromstring(drawn(reading, "svg"))
    assert root.tag.endswith("svg")


def test_sentence_of_a_run() -> None:
    """The page says length with its interval and the pairs, and that pairs are what the whole run shows."""
    diagnosis = judge(measured_reading(CABLES["split"]), STRAIGHT)
    said = run_sentence(diagnosis)
    assert said.startswith("Length 19.")
    assert "Pairs 1-2 3-4 5-6 7-8 confirmed" in said
    assert re.search(r"a split section under \d+\.\d m can hide\.$", said)
    assert run_sentence(replace(diagnosis, pairs=None, lengths=())) == ""
    unsure = Pairing((("1", "2"),), 0.4, "cannot tell", "two_terminal")
    assert run_sentence(replace(diagnosis, pairs=unsure, lengths=())) == ""
    assert "cannot tell: margin 0.4" in pairing_words(unsure)


def test_a_pair_that_is_split_along_a_part_is_not_called_confirmed() -> None:
    """Two pairs mixed up along a piece of the run: the sentence names the two others alone."""
    diagnosis = judge(measured_reading(described(17.6, kind="F/UTP", segments=SPLIT_SECTION)), STRAIGHT)
    (finding,) = [one for one in diagnosis.findings if one.fault == "split-section"]
    assert diagnosis.pairs is not None
    whole = [pair for pair in diagnosis.pairs.pairs if not {*pair} & {*finding.near}]
    assert 0 < len(whole) < len(diagnosis.pairs.pairs)
    names = " ".join("-".join(pair) for pair in whole)
    assert f"Pairs {names} {diagnosis.pairs.verdict}, as" in run_sentence(diagnosis)


def test_digits_of_a_length() -> None:
    """A length is told to the centimetre below ten metres and to the decimetre above."""
    assert length_words(Length(None, "fused", 4.1234, 0.1, 4.0, 4.3)) == "4.12 m (4.00 to 4.30)"
    assert length_words(Length(None, "fused", 41.234, 0.1, 40.0, 43.0)) == "41.2 m (40.0 to 43.0)"
