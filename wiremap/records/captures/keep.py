"""From a cable that was judged to a capture of it."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from wiremap.cable.limits import limits
from wiremap.judge.case import Case, JobNames
from wiremap.records.captures.capture import Job, Lot, Work, record, save
from wiremap.records.captures.work_list import job_and_work
from wiremap.records.keys import Key
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
) -> dict[str, Any]:
    """Return the record of a cable that was tested just now, judged by the limits that ship, as plain values.

    before: digest of the capture before it in its lot, None = it is the first, or in no lot. follows: digest of the
    capture whose test this one repeats, None = of none.
    """
    wanted = case.requirements
    return record(
        case.reading,
        case.to_builtins(),
        expect=wanted.expect,
        rules=wanted.to_builtins(),
        limits=limits(),
        now=datetime.now().astimezone(),
        software=SOFTWARE,
        near_order=wanted.near_order,
        colours=wanted.colours,
        job=job,
        work=work,
        lot=lot,
        before=before,
        follows=follows,
    )


def keep(path: Path, case: Case, job: Job, work: Sequence[Work] = (), key: Key | None = None) -> Path:
    """Write a capture of a cable that was tested just now, signed when a key is given, and return its path."""
    return save(path, record_of(case, job, work), key)
