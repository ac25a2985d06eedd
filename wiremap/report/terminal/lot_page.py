"""The page of a lot, or of several, in a terminal; its numbers as JSON and as rows of a table."""

import textwrap
from collections.abc import Iterable
from typing import Any

from wiremap.records.lots.drift import Drift
from wiremap.records.lots.statistics import LotSummary, Share, again_and_again
from wiremap.report.terminal.display import Terminal

MOST_PLACES = 8
WORN_OHM = 0.1  # assumption: a rise of a reference cord by this is the sockets', not the cord's
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
)


def in_one_line(summary: LotSummary) -> str:
    """Return a lot in one line."""
    name = ", ".join(summary.lots)
    if summary.first_pass is None:
        return f"{name}: no cable tested."
    return f"{name}: {summary.cables} cables, {summary.tests} tests, first-pass yield {percent(summary.first_pass)}."


def percent(share: Share | None) -> str:
    """Return a share with its interval: "92 % (11 of 12; 95 % interval 65 to 99 %)"."""
    if share is None:
        return "-"
    part, low, high = (f"{100 * value:.0f}" for value in (share.count / share.total, share.low, share.high))
    return f"{part} % ({share.count} of {share.total}; 95 % interval {low} to {high} %)"


def lot_page(summary: LotSummary, terminal: Terminal) -> str:
    """Return the page of a lot, one line feed at the end."""
    texts = [terminal.styled(", ".join(summary.lots), "1")]
    if summary.first_pass is None:
        return "\n".join([*texts, "No cable tested."]) + "\n"
    newest = ", ".join(f"{count} {word}" for word, count in summary.newest if count)
    texts += [
        f"{summary.cables} cables, {summary.tests} tests, {summary.undone} taken back. Now: {newest}.",
        f"First-pass yield  {percent(summary.first_pass)}",
        f"Final yield       {percent(summary.final)}",
    ]
    texts += said_of(summary)
    if summary.faults:
        texts.append("Faults: " + ", ".join(f"{fault} {tests}" for fault, tests in summary.faults) + ".")
        for place in summary.places[:MOST_PLACES]:
            where = f"{place.end} end" if place.end else "end not known"
            texts.append(f"  {place.tests:>5}  {place.fault}  contact {place.contact}, {where}")
        if len(summary.places) > MOST_PLACES:
            texts.append(f"  and {len(summary.places) - MOST_PLACES} places more")
    if summary.lengths is not None:
        lengths = summary.lengths
        texts.append(
            f"Length: median {lengths.median_m:.2f} m, from {lengths.low_m:.2f} to {lengths.high_m:.2f} m "
            f"({lengths.count} measured)."
        )
    texts += [f"{hour.replace('T', ' ')} h UTC: {tests} tests" for hour, tests in busiest(summary.hours)]
    return "\n".join(line for text in texts for line in _wrapped(text, terminal.width)) + "\n"


def said_of(summary: LotSummary) -> list[str]:
    """Return what stands out, in sentences: worn sockets first, then contacts, then drift."""
    said = []
    worn = socket_wear_ohm(summary.reference_ohm)
    if worn is not None:
        said.append(
            f"The reference cord reads {worn:.2f} ohm more than at first: the tester's sockets are worn. "
            "Change them before the crimper is blamed."
        )
    for end, contact, tests in again_and_again(summary):
        said.append(
            f"Contact {contact} at the {end} end failed {tests} times, more than chance explains: "
            "look at the crimper's die at that contact, and at how that conductor is laid in."
        )
    if summary.drift is not None and summary.drift.alarm_at is not None:
        said.append(_drift_sentence(summary.drift, worn is not None, bool(summary.reference_ohm)))
    return said


def socket_wear_ohm(reference_ohm: tuple[float, ...]) -> float | None:
    """Return by how much the newest test of the reference cord is above the first, None where that is no wear."""
    if len(reference_ohm) < 2 or reference_ohm[-1] - reference_ohm[0] < WORN_OHM:
        return None
    return reference_ohm[-1] - reference_ohm[0]


def busiest(hours: tuple[tuple[str, int], ...], most: int = 3) -> list[tuple[str, int]]:
    """Return the hours with the most tests, in order of time."""
    return sorted(sorted(hours, key=lambda hour: -hour[1])[:most])


def brief(summary: LotSummary) -> dict[str, Any]:
    """Return the summary as JSON has it: counts, shares with their intervals, faults, what stands out."""
    return {
        "cables": summary.cables,
        "tests": summary.tests,
        "undone": summary.undone,
        "first_pass": _plain(summary.first_pass),
        "final": _plain(summary.final),
        "newest": dict(summary.newest),
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
        )
        for summary in summaries
    ]


def _row(share: Share | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if share is None else (share.count / share.total, share.low, share.high)


def _plain(share: Share | None) -> dict[str, float] | None:
    if share is None:
        return None
    return {"count": share.count, "total": share.total, "low": share.low, "high": share.high}


def _drift_sentence(found: Drift, worn: bool, looked: bool) -> str:
    began = (found.began_at or 0) + 1
    rise = f" by {found.rise:.3f} ohm" if found.rise is not None else ""
    why = "the sockets account for it" if worn else "the reference cord does not rise: look at crimper and plugs"
    if not looked:
        why = "test the reference cord, to tell the tester's sockets from the crimper"
    return f"Contact resistance rises{rise} from the {_ordinal(began)} cable that passed; {why}."


def _ordinal(number: int) -> str:
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def _wrapped(text: str, width: int) -> list[str]:
    if text.startswith(" ") or "\x1b" in text:
        return [text]
    return textwrap.wrap(text, width) or [""]
