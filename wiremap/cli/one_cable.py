"""What every command on one cable ends with: the capture kept, the page or the JSON shown, the exit code."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from wiremap.cli.options import CableOptions
from wiremap.errors import FileError

if TYPE_CHECKING:
    from wiremap.judge.case import Case, JobNames

Keep = Callable[["Case"], Path]


def names_and_keep(cable: CableOptions) -> "tuple[JobNames, Keep | None]":
    """Return what the job calls the cable, and what keeps a capture of it, None where none is asked for.

    What cannot be kept there is refused now, before anything is measured: FileError, or UsageError for a word of --job.
    """
    from wiremap.judge.case import JobNames

    if not cable.job and cable.save is None:
        return JobNames(), None
    from wiremap.records.captures.keep import job_of

    job, names, work = job_of(cable.job)
    if cable.save is None:
        return names, None
    from wiremap.records.captures.capture import check_save
    from wiremap.records.captures.keep import keep
    from wiremap.records.keys import choose_key

    path = cable.save
    check_save(path)
    key = choose_key(cable.key)
    return names, lambda case: keep(path, case, job, work, key)


def show(case: "Case", command: str, source: str, cable: CableOptions, keep: Keep | None) -> int:
    """Keep the capture where one is asked for, show the cable, and return the exit code.

    What was found is shown also where it could not be kept.
    """
    from wiremap.cli.output import EXIT, EXIT_OF_ERROR, error_content, talk_error, terminal, write, write_json
    from wiremap.report.content import content
    from wiremap.report.terminal.page import page
    from wiremap.report.words.cases import all_services

    kept, trouble = _kept(case, keep)
    if cable.as_json:
        said = content(case, command, source)
        said |= {"capture": str(kept)} if kept is not None else {}
        write_json(said | (error_content(trouble) if trouble is not None else {}))
    else:
        write(page(case, terminal(), [f"Kept: {kept}"] if kept is not None else []))
        if cable.services:
            write("".join(f"\n{text}" for text in all_services(case, terminal().width)) + "\n")
    if trouble is not None:
        talk_error(trouble)
        return EXIT_OF_ERROR[trouble.kind]
    return EXIT[case.diagnosis.verdict]


def _kept(case: "Case", keep: Keep | None) -> tuple[Path | None, FileError | None]:
    """Return where a capture was kept, None where none was, and why it could not be."""
    try:
        return (keep(case) if keep is not None else None), None
    except FileError as error:
        return None, error
