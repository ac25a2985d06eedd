"""The rules of who may do what, each as a check that raises AssertionError where the rule does not hold.

They are run by `test_rules.py`: as they are, and each with its rule taken out, where it must fail.
"""

import io
import json
import stat
from pathlib import Path
from typing import Any

from PIL import Image

from tests.phone.asking import HOST, ORIGIN, WISH, Boat
from wiremap.errors import UsageError
from wiremap.phone import photos
from wiremap.phone.doors import Doors


def jpeg(width: int = 64, height: int = 48, **how: Any) -> bytes:
    """Return a picture of one colour."""
    out = io.BytesIO()
    Image.new("RGB", (width, height), (40, 90, 60)).save(out, "JPEG", **how)
    return out.getvalue()


def nothing_without_a_cookie(boat: Boat) -> None:
    """Without a cookie there is the shell and nothing else."""
    for path in ("/", "/phone.js", "/phone.css"):
        assert boat.ask("GET", path).status == 200, path
    for path in ("/who", "/live"):
        assert boat.ask("GET", path).status == 401, path
    assert boat.post("/do", WISH).status == 401
    assert boat.ask("POST", "/photo?test=0&id=abcdefgh", [("content-type", "image/jpeg")], jpeg()).status == 401
    assert boat.ask("GET", "/who", [("cookie", f"{boat.doors.name}=guess")]).status == 401
    assert boat.loop.asked == []


def a_secret_opens_once(boat: Boat) -> None:
    """A secret gives one cookie, and none to who comes second; the next secret is another one."""
    secret = boat.doors.secret()
    assert len(secret) >= 22
    assert boat.post("/enter", {"secret": "x" * 22}).status == 403
    assert boat.post("/enter", {"secret": ""}).status == 400
    assert boat.post("/enter", {"secret": secret}).status == 204
    assert boat.post("/enter", {"secret": secret}).status == 403
    assert boat.doors.secret() != secret


def a_secret_grows_old(boat: Boat) -> None:
    """Ten minutes later a secret opens nothing, and the laptop shows another one."""
    secret = boat.doors.secret()
    boat.now += 601
    assert boat.post("/enter", {"secret": secret}).status == 403
    assert boat.doors.secret() != secret


def guessing_is_slow(boat: Boat) -> None:
    """One address guesses five times a minute, all together thirty."""
    boat.doors.secret()
    tried = [boat.post("/enter", {"secret": f"guess{k}"}).status for k in range(7)]
    assert tried == [403] * 5 + [429] * 2
    others = [boat.post("/enter", {"secret": "g"}, address=f"192.168.43.{k}").status for k in range(30, 70)]
    assert others.count(403) <= 30
    assert others[-1] == 429
    boat.now += 61
    assert boat.post("/enter", {"secret": "later"}).status == 403


def only_hashes_are_kept(boat: Boat) -> None:
    """The file of cookies has no cookie in it, and its owner alone may read it."""
    token = boat.enter()[0][1].partition("=")[2]
    path = boat.folder / "doors.json"
    assert token not in path.read_text(encoding="utf-8")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def a_cookie_ends(boat: Boat) -> None:
    """A cookie outlives a restart and ends after twelve hours."""
    cookie = boat.enter()
    boat.now += 12 * 3600 - 1
    again = Doors(boat.folder / "doors.json", 8712, False, lambda: boat.now)
    assert again.phone(cookie[0][1]) is not None
    assert boat.ask("GET", "/who", cookie).status == 204
    boat.now += 2
    assert boat.ask("GET", "/who", cookie).status == 401
    assert again.phone(cookie[0][1]) is None


def a_cookie_is_kept_from_scripts(boat: Boat) -> None:
    """A cookie is HttpOnly and SameSite=Strict, has the port in its name, and is Secure where the line is."""
    said = boat.post("/enter", {"secret": boat.doors.secret()}).head("set-cookie")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(said.split("; "))
    assert said.partition("=")[0].endswith("8712")
    secure = Boat(boat.folder / "tls", is_secure=True)
    said = secure.post(
        "/enter", {"secret": secure.doors.secret()}, origin=[("origin", ORIGIN.replace("http", "https"))]
    ).head("set-cookie")
    assert "Secure" in said.split("; ")


def at_most_eight_phones(boat: Boat) -> None:
    """The ninth phone takes the place of the first."""
    cookies = []
    for number in range(9):
        cookies.append(boat.enter(address=f"192.168.43.{number}"))
        boat.now += 30
    assert boat.ask("GET", "/who", cookies[0]).status == 401
    assert all(boat.ask("GET", "/who", cookie).status == 204 for cookie in cookies[1:])


def only_its_own_host(boat: Boat) -> None:
    """Another name in Host, none, two, or one without the port: 421, so that no name of others leads here."""
    cookie = boat.enter()
    for host in (
        [("host", "evil.test:8712")],
        [("host", "boat.test")],
        [("host", "127.0.0.1:8712")],
        [("host", "boat.test:8712.evil.test")],
        [],
        [("host", HOST), ("host", "evil.test")],
    ):
        assert boat.ask("GET", "/", host=host).status == 421, host
        assert boat.post("/do", WISH, cookie, host=host).status == 421, host
    assert boat.ask("GET", "/who", cookie, host=[("host", "192.168.43.1:8712")]).status == 204
    assert boat.loop.asked == []


def only_its_own_origin(boat: Boat) -> None:
    """A page from elsewhere, another port of the laptop among them, posts nothing, cookie or not."""
    cookie = boat.enter()
    for origin in (
        [("origin", "http://evil.test")],
        [("origin", "http://boat.test:9999")],
        [("origin", f"https://{HOST}")],
        [("origin", "null")],
        [],
        [("origin", ORIGIN), ("origin", "http://evil.test")],
    ):
        assert boat.post("/do", WISH, cookie, origin=origin).status == 403, origin
        assert boat.post("/enter", {"secret": "x"}, origin=origin).status == 403, origin
    assert boat.loop.asked == []
    assert boat.post("/do", WISH, cookie).status == 200


def only_the_same_site(boat: Boat) -> None:
    """What the browser itself calls cross-site or same-site is no page of ours."""
    cookie = boat.enter()
    for word in ("cross-site", "same-site", "none"):
        assert boat.post("/do", WISH, [*cookie, ("sec-fetch-site", word)]).status == 403, word
    assert boat.post("/do", WISH, [*cookie, ("sec-fetch-site", "same-origin")]).status == 200


def no_simple_form(boat: Boat) -> None:
    """What a form can post without being asked is refused by its type."""
    cookie = boat.enter()
    body = json.dumps(WISH).encode()
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "image/png"):
        assert boat.ask("POST", "/do", [*cookie, ("content-type", kind)], body).status == 415, kind
    assert boat.ask("POST", "/do", cookie, body).status == 415
    assert (
        boat.ask("POST", "/photo?test=0&id=abcdefgh", [*cookie, ("content-type", "text/plain")], jpeg()).status == 415
    )
    assert boat.loop.asked == []


def nonsense_is_refused(boat: Boat) -> None:
    """What is not exactly a wish is refused: types, names, ranges, letters, depth."""
    cookie = boat.enter()
    for change in (
        {"test": 1e999},
        {"test": -1},
        {"test": "1"},
        {"test": 1.5},
        {"test": True},
        {"what": "rm"},
        {"what": None},
        {"id": "a b"},
        {"id": "short"},
        {"id": "x" * 41},
        {"words": ["a", "b", "c", "d"]},
        {"words": ["\u0007bell"]},
        {"words": ["x" * 81]},
        {"words": "near"},
        {"age": -1},
        {"age": 1e999},
        {"age": "1"},
        {"more": 1},
    ):
        answer = boat.post("/do", WISH | change, cookie)
        assert answer.status == 400, (change, answer.status)
    for body in (b"", b"{}", b"[]", b"null", b"\xff\xfe", b"[" * 3000, b'{"id":', json.dumps(WISH).encode() + b"x"):
        assert boat.post("/do", body, cookie).status == 400, body[:20]
    for query in ("", "?test=1", "?test=-1&id=abcdefgh", "?test=1&id=../../evil", "?test=1e3&id=abcdefgh"):
        heads = [*cookie, ("content-type", "image/jpeg")]
        boat.now += 61
        assert boat.ask("POST", f"/photo{query}", heads, jpeg()).status == 400, query
    assert boat.loop.asked == []


def bodies_are_bounded(boat: Boat) -> None:
    """A wish has at most 4 kB, a photo 12 MB, whatever the length that is announced, and in pieces too."""
    cookie = boat.enter()
    long = json.dumps(WISH | {"words": ["x" * 5000]}).encode()
    assert boat.post("/do", long, [*cookie, ("content-length", str(len(long)))]).status == 413
    assert boat.post("/do", long, cookie, pieces=9).status == 413
    assert boat.post("/do", b"{}", [*cookie, ("content-length", "-5")]).status == 413
    assert boat.post("/do", b"{}", [*cookie, ("content-length", "9" * 40)]).status == 413
    photo = [*cookie, ("content-type", "image/jpeg")]
    assert boat.ask("POST", "/photo?test=0&id=abcdefgh", photo, bytes(12_000_001), pieces=50).status == 413
    assert boat.loop.asked == []


def a_photo_is_a_whole_jpeg(_: Boat) -> None:
    """Only a JPEG is a photo: not what is called so, is cut off, or is of another kind within."""
    photos.check_photo(jpeg())
    png = io.BytesIO()
    Image.new("RGB", (8, 8)).save(png, "PNG")
    whole = jpeg(640, 480)
    for bad in (
        b"",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        png.getvalue(),
        b"\xff\xd8\xff" + png.getvalue() + b"\xff\xd9",
        whole[: len(whole) // 2],
        whole + b"<script>",
        b"\xff\xd8\xff\xe0\xff\xd9",
        b"GIF89a" + whole,
    ):
        try:
            photos.check_photo(bad)
        except UsageError:
            continue
        raise AssertionError(bad[:20])


def no_picture_bomb(_: Boat) -> None:
    """A picture that would take much memory to draw is refused by its head, before it is drawn."""
    bomb = jpeg(7000, 6000, quality=1)
    assert len(bomb) < 1_000_000
    try:
        photos.check_photo(bomb)
    except UsageError:
        return
    raise AssertionError("drawn")


def no_file_but_the_three(boat: Boat) -> None:
    """No path leads to a file: three pieces from memory, and nothing else."""
    cookie = boat.enter()
    for path in (
        "/phone.html",
        "/static/phone.js",
        "/../doors.py",
        "/%2e%2e/doors.py",
        "/captures/",
        "/phone.js/..",
        "//etc/passwd",
        "/photo-00.jpg",
        "/doors.json",
        "/docs",
    ):
        assert boat.ask("GET", path, cookie).status == 404, path
        assert boat.ask("GET", path).status == 401, path
    for method in ("PUT", "DELETE", "OPTIONS", "TRACE", "HEAD"):
        assert boat.ask(method, "/", cookie).status == 405, method


def asking_is_bounded(boat: Boat) -> None:
    """An address asks at most 120 times in ten seconds, a phone for 90 wishes and 6 photos a minute; others go on."""
    cookie = boat.enter()
    tried = [boat.ask("GET", "/").status for _ in range(125)]
    assert tried.count(200) <= 120
    assert tried[-1] == 429
    assert boat.ask("GET", "/", address="192.168.43.99").status == 200
    boat.now += 11
    photo = [*cookie, ("content-type", "image/jpeg")]
    sent = [boat.ask("POST", f"/photo?test=0&id=abcdefg{k}", photo, jpeg()).status for k in range(8)]
    assert sent == [200] * 6 + [429] * 2
    wishes = []
    for _ in range(100):
        boat.now += 0.2
        wishes.append(boat.post("/do", WISH, cookie).status)
    assert wishes.count(200) == 90
    assert wishes[-1] == 429


def answers_carry_their_heads(boat: Boat) -> None:
    """Every answer, refusals too, forbids scripts and frames of others, guessing of types and keeping."""
    for answer in (boat.ask("GET", "/"), boat.ask("GET", "/who"), boat.ask("GET", "/", host=[("host", "evil.test")])):
        policy = answer.head("content-security-policy")
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "form-action 'none'" in policy
        assert "unsafe" not in policy
        assert answer.head("x-content-type-options") == "nosniff"
        assert answer.head("cache-control") == "no-store"
        assert answer.head("referrer-policy") == "no-referrer"
        assert answer.head("server") == ""
    shell = (Path(__file__).parents[2] / "wiremap/phone/static/phone.html").read_text(encoding="utf-8")
    assert "style=" not in shell
    assert "onclick" not in shell
    assert "http" not in shell.replace("http-equiv", "")
