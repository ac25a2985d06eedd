"""The square code on the laptop's terminal: it fits with its words, and a reader reads the address."""

import hashlib
import re
import ssl
import time
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import zxingcpp
from PIL import Image, ImageOps

from tests.cli.benches import Bench, plugged_in
from tests.cli.terminals import Terminal, terminal
from tests.phone.aboard import Pocket, free_port
from wiremap.phone.guard import Here
from wiremap.phone.serve import code_lines, code_url

CELL = 8  # pixels: a cell is two of them high, the halves of a block
HALVES = {" ": (False, False), "▀": (True, False), "▄": (False, True), "█": (True, True)}
LINES_OF_CODE = re.compile("[ ▀▄█]{33,}")


def drawn(coloured: str, ground: int = 0, ink: int = 255) -> Image.Image:
    """Return what a terminal with these grounds shows, grey; of its colours bright white and black are drawn."""
    rows = coloured.split("\n")
    wide = max(len(re.sub(r"\x1b\[[0-9;]*m", "", row)) for row in rows)
    picture = Image.new("L", (CELL * wide, 2 * CELL * len(rows)), ground)
    fore, back = ink, ground
    for at_row, row in enumerate(rows):
        at = 0
        for part in re.split(r"(\x1b\[[0-9;]*m)", row):
            if part.startswith("\x1b"):
                for code in part[2:-1].split(";"):
                    fore, back = (ink, ground) if code in ("", "0") else (fore, back)
                    fore = 255 if code == "97" else ink if code == "39" else fore
                    back = 0 if code == "40" else ground if code == "49" else back
                continue
            for letter in part:
                for half, is_inked in enumerate(HALVES.get(letter, (False, False))):
                    box = (CELL * at, CELL * (2 * at_row + half), CELL * (at + 1), CELL * (2 * at_row + half + 1))
                    picture.paste(fore if is_inked else back, box)
                at += 1
    return picture


def read(picture: Image.Image) -> list[str]:
    """Return what stands in the codes of a picture."""
    return [code.text for code in zxingcpp.read_barcodes(picture)]


def begun(screen: Terminal, folder: Path, tester: str, *more: str) -> int:
    """Start the program in a terminal and return its port; its captures have a name longer than a line."""
    port, captures = (
        free_port(),
        folder / "captures of a long winter's work",
    )
    captures.mkdir(parents=True)
    where = ["--address", "127.0.0.1", "--port", str(port), "--save", str(captures)]
    screen.start("phone", "--tester", tester, *where, *more)
    screen.wait_for("Ctrl-C ends it")
    screen.wait_for("Captures: ")
    before: list[str] = []
    while before != screen.screen():  # it is drawn whole
        before = screen.screen()
        time.sleep(0.2)
    return port


@pytest.mark.parametrize(("more", "grounds"), [((), (0, 255)), (("--tls",), (255, 0))])
def test_the_code_fits_and_is_read_and_another_comes_after_each_use(
    tmp_path: Path, more: tuple[str, ...], grounds: tuple[int, int]
) -> None:
    """On 80 x 24 code, address, folder or fingerprint stand together, on a dark and on a light terminal."""
    home = {"WIREMAP_HOME": str(tmp_path / "home"), "TERM": "xterm-256color"}
    with plugged_in(Bench(["none"])) as tester, terminal(tmp_path, 80, 24, **home) as screen:
        port = begun(screen, tmp_path, tester, *more)
        lines = screen.screen()
        assert len(lines) <= 24
        assert sum(bool(LINES_OF_CODE.search(line)) for line in lines) == 17
        (url,) = read(drawn(screen.coloured(), *grounds))
        assert urlsplit(url).netloc == f"127.0.0.1:{port}"
        assert urlsplit(url).scheme == ("https" if more else "http")
        assert url in lines  # for who has to type it
        text = "".join(lines).replace(" ", "")
        assert ("Certificate" in text) == bool(more)
        assert more or "captures of a long winter's work".replace(" ", "") in text
        if more:  # the fingerprint is that of the certificate that a phone is shown
            shown = ssl.PEM_cert_to_DER_cert(ssl.get_server_certificate(("127.0.0.1", port)))
            assert hashlib.sha256(shown).digest().hex(":").upper() in text
        if not more:
            pocket = Pocket(port)
            pocket.enter(url)
            screen.wait_for("1 phone in.")
            (second,) = read(drawn(screen.coloured(), *grounds))
            assert urlsplit(second).netloc == urlsplit(url).netloc
            assert second != url
        screen.press("C-c")
        screen.wait_for("ended 130")


def test_a_window_that_is_too_small_says_so(tmp_path: Path) -> None:
    """Without room for the code it says what it needs, and shows the address, whole."""
    home = {"WIREMAP_HOME": str(tmp_path / "home")}
    with plugged_in(Bench(["none"])) as tester, terminal(tmp_path, 60, 16, **home) as screen:
        begun(screen, tmp_path, tester)
        text = " ".join(screen.screen())
        assert "needs a window of 33 x 20" in text
        assert re.search(r"http://127\.0\.0\.1:\d+/#[\w-]{22}", text)
        assert not any(LINES_OF_CODE.search(line) for line in screen.screen())


@pytest.mark.parametrize("scheme", ["http", "https"])
@pytest.mark.parametrize("seed", range(5))
def test_codes_without_colours_are_read(scheme: str, seed: int) -> None:
    """Drawn in a terminal's own two colours, whichever is the light one, the code says the address."""
    secret = f"{seed * 7919:022d}"
    url = code_url(Here(("192.168.143.201:8712",), scheme), secret)
    picture = drawn("\n".join(code_lines(url)))
    assert read(picture) == read(ImageOps.invert(picture)) == [url]
