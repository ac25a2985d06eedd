"""A plug as it is held to read it: which conductor is in which contact, in the cable's colours."""

from collections.abc import Mapping, Sequence

from wiremap.cable.colours import Colour
from wiremap.cable.connectors import Connector
from wiremap.report.plug_marks import Mark
from wiremap.report.print.canvas import INK, LINE, SOFT, Canvas

GOLD = "#d9b648"
SHELL = "#eef1f3"
UNKNOWN = "#c9ced3"
EMPTY_COLOUR = "#ffffff"


def insulation(canvas: Canvas, x: float, y: float, width: float, height: float, colour: Colour | None) -> None:
    """Draw a piece of conductor lying along x: its body, and rings of its stripe as on the real thing."""
    canvas.box(x, y, width, height, colour.body if colour else UNKNOWN)
    if colour and colour.stripe:
        step = 2.4 * height
        at = x + 0.6 * height
        while at < x + width:
            canvas.box(at, y, min(0.9 * height, x + width - at), height, colour.stripe)
            at += step
    canvas.box(x, y, width, height, None, INK, 0.2)


def face_pitch(plug: Connector, width: float) -> float:
    """Return the distance of two contacts, mm, of a plug drawn so wide with its screen beside it."""
    return width / (len(plug.conductor_contacts) + 0.7 + (1.2 if plug.screen is not None else 0))


def face_height(plug: Connector, width: float) -> float:
    """Return how high a plug is, mm, when it is drawn so wide."""
    return 3.67 * face_pitch(plug, width)


def plug_face(
    canvas: Canvas,
    x: float,
    y: float,
    width: float,
    plug: Connector,
    measured: Sequence[str],
    held: Mapping[str, Sequence[Colour | None]],
    marked: Mapping[str, Mark],
) -> float:
    """Draw a plug and return the y below it.

    measured: the contacts that the reading has; a screen contact that is not among them is not drawn.
    held: by contact, the conductors that are in it (None = one whose colour nobody knows); a contact left out, or
    with none, is drawn empty. marked: contacts that are wrong (dark), or in which it can be either plug (framed). A
    RJ45 plug is held contacts up, latch down, cable towards you: contact 1 at the left. Others by number.
    """
    latch = plug.name == "rj45"
    contacts = plug.conductor_contacts
    pitch = face_pitch(plug, width)
    size = 1.55 * pitch
    head, deep = 0.95 * pitch, 2.3 * pitch
    body = (len(contacts) + 0.7) * pitch
    canvas.box(x, y + head, body, deep, SHELL, INK, 0.3, round_by=0 if latch else 0.45 * pitch)
    if latch:
        canvas.box(x + body * 0.36, y + head + deep, body * 0.28, 0.42 * pitch, SHELL, INK, 0.3)
    else:
        canvas.box(x + body * 0.48, y + head - 0.1 * pitch, body * 0.04, 0.28 * pitch, INK)
    for place, contact in enumerate(contacts):
        left = x + (0.45 + place) * pitch
        _contact(canvas, left, y, pitch, head, deep, contact, held.get(contact, ()), marked.get(contact), size)
    if plug.screen is not None and plug.screen in measured and plug.screen not in contacts:
        left = x + body + 0.3 * pitch
        screen = held.get(plug.screen, ())
        canvas.box(left, y + head, 0.8 * pitch, deep, SHELL if screen else EMPTY_COLOUR, INK, 0.25, not screen)
        if screen:
            canvas.box(left, y + head, 0.8 * pitch, deep, None, SOFT, 0.2, hatch="xxxx")
        _number(canvas, left + 0.4 * pitch, y, head, plug.screen, marked.get(plug.screen), size, pitch)
    return y + head + deep + 0.42 * pitch


def _contact(
    canvas: Canvas,
    left: float,
    top: float,
    pitch: float,
    head: float,
    deep: float,
    contact: str,
    held: Sequence[Colour | None],
    marked: Mark | None,
    size: float,
) -> None:
    wide = 0.8 * pitch
    y = top + head
    canvas.box(left + 0.2 * wide, y, 0.6 * wide, 0.5 * pitch, GOLD, INK, 0.15)
    y += 0.6 * pitch
    tall = deep - 0.72 * pitch
    if not held:
        canvas.box(left, y, wide, tall, EMPTY_COLOUR, LINE, 0.25, dashed=True)
    for place, colour in enumerate(held):
        _end_of(canvas, left, y + place * tall / len(held), wide, tall / len(held), colour)
    _number(canvas, left + wide / 2, top, head, contact, marked, size, pitch)


def _end_of(canvas: Canvas, x: float, y: float, width: float, height: float, colour: Colour | None) -> None:
    """Draw a conductor standing in a plug: its body, bands of its stripe, and its letters on a plate."""
    canvas.box(x, y, width, height, colour.body if colour else UNKNOWN)
    if colour and colour.stripe:
        for part in (0.0, 0.8):
            canvas.box(x, y + part * height, width, 0.2 * height, colour.stripe)
    canvas.box(x, y, width, height, None, INK, 0.2)
    if colour:
        size = min(1.3 * width, 1.1 * height)
        canvas.box(x + 0.04 * width, y + 0.3 * height, 0.92 * width, 0.4 * height, "#ffffff")
        canvas.text(x + width / 2, y + height / 2, colour.letters, size, align="center", bold=True)


def _number(
    canvas: Canvas, x: float, top: float, head: float, contact: str, marked: Mark | None, size: float, pitch: float
) -> None:
    dark = marked == "wrong"
    if marked:
        canvas.box(x - 0.42 * pitch, top, 0.84 * pitch, 0.85 * head, INK if dark else None, INK, 0.35)
    canvas.text(x, top + 0.42 * head, contact, size, "#ffffff" if dark else INK, bool(marked), "center")
