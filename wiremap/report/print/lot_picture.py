"""The picture of a lot: yield, where the faults are, contact resistance along the lot, tests by the hour."""

from io import BytesIO
from typing import TYPE_CHECKING, Any

from wiremap.records.lots.statistics import LotSummary
from wiremap.report.print.canvas import printable_part
from wiremap.report.words.lots import in_one_line

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SIZE_INCH = (8.27, 5.85)  # A5 lying
MOST_BARS = 12
LONGEST_TITLE, LONGEST_CONTACT = 400, 24  # letters
INK, MARK = "#333333", "#c44e00"
SETTINGS = {"pdf.fonttype": 42, "svg.hashsalt": "wiremap", "font.size": 8, "axes.edgecolor": INK}


def lot_picture(summary: LotSummary, kind: str) -> bytes:
    """Return the picture as a PNG, PDF or SVG file; the same lot gives the same bytes."""
    import matplotlib.style
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    metadata: dict[str, Any] = {"png": {"Software": None}, "pdf": {"CreationDate": None}, "svg": {"Date": None}}[kind]
    with matplotlib.style.context(["default", SETTINGS]):
        figure = Figure(figsize=SIZE_INCH, layout="constrained")
        FigureCanvasAgg(figure)
        figure.suptitle(printable_part(in_one_line(summary), LONGEST_TITLE), fontsize=10, wrap=True, parse_math=False)
        axes = figure.subplots(2, 2)
        _yield(axes[0][0], summary)
        _places(axes[0][1], summary)
        _resistance(axes[1][0], summary)
        _hours(axes[1][1], summary)
        for each in axes.flat:
            each.spines[["top", "right"]].set_visible(False)
        content = BytesIO()
        figure.savefig(content, format=kind, dpi=150, metadata=metadata)
    return content.getvalue()


def _yield(axes: "Axes", summary: LotSummary) -> None:
    axes.set_title("Yield, with 95 % intervals")
    axes.set_xlim(0, 100)
    axes.set_xlabel("%")
    axes.set_yticks([1, 0], ["first pass", "after repair"])
    axes.set_ylim(-0.6, 1.6)
    for place, found in ((1, summary.first_pass), (0, summary.final)):
        if found is None:
            continue
        part = 100 * found.count / found.total
        axes.errorbar(
            part, place, xerr=[[part - 100 * found.low], [100 * found.high - part]], fmt="o", color=INK, capsize=4
        )
        axes.text(part, place + 0.15, f"{found.count} of {found.total}", ha="center", va="bottom")


def _places(axes: "Axes", summary: LotSummary) -> None:
    from matplotlib.ticker import MaxNLocator

    axes.set_title("Tests with a fault, by contact")
    shown = summary.failed[:MOST_BARS]
    names = [f"{printable_part(contact, LONGEST_CONTACT)} {end or '(either end)'}" for end, contact, _ in shown]
    axes.barh(range(len(shown)), [tests for _, _, tests in shown], color=INK)
    axes.set_yticks(range(len(shown)), names, parse_math=False)
    axes.invert_yaxis()
    axes.set_xlabel("tests" if shown else "no faults")
    axes.xaxis.set_major_locator(MaxNLocator(integer=True))


def _resistance(axes: "Axes", summary: LotSummary) -> None:
    from matplotlib.ticker import MaxNLocator

    axes.set_title("Conductor resistance of the cables that passed")
    axes.xaxis.set_major_locator(MaxNLocator(integer=True))
    axes.set_xlabel("test, in order")
    axes.set_ylabel("ohm")
    values, found = summary.contact_ohm, summary.drift
    if not values:
        return
    count = found.count if found else len(values)
    step = count / len(values)
    axes.plot([1 + k * step for k in range(len(values))], values, ".", color=INK, markersize=3)
    if found is not None and found.alarm_at is not None:
        axes.axvline((found.began_at or 0) + 1, color=MARK, linestyle="--")
        axes.text((found.began_at or 0) + 1, max(values), " rises from here", color=MARK, va="top")


def _hours(axes: "Axes", summary: LotSummary) -> None:
    from matplotlib.ticker import MaxNLocator

    axes.set_title("Tests by the hour")
    axes.yaxis.set_major_locator(MaxNLocator(integer=True))
    shown = summary.hours[-24:]
    axes.bar(range(len(shown)), [tests for _, tests in shown], color=INK)
    every = max(1, len(shown) // 8)
    places = range(0, len(shown), every)
    hours = [printable_part(shown[place][0], LONGEST_CONTACT)[5:].replace("T", "\n") + " h" for place in places]
    axes.set_xticks(list(places), hours, parse_math=False)
    axes.set_xlabel("UTC")
