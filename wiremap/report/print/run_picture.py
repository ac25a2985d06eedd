"""The picture of a run: sampled reflections with what comes back marked, length of each pair, the pairs as a matrix."""

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np

from wiremap.cable.limits import limits
from wiremap.cable.materials import LIGHT_M_PER_S
from wiremap.cable.patterns import Pattern
from wiremap.judge.measurements import Length, Pairing
from wiremap.judge.run.capacitance import Groups, groups
from wiremap.judge.run.echo import Reflections, reflections
from wiremap.judge.run.length.observed import echo_zero_ps
from wiremap.judge.run.pairing.pairing import expected_pairs
from wiremap.judge.verdict import Diagnosis
from wiremap.judge.wiring.laid_reading import lay_reading
from wiremap.reading.parts import Trace
from wiremap.reading.reading import Reading
from wiremap.report.print.canvas import INK, MM_PER_INCH, SOFT, FileKind
from wiremap.report.words.measurements import length_words, pairing_words
from wiremap.report.words.origin import FLAGS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MARK, BAND = "#b3261e", "#c9d6e2"
TRACE_MM, LENGTH_MM, MATRIX_MM, FRAME_MM = 24.0, 6.5, 78.0, 20.0
USUAL_NVP = 0.68  # of solid polyethylene, where nothing else is known
BEYOND = 1.35  # of the last echo: so much of a trace is shown
SETTINGS = {
    "pdf.fonttype": 42,
    "svg.fonttype": "path",
    "svg.hashsalt": "wiremap",
    "font.size": 8,
    "axes.edgecolor": SOFT,
}
MARKERS = {"echo": "o", "capacitance": "s", "resistance": "^", "fused": "D"}


def has_run(reading: Reading, diagnosis: Diagnosis) -> bool:
    """Whether there is anything of the run to draw."""
    return bool(reading.traces or diagnosis.lengths or diagnosis.pairs)


def run_picture(
    reading: Reading, diagnosis: Diagnosis, pattern: Pattern | None, kind: FileKind, width_mm: float = 180.0
) -> bytes:
    """Return a PNG, PDF or SVG of what was measured of the run; the same reading gives the same bytes."""
    import matplotlib.style
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    metadata: dict[str, Any] = {"png": {"Software": None}, "pdf": {"CreationDate": None}, "svg": {"Date": None}}[kind]
    traces = [trace for trace in reading.traces if trace.a.end == "near"]
    seen = None
    if pattern is not None and diagnosis.pairs is not None and reading.capacitance is not None:
        seen = groups(lay_reading(reading, pattern, limits()))
    heights = []
    if traces:
        heights.append(FRAME_MM + TRACE_MM * len(traces))
    rows = _length_rows(diagnosis.lengths)
    if rows:
        heights.append(FRAME_MM + LENGTH_MM * sum(len(some) for _, some in rows))
    if seen is not None:
        heights.append(MATRIX_MM)
    heights = heights or [FRAME_MM]
    with matplotlib.style.context(["default", SETTINGS]):
        figure = Figure(figsize=(width_mm / MM_PER_INCH, sum(heights) / MM_PER_INCH), layout="constrained")
        FigureCanvasAgg(figure)
        if flag := FLAGS[reading.origin]:
            figure.suptitle(flag, fontsize=12, fontweight="bold", color=INK)
        parts = iter(figure.subfigures(len(heights), 1, squeeze=False, height_ratios=heights).flat)
        if traces:
            _draw_traces(next(parts), traces, reading, diagnosis)
        if rows:
            _draw_lengths(next(parts).add_subplot(), rows)
        if seen is not None and diagnosis.pairs is not None and pattern is not None:
            _draw_matrix(next(parts).add_subplot(), seen, diagnosis.pairs, pattern)
        content = BytesIO()
        figure.savefig(content, format=kind, dpi=200, metadata=metadata)
    return content.getvalue()


def _draw_traces(part: Any, traces: Sequence[Trace], reading: Reading, diagnosis: Diagnosis) -> None:
    """Draw each trace over distance, the launch impedance at its left, and what comes back marked."""
    kind = diagnosis.kind
    nvp = USUAL_NVP if kind is None else kind.nvp
    m_per_ps = nvp * LIGHT_M_PER_S / 2 * 1e-12
    zero_ps = echo_zero_ps(reading, limits())
    seen = [reflections(trace, limits()) for trace in traces]
    ends = [step.time_ps for one in seen for step in one.steps]
    last_ps = BEYOND * max(ends, default=max(trace.t0_ps + trace.dt_ps * len(trace.microvolts) for trace in traces))
    last_m = (last_ps - zero_ps) * m_per_ps
    split = {frozenset(pair) for pair in diagnosis.pairs.split} if diagnosis.pairs is not None else set()
    all_axes = list(part.subplots(len(traces), 1, sharex=True, sharey=True, squeeze=False).flat)
    for axes, trace, found in zip(all_axes, traces, seen, strict=True):
        times = trace.t0_ps + trace.dt_ps * np.arange(len(trace.microvolts))
        volts = np.array(trace.microvolts) / trace.step_microvolts
        odd = frozenset((trace.a.name, trace.b.name)) in split
        axes.plot((times - zero_ps) * m_per_ps, volts, color=MARK if odd else INK, linewidth=1.2)
        _mark_steps(axes, found, m_per_ps, zero_ps)
        ohm = "" if found.launch_ohm is None else f"\n{found.launch_ohm:.0f} ohm"
        name = f"{trace.a.name}-{trace.b.name}"
        axes.set_ylabel(f"{name}{ohm}", rotation=0, ha="right", va="center", color=MARK if odd else INK)
        axes.set_yticks([0.0, 0.5, 1.0])
        axes.set_ylim(-0.15, 1.3)
        axes.grid(axis="x", color=BAND, linewidth=0.6)
        axes.spines[["top", "right"]].set_visible(False)
    all_axes[-1].set_xlim(-0.03 * last_m, last_m)
    known = "usual" if kind is None else "by all that was measured" if not kind.told else f"kind told: {kind.told}"
    all_axes[-1].set_xlabel(f"metres from the near plug, at the velocity factor {nvp:.3f} ({known})")
    all_axes[0].set_title("Reflections: parts of the step, by pair", loc="left", fontsize=9, fontweight="bold")


def _mark_steps(axes: "Axes", found: Reflections, m_per_ps: float, zero_ps: float) -> None:
    """Mark what comes back: the end, a short, or the two steps of a split pair."""
    for number, step in enumerate(found.steps):
        at_m = (step.time_ps - zero_ps) * m_per_ps
        falling = step.height < 0
        before = number == 0 and len(found.steps) > 1
        what = "falls at" if falling else "second step" if number else "echo" if before else "end"
        colour = MARK if falling or number else INK
        axes.axvline(at_m, color=colour, linestyle=":", linewidth=1.0)
        axes.annotate(
            f"{what} {at_m:.{2 if at_m < 10 else 1}f} m",
            (at_m, 1.3),
            (-4 if before else 4, -2),
            textcoords="offset points",
            ha="right" if before else "left",
            va="top",
            color=colour,
        )


def _length_rows(lengths: Sequence[Length]) -> list[tuple[str, list[Length]]]:
    """Return the lengths by pair, the cable's last."""
    rows: dict[tuple[str, str] | None, list[Length]] = {}
    for one in lengths:
        rows.setdefault(one.pair, []).append(one)
    return [("cable" if pair is None else "-".join(pair), some) for pair, some in rows.items()]


def _draw_lengths(axes: "Axes", rows: Sequence[tuple[str, list[Length]]]) -> None:
    """Draw each length with its 95 % interval, those of a pair together."""
    place = 0.0
    ticks, names = [], []
    for name, some in rows:
        middle = place + (len(some) - 1) / 2
        if name == "cable":
            axes.axhspan(place - 0.5, place + len(some) - 0.5, color=BAND, alpha=0.5, linewidth=0)
        for one in some:
            fused = one.method == "fused"
            colour = INK if fused else SOFT
            axes.plot([one.low_m, one.high_m], [place, place], color=colour, linewidth=2.4 if fused else 1.2)
            axes.plot(one.length_m, place, MARKERS[one.method], color=colour, markersize=5 if fused else 4)
            words = f"{one.method}  {length_words(one)}" if name == "cable" or fused else one.method
            axes.annotate(words, (one.high_m, place), (5, 0), textcoords="offset points", va="center", color=colour)
            place += 1.0
        ticks.append(middle)
        names.append(name)
        place += 0.4
    largest = max(one.high_m for _, some in rows for one in some)
    smallest = min(one.low_m for _, some in rows for one in some)
    span = max(largest - smallest, 0.1)
    axes.set_xlim(max(smallest - 0.08 * span, 0.0), largest + 0.75 * span)
    axes.set_ylim(place - 0.6, -0.8)
    axes.set_yticks(ticks, names)
    axes.tick_params(axis="y", length=0)
    axes.set_xlabel("metres; lines are 95 % intervals")
    axes.set_title("Length", loc="left", fontsize=9, fontweight="bold")
    axes.grid(axis="x", color=BAND, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right", "left"]].set_visible(False)


def _draw_matrix(axes: "Axes", seen: Groups, found: Pairing, pattern: Pattern) -> None:
    """Draw what each two near contacts show each other, pairs framed: as expected dark, otherwise red."""
    values = np.array(seen.direct_pf if seen.direct_pf is not None else seen.two_terminal_pf)
    rows = [(number, names[0]) for number, names in enumerate(seen.near) if len(names) == 1]
    contacts = [name for _, name in rows]
    part = values[np.ix_([number for number, _ in rows], [number for number, _ in rows])]
    np.fill_diagonal(part, np.nan)
    largest = float(np.nanmax(part, initial=1e-9))
    axes.imshow(part / largest, cmap="Blues", vmin=0.0, vmax=1.6)
    expected = {frozenset(pair) for pair in expected_pairs(pattern)}
    for i, a in enumerate(contacts):
        for j, b in enumerate(contacts):
            if i == j or np.isnan(part[i, j]):
                continue
            text = f"{part[i, j]:.0f}" if largest >= 20 else f"{part[i, j]:.1f}"
            paired = frozenset((a, b)) in {frozenset(pair) for pair in found.pairs}
            axes.text(
                j, i, text, ha="center", va="center", color=INK, fontweight="bold" if paired else "normal", fontsize=7
            )
            if paired and found.verdict != "cannot tell":
                wrong = expected and frozenset((a, b)) not in expected
                _frame(axes, i, j, MARK if wrong else INK)
    axes.set_xticks(range(len(contacts)), contacts)
    axes.set_yticks(range(len(contacts)), contacts)
    axes.tick_params(length=0)
    axes.spines[:].set_visible(False)
    axes.set_title("Pairs: picofarads between near contacts", loc="left", fontsize=9, fontweight="bold")
    axes.annotate(
        "\n".join(pairing_words(found)),
        (1.04, 1.0),
        xycoords="axes fraction",
        va="top",
        color=INK,
    )


def _frame(axes: "Axes", row: int, column: int, colour: str) -> None:
    from matplotlib.patches import Rectangle

    axes.add_patch(Rectangle((column - 0.46, row - 0.46), 0.92, 0.92, fill=False, edgecolor=colour, linewidth=1.6))
