"""The page for a phone: whole in one file, the verdict seen first, and nothing fetched or run."""

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import zxingcpp
from msgspec.structs import replace
from PIL import Image

from tests.report.print.browser import Browser, browser
from tests.report.print.goldens import pdf_text
from tests.report.proofs import REVERSED_AND_OPEN, crowded, proof
from wiremap.records.captures.capture import Job, Work
from wiremap.records.own_kinds import kind_called
from wiremap.report.print.phone_page import phone
from wiremap.report.print.sheet import sheet

EVIL = '"><script>document.title="run"</script><img src=http://example.invalid/x onerror=alert(1)>'


@pytest.fixture(scope="module")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """Start one browser for the module."""
    with browser(tmp_path_factory.mktemp("profile")) as found:
        yield found


def test_the_page_is_whole() -> None:
    """The page has no script, no address to load from, and a policy that forbids loading anything."""
    text = phone(proof(REVERSED_AND_OPEN)).decode()
    assert "<script" not in text
    assert not re.search(r"(src|href)\s*=", text)
    assert "url(" not in text
    assert "default-src 'none'" in text
    assert re.findall(r"https?://", text) == []


@pytest.mark.parametrize("dark", [False, True])
def test_the_verdict_is_seen_without_scrolling(chromium: Browser, tmp_path: Path, dark: bool) -> None:
    """At 360 x 640 pixels verdict, label, what is wrong and the next step are on the screen, and nothing is cut."""
    path = tmp_path / "page.html"
    path.write_bytes(phone(proof(REVERSED_AND_OPEN)))
    chromium.show(path, 360, 640, dark)
    for element in ("h1", "header strong", ".said", ".said + p"):
        box = f"document.querySelector({element!r}).getBoundingClientRect()"
        assert 0 < chromium.value(f"{box}.bottom") <= 640
        assert 0 < chromium.value(f"{box}.right") <= 360
    assert chromium.value("document.documentElement.scrollWidth") == 360
    assert chromium.value("document.querySelector('h1').innerText") == "✕ FAIL"


def test_nothing_is_fetched(chromium: Browser, tmp_path: Path) -> None:
    """Opened from a file the page asks for nothing but itself."""
    path = tmp_path / "page.html"
    path.write_bytes(phone(proof()))
    chromium.requests.clear()
    chromium.show(path, 360, 640)
    assert set(chromium.requests) <= {path.as_uri()}


def test_what_a_job_says_is_never_run(chromium: Browser, tmp_path: Path) -> None:
    """Marks and scripts in the words of a job, a work list or an end are shown as letters."""
    job = Job(EVIL, EVIL, EVIL, EVIL, EVIL, EVIL, EVIL)
    path = tmp_path / "page.html"
    path.write_bytes(phone(proof(REVERSED_AND_OPEN, job, work=(Work(EVIL, True),))))
    chromium.requests.clear()
    chromium.show(path, 360, 640)
    assert chromium.value("document.title").startswith(EVIL)
    assert chromium.value("document.querySelectorAll('script, img').length") == 0
    assert set(chromium.requests) <= {path.as_uri()}


def test_long_words_make_it_no_wider(chromium: Browser, tmp_path: Path) -> None:
    """However long names and notes are, the page is as wide as the screen."""
    path = tmp_path / "page.html"
    path.write_bytes(phone(crowded()))
    chromium.show(path, 360, 640)
    assert chromium.value("document.documentElement.scrollWidth") == 360


def test_the_code_is_read_from_the_screen(chromium: Browser, tmp_path: Path) -> None:
    """A reader of somebody else's reads the digest from the screen, on a dark page too."""
    shown = proof()
    path = tmp_path / "page.html"
    path.write_bytes(phone(shown))
    for dark in (False, True):
        chromium.show(path, 360, 640, dark)
        chromium.value("document.querySelector('svg').scrollIntoView({block: 'center'})")
        with Image.open(io.BytesIO(chromium.picture())) as image:
            assert [code.text for code in zxingcpp.read_barcodes(image)] == [shown.digest.upper()]


def test_it_says_what_the_sheet_says() -> None:
    """Facts, lengths, work list, digest and key of the sheet are all on the page."""
    shown = proof(REVERSED_AND_OPEN)
    text = phone(shown).decode()
    for name, said in (*shown.facts(), *shown.lengths(), *shown.work()):
        assert name in text
        assert said.replace("'", "&#x27;") in text
    assert shown.digest in text
    assert shown.key in text


def test_the_kind_that_was_told_stands_beside_the_length() -> None:
    """On sheet and phone page: its name, what it is, and whose figures it has where they are a user's own."""
    kind = replace(kind_called("cat5e-utp"), of="the calibration of 2026-03-01 with 20 m, for its reel")
    shown = proof(REVERSED_AND_OPEN)
    assert "kind told" not in phone(shown).decode()
    told = replace(shown, case=replace(shown.case, requirements=replace(shown.case.requirements, kind=kind)))
    said = "cat5e-utp, Cat 5e U/UTP, solid AWG 24, by the calibration of 2026-03-01 with 20 m, for its reel"
    assert ("kind told", said) in told.lengths()
    assert said in phone(told).decode()
    assert f"kind told: {said}" in " ".join(pdf_text(sheet(told)).split())
