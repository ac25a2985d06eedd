"""What the technician sees while a lot is swept: progress, the last verdict, what to do, the keys; pure."""

from collections.abc import Sequence

from msgspec import Struct

from wiremap.bench.sweep import Phase, Sweep, running_label
from wiremap.judge.case import Case
from wiremap.lines import in_lines, in_width
from wiremap.records.lots.so_far import LotCounts
from wiremap.records.lots.statistics import Share
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page
from wiremap.report.words.faults import VERDICT_WORDS

PROMPTS: dict[tuple[Phase, str], str] = {
    ("clear", ""): "Take the cable out of both sockets.",
    ("clear", "broken"): "No verdict on this cable, through no fault of it. Take it out; its label stays free.",
    ("waiting", ""): "Put the next cable in both sockets.",
    ("waiting", "nothing"): "Nothing is joined.",
    ("waiting", "retest"): "Put the cable in that is to be tested again.",
    ("waiting", "labelled"): "This label is new in the lot. Put its cable in both sockets.",
    ("waiting", "undone"): "The last label is free again. Put the next cable in.",
    ("waiting", "before"): "Taken back: the verdict before counts again. Put the next cable in.",
    ("seating", ""): "A cable is seen: hold it still.",
    ("seating", "moved"): "It moved during the test, so that test does not count. Hold it still.",
    ("not-seated", ""): "A plug is not home: push both in until they click.",
    ("measuring", ""): "Measuring.",
    ("checking", ""): "Measuring.",
    ("recording", ""): "Measuring.",
    ("label", ""): "Scan the label of this cable.",
    ("label", "out"): "Scan the label of the cable that was just taken out.",
    ("known-label", ""): "This label was tested before: is it that cable again? Else scan the right label.",
    ("shown", ""): "Take it out.",
    ("shown", "retest"): "Take it out. The cable that is to be tested again comes next.",
    ("shown", "undone"): "The last label is free again. Take the cable out.",
    ("shown", "before"): "Taken back: the verdict before counts again. Take the cable out.",
    ("shown", "out"): "This is the cable that was taken out before. Take out what is in the sockets.",
    ("reference", ""): "Put the reference cord in.",
    ("lost", ""): "The tester does not answer. Plug it in again: the lot goes on by itself.",
    ("full", ""): "The test could not be kept. Put right what stands in its way; this cable is tested again.",
    ("done", ""): "Every cable of the lot is tested.",
    ("done", "labelled"): "No cable of the lot has this label.",
}
MAIN_MEANS: dict[tuple[Phase, str], str] = {  # where the page asks for it, and so names the key
    ("waiting", "nothing"): "test it as a cable that is open everywhere",
    ("not-seated", ""): "test it as it is",
    ("known-label", ""): "it is that cable again",
    ("reference", ""): "test it",
    ("full", ""): "it is put right",
    ("done", ""): "more cables",
    ("done", "labelled"): "it is one more cable",
}
MORE_KEYS: dict[tuple[Phase, str], str] = {
    ("reference", ""): " s: not now.",
    ("done", ""): " q: stop.",
    ("done", "labelled"): " l: another label.",
}
ANOTHER_IN = ("seating", "not-seated", "measuring", "checking", "recording", "label")  # no verdict may stand then
TAKEN_BACK = ("undone", "before")
COUNTED_AGAIN = "The verdicts before stay in the record; this one counts."
SWEEP_KEYS = "space again  r retest  n note  s skip  u undo  l label  q stop"
LETTERS_SHOWN = 60  # of a label within a sentence
LEAST_LARGE_ROWS = 8  # a verdict in large letters needs four of them; with fewer the next step would have no room
SHORT_KEYS = "space r n s u l q: see wiremap batch --help"


class Standing(Struct, frozen=True):
    """What the page says beside the sweep's own state.

    case: the cable whose verdict stands, None = none. trouble: what went wrong last, "" = nothing.
    found: what was put right when the lot was opened, "" = nothing; it stands until the first verdict.
    """

    lot: str
    counts: LotCounts
    case: Case | None = None
    trouble: str = ""
    found: str = ""


def what_now_in_lot(sweep: Sweep) -> str:
    """Return what to do now, in one sentence or two, without keys."""
    return PROMPTS[_key(sweep)]


def main_means(sweep: Sweep) -> str:
    """Return what the main key does where the page asks for it; "" elsewhere."""
    return MAIN_MEANS.get(_key(sweep), "")


def prompt(sweep: Sweep) -> str:
    """Return what to do now, with the keys that the page asks for."""
    means = main_means(sweep)
    return what_now_in_lot(sweep) + (f" Space: {means}." if means else "") + MORE_KEYS.get(_key(sweep), "")


def _key(sweep: Sweep) -> tuple[Phase, str]:
    exact: tuple[Phase, str] = (sweep.phase, sweep.said)
    return exact if exact in PROMPTS else (sweep.phase, "")


def idle_sentence(idle_s: float) -> str:
    """Return why a lot stopped by itself, and how it goes on."""
    return (
        f"No cable was put in or tested for {idle_s / 60:g} min, so the lot stops here. "
        "The same command goes on with it; --idle MINUTES waits longer."
    )


def progress(sweep: Sweep, standing: Standing) -> str:
    """Return how far the lot is, in one line: label, count, yield, tally."""
    return "   ".join(progress_parts(sweep, standing))


def progress_parts(sweep: Sweep, standing: Standing) -> list[str]:
    """Return the parts of that line."""
    counts = standing.counts
    of = f" of {sweep.plan.count}" if sweep.plan.count else ""
    parts = [standing.lot, f"{counts.cables}{of} tested"]
    if counts.first_pass is not None:
        yields = f"first-pass yield {_percent(counts.first_pass)}"
        repaired = counts.final is not None and counts.final != counts.first_pass
        parts.append(yields + (f", after repair {_percent(counts.final)}" if repaired else ""))
        parts.append(", ".join(f"{count} {word}" for word, count in counts.newest if count))
    return parts


def next_label(sweep: Sweep) -> str:
    """Return the label the next cable will get, "" where it is still to be scanned."""
    if sweep.label is not None:
        return sweep.label
    return "" if sweep.plan.labels.scanned else running_label(sweep)


def sweep_page(sweep: Sweep, standing: Standing, terminal: Terminal) -> str:
    """Return the whole page, no longer than the terminal is high."""
    top = [in_width(progress(sweep, standing), terminal.width)]
    foot = _foot(sweep, standing, terminal)
    height = terminal.height or 24
    room = max(0, height - 1 - len(top) - len(foot))
    middle = _verdict_lines(sweep, standing, terminal, room)
    return "\n".join([*top, *middle[:room], *foot]) + "\n"


def least_rows(sweep: Sweep, standing: Standing, terminal: Terminal) -> int:
    """Return how many rows the page needs without a verdict."""
    return 1 + len(_foot(sweep, standing, terminal))


def _foot(sweep: Sweep, standing: Standing, terminal: Terminal) -> list[str]:
    """Return what went wrong, or what was found of a lot that was stopped; what to do, and the keys."""
    said = standing.trouble if is_troubled(sweep) else standing.found if standing.case is None else ""
    foot = _wrapped(said, terminal.width)[: (terminal.height or 24) // 3] if said else []
    foot += [terminal.styled(line, "1") for line in _wrapped(_prompt_with_label(sweep), terminal.width)]
    foot.append(SWEEP_KEYS if terminal.width >= len(SWEEP_KEYS) else in_width(SHORT_KEYS, terminal.width))
    return foot


def is_troubled(sweep: Sweep) -> bool:
    """Whether the page says what went wrong."""
    return sweep.phase in ("lost", "full") or sweep.said == "broken"


def _prompt_with_label(sweep: Sweep) -> str:
    return prompt(sweep) + beside_prompt(sweep)


def beside_prompt(sweep: Sweep) -> str:
    """Return what stands behind what to do now: the next label, and of a retest that it counts; "" = nothing."""
    label = next_label(sweep)
    named = sweep.phase in ("waiting", "seating", "measuring") and label
    again = sweep.phase == "shown" and sweep.said not in TAKEN_BACK and sweep.last and sweep.last.of is not None
    return (f" Next: {in_width(label, LETTERS_SHOWN)}." if named else "") + (f" {COUNTED_AGAIN}" if again else "")


def _verdict_lines(sweep: Sweep, standing: Standing, terminal: Terminal, room: int) -> Sequence[str]:
    """Return the verdict large while its cable is in, in one line when it is out, and nothing while another is in."""
    if sweep.phase in ("waiting", "done"):
        return [*_last_line(sweep, terminal.width), *_to_mend(standing.counts, terminal.width)]
    if standing.case is None or sweep.phase in ANOTHER_IN:
        return []
    if sweep.phase == "shown" and sweep.said not in TAKEN_BACK:
        small = Terminal(terminal.width, room, terminal.colours, terminal.blocks and room >= LEAST_LARGE_ROWS)
        return page(standing.case, small).splitlines()
    return _last_line(sweep, terminal.width)


def _last_line(sweep: Sweep, width: int) -> list[str]:
    if sweep.last is None:
        return []
    named, verdict = f"Last: {sweep.last.label or 'reference cord'}", VERDICT_WORDS[sweep.last.verdict]
    return [f"{in_width(named, width - len(verdict) - 2)}  {verdict}"]


def _to_mend(counts: LotCounts, width: int) -> list[str]:
    """Return which labels do not pass, and how a mended cable goes back under its label."""
    if not counts.not_passed:
        return []
    unnamed = counts.not_passed - len(counts.labels)
    more = f" and {unnamed} more" if unnamed else ""
    return [
        *_wrapped(f"Not passed: {', '.join(counts.labels)}{more}.", width),
        *_wrapped("When one is mended: press l, give its label, put it in.", width),
    ]


def _percent(share: Share | None) -> str:
    return "-" if share is None else f"{100 * share.count / share.total:.0f} %"


def _wrapped(text: str, width: int) -> list[str]:
    return in_lines(text, width) or [""]
