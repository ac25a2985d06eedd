"""The page of one cable in a terminal: verdict, what is wrong, the next action, the wire map."""

from collections.abc import Iterable, Sequence

from wiremap.errors import spelled_out
from wiremap.judge.case import Case
from wiremap.lines import in_lines
from wiremap.report.terminal.big_letters import big
from wiremap.report.terminal.display import TALLER, Terminal
from wiremap.report.wire_rows import NOT_ASKED, colour_heading, row_words, wire_rows
from wiremap.report.words.cases import carried_lines, dangers, ends_of, more_lines, sentences, what_next
from wiremap.report.words.checks import checked_briefly, missing_in_room
from wiremap.report.words.faults import VERDICT_WORDS, missing_with_reasons
from wiremap.report.words.measurements import run_sentence
from wiremap.report.words.origin import FLAGS, ORIGINS, how_read, verdict_word

MARKED = "!"
DANGER = "DANGER: connect no PoE and no injector."
INDENT = "  "
NEXT_IS_CUT = "A taller window shows all of it."
NARROWEST_COLOUR = 8  # letters that are left of a colour's name where there is little room
NARROW = 60  # columns under which the wire map gives up its wide gaps and the heading of its colours


def page(case: Case, terminal: Terminal, below: Sequence[str] = ()) -> str:
    """Return the page, one line feed at the end; `below` are lines of talk after it (where it was kept)."""
    run = run_sentence(case.diagnosis)
    how = how_read(case.reading, case.read_as)
    end = [line for line in (run, how, checked_briefly(case), _not_checked(case), *below) if line]
    head = _banner(case, terminal)
    table = _map(case, terminal)
    blocks = {
        "more of the plugs": more_lines(case, terminal.width),
        "what it would carry": carried_lines(case, terminal.width),
    }
    blocks = {name: block for name, block in blocks.items() if block}
    danger = [part for text in dangers(case) for part in in_lines(text, terminal.width)]
    short = in_lines(DANGER, terminal.width) if danger else []
    for most, gap, tail, shown in (
        (3, [""], end, 2),
        (3, [""], [*end, *_elsewhere(list(blocks)[1:])], 1),
        (3, [""], [*end, *_elsewhere(blocks)], 0),
        (3, [], [*end, *_elsewhere(blocks)], 0),
        *((most, [], [*end, *more], 0) for most in (3, 2, 1) for more in ([TALLER], [])),
        *((most, [], [*below, TALLER], 0) for most in (3, 2, 1)),
        (1, [], list(below), 0),
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
            *(line for text in tail for line in in_lines(text, terminal.width)),
        ]
        if terminal.height is None or len(lines) < terminal.height:
            break
    else:
        assert terminal.height is not None
        lines = [*(terminal.bar(part, "fail") for part in short), *head]
        room = terminal.height - 1 - len(lines)
        said = _said(case, terminal, 1)
        if len(said) > room:  # the verdict and what is wrong stay, what to do next is cut, and says so
            said = [*said[: max(room - 1, 0)], NEXT_IS_CUT][: max(room, 0)]
        lines += [*said, *_short_map(case, terminal, room - len(said))]
        if len(lines) + 1 < terminal.height and "aller window" not in lines[-1]:
            lines.append(TALLER)
    return "\n".join(line.rstrip() if not terminal.colours else line for line in lines) + "\n"


def _not_checked(case: Case) -> str:
    """Return what was not checked and why, and where the reading comes from."""
    reasons = missing_with_reasons(case.diagnosis.not_checked)
    return (f"Not checked: {reasons}. " if reasons else "") + ORIGINS[case.reading.origin]


def _elsewhere(left_out: Iterable[str]) -> list[str]:
    names = " and ".join(left_out)
    return [f"A taller window shows {names}."] if names else []


def line(case: Case, source: str) -> str:
    """Return the cable in one line, for a list of many."""
    word = verdict_word(case.diagnosis.verdict, case.reading.origin)
    all_said = sentences(case)
    first = all_said[0] if case.diagnosis.findings else " ".join(all_said)
    more = len(all_said) - 1 if case.diagnosis.findings else 0
    flag = FLAGS[case.reading.origin]
    said = f"{flag}: {first}" if flag else first
    return f"{word:<9}  {spelled_out(source, lines=False)}  {said}" + (f" And {more} more." if more else "")


def _banner(case: Case, terminal: Terminal) -> list[str]:
    verdict = case.diagnosis.verdict
    word = verdict_word(verdict, case.reading.origin)
    named = ", ".join(text for text in (case.names.cable, case.diagnosis.expect) if text)
    about = "   ".join(text for text in (FLAGS[case.reading.origin], named) if text)
    left_out = case.diagnosis.not_checked
    if terminal.blocks and terminal.width >= 72 and word in VERDICT_WORDS.values():
        letters = [f" {text}   " for text in big(word)]
        room = terminal.width - len(letters[0])
        texts = in_lines(about, room)[:1]
        beside = missing_in_room(left_out, lambda text: len(in_lines(text, room)) <= 3 - bool(about))
        texts += in_lines(beside, room)
        texts += [""] * (3 - len(texts))
        return [terminal.bar(f"{big_line}{text}", verdict) for big_line, text in zip(letters, texts, strict=True)]
    named = "   ".join(text for text in (word, about) if text)
    beside = missing_in_room(left_out, lambda text: len(in_lines(f"{named}   {text}", terminal.width)) <= 2)
    lines = in_lines(f"{named}   {beside}", terminal.width, most=2)
    return [terminal.bar(text, verdict) for text in lines]


def _said(case: Case, terminal: Terminal, most: int) -> list[str]:
    all_said = sentences(case) if case.diagnosis.findings else (" ".join(sentences(case)),)
    more = len(all_said) - most
    text = " ".join(all_said[:most]) + (f" And {more} more, marked {MARKED} below." if more > 0 else "")
    wrong = [terminal.styled(part, "1") for part in in_lines(text, terminal.width)]
    return wrong + in_lines(f"Next: {what_next(case)}", terminal.width)


def _short_map(case: Case, terminal: Terminal, room: int) -> list[str]:
    """Return in so many lines what of the wire map matters most: its marked lines, and how the others are."""
    heading, *lines = _map(case, terminal)
    rows = wire_rows(case)
    marked = [line for line, row in zip(lines, rows, strict=True) if row.notes]
    rest = _how_others_are([row_words(row, case)[3] for row in rows if not row.notes], bool(marked), case)
    if not marked:
        return in_lines(rest, terminal.width, INDENT, INDENT)[: max(room, 0)]
    about_others = in_lines(rest, terminal.width, INDENT, INDENT) if rest else []
    if 1 + len(marked) + len(about_others) <= room:
        return [heading, *marked, *about_others]
    shown = marked[: max(room - 2, 0)]
    left = f"  A taller window shows {len(lines) - len(shown)} {'more' if shown else 'lines'}."
    return [*([heading, *shown] if shown else []), left][: max(room, 0)]


def _how_others_are(notes: Sequence[str], others: bool, case: Case) -> str:
    """Return how the contacts are that nothing is wrong with, "" where there are none; others: than those shown."""
    if not notes:
        return ""
    fine, unasked = notes.count("ok"), notes.count(NOT_ASKED)
    if fine + unasked < len(notes) or not fine:
        return f"A taller window shows {f'the other {len(notes)}' if others else 'the wire map'}."
    which = f"All {fine} contacts" if not others else f"The other {fine}" if fine > 1 else "The other one"
    sit, are = ("sit", "are") if fine > 1 else ("sits", "is")
    how = (
        f"{sit} right by {'their colours' if fine > 1 else 'its colour'}"
        if case.reading.origin == "eyes"
        else f"{are} ok"
    )
    return f"{which} {how}." + (" Screen: not asked for." if unasked else "")


def _map(case: Case, terminal: Terminal) -> list[str]:
    rows = wire_rows(case)
    table = [row_words(row, case) for row in rows]
    narrow = terminal.width < NARROW
    if narrow:
        table = [(near, said.replace("white-", "w-"), far, note) for near, said, far, note in table]
    gap = " " if narrow else "  "
    ends = ends_of(case)
    swatch = terminal.swatch(None)
    heading = (ends.near, "colour" if narrow else colour_heading(case), ends.far)
    room = terminal.width - len(swatch) - 2 - 3 * len(gap) - max((len(line[3]) for line in table), default=0)
    widths = _widths(heading, table)
    if sum(widths) > room:  # the names of the ends give way before the numbers and what is wrong, then the colours do
        heading = ("near", heading[1], "far")
        widths = _widths(heading, table)
        widths[1] = max(min(widths[1], room - widths[0] - widths[2]), NARROWEST_COLOUR)
    first, colours, last = heading[0], heading[1][: widths[1]], heading[2]
    lines = [f"  {first:>{widths[0]}}{gap}{colours:<{widths[1]}}{gap}{swatch}{gap}{last}"[: terminal.width]]
    for row, (near, said, far, note) in zip(rows, table, strict=True):
        mark = MARKED if row.notes else " "
        text = f"{near:>{widths[0]}}{gap}{said[: widths[1]]:<{widths[1]}}{gap}"
        left = terminal.width - len(text) - len(swatch) - 2 - len(gap) - widths[2] - len(gap)
        after = f"{gap}{far:<{widths[2]}}{gap}{_cut(note, left)}"[: terminal.width - len(text) - len(swatch) - 2]
        if row.notes:
            text, after, mark = (terminal.styled(part, "1") for part in (text, after, mark))
        lines.append(f"{mark} {text}{terminal.swatch(row.colour)}{after}")
    return lines


def _cut(note: str, room: int) -> str:
    """Return of a note as many of its parts, else of its words, as there is room for: no half of either."""
    for mark in (";", ",", " at ", " in ", " "):
        parts = note.split(mark)
        while len(mark.join(parts)) > room and len(parts) > 1:
            parts.pop()
        if len(mark.join(parts)) <= room:
            return mark.join(parts)
    return note[: max(room, 0)]


def _widths(heading: tuple[str, str, str], table: Sequence[tuple[str, str, str, str]]) -> list[int]:
    return [max(len(name), *(len(line[column]) for line in table), 0) for column, name in enumerate(heading)]
