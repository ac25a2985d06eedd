"""A lot as numbers: its JSON, and its row in a table of lots."""

from collections.abc import Iterable
from typing import Any

from wiremap.records.lots.held import HeldLot
from wiremap.records.lots.statistics import LotSummary, Share, again_and_again
from wiremap.report.words.lots import (
    differences_said,
    end_note,
    end_problem,
    failed_label_line,
    faults_of_label,
    socket_wear_ohm,
)

COLUMNS = (
    "lot",
    "cables",
    "tests",
    "undone",
    "first_pass",
    "first_pass_low",
    "first_pass_high",
    "final",
    "final_low",
    "final_high",
    "pass",
    "fail",
    "undecided",
    "median_length_m",
    "drift_at_test",
    "drift_ohm",
    "planned",
    "failed_labels",
)
LABEL_COLUMNS = ("lot", "label", "found", "faults", "now", "mended")


def held_rows(seen: HeldLot) -> dict[str, list[str]]:
    """Return what is wrong with a lot, and what its ends say that holds, a sentence each."""
    said = [end_problem(end) for end in seen.ends]
    return {
        "problems": [*differences_said(seen.differences), *(problem for problem in said if problem)],
        "notes": [note for end in seen.ends if (note := end_note(end))],
    }


def brief(summary: LotSummary) -> dict[str, Any]:
    """Return the summary as JSON has it: counts, shares with their intervals, faults, what stands out."""
    return {
        "cables": summary.cables,
        "tests": summary.tests,
        "undone": summary.undone,
        "first_pass": _plain(summary.first_pass),
        "final": _plain(summary.final),
        "newest": dict(summary.newest),
        "planned": summary.planned,
        "origins": dict(summary.origins),
        "failed_labels": [
            {
                "lot": label.lot,
                "label": label.label,
                "found": label.found,
                "faults": [
                    {"fault": fault.fault, "near": list(fault.near), "far": list(fault.far), "end": fault.end}
                    for fault in label.faults
                ],
                "now": label.now,
                "mended": label.mended,
            }
            for label in summary.failed_labels
        ],
        "faults": dict(summary.faults),
        "places": [
            {"fault": place.fault, "end": place.end, "contact": place.contact, "tests": place.tests}
            for place in summary.places
        ],
        "again": [{"end": end, "contact": contact, "tests": tests} for end, contact, tests in again_and_again(summary)],
        "lengths": None
        if summary.lengths is None
        else {"count": summary.lengths.count, "median_m": summary.lengths.median_m},
        "drift": None
        if summary.drift is None or summary.drift.alarm_at is None
        else {
            "alarm_at_test": summary.drift.alarm_at + 1,
            "began_at_test": (summary.drift.began_at or 0) + 1,
            "rise_ohm": summary.drift.rise,
        },
        "socket_wear_ohm": socket_wear_ohm(summary.reference_ohm),
        "hours": dict(summary.hours),
    }


def rows(summaries: Iterable[LotSummary]) -> list[tuple[object, ...]]:
    """Return one row a lot, in the order of COLUMNS; None = not known."""
    return [
        (
            ", ".join(summary.lots),
            summary.cables,
            summary.tests,
            summary.undone,
            *_row(summary.first_pass),
            *_row(summary.final),
            *(count for _, count in summary.newest),
            summary.lengths.median_m if summary.lengths else None,
            summary.drift.alarm_at + 1 if summary.drift and summary.drift.alarm_at is not None else None,
            summary.drift.rise if summary.drift else None,
            summary.planned,
            "; ".join(failed_label_line(label, False) for label in summary.failed_labels),
        )
        for summary in summaries
    ]


def label_rows(summaries: Iterable[LotSummary]) -> list[tuple[object, ...]]:
    """Return one row for each label of which a test did not pass, in the order of LABEL_COLUMNS."""
    return [
        (label.lot, label.label, label.found, faults_of_label(label), label.now, "yes" if label.mended else "no")
        for summary in summaries
        for label in summary.failed_labels
    ]


def _row(share: Share | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if share is None else (share.count / share.total, share.low, share.high)


def _plain(share: Share | None) -> dict[str, float] | None:
    if share is None:
        return None
    return {"count": share.count, "total": share.total, "low": share.low, "high": share.high}
