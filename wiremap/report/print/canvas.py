"""A page in millimetres, from the top left corner, and its bytes as PDF, PNG or SVG."""

import io
from collections.abc import Callable, Sequence
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Literal

from wiremap.errors import spelled_out

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties

FileKind = Literal["pdf", "png", "svg"]
Align = Literal["left", "center", "right"]
MM_PER_INCH = 25.4
MM_PER_POINT = MM_PER_INCH / 72
INK = "#1d2329"
SOFT = "#5b6670"
LINE = "#aeb6bd"
SMALLEST = 0.72  # of the size asked for
LONGEST_PRINTED = 2000  # letters of one text
NOT_IN_FONT = "\N{WHITE SQUARE}"
SETTINGS = {
    "pdf.fonttype": 42,  # TrueType: text can be selected, fonts are embedded
    "svg.fonttype": "path",  # looks the same where the font is not installed
    "svg.hashsalt": "wiremap",
    "font.family": ["DejaVu Sans"],  # ships with matplotlib
    "path.simplify": False,
    "text.hinting": "none",  # letters as wide as they were measured, at any resolution
}


class Canvas:
    """What can be drawn on a page; every length in millimetres, y grows downwards."""

    def __init__(self, axes: "Axes", width: float, height: float) -> None:
        self.width = width
        self.height = height
        self._axes = axes
        axes.set_xlim(0, width)
        axes.set_ylim(height, 0)
        axes.axis("off")

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
        self._axes.add_patch(patch)

    def shape(
        self,
        points: Sequence[tuple[float, float]],
        fill: str | None = None,
        edge: str | None = None,
        line: float = 0.25,
    ) -> None:
        """Draw a closed shape."""
        from matplotlib.patches import Polygon

        self._axes.add_patch(
            Polygon(
                points, closed=True, facecolor=fill or "none", edgecolor=edge or "none", linewidth=line / MM_PER_POINT
            )
        )

    def stroke(self, points: Sequence[tuple[float, float]], colour: str = INK, line: float = 0.25) -> None:
        """Draw a line through points."""
        xs, ys = zip(*points, strict=True)
        self._axes.plot(xs, ys, color=colour, linewidth=line / MM_PER_POINT, solid_capstyle="butt")

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = 8.0,
        colour: str = INK,
        bold: bool = False,
        align: Align = "left",
        turned: bool = False,
    ) -> None:
        """Write one line, y its middle; size in points. Never read as mathematics."""
        self._axes.text(
            x,
            y,
            printable_part(text, LONGEST_PRINTED),
            fontsize=size,
            color=colour,
            fontweight="bold" if bold else "normal",
            ha=align,
            va="center_baseline",
            rotation=90 if turned else 0,
            parse_math=False,
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
        from matplotlib.collections import PolyCollection

        rows = list(segno.make(content, error=error, micro=False, boost_error=False).matrix)
        squares = [
            [(x + i * module, y + j * module) for i, j in ((c, r), (c + 1, r), (c + 1, r + 1), (c, r + 1))]
            for r, row in enumerate(rows)
            for c, dark in enumerate(row)
            if dark
        ]
        self._axes.add_collection(PolyCollection(squares, facecolors="#000000", edgecolors="none", antialiaseds=False))
        return len(rows) * module


def line_step(size: float) -> float:
    """Return the distance of two lines of text, mm, for a size in points."""
    return size * MM_PER_POINT * 1.3


def _font(bold: bool) -> "FontProperties":
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=["DejaVu Sans"], weight="bold" if bold else "normal")


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Return how wide a text is, mm; of one longer than is ever printed, how wide that much of it is."""
    return _width_at_one(text[:LONGEST_PRINTED], bold) * size * MM_PER_POINT


@lru_cache(maxsize=4096)
def _width_at_one(text: str, bold: bool) -> float:
    """Return how wide a text is in letters of one point, points; letters that are not hinted grow evenly."""
    from matplotlib.textpath import text_to_path

    font = _font(bold)
    font.set_size(100)
    width: float = text_to_path.get_text_width_height_descent(printable(text), font, False)[0]
    return width / 100


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
    """Return how many letters of a word fit a width, at least one; no more than twice that is measured."""
    most = 1
    while most < len(word) and text_width(word[:most], size, bold) <= width:
        most *= 2
    if text_width(word[:most], size, bold) <= width:
        return len(word)
    fits = max(most // 2, 1)
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
    from matplotlib.font_manager import findfont, get_font

    return get_font(findfont(_font(False))).get_char_index(ord(letter)) != 0


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

            with PdfPages(file, metadata=metadata) as pages:
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
    draw(Canvas(figure.add_axes((0, 0, 1, 1)), width, height))
    return figure
