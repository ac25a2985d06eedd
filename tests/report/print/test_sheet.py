"""The sheet: one page, its text can be found, its fonts are in it, its code can be scanned."""

import io
import re
import shlex
import shutil
import subprocess
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
import zxingcpp
from fontTools.ttLib import TTFont
from matplotlib.ft2font import LoadFlags
from PIL import Image

from tests.records.samples import plain_record, published_key, reading
from tests.report.print.goldens import GOLDEN, TEXTS, pass_sheet, pdf_text, reversed_sheet, words
from tests.report.print.test_picture import assert_apart
from tests.report.proofs import JOB, REVERSED_AND_OPEN, crowded, proof
from wiremap.records.captures.capture import Job, read_capture, to_bytes
from wiremap.report.print.canvas import MM_PER_POINT, _face, text_width
from wiremap.report.print.sheet import PAPERS, Paper, sheet
from wiremap.report.proof import Proof
from wiremap.report.words import records as record_wording
from wiremap.report.words.cases import said_on_paper
from wiremap.report.words.checks import checked


def scanned(content: bytes) -> list[str]:
    """Return what a reader of somebody else's finds in a picture's QR codes."""
    with Image.open(io.BytesIO(content)) as image:
        return [code.text for code in zxingcpp.read_barcodes(image)]


@pytest.mark.parametrize("name", TEXTS)
def test_texts_are_as_they_were_read(name: str) -> None:
    """The text of a sheet, line by line, is the golden one."""
    assert words(pdf_text(TEXTS[name](), "-layout")) == GOLDEN.joinpath(name).read_text(encoding="utf-8")


@pytest.mark.parametrize(("made", "verdict"), [(pass_sheet, "PASS"), (reversed_sheet, "FAIL")])
def test_verdict_label_and_digest_are_found(made: Callable[[], bytes], verdict: str) -> None:
    """pdftotext finds the verdict, the label, the digest, the key, who and when, the lengths and the claim."""
    shown = proof() if verdict == "PASS" else proof(REVERSED_AND_OPEN)
    text = pdf_text(made())
    flat = re.sub(r"\s+", " ", text)
    for wanted in (
        verdict,
        "MAST-CAM-01",
        "Survey catamaran, Berth 4",
        shown.digest,
        "d75a 9801 82b1",
        "the technician",
        "2026-03-01 11:30 (UTC+02:00)",
        "2026-03-01 09:30:00 UTC",
        "WIREMAP BENCH-18, serial 0007",
        "calibrated 2026-01-02, in date",
        "18.4 m (17.9 to 18.9)",
        "old-plug.jpg (abababab)",
        record_wording.CLAIM,
        record_wording.SEAL_CLAIM,
        record_wording.CAUTION,
        "THE TECHNICIAN'S WORD, NOT MEASURED.",
    ):
        assert wanted in flat, wanted
    assert "certified" not in text.lower()
    assert "qualified" not in text.lower()


def test_a_font_is_embedded_once_and_with_no_more_than_its_letters() -> None:
    """Normal and bold letters are in one font each, ticks and all, and no table of setting text is in it."""
    streams = re.findall(rb"/Length1 \d+.*?stream\r?\n(.*?)\r?\nendstream", pass_sheet(), re.DOTALL)
    fonts = [TTFont(io.BytesIO(zlib.decompress(stream))) for stream in streams]
    assert sorted(font["name"].getDebugName(4) for font in fonts) == ["DejaVu Sans", "DejaVu Sans Bold"]
    for font in fonts:
        assert not {"GDEF", "GPOS", "GSUB", "kern"} & set(font.keys())
        assert 40 < len(font.getGlyphOrder()) < 200


@pytest.mark.parametrize("bold", [False, True])
def test_a_line_is_as_wide_as_its_words_and_blanks(bold: bool) -> None:
    """A text that is measured word by word is as wide as it is drawn; two letters are never drawn as one."""
    font = _face(bold)
    for text in ("Every conductor arrives where it is wanted.", "office, fluff", "AVA To Te.  ✓ 5 µV, Ω", " "):
        font.set_size(100, 72)
        font.set_text(text, flags=LoadFlags.NO_HINTING, features=("-liga",))
        whole = font.get_width_height()[0] / 64 * MM_PER_POINT
        assert text_width(text, 100, bold) == pytest.approx(whole, abs=0.01)
    letters = sum(text_width(letter, 100, bold) for letter in "ffi")
    assert text_width("ffi", 100, bold) == pytest.approx(letters, rel=0.02)


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_runs_into_anything(paper: Paper) -> None:
    """However much there is to say, no word lies over another, and none is lost: it takes a second page."""
    made = sheet(crowded(), paper)
    assert_apart(made)
    text = " ".join(pdf_text(made).split())
    assert "page 2 of 2" in text
    assert "…" not in text
    assert text.count("something that was done, told at length something") == 20
    assert text.count("with <b>marks</b>") == 12
    assert text.count(".jpg (") == 30


@pytest.mark.parametrize("paper", PAPERS)
def test_a_usual_sheet_is_one_page(paper: Paper) -> None:
    """A cable with faults, lengths, services and a full work list takes one page."""
    assert pdf_text(sheet(proof(REVERSED_AND_OPEN), paper), "-bbox").count("<page ") == 1


@pytest.mark.parametrize(("made", "points"), [(pass_sheet, (595, 842)), (reversed_sheet, (612, 792))])
def test_the_page_has_its_size_and_its_fonts(
    tmp_path: Path, made: Callable[[], bytes], points: tuple[int, int]
) -> None:
    """A4 is 210 x 297 mm (ISO 216), Letter 8.5 x 11 in; fonts are TrueType and embedded; no time of making."""
    programs = shutil.which("pdfinfo"), shutil.which("pdffonts")
    if None in programs:
        pytest.skip("pdfinfo or pdffonts is not installed")
    path = tmp_path / "sheet.pdf"
    path.write_bytes(made())
    info, fonts = (
        subprocess.run([str(program), str(path)], capture_output=True, check=True, timeout=60, text=True).stdout
        for program in programs
    )
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info)
    assert size is not None
    assert (round(float(size[1])), round(float(size[2]))) == points
    assert re.search(r"Pages:\s+1\n", info)
    assert "Creation" not in info
    rows = fonts.splitlines()[2:]
    assert rows
    assert all(re.search(r"TrueType .*yes yes yes", row) for row in rows), fonts


def test_the_code_is_the_digest() -> None:
    """A reader of somebody else's reads the record's digest from the sheet, also in grey."""
    shown = proof()
    drawn = sheet(shown, "a4", "png", 150)
    assert scanned(drawn) == [shown.digest.upper()]
    grey = io.BytesIO()
    with Image.open(io.BytesIO(drawn)) as image:
        image.convert("L").save(grey, "png")
    assert scanned(grey.getvalue()) == [shown.digest.upper()]


def test_the_code_is_checked_as_the_sheet_says(tmp_path: Path) -> None:
    """What the sheet says of its code is so: `head -n 1 FILE | sha256sum` of the record prints the digits it holds."""
    content = to_bytes(plain_record(reading()), published_key())
    path = tmp_path / "record.json"
    path.write_bytes(content)
    assert "`head -n 1 FILE | sha256sum` prints the same digits" in record_wording.CODE_SENTENCE
    command = f"head -n 1 {shlex.quote(str(path))} | sha256sum"
    printed = subprocess.run(command, shell=True, capture_output=True, check=True, timeout=60, text=True).stdout
    digits = printed.split()[0]
    assert len(digits) == 64
    shown = Proof(proof().case, read_capture(content, "x"))
    assert scanned(sheet(shown, "a4", "png", 150)) == [f"SHA256:{digits.upper()}"]
    assert record_wording.CODE_SENTENCE in " ".join(pdf_text(sheet(shown)).split())


def test_words_of_a_job_are_never_mathematics() -> None:
    """Dollar signs, braces and letters that the font does not have are printed, never read as commands."""
    job = Job(cable=r"$\frac{a}{b}$ {x} \n", note="\u65e5\u672c & <b> $", near="$", far="%")
    text = pdf_text(sheet(proof(job=job), "a4"))
    assert r"$\frac{a}{b}$ {x} \n" in text
    assert "\u25a1\u25a1 & <b> $" in text


def test_an_empty_job_makes_a_sheet_too() -> None:
    """A capture of which nothing was told has a sheet without empty lines."""
    text = pdf_text(sheet(proof(job=Job(), work=()), "a4"))
    assert "Cable without a label" in text
    assert "Who" not in text.split()
    assert "WORK LIST" not in text


def test_only_what_was_looked_at_is_called_checked() -> None:
    """What the reading has no evidence for is never called checked, whatever is listed as not checked."""
    shown = proof(job=JOB)
    assert isinstance(shown, Proof)
    found = checked(shown.case.reading, (), {})
    assert found == ("continuity", "shorts", "screen", "resistance", "resistance-unbalance")
    assert "intermittent" not in found
    text = pdf_text(pass_sheet())
    assert "moving the cable" not in text
    assert "foreign voltage" not in text.split("NOT CHECKED")[0].lower()


def test_a_mended_cable_shows_what_it_was_before() -> None:
    """One sheet has the verdict now and, below it, when it was found otherwise and what was wrong; else neither."""
    found, now = proof(REVERSED_AND_OPEN), proof()
    mended = re.sub(r"\s+", " ", pdf_text(sheet(Proof(now.case, now.capture, found))))
    assert "As found 2026-03-01 11:30 (UTC+02:00): FAIL." in mended
    assert mended.index("PASS") < mended.index("As found")
    assert found.as_found == ""
    for sentence in said_on_paper(found.case).split(". "):
        assert sentence in mended
    assert "As found" not in re.sub(r"\s+", " ", pdf_text(pass_sheet()))
