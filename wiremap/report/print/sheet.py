"""The sheet a customer reads: one page, PDF, text that can be selected and searched."""

from typing import Literal

from wiremap.report.print.canvas import INK, LINE, SOFT, Canvas, Kind, line_step, render, text_width, wrapped
from wiremap.report.print.picture import draw_map, map_height
from wiremap.report.proof import Proof
from wiremap.report.words import records as wording
from wiremap.report.words.cases import sentences, what_next

Paper = Literal["a4", "letter"]
PAPERS: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1
MARGIN = 14.0
FACTS_WIDTH = 60.0
GAP = 6.0
BADGE = {"pass": "#0d5c4d", "fail": "#8f1d1d", "undecided": "#6b5200"}
MODULE = 0.78
MOST_WORK = 20
NARROWEST_MAP = 76.0


def sheet(proof: Proof, paper: Paper = "a4", kind: Kind = "pdf", dpi: int = 150) -> bytes:
    """Return the sheet's file."""
    width, height = PAPERS[paper]
    title = f"{wording.SHEET}: {proof.label}, {proof.word}"
    return render(lambda canvas: _draw(canvas, proof), width, height, kind, title, dpi)


def _draw(canvas: Canvas, proof: Proof) -> None:
    canvas.box(0, 0, canvas.width, canvas.height, "#ffffff")
    across = canvas.width - 2 * MARGIN
    y = _head(canvas, proof, MARGIN, across)
    y = _flag(canvas, proof, y, across)
    y = _danger(canvas, proof, y, across)
    y = _said(canvas, proof, y + 4, across)
    below = _Below(proof, across)
    end = canvas.height - MARGIN - below.height - 4
    left = across - FACTS_WIDTH - GAP
    while map_height(proof.case, left) > end - y - 4 and left > NARROWEST_MAP:
        left -= 2
    bottom = draw_map(canvas, MARGIN, y + 4, left, proof.case)
    facts = _facts(canvas, proof, canvas.width - MARGIN - FACTS_WIDTH, y + 4, end)
    below.draw(canvas, max(bottom, facts) + 4)


def _head(canvas: Canvas, proof: Proof, y: float, across: float) -> float:
    """Draw the verdict in a dark box with its sign, and beside it which cable this is."""
    verdict = proof.case.diagnosis.verdict
    high = 19.0
    wide = text_width(proof.word, 25, True) + 22
    canvas.box(MARGIN, y, wide, high, BADGE[verdict], round_by=1.5)
    canvas.text(MARGIN + 5, y + high / 2, proof.sign, 22, "#ffffff", True)
    canvas.text(MARGIN + 15, y + high / 2, proof.word, 25, "#ffffff", True)
    left = MARGIN + wide + 6
    room = across - wide - 6
    canvas.fitted(left, y + 4, room, proof.label, 15, bold=True)
    canvas.fitted(left, y + 10.5, room, proof.place, 10)
    canvas.fitted(left, y + 16, room, proof.about, 8.5, SOFT)
    return y + high


def _flag(canvas: Canvas, proof: Proof, y: float, across: float) -> float:
    """Draw across the page that no tester measured this, where none did."""
    if not proof.flag:
        return y
    canvas.box(MARGIN, y + 2.5, across, 9, INK, round_by=1.0)
    canvas.fitted(MARGIN + 5, y + 7, across - 10, proof.flag, 14, "#ffffff", bold=True)
    return y + 11.5


def _danger(canvas: Canvas, proof: Proof, y: float, across: float) -> float:
    """Draw across the page what must not be connected to the cable."""
    lines = wrapped(" ".join(proof.dangers), across - 10, 9, True)
    if not proof.dangers:
        return y
    high = len(lines) * line_step(9) + 3
    canvas.box(MARGIN, y + 2, across, high, BADGE["fail"], round_by=1.0)
    canvas.lines(MARGIN + 5, y + 3.5, lines, 9, "#ffffff", bold=True)
    return y + high + 2


def _said(canvas: Canvas, proof: Proof, y: float, across: float) -> float:
    most = 2 if proof.dangers else 3  # the danger above takes the room of a line
    y = canvas.paragraph(MARGIN, y, across, " ".join(sentences(proof.case)), 11, bold=True, at_most=most)
    return canvas.paragraph(MARGIN, y + 0.8, across, f"Next: {what_next(proof.case)}", 9, at_most=4)


def _title(canvas: Canvas, x: float, y: float, width: float, text: str) -> float:
    canvas.text(x, y + 1.6, text.upper(), 6.8, SOFT, True)
    canvas.stroke([(x, y + 3.9), (x + width, y + 3.9)], LINE, 0.2)
    return y + 5


def _facts(canvas: Canvas, proof: Proof, x: float, y: float, end: float) -> float:
    """Draw what was checked and what not, lengths and services; return the y below, which is not past `end`."""
    y = _title(canvas, x, y, FACTS_WIDTH, wording.CHECKED)
    y = canvas.paragraph(x, y, FACTS_WIDTH, proof.checked(), 7.5, at_most=4)
    if proof.not_checked():
        y = _title(canvas, x, y + 2, FACTS_WIDTH, wording.NOT_CHECKED)
        y = canvas.paragraph(x, y, FACTS_WIDTH, proof.not_checked(), 7.5, at_most=6)
    y = _title(canvas, x, y + 2, FACTS_WIDTH, wording.LENGTHS)
    if not proof.lengths():
        y = canvas.lines(x, y, [wording.NO_LENGTH], 7.5, SOFT)
    y = _table(canvas, x, y, proof.lengths(), end)
    if proof.services() and y + 15 < end:
        y = _title(canvas, x, y + 2, FACTS_WIDTH, wording.SERVICES)
        y = _table(canvas, x, y, proof.services(), end)
    return y


def _table(canvas: Canvas, x: float, y: float, rows: tuple[tuple[str, str], ...], end: float) -> float:
    """Draw rows as long as there is room, and say how many there are more."""
    step = line_step(7.2)
    for number, (name, text) in enumerate(rows):
        lines = wrapped(text, 0.56 * FACTS_WIDTH, 7.2, text.startswith(wording.DANGER), 3)
        last = number == len(rows) - 1
        if y + (len(lines) + (not last)) * step > end:
            return canvas.lines(x, y, [wording.more(len(rows) - number)], 7.2, SOFT)
        canvas.fitted(x, y + step / 2, 0.42 * FACTS_WIDTH, name, 7.2)
        y = canvas.lines(x + 0.44 * FACTS_WIDTH, y, lines, 7.2, bold=text.startswith(wording.DANGER))
    return y


class _Below:
    """What stands below the map: work list, facts, digest, claim, caution; its height is known before it is drawn."""

    def __init__(self, proof: Proof, across: float) -> None:
        self.proof = proof
        self.across = across
        self.code = 33 * MODULE
        self.beside = across - self.code - 8
        self.work = proof.work()[:MOST_WORK]
        self.more_work = len(proof.work()) - len(self.work)
        self.facts = [
            (name, wrapped(text, self.beside - 18, 7.5, at_most=2 if name == "Note" and not proof.dangers else 1))
            for name, text in proof.facts()
        ]
        self.claim = wrapped(f"{wording.CLAIM} {wording.SEAL_CLAIM}", across, 7)
        self.caution = wrapped(wording.CAUTION, across, 7)
        step = line_step(7.5)
        self.rows = (len(self.work) + 1) // 2
        self.work_height = 8 + (self.rows + bool(self.more_work)) * step if self.work else 0.0
        self.record_height = 6 + max(self.code + 2, (sum(len(lines) for _, lines in self.facts) + 2.5) * step)
        self.claims_height = 11.5 + (len(self.claim) + len(self.caution)) * line_step(7)
        self.height = self.work_height + self.record_height + self.claims_height

    def draw(self, canvas: Canvas, y: float) -> None:
        """Draw it, the top at y; claim and caution stand at the foot of the page."""
        if self.work:
            self._draw_work(canvas, y)
            y += self.work_height
        self._draw_record(canvas, y)
        y = canvas.height - MARGIN - self.claims_height
        y = _title(canvas, MARGIN, y, self.across, wording.CLAIM_TITLE)
        y = canvas.lines(MARGIN, y, self.claim, 7) + 1.5
        y = _title(canvas, MARGIN, y, self.across, wording.CAUTION_TITLE)
        canvas.lines(MARGIN, y, self.caution, 7)

    def _draw_work(self, canvas: Canvas, y: float) -> None:
        step = line_step(7.5)
        half = self.across / 2
        y = _title(canvas, MARGIN, y, self.across, f"{wording.WORK} - {wording.WORK_CLAIM}")
        for place, (tick, text) in enumerate(self.work):
            x = MARGIN + (half + 2 if place >= self.rows else 0.0)
            middle = y + (place % self.rows + 0.5) * step
            canvas.text(x, middle, tick, 8.5)
            canvas.fitted(x + 5, middle, half - 9, text, 7.5)
        if self.more_work:
            canvas.lines(MARGIN, y + self.rows * step, [wording.more(self.more_work)], 7.2, SOFT)

    def _draw_record(self, canvas: Canvas, y: float) -> None:
        y = _title(canvas, MARGIN, y, self.across, wording.RECORD)
        canvas.qr(MARGIN + self.across - self.code, y + 1, MODULE, self.proof.code)
        for name, lines in self.facts:
            canvas.text(MARGIN, y + line_step(7.5) / 2, name, 7.5, SOFT)
            y = canvas.lines(MARGIN + 18, y, lines, 7.5)
        for name, text in (("Digest", self.proof.digest), ("Key", self.proof.key)):
            canvas.text(MARGIN, y + line_step(7.5) / 2, name, 7.5, SOFT)
            canvas.text(MARGIN + 18, y + line_step(7.5) / 2, text, 6.9, INK)
            y += line_step(7.5)
