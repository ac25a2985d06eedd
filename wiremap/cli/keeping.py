"""From a cable that was judged to a capture of it; shared by the commands that keep."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from wiremap import __version__
from wiremap.cable.limits import limits
from wiremap.cli.judging import Asked, Called, rules, said_of
from wiremap.records.captures.capture import Job, Work, record, save
from wiremap.records.captures.work_list import job_and_work
from wiremap.records.keys import Key
from wiremap.report.case import Case


def job_of(words: Sequence[str] | None) -> tuple[Job, Called, tuple[Work, ...]]:
    """Return the job that `--job` words name, what it calls the cable, and the work that was ticked."""
    job, work = job_and_work(list(words or ()))
    return job, Called(job.near, job.far, job.cable), work


def keep(path: Path, case: Case, wanted: Asked, job: Job, work: Sequence[Work] = (), key: Key | None = None) -> Path:
    """Write a capture of a cable that was tested, signed when a key is given, and return its path."""
    kept = record(
        case.reading,
        said_of(case),
        expect=wanted.expect,
        rules=rules(wanted),
        limits=limits().to_builtins(),
        now=datetime.now().astimezone(),
        software=f"wiremap {__version__}",
        near_order=wanted.near_order,
        colours=wanted.colours,
        job=job,
        work=work,
    )
    return save(path, kept, key)
