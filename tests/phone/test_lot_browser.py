"""A lot of four in a real browser, from the first cable to the end: taps, a note that is typed, bells, a kill."""

import re
import signal
from pathlib import Path

from playwright.sync_api import Page, ViewportSize, expect

from tests.cli.benches import Bench, plugged_in
from tests.phone.aboard import free_port
from tests.phone.browsing import NAME, SIZES, audit, chromium, sound_of
from tests.phone.lots import Swept, kept, on_phones, swept
from wiremap.phone.lot.desk import LOT_STOPPED

LOT = ("--expect", "straight", "--count", "4", "--prefix", "R-", "--name", NAME)


def url_of(found: Swept) -> str:
    """Return the address that is shown first."""
    found.until_served()
    address = re.search(rf"http://{NAME}:\d+/#\S+", found.talk)
    assert address is not None, found.talk
    return address[0]


def tap(page: Page, name: str, times: int = 1) -> None:
    """Tap a button, twice where it is one that wants two taps."""
    page.get_by_role("button", name=name, exact=True).tap()
    if times == 2:
        page.get_by_role("button", name=f"{name}: tap again").tap()


def large(page: Page, text: str) -> None:
    """Wait until this stands in large letters."""
    expect(page.locator("h1")).to_contain_text(text)


def test_a_lot_of_four_on_a_page(tmp_path: Path) -> None:
    """Verdict or next label large, the count, one bell a verdict; a note, a skip, a label taken back, one mended; the
    program killed while a note is typed, which is entered once; stopped from the page. Every state fits every size.
    """
    bench, port = Bench([]), free_port()
    words = (*LOT, *on_phones(port))
    with plugged_in(bench) as tester, chromium() as browser:
        width, height = SIZES["upright"]
        page = browser.new_context(viewport=ViewportSize(width=width, height=height), has_touch=True).new_page()
        with swept(tmp_path, tester, *words) as first:
            page.goto(url_of(first))
            tap(page, "Begin")
            large(page, "R-001")
            expect(page.locator("#bar")).to_be_hidden()
            assert audit(page, "waiting") == []
            _put_in(bench, page, "none", "PASS", "R-001")
            assert sound_of(page) == (1, 1)
            bench.seen()
            large(page, "R-002")
            _put_in(bench, page, "exchanged", "FAIL", "R-002")
            assert sound_of(page) == (2, 3)
            expect(page.locator(".count")).to_contain_text("1 pass, 1 fail")
            assert audit(page, "fail") == []
            tap(page, "Note on R-002")
            assert audit(page, "note") == []
            page.locator("#typed").fill("bent <b>boot</b>")
            first.end(signal.SIGKILL)
            tap(page, "OK")
        with swept(tmp_path, tester, *words) as again:
            large(page, "R-003")
            expect(page.locator(".main")).to_contain_text("Take the cable out")
            again.until(lambda: again.lines() == 3)
            bench.seen()
            tap(page, "Skip R-003")
            large(page, "R-004")
            _put_in(bench, page, "none", "PASS", "R-004")
            tap(page, "Take R-004 back", times=2)
            expect(page.locator(".said").first).to_contain_text("free again")
            bench.seen()
            _put_in(bench, page, "short", "FAIL", "R-004")
            bench.seen()
            tap(page, "R-002")  # of those that did not pass
            expect(page.locator(".said").first).to_contain_text(
                "Put the cable in that is to be tested again. Next: R-002."
            )
            _put_in(bench, page, "none", "PASS", "R-002")
            bench.seen()
            _put_in(bench, page, "none", "PASS", "R-005")
            bench.seen()
            large(page, "Done")
            assert audit(page, "done") == []
            tap(page, "Stop the lot", times=2)
            expect(page.locator(".said").first).to_contain_text(LOT_STOPPED)
            assert again.end() == 3
        page.context.close()
    lines, captures = kept(again.folder)
    assert [line["kind"] for line in lines] == ["test", "test", "note", "skip", "test", "undo", "test", "test", "test"]
    assert lines[2]["text"] == "bent <b>boot</b>"
    assert len(captures) == 6


def _put_in(bench: Bench, page: Page, fault: str, verdict: str, label: str) -> None:
    """Put a cable in, and wait for its verdict."""
    bench.add(fault)
    expect(page.locator("header")).to_have_text(re.compile(rf"{verdict}\s*{label}"))
