"""The page of one cable in a terminal: verdict, what is wrong, the next action, the wire map."""

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from wiremap.cable.colours import ColourSet
from wiremap.cable.patterns import Pattern
from wiremap.cable.terminations import Termination, carried, known_as
from wiremap.judge.remedy.advice import Advice
from wiremap.judge.verdict import Diagnosis
from wiremap.reading.reading import Reading
from wiremap.report.terminal.big_letters import big
from wiremap.report.terminal.display import Terminal
from wiremap.report.wire_rows import Nets, Row, wire_rows
from wiremap.report.words.faults import (
    MISPLACED,
    VERDICTS,
    Ends,
    missing,
    missing_with_reasons,
    urgent_first,
    what_is_wrong,
)
from wiremap.report.words.measurements import run_sentence
from wiremap.report.words.next_steps import next_step

MARK = "!"
NARROW = 60  # columns under which the wire map gives up its wide gaps and the heading of its colours
OF_ORDER = (*MISPLACED, "split-pair")  # what reasoning about both plugs says more of than about the fault alone


@dataclass(frozen=True, slots=True)
class Judged:
    """One cable as tested, with what is needed to speak of it.

    nets: of the reading. pattern: what was asked for, else the nearest, None = neither. label: what the job calls
    the cable. order, colours: what the near plug holds and what that looks like, None = not known; order_told: whether
    somebody said so, rather than that it is usual.
    required: checks that were asked for. shown: the reading as its rows show it, where a remote stands for the far
    plug. advice: which end, what to do, what would run. places: where remotes are, (letter, place).
    """

    reading: Reading
    nets: Nets
    diagnosis: Diagnosis
    pattern: Pattern | None
    ends: Ends
    label: str = ""
    order: Termination | None = None
    order_told: bool = False
    colours: ColourSet | None = None
    required: tuple[str, ...] = ()
    shown: Reading | None = None
    advice: Advice | None = None
    places: tuple[tuple[str, str], ...] = ()
    ports_told: bool = False

    def rows(self) -> tuple[Row, ...]:
        """Return the wire map's rows."""
        reading = self.shown or self.reading
        return wire_rows(reading, self.nets, self.diagnosis, self.pattern, self.ends, self.order, self.colours)

    def of_order(self) -> bool:
        """Whether the order in the plugs is what is most urgently wrong."""
        return any(finding.fault in OF_ORDER for finding in urgent_first(self.diagnosis.findings)[:1])

    def sentences(self) -> tuple[str, ...]:
        """Return what is wrong with it, most urgent first."""
        return what_is_wrong(self.diagnosis, self.ends, self.pattern)

    def next_step(self) -> str:
        """Return what to do with it now."""
        orders = None
        other_kind = self.diagnosis.nearest is not None and self.diagnosis.nearest.away == 0
        if other_kind and self.pattern and self.pattern.far_connector and self.order:
            known = known_as(self.pattern.far_connector, carried(self.order, self.pattern))
            orders = (self.order.name, known.name) if known else None
        if self.advice is not None and self.diagnosis.expect is not None and self.of_order() and not other_kind:
            from wiremap.report.words.repair import next_of

            now = next_of(self.advice, self.ends)
            if now is not None:
                return now
        return next_step(self.diagnosis, self.ends, self.pattern, orders, self.required)

    def more_lines(self, width: int) -> list[str]:
        """Return what stands below the wire map: remote, loops, what the plugs hold, what would run."""
        remote, loops, advice = self.diagnosis.remote, self.diagnosis.loops, self.advice
        if remote is None and not loops and (advice is None or advice == Advice()):
            return []
        from wiremap.report.words import repair as said

        lines = textwrap.wrap(said.remote_line(remote, self.places), width) if remote is not None else []
        lines += said.loop_lines(loops)
        if advice is not None and self.colours is not None and self.of_order():
            lines += said.as_built_lines(advice, self.ends, self.colours, width)
        return lines

    def service_lines(self, width: int) -> list[str]:
        """Return what would run on the cable as it is, a table; of a good cable only when its ports were told."""
        if self.advice is None or not self.advice.services:
            return []
        if self.diagnosis.verdict == "pass" and not self.ports_told:
            return []
        from wiremap.report.words.repair import service_lines

        return service_lines(self.advice.services, width)


def page(case: Judged, terminal: Terminal, below: Sequence[str] = ()) -> str:
    """Return the page, one line feed at the end; `below` are lines of talk after it (where it was kept)."""
    reasons = missing_with_reasons(case.diagnosis.not_checked)
    run = run_sentence(case.diagnosis.pairs, case.diagnosis.lengths)
    end = [line for line in (run, f"Not checked: {reasons}." if reasons else "", *below) if line]
    head = _banner(case, terminal)
    table = _map(case, terminal)
    blocks = {
        "more of the plugs": case.more_lines(terminal.width),
        "what it would carry": case.service_lines(terminal.width),
    }
    blocks = {name: block for name, block in blocks.items() if block}
    for sentences, gap, tail, shown in (
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
            *head,
            *gap,
            *_said(case, terminal, sentences),
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


def line(case: Judged, source: str) -> str:
    """Return the cable in one line, for a list of many."""
    word = VERDICTS[case.diagnosis.verdict]
    more = len(case.sentences()) - 1
    return f"{word:<9}  {source}  {case.sentences()[0]}" + (f" And {more} more." if more else "")


def _banner(case: Judged, terminal: Terminal) -> list[str]:
    verdict = case.diagnosis.verdict
    word = VERDICTS[verdict]
    about = ", ".join(text for text in (case.label, case.diagnosis.expect) if text)
    left_out = missing(case.diagnosis.not_checked)
    beside = f"not checked: {left_out}" if left_out else ""
    if terminal.blocks and terminal.width >= 72:
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


def _said(case: Judged, terminal: Terminal, most: int) -> list[str]:
    sentences = case.sentences()
    more = len(sentences) - most
    text = " ".join(sentences[:most]) + (f" And {more} more, marked {MARK} below." if more > 0 else "")
    wrong = [terminal.styled(part, "1") for part in _wrapped(text, terminal.width)]
    short = {"max_lines": 2, "placeholder": " ..."} if most == 1 else {}
    return wrong + _wrapped(f"Next: {case.next_step()}", terminal.width, **short)


def _map(case: Judged, terminal: Terminal) -> list[str]:
    rows = case.rows()
    table = [cells(row, case) for row in rows]
    narrow = terminal.width < NARROW
    gap = " " if narrow else "  "
    heading = (case.ends.near, "colour" if narrow else colour_heading(case), case.ends.far, "")
    widths = [max(len(line[column]) for line in (heading, *table)) for column in range(3)]
    swatch = terminal.swatch(None)
    lines = [f"  {heading[0]:>{widths[0]}}{gap}{heading[1]:<{widths[1]}}{gap}{swatch}{gap}{heading[2]}"]
    for row, (near, said, far, note) in zip(rows, table, strict=True):
        mark = MARK if row.notes else " "
        text = f"{near:>{widths[0]}}{gap}{said:<{widths[1]}}{gap}"
        after = f"{gap}{far:<{widths[2]}}{gap}{note}"[: terminal.width - len(text) - len(swatch) - 2]
        if row.notes:
            text, after, mark = (terminal.styled(part, "1") for part in (text, after, mark))
        lines.append(f"{mark} {text}{terminal.swatch(row.colour)}{after}")
    return lines


def colour_heading(case: Judged) -> str:
    """Return what stands over the colours: the termination they follow from, and whether somebody said so."""
    order = case.order
    return "" if order is None else f"colour ({order.name})" if case.order_told else f"colour, if {order.name}"


def cells(row: Row, case: Judged) -> tuple[str, str, str, str]:
    """Return a row of the wire map in words: near contact, colour, far contacts, what there is to say of it."""
    if row.near is None:
        return "-", "", ", ".join(row.far), "; ".join(row.notes) or "nothing arrives"
    unchecked = {item.what for item in case.diagnosis.not_checked}
    if row.notes:
        note = "; ".join(row.notes)
    elif row.near == case.ends.near_screen:
        note = "not asked for" if "screen" in unchecked else "ok"
    else:
        note = "ok" if case.diagnosis.expect and "continuity" not in unchecked else ""
    return row.near, row.said, ", ".join(row.far) or ("-" if row.measured else "?"), note


def _wrapped(text: str, width: int, **how: Any) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False, **how)
