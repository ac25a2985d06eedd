"""What stands on a printed page, without drawing it: every text with its place and size."""

from collections.abc import Callable, Sequence
from typing import Any
from unittest import mock

from wiremap.report.print import canvas, sheet
from wiremap.report.print.canvas import Canvas


class Paper(Canvas):
    """A page that keeps its texts and draws nothing."""

    def __init__(self, width: float, height: float) -> None:
        self.width = width
        self.height = height
        self.texts: list[str] = []
        self.sizes: list[float] = []

    def text(self, *place: Any, **how: Any) -> None:
        """Keep a text; place: x, y, text, size."""
        self.texts.append(place[2])
        self.sizes.append(float(place[3] if len(place) > 3 else how.get("size", 8.0)))

    def box(self, *place: Any, **how: Any) -> None:
        """Draw nothing."""

    def shape(self, *place: Any, **how: Any) -> None:
        """Draw nothing."""

    def stroke(self, *place: Any, **how: Any) -> None:
        """Draw nothing."""

    def qr(self, *place: Any, **how: Any) -> float:
        """Draw nothing, and take no room."""
        return 0.0 * len(place) * len(how)


def written(make: Callable[[], bytes]) -> list[Paper]:
    """Return the pages that something draws, with their texts."""
    papers: list[Paper] = []

    def keep(draws: Sequence[Callable[[Canvas], None]], width: float, height: float, *_: object) -> bytes:
        for draw in draws:
            papers.append(Paper(width, height))
            draw(papers[-1])
        return b""

    with mock.patch.object(canvas, "render_pages", keep), mock.patch.object(sheet, "render_pages", keep):
        make()
    return papers
