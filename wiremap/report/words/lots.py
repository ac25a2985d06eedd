"""What is said of a lot: its yield in one line, and what stands out."""

from collections.abc import Sequence

from wiremap.judge.findings import Verdict
from wiremap.records.lots.drift import Drift
from wiremap.records.lots.ledger_entry import LedgerFault
from wiremap.records.lots.statistics import FailedLabel, LotSummary, Share, again_and_again
from wiremap.report.words.origin import FLAGS

NOW: dict[Verdict, str] = {"pass": "passes now", "fail": "fails", "undecided": "undecided"}
WORN_OHM = 0.1  # assumption: a rise of a reference cord by this is the sockets', not the cord's


def in_one_line(summary: LotSummary) -> str:
    """Return a lot in one line."""
    name = ", ".join(summary.lots)
    if summary.first_pass is None:
        return f"{name}: no cable tested."
    repaired = f", after repair {summary.final.count} of {summary.final.total}" if summary.final else ""
    return (
        f"{name}: {summary.cables} cables, {summary.tests} tests, "
        f"first-pass yield {percent(summary.first_pass)}{repaired}."
    )


def origin_of_lot(summary: LotSummary) -> str:
    """Return what must be seen of where a lot's readings come from, "" where a tester measured all of them."""
    flags = {FLAGS[origin]: count for origin, count in summary.origins if FLAGS[origin]}
    return ", ".join(
        flag if count == summary.tests else f"{count} of {summary.tests} tests {flag}" for flag, count in flags.items()
    )


def fault_in_short(fault: LedgerFault) -> str:
    """Return a fault of a ledger in a few words: "open 3 at the far end"."""
    contacts = fault.far if fault.end == "far" or not fault.near else fault.near
    where = f" at the {fault.end} end" if fault.end in ("near", "far") else ""
    return " ".join(part for part in (fault.fault, ",".join(contacts)) if part) + where


def faults_of_label(label: FailedLabel) -> str:
    """Return what was found under a label that did not pass: its faults, else its verdict."""
    return "; ".join(map(fault_in_short, label.faults)) or label.found


def failed_labels_heading(labels: Sequence[FailedLabel]) -> str:
    """Return how many labels did not pass, and how many of them were mended."""
    mended = sum(label.mended for label in labels)
    return f"Labels that did not pass: {len(labels)}, mended since: {mended}."


def failed_label_line(label: FailedLabel, many_lots: bool) -> str:
    """Return a label that did not pass: what was found, and how it stands now."""
    name = f"{label.lot} {label.label}" if many_lots else label.label
    return f"{name}   {faults_of_label(label)}   {'mended, ' if label.mended else ''}{NOW[label.now]}"


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
