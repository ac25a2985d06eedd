"""Phones in a real browser, on the program as a process: its page is looked at, tapped and taken from the network."""

import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from PIL import ExifTags, Image
from playwright.sync_api import Browser, Page, Route, ViewportSize, expect, sync_playwright

from tests.cli.benches import plugged_in
from tests.phone.aboard import Aboard, aboard
from tests.phone.benches import HandBench
from wiremap.records.captures.check import Checked, check

NAME = "boat.test"  # no secure context, as 127.0.0.1 would be
SIZES = {"upright": (390, 844), "small": (320, 568), "across": (844, 390)}
AUDIT = Path(__file__).with_name("audit.js").read_text(encoding="utf-8").partition("\n")[2]
PATIENCE_MS = 60_000.0
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


class Ship:
    """What a test has: the tester with its cables, the program, and phones in a browser."""

    def __init__(self, browser: Browser, bench: HandBench, served: Aboard) -> None:
        self._browser = browser
        self.bench = bench
        self.served = served
        self.url = ""

    def start(self) -> None:
        """Start the program, or start it again."""
        self.url = self.served.start()

    def cut_off(self, page: Page) -> None:
        """Take a phone from the network: what it asks fails, and the stream that is open falls silent."""
        page.context.set_offline(True)
        self.served.stop()

    def join(self, page: Page) -> None:
        """Let it into the network again."""
        self.served.go_on()
        page.context.set_offline(False)

    @contextmanager
    def phone(self, size: str = "upright", dark: bool = False, begin: bool = True) -> Iterator[Page]:
        """Give a phone that has scanned the code that is shown, and tapped Begin."""
        width, height = SIZES[size]
        context = self._browser.new_context(
            viewport=ViewportSize(width=width, height=height),
            color_scheme="dark" if dark else "light",
            has_touch=True,
            ignore_https_errors=True,
            reduced_motion="reduce",
        )
        context.set_default_timeout(PATIENCE_MS)
        try:
            page = context.new_page()
            page.goto(self.url)
            if begin:
                page.get_by_role("button", name="Begin").click()
                self.url = self.served.next_url()  # another code for the next phone
            yield page
        finally:
            context.close()


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start Debian's browser; the test is skipped where there is none."""
    if CHROMIUM is None:
        pytest.skip("chromium is not installed")
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as driver:
        rules = "--host-resolver-rules=MAP *.test 127.0.0.1"
        found = driver.chromium.launch(executable_path=CHROMIUM, args=[rules, "--no-sandbox", "--disable-gpu"])
        try:
            yield found
        finally:
            found.close()


@contextmanager
def ship(browser: Browser, folder: Path, fault: str | None, *more: str) -> Iterator[Ship]:
    """Give the program, started on a tester with this cable in it."""
    bench = HandBench(fault)
    words = ("--name", NAME, "--job", "cable=W-1", "--job", "near=helm", "--job", "far=mast", *more)
    with plugged_in(bench) as tester, aboard(folder, tester, *words) as served:
        found = Ship(browser, bench, served)
        found.start()
        assert urlsplit(found.url).hostname == NAME
        yield found


def audit(page: Page, state: str) -> list[str]:
    """Return what is wrong with the page as it stands, in every size, light and dark."""
    found = []
    for dark in ("light", "dark"):
        page.emulate_media(color_scheme="dark" if dark == "dark" else "light")
        for size, (width, height) in SIZES.items():
            page.set_viewport_size(ViewportSize(width=width, height=height))
            found += [f"{state}, {size}, {dark}: {fault}" for fault in page.evaluate(AUDIT)]
    page.emulate_media(color_scheme="light")
    return found


def heard(page: Page) -> None:
    """Wait until nothing that was pressed waits to be heard; asked from outside, as the page's policy wants it."""
    until_s = time.monotonic() + PATIENCE_MS / 1000
    while page.evaluate("localStorage.getItem('wishes')") != "[]":
        assert time.monotonic() < until_s, page.evaluate("localStorage.getItem('wishes')")
        page.wait_for_timeout(100)


def tap_colour(page: Page, contact: str, colour: str) -> None:
    """Tap a contact, then what is in it."""
    page.get_by_role("button", name=contact).click()
    page.locator("#choices").get_by_role("button", name=colour, exact=True).click()


def keep_at_once(*pages: Page) -> None:
    """Press Keep on every page before the laptop hears of any."""
    waiting: list[Route] = []

    def hold(route: Route) -> None:
        waiting.append(route)

    for page in pages:
        page.route("**/do", hold)
        page.get_by_role("button", name="Keep").click()
    until_s = time.monotonic() + PATIENCE_MS / 1000
    while len(waiting) < len(pages):
        assert time.monotonic() < until_s, waiting
        pages[0].wait_for_timeout(50)
    for route in waiting:
        route.continue_()


def sound_of(page: Page) -> tuple[int, int]:
    """Return how often the page rang, and how many times it rang last."""
    rang = page.evaluate("[Number(document.body.dataset.rings || 0), Number(document.body.dataset.last || 0)]")
    return int(rang[0]), int(rang[1])


def kept(found: Ship) -> list[Checked]:
    """Return the captures that are in the folder, each whole and signed."""
    every = [check(path.read_bytes(), path.name, {}) for path in sorted(found.served.captures.glob("*.json"))]
    assert all(one.digest_holds and one.signature == "unknown" and one.verdict == "same" for one in every)
    return every


def tall_photo(folder: Path) -> Path:
    """Write a photo as a phone held upright takes it: lying, with a word how to turn it, and where it was taken."""
    picture = Image.new("RGB", (3000, 1500), (30, 30, 200))
    picture.paste((200, 30, 30), (0, 0, 1500, 1500))  # its left half is the top when it is turned
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6  # turned a quarter clockwise to be looked at (Exif 2.32, tag 0x0112)
    exif[ExifTags.Base.Make] = "A camera"
    exif.get_ifd(ExifTags.IFD.GPSInfo).update({1: "N", 2: (54.0, 19.0, 30.0), 3: "E", 4: (10.0, 8.0, 0.0)})
    path = folder / "photo.jpg"
    picture.save(path, "JPEG", exif=exif)
    with Image.open(path) as again:
        assert again.getexif().get_ifd(ExifTags.IFD.GPSInfo)
    return path
