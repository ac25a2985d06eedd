"""One cable as the object that JSON has of it."""

from typing import Any

from wiremap.judge.case import Case
from wiremap.report.words.cases import dangers, what_next


def content(case: Case, command: str, source: str) -> dict[str, Any]:
    """Return all that is said of a cable, as JSON has it, without its format number; source: where it came from."""
    about: dict[str, Any] = {"command": command, "source": source, "origin": case.reading.origin}
    if dangers(case):
        about["dangers"] = list(dangers(case))
    if case.read_as:
        about["read_as"] = case.read_as
    return about | case.to_builtins() | {"next_step": what_next(case)}
