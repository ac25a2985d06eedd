"""Hostile texts on everything that is drawn, texts of ten thousand letters too."""

import tempfile
from pathlib import Path

from tests.cli.running import run
from tests.gate.captures import full_of, sealed
from tests.gate.texts import HOSTILE, check_file
from tests.long import Check

DRAWN = "sheet,picture,label,phone"


def all_that_is_drawn(_seed: int, count: int) -> str:
    """Draw a capture full of each of the first so many texts: sheet, pictures, label, page, card."""
    made = 0
    for text in list(HOSTILE.values())[:count]:
        with tempfile.TemporaryDirectory() as name:
            capture, folder = Path(name, "x.json"), Path(name, "made")
            capture.write_bytes(sealed(full_of(text)[0]))
            assert run("report", str(capture), "--make", DRAWN, "--save", str(folder)).code == 0
            run("pinout", str(capture), "--end", "near", "--save", str(folder / "card.pdf"))
            for path in folder.iterdir():
                check_file(path)
                made += 1
    return f"{made} files, nothing through the gate"


CHECKS = (Check("gate: all that is drawn", all_that_is_drawn, 3),)
