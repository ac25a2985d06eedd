"""Golden pictures and texts of what is drawn; `python -m tests.report.print.goldens` draws them anew after a look."""

import io
import re
import shutil
import subprocess
from collections.abc import Callable
from functools import cache
from pathlib import Path

import msgspec
import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image

from tests.report.proofs import REVERSED_AND_OPEN, crowded, loopback, m12d, proof, shorted
from wiremap.report.print.label import label
from wiremap.report.print.picture import picture
from wiremap.report.print.sheet import sheet
from wiremap.report.proof import Proof

GOLDEN = Path(__file__).parents[2] / "golden"
DIGEST = re.compile("sha256:[0-9a-f]{64}")


def still(shown: Proof) -> Proof:
    """Return the proof with a digest that stays as it is whatever the record holds besides."""
    return replace(shown, capture=msgspec.structs.replace(shown.capture, line=b"a record\n"))


PICTURES: dict[str, Callable[[], bytes]] = {
    "map-reversed-180.png": lambda: picture(proof(REVERSED_AND_OPEN).case, "png", 180, 72),
    "map-reversed-80.png": lambda: picture(proof(REVERSED_AND_OPEN).case, "png", 80, 120),
    "map-shorted-80.png": lambda: picture(shorted(), "png", 80, 120),
    "map-m12d-80.png": lambda: picture(m12d(), "png", 80, 120),
    "map-loopback-80.png": lambda: picture(loopback(), "png", 80, 120),
    "sheet-pass-a4.png": lambda: sheet(still(proof()), "a4", "png", 60),
    "sheet-crowded-letter.png": lambda: sheet(still(crowded()), "letter", "png", 60),
    "label.png": lambda: label(still(proof()), "png", 150),
}


@cache
def pass_sheet() -> bytes:
    """Return the sheet of a sound cable, A4."""
    return sheet(proof(), "a4")


@cache
def reversed_sheet() -> bytes:
    """Return the sheet of a cable with two faults, Letter."""
    return sheet(proof(REVERSED_AND_OPEN), "letter")


TEXTS: dict[str, Callable[[], bytes]] = {
    "sheet-pass-a4.txt": pass_sheet,
    "sheet-reversed-letter.txt": reversed_sheet,
}


def pixels(content: bytes) -> "np.ndarray[tuple[int, ...], np.dtype[np.float64]]":
    """Return a PNG as numbers from 0 to 1, shape (height, width, 3)."""
    with Image.open(io.BytesIO(content)) as image:
        return np.asarray(image.convert("RGB"), dtype=np.float64) / 255


def pdf_text(content: bytes, *options: str) -> str:
    """Return the text of a PDF as pdftotext finds it; skips where that is not installed."""
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip("pdftotext is not installed")
    return subprocess.run(
        [program, *options, "-", "-"], input=content, capture_output=True, check=True, timeout=60
    ).stdout.decode()


def words(text: str) -> str:
    """Return a page's text line by line, its words one blank apart, digests left out: they change with any limit."""
    text = DIGEST.sub("sha256:...", text)
    lines = (re.sub(r"\s+", " ", line).strip() for line in text.replace("\f", "\n").splitlines())
    return "".join(f"{line}\n" for line in lines if line)


if __name__ == "__main__":
    for name, draw in PICTURES.items():
        GOLDEN.joinpath(name).write_bytes(draw())
    for name, write in TEXTS.items():
        GOLDEN.joinpath(name).write_text(words(pdf_text(write(), "-layout")), encoding="utf-8")
