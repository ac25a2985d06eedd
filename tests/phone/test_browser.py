"""The page in a real browser on http under a name, as a phone without a secure context has it, and on https."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.cli.running import run
from tests.phone.browsing import (
    NAME,
    SIZES,
    Ship,
    audit,
    chromium,
    heard,
    keep_at_once,
    kept,
    ship,
    sound_of,
    tall_photo,
    tap_colour,
)

CROSSED, SOUND = "exchanged", "none"
OUT = "The cable of this test is out."

LEAVE = """fetch("/do", {method: "POST", headers: {"content-type": "application/json"}, body: JSON.stringify(
    {id: "late-" + Math.random().toString(16).slice(2, 10), what: "label", test: 1, words: ["W-1", ""]})}
).then((answer) => answer.json()).then((answer) => answer.said)"""  # a thumb that has seen the old label only

LOOKS = """() => Object.fromEntries(["body", "header", ".said", "h2", ".small", "th, .ends", ".wire"].map((name) => {
    const style = getComputedStyle(document.querySelector(name));
    const asked = ["color", "fontFamily", "fontSize", "fontWeight", "letterSpacing", "textTransform"];
    if (name === "body" || name === "header") asked.push("backgroundColor");
    return [name, asked.map((one) => style[one])];
}))"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Start one browser for the module."""
    with chromium() as found:
        yield found


@pytest.fixture
def crossed(browser: Browser, tmp_path: Path) -> Iterator[Ship]:
    """Give the program with a cable in the tester that has 3 and 6 exchanged."""
    with ship(browser, tmp_path, CROSSED) as found:
        yield found


@pytest.fixture(scope="module")
def looked_at(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Give one phone for the tests that only look."""
    with ship(browser, tmp_path_factory.mktemp("ship"), CROSSED) as found, found.phone() as page:
        yield page


def title(page: Page, said: str) -> None:
    """Wait until this stands in large letters."""
    expect(page.locator("h1")).to_contain_text(said)


def test_every_state_in_every_size_light_and_dark(crossed: Ship) -> None:
    """No side scrolling, no button below 44 px, no cut word, contrast AA, nothing by colour alone; stale is grey."""
    with crossed.phone(begin=False) as page:
        expect(page.locator("#begin")).to_be_visible()
        assert audit(page, "begin") == []
        page.get_by_role("button", name="Begin").click()
        title(page, "FAIL")
        assert audit(page, "fail") == []
        page.locator("[data-pick]").first.click()
        assert audit(page, "pick") == []
        page.get_by_role("button", name="Back").click()
        page.get_by_role("button", name="Mend it").click()
        expect(page.locator("section.mend")).to_be_visible()
        assert audit(page, "ask") == []
        page.get_by_role("button", name="Leave").click()
        page.get_by_role("button", name="Next cable").click()
        expect(page.get_by_role("button", name="tap again")).to_be_visible()
        assert audit(page, "armed") == []
        crossed.bench.plug(None)
        expect(page.locator("header.out")).to_contain_text(OUT)
        assert audit(page, "out") == []
        crossed.bench.plug(SOUND)
        title(page, "PASS")
        assert audit(page, "pass") == []
        crossed.bench.mute = True
        expect(page.locator("#stale")).to_be_visible()
        assert audit(page, "cold") == []
        assert page.evaluate("getComputedStyle(document.querySelector('header')).backgroundColor") == "rgb(85, 96, 106)"
        assert page.evaluate("getComputedStyle(document.querySelector('#page')).filter") == "grayscale(1)"


def test_a_second_cable_rings_once(crossed: Ship) -> None:
    """Each test rings and shakes once, by its verdict; a page that is loaded again does not ring for what was heard."""
    with crossed.phone() as page:
        title(page, "FAIL")
        before = sound_of(page)
        page.evaluate("navigator.vibrate = (beats) => { window.shook = beats; return true; }")
        crossed.bench.plug(None)
        expect(page.locator("header.out")).to_contain_text(OUT)
        crossed.bench.plug(SOUND)
        title(page, "PASS")
        assert sound_of(page) == (before[0] + 1, 1)
        assert len(page.evaluate("window.shook")) == 1
        crossed.bench.plug(None)
        expect(page.locator("header.out")).to_contain_text(OUT)
        crossed.bench.plug(CROSSED)
        title(page, "FAIL")
        assert sound_of(page) == (before[0] + 2, 3)
        assert len(page.evaluate("window.shook")) == 5  # three beats, with pauses between
        page.reload()
        title(page, "FAIL")
        assert sound_of(page) == (0, 0)


def test_plain_http_under_a_name_has_what_the_page_needs(crossed: Ship) -> None:
    """No secure context, so no lock, as the page says; no error, nothing from outside."""
    with crossed.phone(begin=False) as page:
        errors: list[str] = []
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
        assert page.evaluate("location.hostname") == NAME
        assert page.evaluate("location.hash") == ""  # the secret does not stay in the address
        assert not page.evaluate("isSecureContext")
        page.get_by_role("button", name="Begin").click()
        expect(page.locator("#awake")).to_contain_text("The screen may ")
        assert page.evaluate("document.body.dataset.awake") in ("video", "nothing")
        page.get_by_role("button", name="Keep").click()
        expect(page.get_by_role("button", name="Kept")).to_be_disabled()
        page.reload()
        title(page, "FAIL")
        assert errors == []
        assert asked  # and nothing of it outside the boat
        assert all(url.startswith(f"http://{NAME}:{crossed.served.port}/") for url in asked)


def test_https_is_a_secure_context(browser: Browser, tmp_path: Path) -> None:
    """With --tls the page is one, its cookie goes over https alone, and Keep keeps."""
    with ship(browser, tmp_path, SOUND, "--tls") as found, found.phone() as page:
        title(page, "PASS")
        assert page.evaluate("isSecureContext")
        expect(page.locator("#awake")).to_contain_text("The screen ")
        (cookie,) = page.context.cookies()
        assert (cookie.get("secure"), cookie.get("httpOnly"), cookie.get("sameSite")) == (True, True, "Strict")
        page.get_by_role("button", name="Keep").click()
        expect(page.get_by_role("button", name="Kept")).to_be_disabled()
        assert len(kept(found)) == 1


def test_killed_with_keep_pressed_meanwhile(crossed: Ship) -> None:
    """Killed, Keep pressed, started again: grey meanwhile, no new scan, one capture of the test that was seen."""
    with crossed.phone() as page:
        title(page, "FAIL")
        crossed.served.kill()
        page.get_by_role("button", name="Keep").click()
        expect(page.locator("#stale")).to_contain_text("No connection to the laptop")
        assert kept(crossed) == []
        crossed.start()
        expect(page.locator("#stale")).to_be_hidden()
        heard(page)
        (one,) = kept(crossed)
        assert one.capture is not None
        assert one.verdict_now == "fail"
        assert one.capture.record.job.cable == "W-1"


def test_two_phones_see_the_same_and_act_once(crossed: Ship) -> None:
    """A code opens once; the next phone scans the next one; both press, and there is one capture and one step.

    A button that was tapped once stays so while the page is made anew.
    """
    used = crossed.url
    with crossed.phone() as first, crossed.phone() as second:
        for page in (first, second):
            title(page, "FAIL")
        keep_at_once(first, second)
        for page in (first, second):
            expect(page.get_by_role("button", name="Kept")).to_be_disabled()
            heard(page)
            page.unroute("**/do")
        assert len(kept(crossed)) == 1
        first.get_by_role("button", name="Next cable: W-2").click()
        tap_colour(second, "3, mast end", "green")
        expect(first.locator("#page")).to_contain_text("The mast end is wrong")
        first.get_by_role("button", name="Next cable: W-2: tap again").click()
        assert str(first.evaluate(LEAVE)).endswith("The next test is W-2.")
        assert str(second.evaluate(LEAVE)).endswith("The next test is W-2.")
        for page in (first, second):
            expect(page.get_by_role("button", name="Next cable: W-3")).to_be_visible()
        assert len(kept(crossed)) == 1
        crossed.url = used
        with crossed.phone(begin=False) as late:
            expect(late.locator("#hello")).to_contain_text("this code was used")
        crossed.url = used.partition("#")[0]
        with crossed.phone(begin=False) as stranger:
            expect(stranger.locator("#hello")).to_have_text("Scan the code on the laptop.")
            assert stranger.evaluate("fetch('/live').then((answer) => answer.status)") == 401


def test_a_tester_that_says_nothing_turns_the_page_grey(crossed: Ship) -> None:
    """Silent, the page is grey and says for how long; with the tester back it is fresh."""
    with crossed.phone() as page:
        title(page, "FAIL")
        crossed.bench.mute = True
        expect(page.locator("#stale")).to_contain_text("what stands below is old")
        crossed.bench.mute = False
        expect(page.locator("#stale")).to_be_hidden()
        title(page, "FAIL")


def test_off_the_network_and_back(crossed: Ship) -> None:
    """Off the network the page is grey; what was pressed is sent once when it is back, an old `again` is not."""
    with crossed.phone() as page:
        title(page, "FAIL")
        crossed.cut_off(page)
        page.get_by_role("button", name="Keep").click()
        page.get_by_role("button", name="Test again").click()
        expect(page.locator("#stale")).to_contain_text("No connection to the laptop")
        page.evaluate(
            "localStorage.setItem('wishes', localStorage.getItem('wishes').replace(/\"at\":\\d+/g, '\"at\":1'))"
        )
        crossed.join(page)
        expect(page.locator("#stale")).to_be_hidden()
        heard(page)
        expect(page.locator("header")).to_contain_text("Test 1,")
        assert len(kept(crossed)) == 1


def test_a_photo_comes_without_its_position(crossed: Ship, tmp_path: Path) -> None:
    """Taken before Keep: upright, at most 2560 px, nothing of the camera in it, its digest in the record."""
    from PIL import Image

    file = tall_photo(tmp_path)
    with crossed.phone() as page:
        title(page, "FAIL")
        page.set_input_files("#camera", file)
        expect(page.locator("#page")).to_contain_text("1 photo.")
        page.get_by_role("button", name="Keep").click()
        expect(page.get_by_role("button", name="Kept")).to_be_disabled()
        (one,) = kept(crossed)
        assert one.capture is not None
        (photo,) = one.capture.record.job.photos
        with Image.open(crossed.served.captures / photo.file) as picture:
            assert (picture.width, picture.height) == (1280, 2560)  # the camera held it sideways, 3000 x 1500
            assert dict(picture.getexif()) == {}
            assert picture.convert("RGB").getpixel((640, 100)) == pytest.approx((200, 30, 30), abs=12)  # its top


def test_a_colour_is_tapped(crossed: Ship) -> None:
    """Contact, then colour: from either end to the one that is wrong; the contact is marked, by shape and word."""
    with crossed.phone() as page:
        expect(page.locator("#page")).to_contain_text("It can be either end")
        tap_colour(page, "3, mast end", "green")
        assert page.locator("#which").text_content() == "Which colour is at contact 3 of the mast end?"
        expect(page.locator("#page")).to_contain_text("The mast end is wrong")
        told = page.get_by_role("button", name="3, mast end")
        expect(told).to_have_attribute("aria-label", "3, mast end, wrong, colour told")
        expect(told).to_have_css("border-radius", "50%")  # looked at again where the page was just shown anew


def test_mended_from_the_first_test_to_the_pass(crossed: Ship) -> None:
    """One question at a time, the card, the new plug, measured, moved: PASS, a record before and one after."""
    with crossed.phone("small") as page:
        page.get_by_role("button", name="Mend it").click()
        expect(page.locator("section.mend")).to_contain_text("Which colour is at contact 3 of the helm plug?")
        page.get_by_role("button", name="White-green").click()
        expect(page.locator("section.mend")).to_contain_text("Can you get at the mast plug?")
        page.get_by_role("button", name="Yes", exact=True).click()
        expect(page.locator("section.mend")).to_contain_text("Re-terminate the mast end as T568B")
        assert audit(page, "card") == []
        page.get_by_role("button", name="Plug re-terminated").click()
        expect(page.get_by_role("button", name="Plug re-terminated")).to_have_attribute("aria-pressed", "true")
        crossed.bench.plug(SOUND)
        page.get_by_role("button", name="The plug is made").click()
        expect(page.locator("section.mend")).to_contain_text("It passes at rest.")
        assert page.evaluate("scrollY") == 0
        page.get_by_role("button", name="Not now").click()
        title(page, "PASS")
        expect(page.get_by_role("button", name="Done", exact=True)).to_be_visible()
        expect(page.get_by_role("button", name="Kept")).to_be_disabled()
    found = {one.verdict_now: one.capture for one in kept(crossed)}
    assert set(found) == {"fail", "pass"}
    assert found["pass"] is not None
    assert found["pass"].record.job.re_terminated == "far"
    assert any(work.done for work in found["pass"].record.work)


def test_four_cables_each_with_its_label(browser: Browser, tmp_path: Path) -> None:
    """Put in, Keep, next label with two taps: four captures with four labels; one tap alone does not step."""
    with ship(browser, tmp_path, None) as found, found.phone() as page:
        title(page, "No test yet")
        for number, fault in enumerate((SOUND, CROSSED, SOUND, SOUND), 1):
            found.bench.plug(fault)
            expect(page.locator("header")).to_contain_text(f"W-{number}")
            expect(page.locator("header")).to_contain_text(f"Test {number},")
            page.get_by_role("button", name="Keep").click()
            expect(page.get_by_role("button", name="Kept")).to_be_disabled()
            page.get_by_role("button", name=f"Next cable: W-{number + 1}").click()
            assert page.locator("header .label").inner_text() == f"Next cable: W-{number + 1}: tap again"
            page.get_by_role("button", name="tap again").click()
            expect(page.get_by_role("button", name=f"Next cable: W-{number + 2}")).to_be_visible()
            found.bench.plug(None)
            expect(page.locator("header.out")).to_contain_text(OUT)
        labels = sorted(one.capture.record.job.cable for one in kept(found) if one.capture is not None)
        assert labels == ["W-1", "W-2", "W-3", "W-4"]


def test_the_page_of_a_capture_is_of_the_same_family(crossed: Ship, tmp_path: Path) -> None:
    """Colours, letters and headings of the page that `wiremap report` makes are those of the live page."""
    with crossed.phone() as page:
        title(page, "FAIL")
        page.get_by_role("button", name="Keep").click()
        expect(page.get_by_role("button", name="Kept")).to_be_disabled()
        (one,) = kept(crossed)
        made = run(
            "report", str(crossed.served.captures / one.source), "--make", "phone", "--save", str(tmp_path / "made")
        )
        assert made.code == 0
        for dark in (False, True):
            page.emulate_media(color_scheme="dark" if dark else "light")
            live = page.evaluate(LOOKS)
            other = page.context.new_page()
            other.emulate_media(color_scheme="dark" if dark else "light")
            other.set_content(next((tmp_path / "made").glob("*.html")).read_text(encoding="utf-8"))
            assert other.evaluate(LOOKS) == live


def test_other_names_and_other_pages_get_nothing(crossed: Ship) -> None:
    """Under another name of the same address, from a page of another port, or in a frame, nothing is done or shown."""
    with crossed.phone() as page:
        title(page, "FAIL")
        where = f"http://{NAME}:{crossed.served.port}"
        other = page.context.new_page()
        answer = other.goto(f"http://evil.test:{crossed.served.port}/")
        assert answer is not None
        assert answer.status == 421
        other.route("http://boat.test:9/", lambda route: route.fulfill(body="<p>other</p>", content_type="text/html"))
        other.goto("http://boat.test:9/")  # same site, another port: the cookie goes with it
        wish = "{method: 'POST', credentials: 'include', mode: 'no-cors', body: '{}', headers: {}}"
        other.evaluate(f"fetch('{where}/do', {wish}).catch(() => 0)")
        other.evaluate(f"fetch('{where}/live', {{credentials: 'include'}}).catch(() => 0)")
        framed = (
            f"(() => {{const f = document.createElement('iframe'); f.src = '{where}/'; document.body.append(f)}})()"
        )
        with other.expect_event("frameattached"):
            other.evaluate(framed)
        other.wait_for_timeout(500)
        assert all("boat.test:9/" in frame.url or "error" in frame.url for frame in other.frames if frame.url)
        expect(page.locator("header")).to_contain_text("Test 1,")
        assert kept(crossed) == []


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ("document.querySelector('#keep').style.cssText = 'min-height:0;height:40px;flex:none'", "small button"),
        ("document.querySelector('.said').style.color = '#999'", "contrast: "),
        ("document.querySelector('header').style.background = '#e0e0e0'", "contrast: "),
        ("document.querySelector('.main').style.width = '2000px'", "side scrolling"),
        ("document.querySelector('h1').style.cssText = 'white-space:nowrap;font-size:400px;width:90%'", "cut: "),
        ("document.querySelector('.small').style.fontSize = '11px'", "small letters"),
        ("document.querySelector('.wire').parentElement.querySelectorAll('span,b').forEach((e) => e.remove())", "name"),
        ("document.querySelectorAll('.either').forEach((e) => { e.style.border = '1px solid'; })", "look alike"),
        (
            "(keep => { keep.disabled = true; keep.style.borderStyle = 'solid' })(document.querySelector('#keep'))",
            "alone",
        ),
        ("document.body.style.paddingBottom = 0", "under the bar"),
    ],
)
def test_the_audit_sees_what_is_wrong(looked_at: Page, change: str, fault: str) -> None:
    """Each thing that it looks for is found when it is put there."""
    looked_at.reload()
    looked_at.get_by_role("button", name="Begin").click()
    title(looked_at, "FAIL")
    assert audit(looked_at, "as it is") == []
    looked_at.evaluate(change)
    assert any(fault in said for said in audit(looked_at, "changed"))


def test_the_names_of_sizes_are_all_looked_at() -> None:
    """A phone upright, a small one, and one held across."""
    assert set(SIZES.values()) == {(390, 844), (320, 568), (844, 390)}
