"""How a text is broken into the lines of a page."""

import textwrap

from wiremap.errors import spelled_out


def in_lines(text: str, width: int, first: str = "", then: str = "", most: int | None = None) -> list[str]:
    """Return a text in lines of at most so many letters, broken between words where that can be; [] for no text.

    What a screen would obey is spelled out before: it takes more letters then. first, then: what the first line and
    those after it begin with. most: lines there may be, None = any number; the last one ends in " ..." where it is cut.
    """
    return textwrap.wrap(
        spelled_out(text),
        width,
        initial_indent=first,
        subsequent_indent=then,
        max_lines=most,
        placeholder=" ...",
        break_on_hyphens=False,
    )


def in_width(text: str, width: int) -> str:
    """Return a text in one line of at most so many letters, what a screen would obey spelled out; cut, it says so."""
    shown = spelled_out(text, lines=False)
    return shown if len(shown) <= width else shown[: width - 3] + "..."
