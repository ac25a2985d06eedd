"""What is said of a lot: its yield in one line, and what stands out."""

from wiremap.records.lots.drift import Drift
from wiremap.records.lots.statistics import LotSummary, Share, again_and_again

WORN_OHM = 0.1  # assumption: a rise of a reference cord by this is the sockets', not the cord's


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
