"""The page of one cable in a terminal: verdict, what is wrong, the next action, the wire map."""

import textwrap
from collections.abc import Iterable, Sequence
from typing import Any

from wiremap.judge.case import Case
from wiremap.report.terminal.big_letters import big
from wiremap.report.terminal.display import Terminal
from wiremap.report.wire_rows import colour_heading, row_words, wire_rows
from wiremap.report.words.cases import carried_lines, dangers, ends_of, more_lines, sentences, what_next
from wiremap.report.words.faults import (
    VERDICT_WORDS,
    missing,
    missing_with_reasons,
)
from wiremap.report.words.measurements import run_sentence
from wiremap.report.words.origin import FLAGS, ORIGINS, verdict_word

MARKED = "!"
DANGER = "DANGER: connect no PoE and no injector."
NARROW = 60  # columns under which the wire map gives up its wide gaps and the heading of its colours


def page(case: Case, terminal: Terminal, below: Sequence[str] = ()) -> str:
    """Return the page, one line feed at the end; `below` are lines of talk after it (where it was kept)."""
    reasons = missing_with_reasons(case.diagnosis.not_checked)
    run = run_sentence(case.diagnosis.pairs, case.diagnosis.lengths)
    table_read = f"Table: {case.read_as}." if case.read_as else ""
    not_checked = f"Not checked: {reasons}. " if reasons else ""
    end = [line for line in (run, table_read, not_checked + ORIGINS[case.reading.origin], *below) if line]
    head = _banner(case, terminal)
    table = _map(case, terminal)
    blocks = {
        "more of the plugs": more_lines(case, terminal.width),
        "what it would carry": carried_lines(case, terminal.width),
    }
    blocks = {name: block for name, block in blocks.items() if block}
    danger = [part for text in dangers(case) for part in _wrapped(text, terminal.width)]
    short = _wrapped(DANGER, terminal.width) if danger else []
    for most, gap, tail, shown in (
        (3, [""], end, 2),
        (3, [""], [*end, *_elsewhere(list(blocks)[1:])], 1),
        (3, [""], end, 1),
        (3, [""], [*end, *_elsewhere(blocks)], 0),
        (3, [""], end, 0),
        (2, [""], end, 0),
        (2, [], end, 0),
        (1, [], end, 0),
        (1, [], list(below), 0),
        (1, [], [], 0),
    ):
        added = [line for block in list(blocks.values())[:shown] for line in ("", *block)]
        lines = [
            *(terminal.bar(part, "fail") for part in (danger if most > 1 else short)),
            *head,
            *gap,
            *_said(case, terminal, most),
            *gap,
            *table,
            *added,
            *gap,
            *(line for text in tail for line in _wrapped(text, terminal.width)),
        ]
        if terminal.height is None or len(lines) < terminal.height:
            break
    return "\n".join(line.rstrip() if not terminal.colours else line for line in lines) + "\n"


def _elsewhere(left_out: Iterable[str]) -> list[str]:
    names = " and ".join(left_out)
    return [f"A taller window shows {names}."] if names else []


def line(case: Case, source: str) -> str:
    """Return the cable in one line, for a list of many."""
    word = verdict_word(case.diagnosis.verdict, case.reading.origin)
    first, *others = sentences(case)
    more = len(others)
    flag = FLAGS[case.reading.origin]
    said = f"{flag}: {first}" if flag else first
    return f"{word:<9}  {source}  {said}" + (f" And {more} more." if more else "")


def _banner(case: Case, terminal: Terminal) -> list[str]:
    verdict = case.diagnosis.verdict
    word = verdict_word(verdict, case.reading.origin)
    named = ", ".join(text for text in (case.names.cable, case.diagnosis.expect) if text)
    about = "   ".join(text for text in (FLAGS[case.reading.origin], named) if text)
    left_out = missing(case.diagnosis.not_checked)
    beside = f"not checked: {left_out}" if left_out else ""
    if terminal.blocks and terminal.width >= 72 and word in VERDICT_WORDS.values():
        letters = [f" {text}   " for text in big(word)]
        room = terminal.width - len(letters[0])
        texts = [
            *_wrapped(about, room)[:1],
            *_wrapped(beside, room, max_lines=3 - bool(about), placeholder=" ..."),
        ]
        texts += [""] * (3 - len(texts))
        return [terminal.bar(f"{big_line}{text}", verdict) for big_line, text in zip(letters, texts, strict=True)]
    lines = _wrapped("   ".join(text for text in (word, about, beside) if text), terminal.width, max_lines=2)
    return [terminal.bar(text, verdict) for text in lines]


def _said(case: Case, terminal: Terminal, most: int) -> list[str]:
    all_said = sentences(case)
    more = len(all_said) - most
    text = " ".join(all_said[:most]) + (f" And {more} more, marked {MARKED} below." if more > 0 else "")
    wrong = [terminal.styled(part, "1") for part in _wrapped(text, terminal.width)]
    short = {"max_lines": 2, "placeholder": " ..."} if most == 1 else {}
    return wrong + _wrapped(f"Next: {what_next(case)}", terminal.width, **short)


def _map(case: Case, terminal: Terminal) -> list[str]:
    rows = wire_rows(case)
    table = [row_words(row, case) for row in rows]
    narrow = terminal.width < NARROW
    gap = " " if narrow else "  "
    ends = ends_of(case)
    heading = (ends.near, "colour" if narrow else colour_heading(case), ends.far, "")
    widths = [max(len(line[column]) for line in (heading, *table)) for column in range(3)]
    swatch = terminal.swatch(None)
    lines = [f"  {heading[0]:>{widths[0]}}{gap}{heading[1]:<{widths[1]}}{gap}{swatch}{gap}{heading[2]}"]
    for row, (near, said, far, note) in zip(rows, table, strict=True):
        mark = MARKED if row.notes else " "
        text = f"{near:>{widths[0]}}{gap}{said:<{widths[1]}}{gap}"
        after = f"{gap}{far:<{widths[2]}}{gap}{note}"[: terminal.width - len(text) - len(swatch) - 2]
        if row.notes:
            text, after, mark = (terminal.styled(part, "1") for part in (text, after, mark))
        lines.append(f"{mark} {text}{terminal.swatch(row.colour)}{after}")
    return lines


def _wrapped(text: str, width: int, **how: Any) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False, **how)
