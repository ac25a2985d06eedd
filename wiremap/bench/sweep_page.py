"""What the technician sees while a lot is swept: progress, the last verdict, what to do, the keys; pure."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from wiremap.bench.sweep import Phase, Sweep, running_label
from wiremap.judge.case import Case
from wiremap.records.lots.statistics import LotSummary
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page
from wiremap.report.words.faults import VERDICTS

PROMPTS: dict[tuple[Phase, str], str] = {
    ("clear", ""): "Take the cable out of both sockets.",
    ("waiting", ""): "Put the next cable in both sockets.",
    ("waiting", "nothing"): "Nothing is joined. Space again: test it as a cable that is open everywhere.",
    ("waiting", "retest"): "Put the cable in that is to be tested again.",
    ("waiting", "undone"): "The last label is free again. Put the next cable in.",
    ("seating", ""): "A cable is seen: hold it still.",
    ("seating", "moved"): "It moved during the test, so that test does not count. Hold it still.",
    ("not-seated", ""): "A plug is not home: push both in until they click. Space: test it as it is.",
    ("measuring", ""): "Measuring.",
    ("checking", ""): "Measuring.",
    ("recording", ""): "Measuring.",
    ("label", ""): "Scan the label of this cable.",
    ("label", "out"): "Scan the label of the cable that was just taken out.",
    ("known-label", ""): "This label was tested before. Space: it is that cable again. Else scan the right label.",
    ("shown", ""): "Take it out.",
    ("shown", "undone"): "The last label is free again. Take the cable out.",
    ("shown", "out"): "This is the cable that was taken out before. Take out what is in the sockets.",
    ("reference", ""): "Put the reference cord in, then press space. s: not now.",
    ("lost", ""): "The tester does not answer. Plug it in again: the lot goes on by itself.",
    ("full", ""): "The disk is full. Make room, then press space: this cable is tested again.",
    ("done", ""): "Every cable of the lot is tested. Space: more cables. q: stop.",
}
KEYS = "space again  r retest  n note  s skip  u undo  l label  q stop"
SHORT_KEYS = "space r n s u l q: see wiremap batch --help"


@dataclass(frozen=True, slots=True)
class Standing:
    """What the page says beside the sweep's own state.

    case: the cable whose verdict stands, None = none. trouble: what went wrong last, "" = nothing.
    """

    lot: str
    summary: LotSummary
    case: Case | None = None
    trouble: str = ""


def prompt(sweep: Sweep) -> str:
    """Return what to do now, in one sentence or two."""
    return PROMPTS.get((sweep.phase, sweep.said)) or PROMPTS[sweep.phase, ""]


def progress(sweep: Sweep, standing: Standing) -> str:
    """Return how far the lot is, in one line: label, count, yield, tally."""
    summary = standing.summary
    of = f" of {sweep.plan.count}" if sweep.plan.count else ""
    parts = [standing.lot, f"{summary.cables}{of} tested"]
    if summary.first_pass is not None:
        parts.append(f"first-pass yield {100 * summary.first_pass.count / summary.first_pass.total:.0f} %")
        parts.append(", ".join(f"{count} {word}" for word, count in summary.newest if count))
    return "   ".join(parts)


def next_label(sweep: Sweep) -> str:
    """Return the label the next cable will get, "" where it is still to be scanned."""
    if sweep.label is not None:
        return sweep.label
    return "" if sweep.plan.labels.scanned else running_label(sweep)


def sweep_page(sweep: Sweep, standing: Standing, terminal: Terminal) -> str:
    """Return the whole page, no longer than the terminal is high."""
    top = [_cut(progress(sweep, standing), terminal.width)]
    foot = _wrapped(standing.trouble, terminal.width) if standing.trouble and sweep.phase in ("lost", "full") else []
    foot += [terminal.styled(line, "1") for line in _wrapped(_prompt_with_label(sweep), terminal.width)]
    foot.append(KEYS if terminal.width >= len(KEYS) else _cut(SHORT_KEYS, terminal.width))
    height = terminal.height or 24
    room = height - 1 - len(top) - len(foot)
    middle = _verdict_lines(sweep, standing, terminal, room)
    return "\n".join([*top, *middle[:room], *foot]) + "\n"


def _prompt_with_label(sweep: Sweep) -> str:
    label = next_label(sweep)
    named = sweep.phase in ("waiting", "seating", "measuring") and label
    return prompt(sweep) + (f" Next: {label}." if named else "")


def _verdict_lines(sweep: Sweep, standing: Standing, terminal: Terminal, room: int) -> Sequence[str]:
    """Return the verdict large while its cable is in, in one line when it is out, and nothing while another is in."""
    if standing.case is None or sweep.phase in ("seating", "not-seated", "measuring", "checking", "recording", "label"):
        return []
    if sweep.phase == "shown" and sweep.said != "undone":
        small = Terminal(terminal.width, room, terminal.colours, terminal.blocks)
        return page(standing.case, small).splitlines()
    last = sweep.last
    if last is None:
        return []
    return [f"Last: {last.label or 'reference cord'}  {VERDICTS[last.verdict]}"]


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width) or [""]


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 3] + "..."
