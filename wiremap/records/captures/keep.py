"""From a cable that was judged to a capture of it."""

import contextlib
import tempfile
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from wiremap.cable.limits import limits
from wiremap.errors import FileError
from wiremap.judge.case import Case, JobNames
from wiremap.records.captures.capture import Job, Lot, Work, record, save
from wiremap.records.captures.work_list import job_and_work
from wiremap.records.home import home
from wiremap.records.keys import Key
from wiremap.records.new_file import make_folder
from wiremap.version import SOFTWARE


def job_of(words: Sequence[str] | None) -> tuple[Job, JobNames, tuple[Work, ...]]:
    """Return the job that `--job` words name, what it calls the cable, and the work that was ticked."""
    job, work = job_and_work(list(words or ()))
    return job, JobNames(job.near, job.far, job.cable), work


def record_of(
    case: Case,
    job: Job,
    work: Sequence[Work] = (),
    lot: Lot | None = None,
    before: str | None = None,
    follows: str | None = None,
    now: datetime | None = None,
) -> dict[str, Any]:
    """Return the record of a cable, judged by the limits that ship, as plain values.

    before: digest of the capture before it in its lot, None = it is the first, or in no lot. follows: digest of the
    capture whose test this one repeats, None = of none. now: when it was tested, with its zone; None = just now.
    """
    wanted = case.requirements
    return record(
        case.reading,
        case.to_builtins(),
        expect=wanted.expect,
        rules=wanted.to_builtins(),
        limits=limits(),
        now=now or datetime.now().astimezone(),
        software=SOFTWARE,
        near_order=wanted.near_order,
        colours=wanted.colours,
        job=job,
        work=work,
        lot=lot,
        before=before,
        follows=follows,
    )


def keep(
    path: Path,
    case: Case,
    job: Job,
    work: Sequence[Work] = (),
    key: Key | None = None,
    follows: str | None = None,
) -> tuple[Path | None, FileError | None]:
    """Write a capture of a cable that was tested just now, signed when a key is given; follows as in `record_of`.

    Return where it is, and what went wrong, None = nothing: where it cannot be written to its path, it is written
    into the user's folder, or the system's for what is temporary, so that no test is lost. Path None: nowhere.
    """
    return keep_plain(path, record_of(case, job, work, follows=follows), key)


def keep_plain(path: Path, plain: Mapping[str, Any], key: Key | None = None) -> tuple[Path | None, FileError | None]:
    """Write a record, as plain values, where and as `keep` does."""
    try:
        return save(path, plain, key), None
    except FileError as error:
        trouble = error
    for folder in (home() / "rescued", Path(tempfile.gettempdir())):
        with contextlib.suppress(FileError):
            make_folder(folder)
            kept = save(folder, plain, key)
            return kept, FileError(f"{trouble.what}; the capture was kept as {kept}", "Move it to where it belongs.")
    return None, trouble
