"""The picture of a watch: for each place a line in time, with what came and went, and when the cable was moved."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

from wiremap.reading.parts import Event
from wiremap.reading.reading import Origin
from wiremap.report.words.faults import how_many
from wiremap.report.words.origin import FLAGS

WIDTH_INCH, ROW_INCH, FRAME_INCH = 8.27, 0.35, 1.6
MOST_ROWS = 40
INK, MARK, MOVED = "#333333", "#c44e00", "#4477aa"
LEAST_SHARE = 0.003  # of the picture's width, so that an event of a millisecond shows
SETTINGS = {"pdf.fonttype": 42, "svg.hashsalt": "wiremap", "font.size": 8, "axes.edgecolor": INK}


def watch_picture(
    events: Sequence[Event], moved_us: Sequence[int], watched_us: int, kind: str, origin: Origin
) -> bytes:
    """Return a PNG, PDF or SVG file; the same watch gives the same bytes. origin: of the reading that it is of."""
    import matplotlib.style
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    metadata: dict[str, Any] = {"png": {"Software": None}, "pdf": {"CreationDate": None}, "svg": {"Date": None}}[kind]
    rows = sorted({(event.a, event.b, event.change) for event in events})
    shown = rows[:MOST_ROWS]
    with matplotlib.style.context(["default", SETTINGS]):
        figure = Figure(figsize=(WIDTH_INCH, FRAME_INCH + ROW_INCH * max(1, len(shown))), layout="constrained")
        FigureCanvasAgg(figure)
        axes = figure.add_subplot()
        least_s = LEAST_SHARE * watched_us / 1e6
        for place, row in enumerate(shown):
            spells = [_spell(event, watched_us, least_s) for event in events if (event.a, event.b, event.change) == row]
            axes.broken_barh(spells, (place - 0.35, 0.7), color=MARK if row[2] == "opened" else INK)
        for at_us in moved_us:
            axes.axvline(at_us / 1e6, color=MOVED, linestyle=":")
        axes.set_yticks(range(len(shown)), [f"{a} - {b} {change}" for a, b, change in shown])
        axes.set_ylim(max(1, len(shown)) - 0.5, -0.5)
        axes.set_xlim(0, max(watched_us / 1e6, 1e-3))
        axes.set_xlabel("seconds; dotted: the cable was moved")
        more = f" ({len(rows) - MOST_ROWS} places more are not shown)" if len(rows) > MOST_ROWS else ""
        count = how_many(len(events), "event") if events else "No event"
        axes.set_title("   ".join(text for text in (FLAGS[origin], count + more) if text))
        axes.spines[["top", "right"]].set_visible(False)
        content = BytesIO()
        figure.savefig(content, format=kind, dpi=150, metadata=metadata)
    return content.getvalue()


def _spell(event: Event, watched_us: int, least_s: float) -> tuple[float, float]:
    until_us = watched_us if event.for_us is None else event.at_us + event.for_us
    return event.at_us / 1e6, max((until_us - event.at_us) / 1e6, least_s)
