"""`wiremap judge`: judge readings from files, with no tester."""

import functools
from typing import TYPE_CHECKING, Any

import typer

from wiremap.cli import options

STANDARD_INPUT = "-"

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from wiremap.errors import WiremapError
    from wiremap.judge.case import Case
    from wiremap.judge.findings import Verdict


@options.with_cable_options
def command(
    files: options.Files = None,
    cells: options.Cells = None,
    talks: options.Talks = None,
    *,
    cable: options.CableOptions,
    cores: options.Cores = 1,
) -> None:
    """Judge readings (CSV, JSON), text of testers, captures; a capture as it was judged then, unless told otherwise.

    With no file: judge by eye, from the colours read through both plugs (--near-colours and --far-colours).
    """
    from wiremap.cli.choices import adapters, cells_word, language_in
    from wiremap.cli.one_cable import keep_added, names_and_keep, show
    from wiremap.errors import UsageError
    from wiremap.judge.case import judge_case, read_by_eye
    from wiremap.records.captures.files import looks_like_capture
    from wiremap.records.captures.judge_file import judge_content

    if cable.save is not None and len(files or ()) > 1:
        raise UsageError("--save keeps one cable, and several files are given", "Give them one by one.")
    wanted, meaning = cable.requirements(), cells_word(cells)
    sides = adapters(cable.near_adapter, cable.far_adapter)
    names, keep = names_and_keep(cable)
    language = language_in(talks)
    judge = functools.partial(judge_content, wanted=wanted, cells=meaning, names=names, adapters=sides, talks=language)

    if not files:
        if any(sides):
            raise UsageError("adapters are named, and the colours are those of the cable's plugs", "Leave them out.")
        raise typer.Exit(show(judge_case(read_by_eye(wanted), wanted, names), "judge", "eyes", cable, keep))
    if len(files) == 1:
        content, source = _content(files[0]), _called(files[0])
        case = judge(content, source)  # what cannot be read is said first
        if keep is not None and looks_like_capture(content):
            keep = keep_added(cable, content, source)
        raise typer.Exit(show(case, "judge", source, cable, keep))
    raise typer.Exit(_many(files, judge, cable.as_json, cores))


def _line_of(
    path: "Path", judge: "Callable[[bytes, str], Case]", as_json: bool
) -> "tuple[Verdict | WiremapError, Any]":
    """Return a file's verdict and its line or JSON, or why there is none."""
    from wiremap.errors import FileError, ProgramError
    from wiremap.records.broken import keeping
    from wiremap.report.content import content
    from wiremap.report.terminal.page import line

    try:
        with keeping(source=_called(path)):
            case = judge(_content(path), _called(path))
            shown = content(case, "judge", _called(path)) if as_json else line(case, _called(path))
    except (FileError, ProgramError) as error:
        return error, None
    return case.diagnosis.verdict, shown


def _content(path: "Path") -> bytes:
    """Return a file's bytes, or those of standard input; FileError when there are none, or too many."""
    import sys

    from wiremap.errors import FileError
    from wiremap.records.canonical import LARGEST_RECORD_BYTES
    from wiremap.records.captures.files import TOO_LARGE, read_bounded

    if str(path) != STANDARD_INPUT:
        return read_bounded(path)
    content = sys.stdin.buffer.read(LARGEST_RECORD_BYTES + 1)
    if len(content) > LARGEST_RECORD_BYTES:
        raise FileError(f"{_called(path)}: is larger than {LARGEST_RECORD_BYTES} bytes", TOO_LARGE)
    return content


def _called(path: "Path") -> str:
    return "standard input" if str(path) == STANDARD_INPUT else str(path)


def _many(files: "Sequence[Path]", judge: "Callable[[bytes, str], Case]", as_json: bool, cores: int) -> int:
    """Show a line each and a summary, and return the exit code; of a file that cannot be read that is said."""
    from wiremap.cli.many import for_each
    from wiremap.cli.output import (
        EXIT,
        EXIT_OF_ERROR,
        UNDER_WORD,
        error_content,
        exit_code_of_many,
        talk_error,
        write_json,
        write_line,
    )
    from wiremap.errors import WiremapError

    counts = {"pass": 0, "fail": 0, "undecided": 0, "unreadable": 0, "broken": 0}
    codes = set()
    each = for_each(functools.partial(_line_of, judge=judge, as_json=as_json), files, "Judging", cores)
    for path, (verdict, shown) in zip(files, each, strict=True):
        if isinstance(verdict, WiremapError):
            counts["unreadable" if verdict.kind == "file" else "broken"] += 1
            codes.add(EXIT_OF_ERROR[verdict.kind])
            if as_json:
                write_json({"command": "judge", "source": _called(path), **error_content(verdict)})
            else:
                talk_error(verdict)
            continue
        counts[verdict] += 1
        codes.add(EXIT[verdict])
        if isinstance(shown, str):
            write_line(shown, UNDER_WORD)
        else:
            write_json(shown)
    if as_json:
        write_json({"summary": counts})
    else:
        write_line(", ".join(f"{count} {word}" for word, count in counts.items() if count) + f", {len(files)} in all")
    return exit_code_of_many(codes)
