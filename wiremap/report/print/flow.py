"""What stands below each other on as many pages as it takes: nothing is cut, and nothing is drawn twice."""

from collections.abc import Callable, Sequence

from msgspec import Struct

from wiremap.report.print.canvas import Canvas


class Block(Struct, frozen=True):
    """A part of a page that is never divided. height: mm; draw: draws it with its top at y, mm."""

    height: float
    draw: Callable[[Canvas, float], None]


Pages = list[list[tuple[Block, float]]]


def pages(blocks: Sequence[Block], top: float, bottom: float, foot: float) -> Pages:
    """Return for each page its blocks, each with the y of its top.

    top, bottom: where a page's room begins and ends, mm; foot: how much of the last page is kept free at its end. A
    block that is higher than a page has a page of its own.
    """
    made: Pages = [[]]
    y = top
    for block in blocks:
        if y + block.height > bottom and made[-1]:
            made.append([])
            y = top
        made[-1].append((block, y))
        y += block.height
    if y + foot > bottom and made[-1]:
        made.append([])
    return made
