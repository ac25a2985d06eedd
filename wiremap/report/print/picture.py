"""The wire map as a picture: both plugs in the cable's colours, then one line a conductor.

Everything that a colour says is written beside it as well, so it reads in grey. No text is cut: a line grows with it.
"""

from collections.abc import Mapping, Sequence

from msgspec import Struct

from wiremap.cable.colours import Colour
from wiremap.cable.connectors import Connector
from wiremap.judge.case import Case
from wiremap.report.plug_marks import Mark, mark_of, plug_marks
from wiremap.report.print.canvas import INK, LINE, SOFT, Canvas, FileKind, line_step, render, text_width, wrapped
from wiremap.report.print.plug_face import EMPTY_COLOUR, face_height, insulation, plug_face
from wiremap.report.wire_rows import Row, colour_heading, row_words, wire_rows
from wiremap.report.words.cases import ends_of
from wiremap.report.words.origin import FLAGS, verdict_word
from wiremap.report.words.records import FACE, IN_ORDER, JOINED_TO, MARK_KEYS, NOT_KNOWN, NOTHING_HERE, WRONG_MARK

WIDEST_FACE = 62.0
SCREEN = "#e3e7ea"
SMALL = 0.82  # of the size of letters, for what is beside the point or takes more than a line
MOST_IN_PLACE = 3  # letters of contacts in full size


def picture(case: Case, kind: FileKind, width: float = 180.0, dpi: int = 300) -> bytes:
    """Return the picture's file; width in mm, the height follows from it."""
    size = _size(width)
    verdict, flag = verdict_word(case.diagnosis.verdict, case.reading.origin), FLAGS[case.reading.origin]
    title = " ".join(text for text in (case.names.cable, verdict, flag) if text)
    margin = 0.02 * width
    drawn = WireMap(case, width - 2 * margin)
    word = "   ".join(text for text in (verdict, flag) if text)
    room = width - 2 * margin - text_width(word, size + 2, True) - 4
    names = wrapped(case.names.cable, room, size + 1)
    above = max(1, len(names)) * line_step(size + 2) + 0.8 * line_step(size + 2)
    height = margin * 2 + above + drawn.height

    def draw(canvas: Canvas) -> None:
        canvas.box(0, 0, width, height, "#ffffff")
        canvas.text(margin, margin + line_step(size + 2) / 2, word, size + 2, bold=True)
        for number, name in enumerate(names):
            canvas.text(width - margin, margin + (number + 0.5) * line_step(size + 2), name, size + 1, align="right")
        drawn.draw(canvas, margin, margin + above)

    return render(draw, width, height, kind, f"Wire map {title}", dpi)


def _size(width: float) -> float:
    """Return the size of letters, points, for a map of a width: readable at 80 mm, quiet at a page's width."""
    return min(8.0, max(5.6, width / 16))


def _row_height(width: float) -> float:
    return 2.2 * line_step(_size(width)) if width < 120 else 1.65 * line_step(_size(width))


def _face_width(width: float) -> float:
    return min(WIDEST_FACE, 0.47 * width)


def _plugs(case: Case) -> tuple[Connector | None, Connector | None]:
    """Return the plugs to draw; the far one only when it was seen what arrives there."""
    pattern = case.pattern
    if pattern is None:
        return None, None
    return pattern.near_connector, pattern.far_connector if _was_followed(case) else None


def _was_followed(case: Case) -> bool:
    """Whether it was looked at where the conductors go; when not, one that arrives nowhere is not broken."""
    return not any(item.what == "continuity" for item in case.diagnosis.not_checked)


class _Face(Struct, frozen=True):
    """A plug to be drawn: what is written above it, and what is in it. left: mm from the map's left edge."""

    plug: Connector
    left: float
    name: list[str]
    how: list[str]
    measured: Sequence[str]
    held: Mapping[str, Sequence[Colour | None]]
    marked: Mapping[str, Mark]


class _Line(Struct, frozen=True):
    """A row of the map, its texts in lines. height: mm."""

    row: Row
    said: list[str]
    far: list[str]
    note: list[str]
    height: float


class _Columns(Struct, frozen=True):
    """Where the columns of the map begin, mm from its left edge, and how wide they are."""

    end: float
    piece: float
    name: float
    far: float
    note: float
    note_width: float


class WireMap:
    """The map laid out for a width, mm, so that its height is known before it is drawn."""

    def __init__(self, case: Case, width: float) -> None:
        self._case = case
        self._width = width
        self._size = _size(width)
        self._step = line_step(self._size)
        self._marks = plug_marks(case)
        self._followed = _was_followed(case)
        rows = wire_rows(case)
        self._faces = self._laid_faces(rows)
        self._columns = _columns(width)
        self._heads = self._laid_heads()
        self._lines = [self._laid(row) for row in rows]
        self._keys = [
            text for mark, text in MARK_KEYS.items() if any(mark in ends.values() for ends in self._marks.values())
        ]
        self._keys = wrapped(" ".join(self._keys), width, self._size * SMALL) if self._faces else []
        self._above = self._faces_height()
        heads = max(len(lines) for lines in self._heads) * line_step(self._size * SMALL) + 0.4 * self._step
        self.height = self._above + heads + sum(line.height for line in self._lines)

    def _laid_faces(self, rows: Sequence[Row]) -> list[_Face]:
        near, far = _plugs(self._case)
        ends, seen = ends_of(self._case), self._case.shown
        face = _face_width(self._width)
        faces = []
        for plug, left, name, measured, held, marked in (
            (near, 0.0, ends.near, seen.near_contacts, _near_held(rows), self._marks["near"]),
            (far, self._width - face, ends.far, seen.far_contacts, _far_held(rows), self._marks["far"]),
        ):
            if plug is not None:
                how = f"{plug.title}, {FACE if plug.name == 'rj45' else IN_ORDER}"
                title = wrapped(name, face, self._size, True)
                faces.append(_Face(plug, left, title, wrapped(how, face, self._size * SMALL), measured, held, marked))
        return faces

    def _names_height(self) -> float:
        small = line_step(self._size * SMALL)
        return max((len(face.name) * self._step + len(face.how) * small for face in self._faces), default=0.0)

    def _faces_height(self) -> float:
        """Return the height of all above the lines: names, plugs, what the marks mean."""
        if not self._faces:
            return 0.0
        plugs = max(face_height(face.plug, _face_width(self._width)) for face in self._faces)
        keys = len(self._keys) * line_step(self._size * SMALL)
        return self._names_height() + 0.3 * self._step + plugs + keys + 0.8 * self._step

    def _laid_heads(self) -> list[list[str]]:
        at, ends = self._columns, ends_of(self._case)
        far = ends.far if self._case.shown.far_contacts else JOINED_TO
        near, colours = ends.near, colour_heading(self._case)
        rooms = [at.end - 1, at.piece + at.name - 1, at.note + at.note_width - at.far]
        if text_width(near, self._size * SMALL) > rooms[0]:  # a name that is wider than its column takes the next too
            near, colours, rooms[0] = "; ".join(text for text in (near, colours) if text), "", at.far - 1
        texts = (near, colours, far)
        return [wrapped(text, room, self._size * SMALL) for text, room in zip(texts, rooms, strict=True)]

    def _laid(self, row: Row) -> _Line:
        _, said, far, note = row_words(row, self._case)
        at, size = self._columns, self._size
        far_lines = _contact_lines(_short(far), 0.8 * at.end - 1, size * SMALL) if row.far else []
        lines = _fitted(said, at.name - 2, size), far_lines, _fitted(note, at.note_width, size, bool(row.notes))
        most = max(len(lines) for lines in lines)
        height = max(_row_height(self._width), (most * line_step(size * SMALL) if most > 1 else 0.0) + 1.6)
        return _Line(row, *lines, height)

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        """Draw it, its left top corner at x, y."""
        names = self._names_height()
        for face in self._faces:
            below = canvas.lines(x + face.left, y, face.name, self._size, bold=True)
            canvas.lines(x + face.left, below, face.how, self._size * SMALL, SOFT)
            top = y + names + 0.3 * self._step
            width = _face_width(self._width)
            plug_face(canvas, x + face.left, top, width, face.plug, face.measured, face.held, face.marked)
        if self._keys:
            keys = len(self._keys) * line_step(self._size * SMALL)
            canvas.lines(x, y + self._above - keys - 0.4 * self._step, self._keys, self._size * SMALL, SOFT)
        y += self._above
        at = self._columns
        for left, head in zip((0.5, at.end, at.far + 0.5), self._heads, strict=True):
            below = canvas.lines(x + left, y, head, self._size * SMALL, SOFT)
        y += max(len(lines) for lines in self._heads) * line_step(self._size * SMALL) + 0.4 * self._step
        for line in self._lines:
            canvas.stroke([(x, y), (x + self._width, y)], LINE, 0.15)
            self._draw_line(canvas, x, y, line)
            y += line.height
        canvas.stroke([(x, y), (x + self._width, y)], LINE, 0.15)

    def _draw_line(self, canvas: Canvas, x: float, y: float, line: _Line) -> None:
        at, size, high, row = self._columns, self._size, line.height, line.row
        near_mark = mark_of(self._marks["near"], [row.near or ""])
        _place(canvas, x, y, at.end, high, [row.near] if row.near is not None else [], near_mark, size)
        piece = min(0.5 * _row_height(self._width), 0.5 * high)
        if row.near is not None:
            box = (x + at.end, y + (high - piece) / 2, at.piece, piece)
            is_screen = row.near == ends_of(self._case).near_screen
            _piece(canvas, *box, row.colour, is_screen, self._followed and not row.far)
        _middle(canvas, x + at.end + at.piece + 1.5, y + high / 2, line.said, size)
        far_mark = mark_of(self._marks["far"], row.far)
        nothing = NOTHING_HERE if self._followed else NOT_KNOWN
        _place(canvas, x + at.far, y, at.end, high, line.far, far_mark, size, nothing)
        wrong = bool(row.notes)
        if wrong:
            canvas.text(x + at.note, y + high / 2, WRONG_MARK, size, bold=True)
        _middle(canvas, x + at.note + 3.5, y + high / 2, line.note, size, INK if wrong else SOFT, wrong)


def _columns(width: float) -> _Columns:
    end, piece, name = 0.085 * width, 0.17 * width, 0.2 * width
    far = end + piece + name
    note = far + end + 0.02 * width
    return _Columns(end, piece, name, far, note, width - note - 3.5)


def _fitted(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """Return a text in lines: one in the size, or as many as it takes in smaller letters; [] for no text."""
    if not text or text_width(text, size, bold) <= width:
        return [text] if text else []
    return wrapped(text, width, size * SMALL, bold)


def _contact_lines(text: str, width: float, size: float) -> list[str]:
    return wrapped(text, width, size, True)


def _middle(
    canvas: Canvas, x: float, y: float, lines: Sequence[str], size: float, colour: str = INK, bold: bool = False
) -> None:
    """Write lines with y in their middle; more than one are set a little smaller."""
    fitting = size if len(lines) == 1 else SMALL * size
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
    lines: Sequence[str],
    mark: Mark | None,
    size: float,
    nothing: str = NOTHING_HERE,
) -> None:
    """Draw contacts: dark where they are wrong, framed where they may be, a dashed frame where nothing is there."""
    inner = min(0.16 * height, 0.9)
    box = (x + 0.1 * width, y + inner, 0.8 * width, height - 2 * inner)
    if not lines:
        canvas.box(*box, EMPTY_COLOUR, SOFT, 0.25, dashed=True, round_by=0.6)
        canvas.text(x + width / 2, y + height / 2, nothing, size, SOFT, align="center")
        return
    dark = mark == "wrong"
    canvas.box(*box, INK if dark else EMPTY_COLOUR, INK, 0.6 if mark == "either" else 0.25, round_by=0.6)
    fitting = size if lines == [lines[0]] and len(lines[0]) < MOST_IN_PLACE else SMALL * size
    step = line_step(fitting)
    for number, line in enumerate(lines):
        middle = y + height / 2 + (number - (len(lines) - 1) / 2) * step
        canvas.text(x + width / 2, middle, line, fitting, "#ffffff" if dark else INK, True, "center")


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
        canvas.shape([*edge, (torn, bottom), (past, bottom), (past, y - 0.3), (torn, y - 0.3)], EMPTY_COLOUR)
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
