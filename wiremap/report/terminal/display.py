"""What a terminal can show, and text dressed for it; text for a terminal without colours is left as it is."""

import re
from collections.abc import Mapping
from typing import Literal

from msgspec import Struct

from wiremap.cable.colours import Colour
from wiremap.judge.findings import Verdict

BAR: dict[Verdict, str] = {"pass": "1;30;42", "fail": "1;97;41", "undecided": "1;30;43"}
CUBE = (0, 95, 135, 175, 215, 255)
BOLD, NO_STYLE = "1", "0"
TALLER = "A taller window shows more."
OWN_STYLE = re.compile(rf"(\x1b\[(?:{'|'.join((BOLD, NO_STYLE, *BAR.values()))}|48;5;[0-9]{{1,3}})m)")  # SGR, ECMA-48


class Terminal(Struct, frozen=True):
    """Where a page is shown.

    width, height: characters; height None = no end (a pipe or a file). colours: how many, 0 = none.
    blocks: whether it shows block characters.
    """

    width: int = 80
    height: int | None = None
    colours: Literal[0, 8, 256] = 0
    blocks: bool = False

    def styled(self, text: str, codes: str) -> str:
        """Return the text with SGR codes (ECMA-48) around it, where the terminal has colours."""
        return f"\x1b[{codes}m{text}\x1b[{NO_STYLE}m" if self.colours and text else text

    def bar(self, text: str, verdict: Verdict) -> str:
        """Return a line in the verdict's colour, filled to the right edge."""
        return self.styled(text.ljust(self.width), BAR[verdict]) if self.colours else text.rstrip()

    def swatch(self, colour: Colour | None) -> str:
        """Return four cells in the conductor's own colours, blank for None; nothing where they cannot be shown."""
        if self.colours < 256:
            return ""
        if colour is None:
            return "    "
        body, stripe = cube_index(colour.body), cube_index(colour.stripe or colour.body)
        return "".join(self.styled(" ", f"48;5;{index}") for index in (body, stripe, body, stripe))


def cube_index(rgb: str) -> int:
    """Return the nearest colour of the 6 x 6 x 6 cube that 256-colour terminals have, for "#rrggbb"."""
    levels = [min(range(6), key=lambda k: abs(CUBE[k] - int(rgb[at : at + 2], 16))) for at in (1, 3, 5)]
    return 16 + 36 * levels[0] + 6 * levels[1] + levels[2]


def terminal_of(environment: Mapping[str, str], is_terminal: bool, size: tuple[int, int], encoding: str) -> Terminal:
    """Return what an output can show, told from the environment (NO_COLOR, TERM, COLORTERM), without asking it."""
    if not is_terminal:
        return Terminal()
    term = environment.get("TERM", "")
    width, height = size
    colours: Literal[0, 8, 256] = 0
    if not environment.get("NO_COLOR") and term != "dumb":
        colours = 256 if "256" in term or environment.get("COLORTERM") in ("truecolor", "24bit") else 8
    return Terminal(width, height, colours, encoding.lower().replace("-", "") == "utf8" and term != "dumb")
