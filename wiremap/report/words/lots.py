"""What is said of a lot: its yield in one line, and what stands out."""

from collections.abc import Sequence

from wiremap.judge.findings import VERDICTS, Verdict
from wiremap.records.lots.against import Difference, DifferenceKind
from wiremap.records.lots.drift import Drift
from wiremap.records.lots.ends import EndSeen, LotEnd
from wiremap.records.lots.ledger import LeftBehind
from wiremap.records.lots.ledger_entry import LedgerFault
from wiremap.records.lots.statistics import FailedLabel, LotSummary, Share, again_and_again
from wiremap.report.words.faults import how_many
from wiremap.report.words.origin import FLAGS

NOW: dict[Verdict, str] = {"pass": "passes now", "fail": "fails", "undecided": "undecided"}
WORN_OHM = 0.1  # assumption: a rise of a reference cord by this is the sockets', not the cord's

DIFFERENCES: dict[DifferenceKind, str] = {
    "no-capture": "line {line} of the ledger names a test without a capture",
    "missing": "line {line} of the ledger names the capture {file}, which is missing",
    "changed": "the capture {file} of line {line} was changed after it was written",
    "not-the-one": "the capture {file} is another one than line {line} of the ledger names",
    "not-entered": "no line of the ledger names the capture {file}",
    "no-line-yet": "the newest capture, {file}, has no line in the ledger: a program was stopped between the two, "
    "or the line was cut off since; `wiremap batch LOT` enters it as a test whose verdict nobody saw",
    "says-other": "line {line} of the ledger and its capture {file} differ in {what}",
    "order": "the capture {file} of line {line} does not follow the capture that stands before it",
    "repeats": "the capture {file} repeats another test than line {line} of the ledger says",
    "unreadable": "what line {line} of the ledger names, {file}, is no capture",
}
WHATS = {
    "made_utc": "the time",
    "label": "the label",
    "verdict": "the verdict",
    "faults": "the faults",
    "tester": "the tester",
    "contact_ohm": "the ohms",
    "length_m": "the length",
    "origin": "where the reading comes from",
    "kind": "whether it is of the reference cord",
}
MOST_DIFFERENCES = 8
BY_KEY = {
    "none": "not signed, so anyone may have written it",
    "known": "signed with the key '{signer}'",
    "unknown": "signed with a key not known here",
    "wrong": "its signature does not fit",
}


def found_said(found: LeftBehind) -> str:
    """Return what was put right when a lot was opened that a program was killed at, "" = nothing."""
    said = []
    if found.unshown:
        labels = ", ".join(label or "reference cord" for label in found.unshown)
        tests = how_many(len(found.unshown), "test")
        said.append(f"{tests} whose verdict nobody saw ({labels}): kept as such, and the label is free again")
    if found.again:
        said.append(f"the ledger was gone: {how_many(found.again, 'capture')} entered again")
    if found.cut_bytes:
        said.append(f"half a line of {found.cut_bytes} bytes at the ledger's end, cut off")
    if found.parts:
        said.append(f"{how_many(found.parts, 'half-written file')}, taken away")
    return "This lot was stopped in the middle. Found: " + "; ".join(said) + "." if said else ""


def differences_said(found: Sequence[Difference]) -> list[str]:
    """Return what a lot's ledger and its captures do not agree about, a sentence each, a long list cut."""
    said = [
        DIFFERENCES[each.kind].format(line=each.line, file=each.file, what=WHATS.get(each.what, each.what))
        for each in found[:MOST_DIFFERENCES]
    ]
    return said + ([f"and {len(found) - MOST_DIFFERENCES} differences more"] if len(found) > MOST_DIFFERENCES else [])


def end_problem(seen: EndSeen) -> str:
    """Return what is wrong with a lot that was closed, or with its end; "" = nothing."""
    if seen.state == "changed":
        return f"{seen.file}, the end of the lot, was changed after it was written"
    if seen.signature == "wrong":
        return f"{seen.file}, the end of the lot: its signature does not fit"
    if seen.state == "cut-off":
        had = how_many(seen.end.lines, "line")
        return f"when it was closed, {_when(seen.end)}, the ledger had {had}; some were cut off since"
    if seen.state == "not-the-one":
        return f"the ledger is not the one that was closed {_when(seen.end)}"
    return ""


def end_note(seen: EndSeen) -> str:
    """Return what an end of a lot says that holds: when it was closed, by whom, what there was, what came after."""
    if end_problem(seen):
        return ""
    after = {0: "nothing came after", 1: "one line came after"}.get(seen.after, f"{seen.after} lines came after")
    signed = BY_KEY[seen.signature].format(signer=seen.signer)
    return f"closed {_when(seen.end)}, {signed}: {closed_with(seen.end)}; {after}"


def closed_with(end: LotEnd) -> str:
    """Return what a lot had when it was closed."""
    verdicts = ", ".join(f"{end.verdicts[word]} {word}" for word in VERDICTS if end.verdicts.get(word))
    had = f"{how_many(end.lines, 'line')}, {how_many(end.captures, 'capture')}"
    return had + (f" ({verdicts})" if verdicts else "")


def _when(end: LotEnd) -> str:
    return f"{end.made_utc[:10]} {end.made_utc[11:16]} UTC"


CLOSE_CLAIM = (
    "The end shows lines and captures cut off later, as long as its file is kept. Note these digits where nobody can "
    "take them away, on the job's sheet say: {digits}"
)


def in_one_line(summary: LotSummary) -> str:
    """Return a lot in one line."""
    name, origin = ", ".join(summary.lots), origin_of_lot(summary)
    if summary.first_pass is None:
        return f"{name}: no cable tested."
    name += f", {origin}" if origin else ""
    repaired = f", after repair {summary.final.count} of {summary.final.total}" if summary.final else ""
    return (
        f"{name}: {how_many(summary.cables, 'cable')}, {how_many(summary.tests, 'test')}, "
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
