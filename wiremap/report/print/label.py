"""A label that wraps around the cable: all of it twice, so that it reads from any side, and a small QR code.

The code holds the first digits of the record's digest in capitals: 21 modules (version 1 of ISO/IEC 18004), small
enough for a cable of 5 mm to be read without unrolling it.
"""

from wiremap.report.print.canvas import Canvas, FileKind, render, text_width
from wiremap.report.proof import Proof

WIDTH = 60.0  # along the cable, mm
HEIGHT = 19.0  # around it: once around 6 mm
MODULE = 0.38
MODULES = 21
QUIET = 4 * MODULE  # ISO/IEC 18004: four modules
LARGEST, SMALLEST = 9.0, 4.5
DETAIL = 5.4  # points: capitals of 1.4 mm
STEP = 1.9  # of its lines, mm


def label(proof: Proof, kind: FileKind = "pdf", dpi: int = 600) -> bytes:
    """Return the label's file."""
    return render(lambda canvas: _draw(canvas, proof), WIDTH, HEIGHT, kind, f"Cable label: {proof.label}", dpi)


def _draw(canvas: Canvas, proof: Proof) -> None:
    canvas.box(0, 0, WIDTH, HEIGHT, "#ffffff")
    code = MODULES * MODULE
    canvas.qr(QUIET, (HEIGHT - code) / 2, MODULE, proof.short_code)
    left = 2 * QUIET + code
    room = WIDTH - left - 1.2
    name = proof.label
    size = LARGEST
    while size > SMALLEST and text_width(name, size, True) > room:
        size -= 0.25
    for top in (0.0, HEIGHT / 2):
        canvas.fitted(left, top + 1.9, room, name, size, bold=True)
        for number, line in enumerate(proof.label_lines()):
            bold = number == 0 and text_width(line, DETAIL, True) <= room
            canvas.fitted(left, top + 4.35 + number * STEP, room, line, DETAIL, bold=bold)
