"""The bytes a tester printed to lines: encodings, terminals' colours, clock times; nothing of what they mean."""

import re

from wiremap.reading.table_text import decoded

ANSI = re.compile(r"\x1b\[[0-9;?]*[ -/]*[@-~]|\x1b[@-Z\\-_]")
CLOCK = re.compile(r"^\s*\[?(?:\d{4}-\d\d-\d\d[T ])?\d\d:\d\d:\d\d(?:[.,]\d{1,6})?Z?\]?\s*(?:->)?\s?")
MOST_TALK_LINES = 20_000


def talk_lines(content: bytes, live: bool = False) -> tuple[str, ...]:
    """Return the lines a tester printed, without what only a terminal or a logger wants.

    live: the text goes on, so that a last line without its end is none; neither is the first, which may be half a line.
    """
    text = ANSI.sub("", decoded(content)).replace("\ufeff", "").replace("\x00", "")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if live:
        lines = lines[1:-1]
    while lines and not lines[-1].strip():
        lines.pop()
    clocked = sum(bool(CLOCK.match(line)) for line in lines)
    if clocked > len([line for line in lines if line.strip()]) // 2:
        lines = [CLOCK.sub("", line, count=1) for line in lines]
    return tuple(line.rstrip() for line in lines[:MOST_TALK_LINES])
