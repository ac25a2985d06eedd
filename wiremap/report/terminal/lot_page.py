"""The page of a lot, or of several, in a terminal."""

import textwrap

from wiremap.records.lots.statistics import LotSummary
from wiremap.report.terminal.display import Terminal
from wiremap.report.words.lots import percent, said_of

MOST_PLACES = 8


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


def busiest(hours: tuple[tuple[str, int], ...], most: int = 3) -> list[tuple[str, int]]:
    """Return the hours with the most tests, in order of time."""
    return sorted(sorted(hours, key=lambda hour: -hour[1])[:most])


def _wrapped(text: str, width: int) -> list[str]:
    if text.startswith(" ") or "\x1b" in text:
        return [text]
    return textwrap.wrap(text, width) or [""]
