"""The wire map as a picture: both plugs in the cable's colours, then one line a conductor.

Everything that a colour says is written beside it as well, so it reads in grey.
"""

from collections.abc import Mapping, Sequence

from wiremap.cable.colours import Colour
from wiremap.cable.connectors import Connector
from wiremap.judge.case import Case
from wiremap.report.print.canvas import INK, LINE, SOFT, Canvas, Kind, line_step, render, wrapped
from wiremap.report.print.plug_face import EMPTY, face_height, insulation, plug_face
from wiremap.report.wire_rows import Row, cells, colour_heading, wire_rows
from wiremap.report.words.cases import ends_of
from wiremap.report.words.faults import VERDICTS
from wiremap.report.words.origin import FLAGS
from wiremap.report.words.records import FACE, IN_ORDER, JOINED_TO, MARK, NOT_KNOWN, NOTHING_HERE

WIDEST_FACE = 62.0
SCREEN = "#e3e7ea"


def picture(case: Case, kind: Kind, width: float = 180.0, dpi: int = 300) -> bytes:
    """Return the picture's file; width in mm, the height follows from it."""
    size = _size(width)
    words = (case.names.cable, VERDICTS[case.diagnosis.verdict], FLAGS[case.reading.origin])
    title = " ".join(text for text in words if text)
    margin = 0.02 * width
    above = 1.8 * line_step(size + 2)
    height = margin * 2 + above + map_height(case, width - 2 * margin)

    def draw(canvas: Canvas) -> None:
        canvas.box(0, 0, width, height, "#ffffff")
        word = "   ".join(text for text in (VERDICTS[case.diagnosis.verdict], FLAGS[case.reading.origin]) if text)
        canvas.text(margin, margin + line_step(size + 2) / 2, word, size + 2, bold=True)
        if case.names.cable:
            canvas.fitted(
                width - margin, margin + line_step(size + 2) / 2, 0.6 * width, case.names.cable, size + 1, align="right"
            )
        draw_map(canvas, margin, margin + above, width - 2 * margin, case)

    return render(draw, width, height, kind, f"Wire map {title}", dpi)


def _size(width: float) -> float:
    """Return the size of letters, points, for a map of a width: readable at 80 mm, quiet at a page's width."""
    return min(8.0, max(5.6, width / 16))


def _row_height(width: float) -> float:
    return 2.2 * line_step(_size(width)) if width < 120 else 1.65 * line_step(_size(width))


def _face_width(width: float) -> float:
    return min(WIDEST_FACE, 0.47 * width)


def map_height(case: Case, width: float) -> float:
    """Return how high the map is, mm, for a width."""
    faces = [plug for plug in _plugs(case) if plug is not None]
    step = line_step(_size(width))
    above = 2.4 * step + max((face_height(plug, _face_width(width)) for plug in faces), default=0.0) + 0.9 * step
    return above + 1.4 * step + len(wire_rows(case)) * _row_height(width)


def _plugs(case: Case) -> tuple[Connector | None, Connector | None]:
    """Return the plugs to draw; the far one only when it was seen what arrives there."""
    pattern = case.pattern
    if pattern is None:
        return None, None
    return pattern.near_connector, pattern.far_connector if _was_followed(case) else None


def _was_followed(case: Case) -> bool:
    """Whether it was looked at where the conductors go; when not, one that arrives nowhere is not broken."""
    return not any(item.what == "continuity" for item in case.diagnosis.not_checked)


def draw_map(canvas: Canvas, x: float, y: float, width: float, case: Case) -> float:
    """Draw both plugs and the conductors; return the y below them."""
    rows = wire_rows(case)
    size = _size(width)
    step = line_step(size)
    near, far = _plugs(case)
    seen = case.shown
    face = _face_width(width)
    below = y
    for plug, left, name, measured, held, marked in (
        (near, x, ends_of(case).near, seen.near_contacts, _near_held(rows), _marked(case)[0]),
        (far, x + width - face, ends_of(case).far, seen.far_contacts, _far_held(rows), _marked(case)[1]),
    ):
        if plug is not None:
            canvas.fitted(left, y + 0.5 * step, face, name, size, bold=True)
            held_how = f"{plug.title}, {FACE if plug.name == 'rj45' else IN_ORDER}"
            canvas.fitted(left, y + 1.5 * step, face, held_how, size * 0.8, SOFT)
            below = max(below, plug_face(canvas, left, y + 2.3 * step, face, plug, measured, held, marked))
    return _draw_rows(canvas, x, below + 0.9 * step, width, rows, case)


def _draw_rows(canvas: Canvas, x: float, y: float, width: float, rows: Sequence[Row], case: Case) -> float:
    size = _size(width)
    step = line_step(size)
    high = _row_height(width)
    ends = ends_of(case)
    end, piece, name = 0.085 * width, 0.17 * width, 0.2 * width
    far = x + end + piece + name
    note = far + end + 0.02 * width
    followed = _was_followed(case)
    for left, text, room in (
        (x + 0.1 * end, ends.near, 1.2 * end),
        (x + 1.5 * end, colour_heading(case), piece + name - 0.6 * end),
        (far + 0.1 * end, ends.far if case.shown.far_contacts else JOINED_TO, 1.8 * end),
    ):
        canvas.fitted(left, y + 0.5 * step, room, text, size, SOFT)
    y += 1.4 * step
    for row in rows:
        wrong = bool(row.notes)
        said, far_text, note_text = cells(row, case)[1:]
        canvas.stroke([(x, y), (x + width, y)], LINE, 0.15)
        _place(canvas, x, y, end, high, row.near, wrong, size)
        if row.near is not None:
            box = (x + end, y + 0.25 * high, piece, 0.5 * high)
            _piece(canvas, *box, row.colour, row.near == ends.near_screen, followed and not row.far)
        canvas.fitted(x + end + piece + 1.5, y + high / 2, name - 2, said, size)
        nothing = NOTHING_HERE if followed else NOT_KNOWN
        _place(canvas, far, y, end, high, _short(far_text) if row.far else None, wrong, size, nothing)
        if wrong:
            canvas.text(note, y + high / 2, MARK, size, bold=True)
        if note_text:
            lines = wrapped(note_text, x + width - note - 3.5, size, wrong, 2)
            _middle(canvas, note + 3.5, y + high / 2, lines, size, INK if wrong else SOFT, wrong)
        y += high
    canvas.stroke([(x, y), (x + width, y)], LINE, 0.15)
    return y


def _middle(
    canvas: Canvas, x: float, y: float, lines: Sequence[str], size: float, colour: str = INK, bold: bool = False
) -> None:
    """Write one or two lines with y in their middle; two are set a little smaller."""
    fitting = size if len(lines) == 1 else 0.8 * size
    canvas.lines(x, y - len(lines) * line_step(fitting) / 2, lines, fitting, colour, bold)


def _short(far: str) -> str:
    """Return contacts without the name of their end: "helm 3, helm 6" -> "3, 6"."""
    return ", ".join(name.rpartition(" ")[2] for name in far.split(", "))


def _place(
    canvas: Canvas,
    x: float,
    y: float,
    width: float,
    height: float,
    text: str | None,
    wrong: bool,
    size: float,
    nothing: str = NOTHING_HERE,
) -> None:
    """Draw a contact: its number, dark when something is wrong with it, a dashed frame when nothing is there."""
    inner = 0.16 * height
    box = (x + 0.1 * width, y + inner, 0.8 * width, height - 2 * inner)
    if text is None:
        canvas.box(*box, EMPTY, SOFT, 0.25, dashed=True, round_by=0.6)
        canvas.text(x + width / 2, y + height / 2, nothing, size, SOFT, align="center")
        return
    canvas.box(*box, INK if wrong else EMPTY, INK, 0.3, round_by=0.6)
    fitting = min(size, size * 0.72 * width / max(0.1, 1.9 * len(text) * size / 8))
    canvas.text(x + width / 2, y + height / 2, text, fitting, "#ffffff" if wrong else INK, True, "center")


def _piece(
    canvas: Canvas,
    x: float,
    y: float,
    width: float,
    height: float,
    colour: Colour | None,
    is_screen: bool,
    is_torn: bool,
) -> None:
    """Draw a piece of the conductor; its end is torn where it arrives nowhere."""
    if is_screen:
        canvas.box(x, y, width, height, SCREEN, SOFT, 0.2, hatch="xxxxx")
    else:
        insulation(canvas, x, y, width, height, colour)
    if is_torn:
        torn = x + 0.72 * width
        step = height / 4
        edge = [(torn + (0.8 * step if i % 2 else 0), y + i * step) for i in range(5)]
        past, bottom = x + width + 0.5, y + height + 0.3
        canvas.shape([*edge, (torn, bottom), (past, bottom), (past, y - 0.3), (torn, y - 0.3)], EMPTY)
        canvas.stroke(edge, INK, 0.3)


def _near_held(rows: Sequence[Row]) -> Mapping[str, Sequence[Colour | None]]:
    return {row.near: [row.colour] for row in rows if row.near is not None}


def _far_held(rows: Sequence[Row]) -> Mapping[str, Sequence[Colour | None]]:
    held: dict[str, list[Colour | None]] = {}
    for row in rows:
        if row.near is not None:
            for contact in row.far:
                held.setdefault(contact, []).append(row.colour)
    return held


def _marked(case: Case) -> tuple[frozenset[str], frozenset[str]]:
    """Return the near and far contacts that something is wrong with."""
    findings = case.diagnosis.findings
    return (
        frozenset(contact for finding in findings for contact in finding.near),
        frozenset(contact for finding in findings for contact in finding.far),
    )
