"""What every command on one cable ends with: the capture kept, the page or the JSON shown, the exit code."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wiremap.cli.options import CableOptions
from wiremap.errors import FileError

if TYPE_CHECKING:
    from wiremap.judge.case import Case, JobNames

Kept = tuple[Path | None, FileError | None]  # where a capture is, and what went wrong
Keep = Callable[["Case"], Kept]


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


def keep_added(cable: CableOptions, content: bytes, source: str) -> Keep:
    """Return what keeps a record that adds to a capture, which stays as it is, what --job says.

    UsageError where that adds nothing or contradicts it, or where the capture is to be judged otherwise than it was.
    """
    from wiremap.errors import UsageError
    from wiremap.judge.case import Requirements
    from wiremap.records.captures.capture import read_capture
    from wiremap.records.captures.keep import job_of, keep_plain
    from wiremap.records.captures.photos import added
    from wiremap.records.keys import choose_key

    assert cable.save is not None
    if not cable.job:
        raise UsageError(
            f"{source}: is a capture already",
            "Leave out --save, or say what is added to it, as --job photo=FILE; `wiremap report` makes its sheet.",
        )
    if cable.requirements() != Requirements():
        raise UsageError(
            f"{source}: is a capture, which is added to as it was judged", "Leave out what it is to be judged by."
        )
    job, _, work = job_of(cable.job)
    plain, path, key = added(read_capture(content, source), job, work), cable.save, choose_key(cable.key)
    return lambda _: keep_plain(path, plain, key)


def show(
    case: "Case",
    command: str,
    source: str,
    cable: CableOptions,
    keep: Keep | None,
    more: Mapping[str, Any] | None = None,
    below: Sequence[str] = (),
) -> int:
    """Keep the capture where one is asked for, show the cable, and return the exit code.

    What was found is shown also where it could not be kept. more: what else JSON says; below: what else the page says.
    """
    from wiremap.records.broken import keeping

    with keeping(case.reading):
        return _shown(case, command, source, cable, keep, more, below)


def _shown(
    case: "Case",
    command: str,
    source: str,
    cable: CableOptions,
    keep: Keep | None,
    more: Mapping[str, Any] | None,
    below: Sequence[str],
) -> int:
    from wiremap.cli.output import EXIT, EXIT_OF_ERROR, error_content, talk_error, terminal, write, write_json

    kept, trouble = (None, None) if keep is None else keep(case)
    if cable.as_json:
        from wiremap.report.content import content

        said = content(case, command, source) | dict(more or {})
        said |= {"capture": str(kept)} if kept is not None else {}
        write_json(said | (error_content(trouble) if trouble is not None else {}))
    else:
        from wiremap.report.terminal.page import page

        write(page(case, terminal(), [*below, *([f"Kept: {kept}"] if kept is not None else [])]))
        if cable.services:
            from wiremap.report.words.cases import all_services

            write("".join(f"\n{text}" for text in all_services(case, terminal().width)) + "\n")
    if trouble is not None:
        talk_error(trouble)
        return EXIT_OF_ERROR[trouble.kind]
    return EXIT[case.diagnosis.verdict]
