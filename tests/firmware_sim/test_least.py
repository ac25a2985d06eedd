"""firmware_sim/LINE.md, the least that a tester must answer: its worked example is spoken with the host itself."""

import re
import zlib

from firmware_sim.launcher import PACKAGE
from tests.tester.peers import Dialogue, on_pty
from wiremap.contact import far_contact, near_contact
from wiremap.reading.reading import Reading
from wiremap.tester import line
from wiremap.tester.answers import LARGEST_TAG, decode_answer, failed_self_test, voltages
from wiremap.tester.measure import SCAN_S, identify, measure

TOLD = (PACKAGE / "LINE.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```\n(.*?)```", TOLD, re.DOTALL)
EXAMPLE, REFUSALS = (re.findall(r"^([<>]) (.*)$", block, re.MULTILINE) for block in BLOCKS)


def spoken(tag: int) -> Reading:
    """Measure with a tester that says what stands in the example; its tags are the host's when it begins at 41."""
    asked = [text.split(",#H")[0] for mark, text in EXAMPLE if mark == ">"]
    said = [text.encode() + b"\n" for mark, text in EXAMPLE if mark == "<"]
    dialogue: Dialogue = list(zip(asked, said, strict=True))
    with on_pty(dialogue) as address, line.open_line(address, first_tag=tag) as opened:
        return measure(identify(opened), near_pairs=(), far_pairs=())


def test_the_example_is_understood() -> None:
    """The host asks just so, and reads two conductors that are exchanged; the example's check values are true."""
    reading = spoken(41)
    assert reading.contacts == (near_contact("1"), near_contact("2"), far_contact("1"), far_contact("2"))
    joined = {(a, b) for a in range(4) for b in range(a) if reading.resistance_ohm[a][b] == "joined"}
    assert joined == {(3, 0), (2, 1)}
    assert reading.joined_only
    for _, text in EXAMPLE[2:] + REFUSALS:
        content, _, check = text.rpartition(",")
        assert check == f"#H{zlib.crc32(content.encode()):08X}", text


def test_the_refusals_are_understood() -> None:
    """The two refusals that stand below it are a voltage at far 1, and a fault of the tester there."""
    foreign, failed = (decode_answer(text.encode()) for _, text in REFUSALS)
    assert [(found.contact, found.millivolts, found.kind) for found in voltages(foreign)] == [(2, 2000, "DC")]
    assert failed_self_test(failed) == (32, (2,))


def test_figures_of_the_document() -> None:
    """Test vector, largest tag, longest question, patience: as the host has them."""
    assert f"{zlib.crc32(b'123456789'):08X}" == "CBF43926"
    assert "CBF43926" in TOLD
    assert f"from 1 to {LARGEST_TAG}" in TOLD
    assert f"after {SCAN_S:g} s the host gives up" in TOLD
    assert f"deaf for {line.WAKE_S * (line.WAKE_TRIES - 1):g} s" in TOLD
    assert len(f"MEASure:ARRay:CONTinuity? {LARGEST_TAG},#H00000000") <= 50
