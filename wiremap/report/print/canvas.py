"""A page in millimetres, from the top left corner, and its bytes as PDF, PNG or SVG."""

import io
from collections.abc import Callable, Sequence
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Literal

from wiremap.errors import spelled_out

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.figure import Figure
    from matplotlib.ft2font import FT2Font

FileKind = Literal["pdf", "png", "svg"]
Align = Literal["left", "center", "right"]
ALIGNED: dict[Align, float] = {"left": 0.0, "center": 0.5, "right": 1.0}  # of a text's width, left of where it is put
MM_PER_INCH = 25.4
MM_PER_POINT = MM_PER_INCH / 72
INK = "#1d2329"
SOFT = "#5b6670"
LINE = "#aeb6bd"
SMALLEST = 0.72  # of the size asked for
LONGEST_PRINTED = 2000  # letters of one text
USUAL_WORD = 32  # letters: no more are measured at first
NOT_IN_FONT = "\N{WHITE SQUARE}"
MEASURED_SIZE = 100.0  # points, in which a text is measured
NO_LIGATURES = ("-liga",)  # each letter for itself: a PDF would have a second font for two letters as one
SETTINGS = {
    "pdf.fonttype": 42,  # TrueType: text can be selected, fonts are embedded
    "ps.fonttype": 42,  # matplotlib 3.11 asks this into how many parts a PDF's font comes
    "svg.fonttype": "path",  # looks the same where the font is not installed
    "svg.hashsalt": "wiremap",
    "font.family": ["DejaVu Sans"],  # ships with matplotlib
    "path.simplify": False,
    "text.hinting": "none",  # letters as wide as they were measured, at any resolution
}


class Canvas:
    """What can be drawn on a page; every length in millimetres, y grows downwards.

    Boxes and shapes lie below lines, and these below text, whatever was drawn first.
    """

    def __init__(self, figure: "Figure", height: float) -> None:
        from matplotlib.transforms import Affine2D

        self._figure = figure
        inches_upwards = Affine2D().translate(0, -height).scale(1 / MM_PER_INCH, -1 / MM_PER_INCH)
        self._on_page = inches_upwards + figure.dpi_scale_trans

    def _add(self, artist: "Artist") -> None:
        """Put something on the page; axes would ask each how large they must be for it."""
        artist.set_transform(self._on_page)
        self._figure.add_artist(artist)

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        fill: str | None = None,
        edge: str | None = None,
        line: float = 0.25,
        dashed: bool = False,
        hatch: str | None = None,
        round_by: float = 0.0,
    ) -> None:
        """Draw a rectangle; fill, edge: "#rrggbb", None = none. hatch: matplotlib's letters."""
        from matplotlib.patches import FancyBboxPatch, Patch, Rectangle

        patch: Patch
        if round_by:
            patch = FancyBboxPatch((x, y), width, height, f"round,pad=0,rounding_size={round_by}")
        else:
            patch = Rectangle((x, y), width, height)
        patch.set(
            facecolor=fill or "none",
            edgecolor=edge or "none",
            linewidth=line / MM_PER_POINT,
            linestyle="--" if dashed else "-",
            hatch=hatch,
        )
        self._add(patch)

    def shape(
        self,
        points: Sequence[tuple[float, float]],
        fill: str | None = None,
        edge: str | None = None,
        line: float = 0.25,
    ) -> None:
        """Draw a closed shape."""
        from matplotlib.patches import Polygon

        self._add(
            Polygon(
                points, closed=True, facecolor=fill or "none", edgecolor=edge or "none", linewidth=line / MM_PER_POINT
            )
        )

    def stroke(self, points: Sequence[tuple[float, float]], colour: str = INK, line: float = 0.25) -> None:
        """Draw a line through points."""
        from matplotlib.lines import Line2D

        xs, ys = zip(*points, strict=True)
        self._add(Line2D(xs, ys, color=colour, linewidth=line / MM_PER_POINT, solid_capstyle="butt"))

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = 8.0,
        colour: str = INK,
        bold: bool = False,
        align: Align = "left",
    ) -> None:
        """Write one line, y its middle; size in points. Never read as mathematics."""
        from matplotlib.text import Text

        left = x - ALIGNED[align] * text_width(text, size, bold)
        self._add(
            Text(
                left,
                y,
                printable_part(text, LONGEST_PRINTED),
                fontsize=size,
                color=colour,
                fontweight="bold" if bold else "normal",
                va="center_baseline",
                parse_math=False,
                fontfeatures=NO_LIGATURES,
            )
        )

    def fitted(
        self,
        x: float,
        y: float,
        width: float,
        text: str,
        size: float = 8.0,
        colour: str = INK,
        bold: bool = False,
        align: Align = "left",
    ) -> None:
        """Write one line no wider than `width`: in smaller letters where it must be, and then cut, ending in …."""
        smaller = size
        while smaller > SMALLEST * size and text_width(text, smaller, bold) > width:
            smaller -= 0.04 * size
        self.text(x, y, "".join(wrapped(text, width, smaller, bold, 1)), smaller, colour, bold, align)

    def lines(
        self, x: float, y: float, lines: Sequence[str], size: float = 8.0, colour: str = INK, bold: bool = False
    ) -> float:
        """Write lines below each other, the first with its top at y; return the y below the last."""
        step = line_step(size)
        for number, line in enumerate(lines):
            self.text(x, y + (number + 0.5) * step, line, size, colour, bold)
        return y + len(lines) * step

    def paragraph(
        self,
        x: float,
        y: float,
        width: float,
        text: str,
        size: float = 8.0,
        colour: str = INK,
        bold: bool = False,
        at_most: int = 99,
    ) -> float:
        """Write a text in lines of a width, top at y; return the y below it. What is over `at_most` ends in …."""
        return self.lines(x, y, wrapped(text, width, size, bold, at_most), size, colour, bold)

    def qr(self, x: float, y: float, module: float, content: str, error: Literal["L", "M", "Q", "H"] = "M") -> float:
        """Draw a QR code (ISO/IEC 18004) without its quiet zone; return its side. module: side of one, mm."""
        import segno
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        rows = list(segno.make(content, error=error, micro=False, boost_error=False).matrix)
        squares = [
            [(x + i * module, y + j * module) for i, j in ((c, r), (c + 1, r), (c + 1, r + 1), (c, r + 1), (c, r))]
            for r, row in enumerate(rows)
            for c, dark in enumerate(row)
            if dark
        ]
        corners = [corner for square in squares for corner in square]
        steps = [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY] * len(squares)
        self._add(PathPatch(Path(corners, steps), facecolor="#000000", edgecolor="none", antialiased=False, snap=True))
        return len(rows) * module


def line_step(size: float) -> float:
    """Return the distance of two lines of text, mm, for a size in points."""
    return size * MM_PER_POINT * 1.3


def _face(bold: bool) -> "FT2Font":
    from matplotlib.font_manager import get_font

    return get_font(_font_file(bold))


@cache
def _font_file(bold: bool) -> str:
    from matplotlib.font_manager import FontProperties, findfont

    return findfont(FontProperties(family=["DejaVu Sans"], weight="bold" if bold else "normal"))


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Return how wide a text is, mm; of one longer than is ever printed, how wide that much of it is."""
    words = text[:LONGEST_PRINTED].split(" ")  # no letter stands nearer to a blank, so words are measured once
    at_one = sum(_width_at_one(word, bold) for word in words) + (len(words) - 1) * _width_at_one(" ", bold)
    return at_one * size * MM_PER_POINT


@lru_cache(maxsize=4096)
def _width_at_one(text: str, bold: bool) -> float:
    """Return how wide a text is in letters of one point, points; letters that are not hinted grow evenly."""
    from matplotlib.ft2font import LoadFlags

    font = _face(bold)
    font.set_size(MEASURED_SIZE, 72)
    font.set_text(printable(text), flags=LoadFlags.NO_HINTING, features=NO_LIGATURES)
    return font.get_width_height()[0] / 64 / MEASURED_SIZE  # it says 64ths


def wrapped(text: str, width: float, size: float, bold: bool = False, at_most: int = 99) -> list[str]:
    """Return a text in lines no wider than `width` mm, at most so many; a cut text ends in ….

    What is longer than is ever printed is cut; the record has all of it.
    """
    lines: list[str] = []
    if len(text) > LONGEST_PRINTED:
        text = f"{text[: LONGEST_PRINTED - 1]}…"
    for word in _pieces(text, width, size, bold):
        together = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(together, size, bold) <= width:
            lines[-1] = together
        else:
            lines.append(word)
    if len(lines) > at_most:
        last = lines[at_most - 1]
        while last and text_width(f"{last}…", size, bold) > width:
            last = last[:-1]
        lines[at_most - 1 :] = [f"{last.rstrip()}…"]
    return lines


def _pieces(text: str, width: float, size: float, bold: bool) -> list[str]:
    """Return the words of a text; one that is wider than a line comes in pieces."""
    pieces = []
    for word in text.split():
        rest = word
        while rest:
            length = _fitting(rest, width, size, bold)
            pieces.append(rest[:length])
            rest = rest[length:]
    return pieces


def _fitting(word: str, width: float, size: float, bold: bool) -> int:
    """Return how many letters of a word fit a width, at least one; of a long one little more is measured."""
    fits, most = 1, min(USUAL_WORD, len(word))
    while text_width(word[:most], size, bold) <= width:
        if most == len(word):
            return most
        fits, most = most, min(2 * most, len(word))
    while most - fits > 1:
        middle = (fits + most) // 2
        if text_width(word[:middle], size, bold) <= width:
            fits = middle
        else:
            most = middle
    return fits


def printable(text: str) -> str:
    """Return the text as paper can show it, with a white square for every letter that the font does not have."""
    shown = spelled_out(text, lines=False)
    return "".join(letter if letter.isascii() or _has(letter) else NOT_IN_FONT for letter in shown)


def printable_part(text: str, most: int) -> str:
    """Return a text as paper can show it, at most so many letters; what is cut ends in …."""
    shown = printable(text)
    return shown if len(shown) <= most else f"{shown[: most - 1]}…"


@cache
def _has(letter: str) -> bool:
    return _face(False).get_char_index(ord(letter)) != 0


def render(
    draw: Callable[[Canvas], None], width: float, height: float, kind: FileKind, title: str, dpi: int = 300
) -> bytes:
    """Return a page's file. width, height: mm. title: stands in the file's properties. No time of making is in it."""
    return render_pages([draw], width, height, kind, title, dpi)


def render_pages(
    draws: Sequence[Callable[[Canvas], None]], width: float, height: float, kind: FileKind, title: str, dpi: int = 300
) -> bytes:
    """Return a file of pages of one size, mm; a picture, which has one page, is of the first."""
    import matplotlib.style

    title = spelled_out(title, lines=False)
    metadata: dict[str, str | None] = {
        "pdf": {"Title": title, "Creator": "wiremap", "Producer": None, "CreationDate": None},
        "png": {"Title": title, "Software": None},
        "svg": {"Title": title, "Creator": "wiremap", "Date": None},
    }[kind]
    file = io.BytesIO()
    with matplotlib.style.context(["default", SETTINGS]):
        if kind == "pdf":
            from matplotlib.backends.backend_pdf import PdfPages

            from wiremap.report.print.pdf_fonts import without_layout

            with without_layout(), PdfPages(file, metadata=metadata) as pages:
                for draw in draws:
                    pages.savefig(_page(draw, width, height), dpi=dpi)
        else:
            _page(draws[0], width, height).savefig(file, format=kind, dpi=dpi, metadata=metadata)
    return file.getvalue()


def _page(draw: Callable[[Canvas], None], width: float, height: float) -> "Figure":
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width / MM_PER_INCH, height / MM_PER_INCH))
    FigureCanvasAgg(figure)
    draw(Canvas(figure, height))
    return figure
