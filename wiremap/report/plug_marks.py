"""Which contacts of which plug are marked: those known to be wrong there, and those where it can be either plug."""

from collections.abc import Iterable, Mapping
from typing import Literal

from wiremap.contact import ENDS, End
from wiremap.judge.case import Case
from wiremap.judge.findings import Finding
from wiremap.report.words.cases import OF_ORDER

Mark = Literal["wrong", "either"]
Marks = Mapping[End, Mapping[str, Mark]]


def plug_marks(case: Case) -> Marks:
    """Return the marked contacts of each plug: "wrong" where that plug is known to be it, else "either".

    A fault in the cable itself marks no plug, nor does a voltage that equipment puts there; one that is only likely is
    never "wrong".
    """
    marks: dict[End, dict[str, Mark]] = {"near": {}, "far": {}}
    for finding in case.diagnosis.findings:
        for end, known in _at(finding, case).items():
            for contact in finding.near if end == "near" else finding.far:
                if known or contact not in marks[end]:
                    marks[end][contact] = "wrong" if known else "either"
    return marks


def mark_of(marks: Mapping[str, Mark], contacts: Iterable[str]) -> Mark | None:
    """Return the mark of contacts that are shown as one: of the one that is surest wrong, None where none is marked."""
    found = {marks[contact] for contact in contacts if contact in marks}
    return "wrong" if "wrong" in found else "either" if found else None


def _at(finding: Finding, case: Case) -> Mapping[End, bool]:
    """Return the plugs that a fault can be in, and whether it is known to be there."""
    sure = finding.certainty == "confirmed"
    built = case.advice.as_built
    place = finding.end
    if place is None and finding.fault in OF_ORDER and built is not None and built.wrong_end != "either":
        if built.wrong_end == "both":
            return dict.fromkeys(ENDS, sure)
        place = built.wrong_end
    if place == "run" or finding.fault == "foreign-voltage":
        return {}
    if place is not None:
        return {place: sure}
    if case.pattern is not None and case.pattern.far_connector is None:
        return {"near": sure}
    return dict.fromkeys(ENDS, False)
