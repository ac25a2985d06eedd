"""The sheet a customer reads: one page, PDF, text that can be selected; a second where a page has too little room."""

from collections.abc import Sequence
from functools import partial
from typing import Literal

from wiremap.report.print.canvas import INK, LINE, SOFT, Canvas, FileKind, line_step, render_pages, text_width, wrapped
from wiremap.report.print.flow import Block, pages
from wiremap.report.print.picture import WireMap
from wiremap.report.proof import Proof
from wiremap.report.words import records as wording
from wiremap.report.words.cases import next_on_paper, said_on_paper

Paper = Literal["a4", "letter"]
PAPERS: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1
MARGIN = 14.0
FACTS_WIDTH = 62.0
GAP = 6.0
BADGE = {"pass": "#0d5c4d", "fail": "#8f1d1d", "undecided": "#6b5200"}
MODULE = 0.78
CODE = 33 * MODULE  # the side of the QR code, mm
TEXT_SIZES = (8.6, 8.0, 7.5)  # points: the largest with which it is one page
SMALLER = 0.5  # points less, for what is beside the point
NAMES = 18.0  # mm, what facts are called


def sheet(proof: Proof, paper: Paper = "a4", kind: FileKind = "pdf", dpi: int = 150) -> bytes:
    """Return the sheet's file; as a picture its first page."""
    width, height = PAPERS[paper]
    title = f"{wording.SHEET}: {proof.label}, {proof.word}"
    for letters in TEXT_SIZES:
        foot = _foot(proof.claim, width - 2 * MARGIN, letters - SMALLER)
        made = pages(_blocks(proof, width - 2 * MARGIN, letters), MARGIN, height - MARGIN, foot.height)
        if len(made) == 1:
            break

    def draw(number: int, canvas: Canvas) -> None:
        canvas.box(0, 0, width, height, "#ffffff")
        for block, y in made[number]:
            block.draw(canvas, y)
        if number == len(made) - 1:
            foot.draw(canvas, height - MARGIN - foot.height)
        if len(made) > 1:
            page = wording.page_of(number + 1, len(made), proof.label)
            canvas.fitted(width - MARGIN, height - 8, width - 2 * MARGIN, page, 6.5, SOFT, align="right")

    return render_pages([partial(draw, number) for number in range(len(made))], width, height, kind, title, dpi)


def _blocks(proof: Proof, across: float, letters: float) -> list[Block]:
    return [
        _head(proof, across),
        *_flag(proof, across),
        *_danger(proof, across),
        *_paragraph(said_on_paper(proof.case), across, 11, bold=True, above=4),
        *_paragraph(f"Next: {next_on_paper(proof.case)}", across, 9, above=0.8),
        *(_paragraph(proof.as_found, across, 9, above=1.6) if proof.before is not None else ()),
        _map_and_facts(proof, across, letters),
        *_work(proof, across, letters),
        *_record(proof, across, letters),
    ]


def _paragraph(
    text: str, width: float, size: float, bold: bool = False, above: float = 0.0, x: float = MARGIN
) -> list[Block]:
    """Return a text as lines, with room above the first."""
    blocks = []
    for number, line in enumerate(wrapped(text, width, size, bold)):
        over = above if number == 0 else 0.0
        blocks.append(_line(line, size, bold, over, x))
    return blocks


def _line(text: str, size: float, bold: bool, above: float, x: float) -> Block:
    def draw(canvas: Canvas, y: float) -> None:
        canvas.lines(x, y + above, [text], size, bold=bold)

    return Block(above + line_step(size), draw)


def _title(canvas: Canvas, x: float, y: float, width: float, text: str) -> float:
    canvas.text(x, y + 1.6, text.upper(), 6.8, SOFT, True)
    canvas.stroke([(x, y + 3.9), (x + width, y + 3.9)], LINE, 0.2)
    return y + 5


def _title_block(text: str, width: float) -> Block:
    def draw(canvas: Canvas, y: float) -> None:
        _title(canvas, MARGIN, y + 4, width, text)

    return Block(9.0, draw)


def _head(proof: Proof, across: float) -> Block:
    """Return the verdict in a dark box with its sign, and beside it which cable this is."""
    words, word_size = [proof.word], 25
    if text_width(proof.word, word_size, True) > across / 2:
        words, word_size = wrapped(proof.word, across / 4, 13, True), 13
    wide = max(text_width(line, word_size, True) for line in words) + 22
    left, room = MARGIN + wide + 6, across - wide - 6
    one_line = text_width(proof.label, 15, True) <= room
    texts = (
        (wrapped(proof.label, room, 15 if one_line else 10, True), 15 if one_line else 10, INK, True),
        (wrapped(proof.place, room, 9), 9, INK, False),
        (wrapped(proof.about, room, 8.5), 8.5, SOFT, False),
    )
    high = max(19.0, sum(len(lines) * line_step(size) for lines, size, _, _ in texts))

    def draw(canvas: Canvas, y: float) -> None:
        canvas.box(MARGIN, y, wide, 19, BADGE[proof.case.diagnosis.verdict], round_by=1.5)
        canvas.text(MARGIN + 5, y + 9.5, proof.sign, 22, "#ffffff", True)
        for number, line in enumerate(words, 1):
            canvas.text(MARGIN + 15, y + 19 * number / (len(words) + 1), line, word_size, "#ffffff", True)
        for lines, size, colour, bold in texts:
            y = canvas.lines(left, y, lines, size, colour, bold)

    return Block(high, draw)


def _bar(text: str, across: float, size: float, fill: str) -> Block:
    """Return a text in white across the page on a dark ground."""
    lines = wrapped(text, across - 10, size, True)
    high = len(lines) * line_step(size) + 3

    def draw(canvas: Canvas, y: float) -> None:
        canvas.box(MARGIN, y + 2, across, high, fill, round_by=1.0)
        canvas.lines(MARGIN + 5, y + 3.5, lines, size, "#ffffff", bold=True)

    return Block(high + 2, draw)


def _flag(proof: Proof, across: float) -> list[Block]:
    """Return that no tester measured this, where none did."""
    return [_bar(proof.flag, across, 14, INK)] if proof.flag else []


def _danger(proof: Proof, across: float) -> list[Block]:
    """Return what must not be connected to the cable."""
    return [_bar(" ".join(proof.dangers), across, 9, BADGE["fail"])] if proof.dangers else []


def _map_and_facts(proof: Proof, across: float, letters: float) -> Block:
    """Return the wire map, and beside it what was checked and what not, lengths, what it would carry."""
    drawn = WireMap(proof.case, across - FACTS_WIDTH - GAP)
    facts = [
        (wording.CHECKED, wrapped(proof.checked(), FACTS_WIDTH, letters)),
        (wording.NOT_CHECKED, wrapped(proof.not_checked(), FACTS_WIDTH, letters)),
        (
            proof.lengths_title,
            [part for name, value in proof.lengths() for part in wrapped(f"{name}: {value}", FACTS_WIDTH, letters)]
            or [wording.NO_LENGTH],
        ),
        (wording.SERVICES, [part for line in proof.carried() for part in wrapped(line, FACTS_WIDTH, letters)]),
    ]
    facts = [(title, lines) for title, lines in facts if lines]
    below = sum(7 + len(lines) * line_step(letters) for _, lines in facts)

    def draw(canvas: Canvas, y: float) -> None:
        drawn.draw(canvas, MARGIN, y + 4)
        y, x = y + 4, MARGIN + across - FACTS_WIDTH
        for title, lines in facts:
            y = canvas.lines(x, _title(canvas, x, y, FACTS_WIDTH, title), lines, letters) + 2

    return Block(4 + max(drawn.height, below), draw)


def _work(proof: Proof, across: float, letters: float) -> list[Block]:
    """Return the work list in two columns."""
    items = proof.work()
    if not items:
        return []
    half = (len(items) + 1) // 2
    beside = [(items[n], items[n + half] if n + half < len(items) else None) for n in range(half)]
    return [
        _title_block(f"{wording.WORK} - {wording.WORK_CLAIM}", across),
        *(_work_row([item for item in row if item], across, letters) for row in beside),
    ]


def _work_row(items: Sequence[tuple[str, str]], across: float, size: float) -> Block:
    columns = [(tick, wrapped(text, across / 2 - 9, size)) for tick, text in items]
    high = max(len(lines) for _, lines in columns) * line_step(size)

    def draw(canvas: Canvas, y: float) -> None:
        for number, (tick, lines) in enumerate(columns):
            x = MARGIN + number * (across / 2 + 2)
            canvas.text(x, y + 0.5 * line_step(size), tick, 8.5)
            canvas.lines(x + 5, y, lines, size)

    return Block(high, draw)


def _record(proof: Proof, across: float, letters: float) -> list[Block]:
    """Return who, when and with what beside the QR code, what that holds, and the longer facts below."""
    beside, small = across - CODE - 8, letters - SMALLER
    facts = [(name, said, letters) for name, said in proof.facts() if name not in wording.LONG_FACTS]
    facts += [("Digest", proof.digest, small - 0.1), ("Key", proof.key, small - 0.1)]
    rows = [(name, wrapped(said, beside - NAMES, size), size) for name, said, size in facts]
    code = wrapped(wording.CODE_SENTENCE, beside, small)
    step = line_step(letters)
    high = sum(len(lines) for _, lines, _ in rows) * step + 1.5 + len(code) * line_step(small)

    def draw(canvas: Canvas, y: float) -> None:
        canvas.qr(MARGIN + across - CODE, y + 1, MODULE, proof.code)
        for name, lines, size in rows:
            canvas.text(MARGIN, y + step / 2, name, letters, SOFT)
            for line in lines:
                canvas.text(MARGIN + NAMES, y + step / 2, line, size)
                y += step
        canvas.lines(MARGIN, y + 1.5, code, small)

    more = [(name, said) for name, said in proof.facts() if name in wording.LONG_FACTS]
    blocks = [_title_block(wording.RECORD, across), Block(max(CODE + 2, high), draw)]
    for name, said in more:
        blocks += _paragraph(f"{name}: {said}", across, letters, above=0.8)
    return blocks


def _foot(said: str, across: float, size: float) -> Block:
    """Return what the sheet says and what not, and the cautions; they stand at the foot of the last page."""
    claim = wrapped(f"{said} {wording.SEAL_CLAIM}", across, size)
    caution = wrapped(wording.CAUTION, across, size)

    def draw(canvas: Canvas, y: float) -> None:
        y = _title(canvas, MARGIN, y, across, wording.CLAIM_TITLE)
        y = canvas.lines(MARGIN, y, claim, size) + 1.5
        y = _title(canvas, MARGIN, y, across, wording.CAUTION_TITLE)
        canvas.lines(MARGIN, y, caution, size)

    return Block(11.5 + (len(claim) + len(caution)) * line_step(size), draw)
