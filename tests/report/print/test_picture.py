"""Pictures of the wire map: every colour has its name beside it, and they stay as they were looked at."""

import io
import re
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image

from tests.report.print.goldens import GOLDEN, PICTURES, pdf_text, pixels
from tests.report.proofs import REVERSED_AND_OPEN, case, crowded, loopback, m12d, proof, shorted, unplugged
from wiremap.cable.colours import colour_set
from wiremap.cable.terminations import termination
from wiremap.report.print.canvas import INK, SOFT
from wiremap.report.print.label import label
from wiremap.report.print.picture import picture
from wiremap.report.print.sheet import BADGE
from wiremap.report.proof import Proof

LARGEST_MEAN = (
    0.012  # of the difference of two pictures, 0 to 1: room for other edges of letters, not for other letters
)
LARGEST_PART = 0.02  # of pixels that differ by more than a quarter


@pytest.mark.parametrize("name", PICTURES)
def test_pictures_are_as_they_were_looked_at(name: str) -> None:
    """Each picture is the golden one but for the edges of its letters."""
    seen, wanted = pixels(PICTURES[name]()), pixels(GOLDEN.joinpath(name).read_bytes())
    assert seen.shape == wanted.shape
    difference = np.abs(seen - wanted)
    assert difference.mean() < LARGEST_MEAN
    assert (difference.max(axis=2) > 0.25).mean() < LARGEST_PART


def test_a_picture_of_another_cable_is_another_picture() -> None:
    """The tolerance of the golden pictures tells two cables apart that have other conductors exchanged."""
    exchanged, others = proof((0, 1, 5, 3, 4, 2, 6, 7)).case, proof((0, 1, 2, 4, 3, 5, 6, 7)).case
    seen, wanted = (pixels(picture(shown, "png", 80, 120)) for shown in (exchanged, others))
    assert seen.shape == wanted.shape
    assert (np.abs(seen - wanted).max(axis=2) > 0.25).mean() > LARGEST_PART


@pytest.mark.parametrize("width", [80, 180])
def test_every_colour_is_written_beside_it(width: float) -> None:
    """Without its colours a picture says the same: names in the lines, letters in the plugs, faults in words."""
    text = pdf_text(picture(proof(REVERSED_AND_OPEN).case, "pdf", width), "-layout")
    for colour in colour_set("tia").conductors:
        assert colour.name in text
        assert len(re.findall(rf"(?<!\w){colour.letters}(?!\w)", text)) >= (1 if colour.name == "brown" else 2)
    assert "FAIL" in text
    assert "MAST-CAM-01" in text
    assert text.count("✕ belongs at") == 2
    assert "✕ open" in text
    assert "colour (T568B)" in text
    assert "helm" in text
    assert "mast" in text


def test_plain_white_mates_are_told_by_their_mate() -> None:
    """Where conductors look alike the picture says with which one each is twisted."""
    shown = case(near_order=termination("T568B"), colours=colour_set("plain-white"))
    text = pdf_text(picture(shown, "pdf", 180), "-layout")
    assert "white (with blue)" in text
    assert "white (with brown)" in text


def test_plugs_of_every_kind_are_drawn() -> None:
    """Sensor plugs, loopback plugs and shorts have their pictures, each with what it joins."""
    text = pdf_text(picture(m12d(), "pdf", 120), "-layout")
    assert "M12 D-coded, contacts in number order" in text
    assert "RJ45, contacts up, cable towards you" in text
    assert "joined to" in pdf_text(picture(loopback(), "pdf", 120), "-layout")
    assert "shorted to screen" in pdf_text(picture(shorted(), "pdf", 120), "-layout")


def test_what_was_not_looked_at_is_not_drawn_as_broken() -> None:
    """With the far plug in nothing there is no far plug in the picture, and where conductors go is not known."""
    shown = unplugged()
    text = pdf_text(picture(shown, "pdf", 120), "-layout")
    assert text.count("RJ45, contacts up") == 1
    assert text.count("?") == 8
    assert "✕" not in text
    assert not Proof(shown, proof().capture).services()


@pytest.mark.parametrize("width", [60, 80, 180])
def test_nothing_runs_into_anything(width: float) -> None:
    """At any width no word of a picture lies over another, and none over the edge, however long the names are."""
    assert_apart(picture(crowded().case, "pdf", width))


def assert_apart(content: bytes) -> None:
    """Check the boxes of all words of a PDF: within their page, and apart from each other."""
    _, *pages = pdf_text(content, "-bbox").split("<page ")
    assert pages
    for page in pages:
        assert_words_apart(f"<page {page}")


def assert_words_apart(page: str) -> None:
    """Check the boxes of the words of one page, as pdftotext gives them."""
    size = re.search(r'<page width="([\d.]+)" height="([\d.]+)"', page)
    assert size is not None
    across, down = float(size[1]), float(size[2])
    pattern = r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>'
    found = re.findall(pattern, page)
    boxes = [(tuple(map(float, numbers)), word) for *numbers, word in found]
    assert boxes
    for i, ((left, top, right, bottom), word) in enumerate(boxes):
        assert -0.5 <= left < right <= across + 0.5, word
        assert -0.5 <= top < bottom <= down + 0.5, word
        for (other_left, other_top, other_right, other_bottom), other in boxes[:i]:
            over = min(right, other_right) - max(left, other_left)
            # a line's box holds room for accents above and below, so that two lines' boxes may touch
            under = min(bottom, other_bottom) - max(top, other_top)
            assert over < 0.5 or under < 0.45 * min(bottom - top, other_bottom - other_top), (word, other)


def test_pictures_are_the_same_bytes_every_time() -> None:
    """No time and no chance is in a file: drawn twice it is the same, as PNG, SVG and PDF."""
    shown = proof(REVERSED_AND_OPEN).case
    draws: tuple[Callable[[], bytes], ...] = (
        lambda: picture(shown, "png", 80, 100),
        lambda: picture(shown, "svg", 80),
        lambda: label(proof()),
    )
    for draw in draws:
        first, second = draw(), draw()
        assert first == second
        assert b"CreationDate" not in first
        assert b"<dc:date>" not in first


def test_svg_needs_nothing_else() -> None:
    """An SVG picture refers to no file, no font and no address but the names of its own language."""
    text = picture(proof().case, "svg", 180).decode()
    addresses = set(re.findall(r'https?://[^"\s<]+', text))
    own = ("http://www.w3.org/", "http://purl.org/dc/", "http://creativecommons.org/ns")
    assert all(address.startswith(own) for address in addresses)
    assert "<script" not in text
    assert "<text" not in text
    assert "<image" not in text


def test_a_picture_has_the_size_that_was_asked_for() -> None:
    """80 mm at 300 dots an inch are 945 dots, and an A4 page's width 2126."""
    for width, dots in ((80, 945), (180, 2126)):
        with Image.open(io.BytesIO(picture(proof().case, "png", width, 300))) as image:
            assert abs(image.width - dots) <= 1


def luminance(colour: str) -> float:
    """Return the relative luminance of "#rrggbb" (WCAG 2.1, definition of relative luminance)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_letters_stand_out() -> None:
    """Every letter has a contrast of at least 4.5 to 1 with what is behind it (WCAG 2.1, criterion 1.4.3)."""
    for dark in (INK, SOFT, *BADGE.values()):
        assert 1.05 / (luminance(dark) + 0.05) >= 4.5, dark
