"""`wiremap judge`: judge readings from files, with no tester."""

from typing import TYPE_CHECKING

import typer

from wiremap.cli import options

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from wiremap.judge.case import Case


@options.with_cable_options
def command(files: options.Files, cells: options.Cells = None, *, cable: options.CableOptions) -> None:
    """Judge readings (CSV, JSON) and captures; a capture is judged as it was then, unless told otherwise."""
    from wiremap.cli.choices import cells_word
    from wiremap.judge.case import JobNames
    from wiremap.records.captures.judge_file import judge_file

    wanted = cable.requirements()
    meaning = cells_word(cells)
    names = JobNames()
    if cable.job:
        from wiremap.records.captures.keep import job_of

        names = job_of(cable.job)[1]
    if len(files) == 1:
        raise typer.Exit(
            _one(judge_file(files[0], wanted, meaning, names), str(files[0]), cable.as_json, cable.services)
        )
    raise typer.Exit(_many(files, lambda path: judge_file(path, wanted, meaning, names), cable.as_json))


def _one(case: "Case", source: str, as_json: bool, services: bool) -> int:
    """Show one cable and return the exit code."""
    from wiremap.cli.output import EXIT, terminal, write, write_json
    from wiremap.report.content import content
    from wiremap.report.terminal.page import page
    from wiremap.report.words.cases import all_services

    if as_json:
        write_json(content(case, "judge", source))
    else:
        write(page(case, terminal()))
        if services:
            write("".join(f"\n{text}" for text in all_services(case, terminal().width)) + "\n")
    return EXIT[case.diagnosis.verdict]


def _many(files: "Sequence[Path]", judge: "Callable[[Path], Case]", as_json: bool) -> int:
    """Show a line each and a summary, and return the exit code; of a file that cannot be read that is said."""
    from wiremap.cli.output import (
        EXIT,
        EXIT_OF_ERROR,
        error_content,
        exit_code_of_many,
        talk_error,
        write,
        write_json,
    )
    from wiremap.errors import FileError
    from wiremap.report.content import content
    from wiremap.report.terminal.page import line

    counts = {"pass": 0, "fail": 0, "undecided": 0, "unreadable": 0}
    codes = set()
    for path in files:
        try:
            case = judge(path)
        except FileError as error:
            counts["unreadable"] += 1
            codes.add(EXIT_OF_ERROR[error.kind])
            if as_json:
                write_json({"command": "judge", "source": str(path), **error_content(error)})
            else:
                talk_error(error)
            continue
        counts[case.diagnosis.verdict] += 1
        codes.add(EXIT[case.diagnosis.verdict])
        if as_json:
            write_json(content(case, "judge", str(path)))
        else:
            write(line(case, str(path)) + "\n")
    if as_json:
        write_json({"summary": counts})
    else:
        write(", ".join(f"{count} {word}" for word, count in counts.items() if count) + f", {len(files)} in all\n")
    return exit_code_of_many(codes)
