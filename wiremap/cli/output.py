"""What leaves the program: pages and JSON on stdout, talk on stderr, the exit code."""

import os
import shutil
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from wiremap.errors import WiremapError, spelled_out
from wiremap.judge.findings import Verdict
from wiremap.lines import in_lines
from wiremap.report.terminal.display import OWN_STYLE, Terminal, terminal_of

FORMAT = 1
EXIT: dict[Verdict, int] = {"pass": 0, "fail": 3, "undecided": 4}
EXIT_OF_ERROR = {"tester": 5, "file": 6, "usage": 2, "program": 70}  # 70: sysexits.h, EX_SOFTWARE
INTERRUPTED = 130
BELLS: dict[Verdict, int] = {"pass": 1, "undecided": 2, "fail": 3}
BETWEEN_BELLS_S = 0.3
UNDER_WORD = 11  # letters of a verdict and the gap behind it, in a list of many


def terminal() -> Terminal:
    """Return what stdout can show."""
    size = shutil.get_terminal_size((80, 24))
    return terminal_of(os.environ, sys.stdout.isatty(), (size.columns, size.lines), sys.stdout.encoding or "")


def write(text: str) -> None:
    """Write data to stdout, as `for_terminal` gives it."""
    write_as_it_is(for_terminal(text, terminal()))


def write_line(text: str, indent: int = 0) -> None:
    """Write a line of a list to stdout; a terminal breaks it between words, what follows is indented by so much."""
    where = terminal()
    lines = [text] if where.height is None else in_lines(text, where.width, then=" " * min(indent, where.width // 4))
    write("\n".join(lines) + "\n")


def for_terminal(text: str, where: Terminal) -> str:
    """Return a text with all that a terminal would obey spelled out, but line ends and, where it has any, own colours.

    Every text passes here: names of files, labels and jobs come from outside.
    """
    if not where.colours:
        return spelled_out(text)
    return "".join(part if OWN_STYLE.fullmatch(part) else spelled_out(part) for part in OWN_STYLE.split(text))


def write_as_it_is(text: str) -> None:
    """Write to stdout what a terminal is to obey; characters the output cannot encode are replaced, never a crash."""
    encoding = sys.stdout.encoding or "utf-8"
    sys.stdout.write(text.encode(encoding, "replace").decode(encoding))
    sys.stdout.flush()


def write_json(content: Mapping[str, Any]) -> None:
    """Write one JSON object as a line, its format number first."""
    import json

    write(json.dumps({"format": FORMAT, **content}, ensure_ascii=True, allow_nan=False) + "\n")


def talk(text: str) -> None:
    """Say something to the person at the terminal, on stderr."""
    print(at_width(spelled_out(text)), file=sys.stderr, flush=True)


def at_width(text: str) -> str:
    """Return a text with lines that a terminal would break within a word broken between words; else as it is."""
    width = shutil.get_terminal_size((80, 24)).columns
    if not sys.stderr.isatty() or all(len(line) <= width for line in text.split("\n")):
        return text
    import textwrap

    ends = text[len(text.rstrip(" ")) :]
    lines = (
        textwrap.fill(line, width - len(ends), break_long_words=False, break_on_hyphens=False)
        for line in text.split("\n")
    )
    return "\n".join(lines) + ends


def talk_error(error: WiremapError) -> None:
    """Say what happened and what to do next."""
    talk(f"wiremap: {error.what}\n\nhint: {error.hint}")


def error_content(error: WiremapError) -> dict[str, Any]:
    """Return an error as the JSON has it."""
    return {"error": {"kind": error.kind, "what": error.what, "hint": error.hint}}


def exit_code_of_many(codes: set[int]) -> int:
    """Return the one exit code of many: the first that applies of program, unreadable, fail, undecided, pass."""
    return next((code for code in (70, 6, 3, 4) if code in codes), 0)


@contextmanager
def passing_word(text: str) -> Iterator[None]:
    """Show a word on stderr while something is done, and take it away after; nothing where that is no terminal."""
    shown = sys.stderr.isatty()
    if shown:
        sys.stderr.write(text)
        sys.stderr.flush()
    try:
        yield
    finally:
        if shown:
            sys.stderr.write("\r" + " " * len(text) + "\r")
            sys.stderr.flush()


def ring(verdict: Verdict) -> None:
    """Ring the terminal's bell: pass once, undecided twice, fail three times."""
    ring_times(BELLS[verdict])


def ring_times(count: int) -> None:
    """Ring the terminal's bell so many times, apart enough to be counted."""
    for number in range(count):
        if number:
            time.sleep(BETWEEN_BELLS_S)
        sys.stderr.write("\a")
        sys.stderr.flush()
