"""The page of a lot, or of several, in a terminal."""

from collections.abc import Sequence

from wiremap.lines import in_lines
from wiremap.records.lots.statistics import FailedLabel, LotSummary
from wiremap.report.terminal.display import Terminal
from wiremap.report.words.faults import how_many
from wiremap.report.words.lots import failed_label_line, failed_labels_heading, origin_of_lot, percent, said_of

MOST_PLACES = 8
MOST_LABELS = 12


def lot_page(summary: LotSummary, terminal: Terminal) -> str:
    """Return the page of a lot, one line feed at the end."""
    title = "   ".join(text for text in (", ".join(summary.lots), origin_of_lot(summary)) if text)
    texts = [terminal.styled(title, "1")]
    if summary.first_pass is None:
        return "\n".join([*texts, "No cable tested."]) + "\n"
    cables = how_many(summary.cables if summary.planned is None else summary.planned, "cable")
    cables = cables if summary.planned is None else f"{summary.cables} of {cables}"
    newest = ", ".join(f"{count} {word}" for word, count in summary.newest if count)
    texts += [
        f"{cables}, {how_many(summary.tests, 'test')}, {summary.undone} taken back. Now: {newest}.",
        f"First-pass yield  {percent(summary.first_pass)}",
        f"After repair      {percent(summary.final)}",
    ]
    if summary.failed_labels:
        texts += failed_labels(summary, MOST_LABELS)
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
    texts += [f"{hour.replace('T', ' ')} h UTC: {how_many(tests, 'test')}" for hour, tests in busiest(summary.hours)]
    return "\n".join(line for text in texts for line in _wrapped(text, terminal.width)) + "\n"


def failed_labels_page(summary: LotSummary, terminal: Terminal) -> str:
    """Return every label of which a test did not pass, a line each, one line feed at the end."""
    return "\n".join(line for text in failed_labels(summary) for line in _wrapped(text, terminal.width)) + "\n"


def failed_labels(summary: LotSummary, most: int | None = None) -> list[str]:
    """Return how many labels did not pass, and the first `most` of them (None = all), a line each."""
    shown: Sequence[FailedLabel] = summary.failed_labels[:most]
    lines = [f"  {failed_label_line(label, len(summary.lots) > 1)}" for label in shown]
    more = len(summary.failed_labels) - len(shown)
    return [failed_labels_heading(summary.failed_labels), *lines, *([f"  and {more} more: --failed"] if more else [])]


def busiest(hours: tuple[tuple[str, int], ...], most: int = 3) -> list[tuple[str, int]]:
    """Return the hours with the most tests, in order of time."""
    return sorted(sorted(hours, key=lambda hour: -hour[1])[:most])


def _wrapped(text: str, width: int) -> list[str]:
    if "\x1b" in text:
        return [text]
    return in_lines(text, width, then="      " if text.startswith(" ") else "") or [""]
