"""The termination card as a picture of A5 size, to be read at one metre where it matters.

Letters of contact numbers are 8 mm high, of conductors 4 mm and more; a letter can be read from about 250 times
its height (common practice, no source), so both from a metre. What is read with the card in the hand is smaller.
"""

from collections.abc import Mapping
from math import cos, pi, sin

from wiremap.cable.workmanship import workmanship
from wiremap.report.card import CAUTIONS, Card, CardLine, making
from wiremap.report.print.canvas import INK, LINE, SOFT, Canvas, FileKind, line_step, render, wrapped
from wiremap.report.print.plug_face import GOLD, SHELL
from wiremap.report.words.faults import capital
from wiremap.report.words.typed import without_options

WIDTH, HEIGHT = 210.0, 148.0
MARGIN = 7.0
CHANGE = "#1d2329"
WHY_SIZES = (10.0, 9.0, 7.2)


def card_picture(made: Card, kind: FileKind, dpi: int = 200) -> bytes:
    """Return the card's file."""

    def draw(canvas: Canvas) -> None:
        canvas.box(0, 0, WIDTH, HEIGHT, "#ffffff")
        _head(canvas, made)
        if workmanship(made.plug).face:
            _round(canvas, made)
        else:
            _in_a_row(canvas, made)
        _notes(canvas, made)

    return render(draw, WIDTH, HEIGHT, kind, f"Termination card {made.title}", dpi)


def _head(canvas: Canvas, made: Card) -> None:
    title = wrapped(f"{made.end} end", 100, 24, bold=True, at_most=1)[0]
    canvas.text(MARGIN, 12, title, 24, bold=True)
    canvas.text(
        WIDTH - MARGIN, 12, "LOOK FIRST" if made.look_first else made.named or "own order", 24, bold=True, align="right"
    )
    held = f"{made.plug.title} for {made.pattern}. {capital(workmanship(made.plug).held)}."
    canvas.text(MARGIN, 21.5, wrapped(held, WIDTH - 2 * MARGIN, 10, at_most=1)[0], 10, SOFT)
    if made.why:
        why, across = without_options(made.why), WIDTH - 2 * MARGIN
        fitting = next((size for size in WHY_SIZES if len(wrapped(why, across, size, bold=True)) <= 1), WHY_SIZES[-1])
        canvas.paragraph(MARGIN, 24.2, across, why, fitting, bold=True)


def _in_a_row(canvas: Canvas, made: Card) -> None:
    """Draw a plug whose contacts lie side by side, a column each: number, metal, conductor, its name, its old place."""
    pitch = (WIDTH - 2 * MARGIN) / len(made.lines)
    top = 31.0
    canvas.box(MARGIN - 2, top + 10.5, WIDTH - 2 * MARGIN + 4, 26.5, SHELL, INK, 0.5)
    for place, line in enumerate(made.lines):
        left = MARGIN + place * pitch
        middle = left + pitch / 2
        if line.changes:
            canvas.box(left + 2.5, top - 0.5, pitch - 5, 10.4, CHANGE)
        canvas.text(middle, top + 4.8, line.contact, 30, "#ffffff" if line.changes else INK, True, "center")
        canvas.box(middle - 3.2, top + 12, 6.4, 3.4, GOLD, INK, 0.25)
        standing(canvas, middle - 6, top + 16.5, 12, 30, line)
        _name_below(canvas, middle, top + 48.5, line)
        if made.told:
            canvas.text(middle, top + 65.5, _was(line), 13, INK if line.changes else SOFT, line.changes, "center")
    _pairs_below(canvas, made, pitch, top + 59.2)


def standing(canvas: Canvas, x: float, y: float, width: float, height: float, line: CardLine) -> None:
    """Draw a conductor standing in its contact: bands of its stripe, and its letters on a white plate."""
    colour = line.colour
    if colour is None:
        canvas.box(x, y, width, height, "#ffffff", LINE, 0.4, dashed=True)
        return
    canvas.box(x, y, width, height, colour.body)
    if colour.stripe:
        band = height / 9
        for number in (0, 2, 6, 8):
            canvas.box(x, y + number * band, width, band, colour.stripe)
    canvas.box(x, y + 0.36 * height, width, 0.28 * height, "#ffffff", INK, 0.2)
    canvas.box(x, y, width, height, None, INK, 0.4)
    canvas.text(x + width / 2, y + height / 2, colour.letters, 17, bold=True, align="center")


def _name_below(canvas: Canvas, middle: float, y: float, line: CardLine) -> None:
    words = line.said.split(" (")[0].replace("-", "- ").split()
    for number, word in enumerate(words[:2]):
        canvas.text(middle, y + 2.4 + number * 5.4, word, 13, align="center")
    if not words:
        canvas.text(middle, y + 2.4, "-", 13, align="center")


def _was(line: CardLine) -> str:
    if line.colour is None:
        return ""
    if not line.changes:
        return "stays"
    return "not in now" if line.now_in == "" else f"from {line.now_in or '?'}"


def _pairs_below(canvas: Canvas, made: Card, pitch: float, y: float) -> None:
    """Draw a bracket under each twisted pair; nested ones at other heights."""
    column = {line.contact: MARGIN + (place + 0.5) * pitch for place, line in enumerate(made.lines)}
    for left, right, level in _brackets(made, column):
        low = y + 1.3 * level
        canvas.stroke([(left, y), (left, low), (right, low), (right, y)], INK, 0.5)


def _brackets(made: Card, at: Mapping[str, float]) -> list[tuple[float, float, int]]:
    """Return (from, to, level) for each twisted pair; pairs that overlap have different levels, from 1."""
    spans = {tuple(sorted((at[line.contact], at[line.mate]))) for line in made.lines if line.mate}
    drawn: list[tuple[float, float, int]] = []
    for low, high in sorted(spans, key=lambda span: (span[1] - span[0], span[0])):
        level = 1 + max((up for a, b, up in drawn if a < high and low < b), default=0)
        drawn.append((low, high, level))
    return drawn


def _round(canvas: Canvas, made: Card) -> None:
    """Draw a round plug from both sides, and its contacts as a list."""
    for middle, name, mirrored in ((33.0, "mating face", False), (88.0, "wiring side", True)):
        _face(canvas, made, middle, 60.0, mirrored)
        canvas.text(middle, 90.5, name, 13, bold=True, align="center")
    canvas.text(60.5, 96.5, "plug with pins; a socket is the mirror image", 9, SOFT, align="center")
    step = min(12.5, 66.0 / len(made.lines))
    x, y = 119.0, 33.0
    size = min(20.0, 1.75 * step)
    canvas.text(x + 3, y - 1.5, "contact", 9, SOFT, align="center")
    if made.told:
        canvas.text(WIDTH - MARGIN, y - 1.5, "now in", 9, SOFT, align="right")
    rows = {line.contact: y + 2 + (place + 0.5) * step for place, line in enumerate(made.lines)}
    for top, bottom, level in _brackets(made, rows):
        across = x + 35.5 + 1.5 * level
        canvas.stroke([(x + 35.5, top), (across, top), (across, bottom), (x + 35.5, bottom)], INK, 0.5)
    for line in made.lines:
        middle = rows[line.contact]
        if line.changes:
            canvas.box(x - 2, middle - 0.46 * step, 10, 0.92 * step, CHANGE)
        canvas.text(x + 3, middle, line.contact, size, "#ffffff" if line.changes else INK, True, "center")
        lying(canvas, x + 11, middle - 0.4 * step, 24, 0.8 * step, line)
        name = line.said.split(" (")[0]
        canvas.text(x + 40.5, middle, wrapped(name, 33, min(13, size), at_most=1)[0], min(13, size))
        if made.told:
            canvas.text(WIDTH - MARGIN, middle, _was(line), 11, INK if line.changes else SOFT, line.changes, "right")
    _screen_contact(canvas, made, x, y + 2 + (len(made.lines) + 0.5) * step, size)


def _screen_contact(canvas: Canvas, made: Card, x: float, y: float, size: float) -> None:
    """Write what goes into the contact of the screen, where that is one of the plug's numbered ones."""
    if made.plug.screen not in (None, "S") and made.screen:
        canvas.text(x + 3, y, str(made.plug.screen), size, bold=True, align="center")
        canvas.text(x + 11, y, made.screen.split(" to ")[0], min(13, size))


def lying(canvas: Canvas, x: float, y: float, width: float, height: float, line: CardLine) -> None:
    """Draw a conductor lying along x: rings of its stripe, its letters on a white plate."""
    colour = line.colour
    if colour is None:
        canvas.box(x, y, width, height, "#ffffff", LINE, 0.4, dashed=True)
        return
    canvas.box(x, y, width, height, colour.body)
    if colour.stripe:
        band = width / 9
        for number in (0, 2, 6, 8):
            canvas.box(x + number * band, y, band, height, colour.stripe)
    canvas.box(x + 0.34 * width, y, 0.32 * width, height, "#ffffff", INK, 0.2)
    canvas.box(x, y, width, height, None, INK, 0.35)
    canvas.text(x + width / 2, y + height / 2, colour.letters, min(16.0, 1.9 * height), bold=True, align="center")


def _face(canvas: Canvas, made: Card, x: float, y: float, mirrored: bool) -> None:
    radius = 25.0
    steps = 72
    circle = [(x + radius * cos(2 * pi * k / steps), y + radius * sin(2 * pi * k / steps)) for k in range(steps)]
    canvas.shape(circle, SHELL, INK, 0.5)
    canvas.box(x - 2.2, y - radius - 1.2, 4.4, 3.4, INK)
    by_contact = {line.contact: line for line in made.lines}
    face = workmanship(made.plug).face
    dot = 7.6 if len(face) < 7 else 5.6
    for contact, across, up in face:
        at_x = x + (-across if mirrored else across) * 0.66 * radius
        at_y = y - up * 0.66 * radius
        line = by_contact.get(contact)
        colour = line.colour if line else None
        body = colour.body if colour else "#ffffff"
        ring = [(at_x + dot * cos(2 * pi * k / 40), at_y + dot * sin(2 * pi * k / 40)) for k in range(40)]
        canvas.shape(ring, body, INK, 0.4)
        if colour and colour.stripe:
            inner = [(a, at_y + (b - at_y) * 0.42) for a, b in ring]
            canvas.shape(inner, colour.stripe, None)
        plate = 0.62 * dot
        small = [(at_x + plate * cos(2 * pi * k / 40), at_y + plate * sin(2 * pi * k / 40)) for k in range(40)]
        canvas.shape(small, "#ffffff", INK, 0.2)
        canvas.text(at_x, at_y, contact, 3.0 * dot, bold=True, align="center")


def _notes(canvas: Canvas, made: Card) -> None:
    y = 102.5
    canvas.stroke([(MARGIN, y - 2), (WIDTH - MARGIN, y - 2)], LINE, 0.3)
    half = (WIDTH - 3 * MARGIN) / 2
    size = 9.2
    at = y
    for text in making(made):
        at = canvas.paragraph(MARGIN, at, half, text, size) + 0.6
    right = 2 * MARGIN + half
    canvas.text(right, y + line_step(size) / 2, "Before you cut", size, bold=True)
    at = y + line_step(size)
    for caution in CAUTIONS:
        at = canvas.paragraph(right, at, half, caution, size)
