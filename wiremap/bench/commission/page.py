"""The page of a commissioning on a terminal: one step a screen, cautions first, what to type at its foot."""

from wiremap.bench.commission.course import Course, verdict_lines
from wiremap.bench.commission.steps import BoardStep, steps_of
from wiremap.lines import in_lines
from wiremap.records.commissions import Commission, figure_said, limits_said
from wiremap.report.terminal.display import Terminal
from wiremap.report.words.faults import capital

JUDGED_WORDS = {"pass": "COMMISSIONED", "fail": "FAILED", "undecided": "NOT PROVEN"}
LIMIT_WORDS = {
    "circuit": "The limits are the circuit's:",
    "design": "The limits are the design's:",
    "rating": "The limits are what parts stand:",
    "memory": "The limits are from memory:",
}
POWER = {"off": "USB UNPLUGGED", "on": ""}
APART = "   "
TYPE_KEYS = "a number   n not measured   u undo   q stop   then Enter"
MEASURE_KEYS = "Enter alone: measure   n not measured   u undo   q stop   then Enter"
DOUBT_KEYS = "f it is so, the board fails   u measure again   q stop   then Enter"
AT_IT = "Measuring ..."


def step_page(course: Course, terminal: Terminal, typing: str = "", measuring: bool = False) -> str:
    """Return the page of the step that is asked, no longer than the terminal is high, one line feed at the end.

    typing: what was typed of a line so far. measuring: the tester is at it.
    """
    step = course.step
    assert step is not None
    count = len(steps_of(course.commission.board))
    head = APART.join(
        part for part in (f"{course.number} of {count}", _flag(course.commission), POWER[step.power]) if part
    )
    lines = [terminal.styled(line, "1") for line in _wrapped(step.title, terminal.width)]
    foot = _wrapped(AT_IT if measuring else _keys(course, step), terminal.width)
    foot += [] if measuring else [f"> {typing}"]
    room = (terminal.height or 24) - 2 - len(lines) - len(foot)
    if course.doubtful is not None:
        doubt = _doubt(course, terminal.width)[:room]
        lines += [terminal.bar(line, "fail") for line in doubt]
        lines += _wrapped(f"{LIMIT_WORDS[step.source]} {step.why}", terminal.width)[: room - len(doubt)]
    else:
        warned = course.trouble or step.caution
        lines += [terminal.bar(line, "undecided") for line in _wrapped(warned, terminal.width)]
        lines += _wrapped(step.do, terminal.width)
        lines += _asked(course, step, terminal.width)
    return "\n".join([terminal.styled(head, "1"), *lines, *foot]) + "\n"


def end_page(commission: Commission, terminal: Terminal, kept: str) -> str:
    """Return the page of the verdict."""
    judged = commission.judged
    head = APART.join(part for part in (JUDGED_WORDS[judged], _flag(commission), _who(commission)) if part)
    lines = [line for text in (*verdict_lines(commission), kept) if text for line in _wrapped(text, terminal.width)]
    return "\n".join([terminal.bar(head[: terminal.width], judged), *lines]) + "\n"


def _who(commission: Commission) -> str:
    return f"{commission.model} {commission.serial}".strip() or commission.board


def _flag(commission: Commission) -> str:
    return "SIMULATED" if commission.simulated else ""


def _keys(course: Course, step: BoardStep) -> str:
    return DOUBT_KEYS if course.doubtful is not None else MEASURE_KEYS if step.probe else TYPE_KEYS


def _doubt(course: Course, width: int) -> list[str]:
    assert course.doubtful is not None
    said = [f"{figure_said(figure)}." for figure in course.doubtful.wrong]
    return [line for text in (*said, course.trouble) if text for line in _wrapped(text, width)]


def _asked(course: Course, step: BoardStep, width: int) -> list[str]:
    if step.probe:
        return []
    sought = step.figures[len(course.typed)]
    unit = f" ({sought.unit})" if sought.unit else ""
    return _wrapped(f"{capital(sought.name)}{unit}? Allowed: {limits_said(sought.found(0.0))}.", width)


def _wrapped(text: str, width: int) -> list[str]:
    return in_lines(text, width) or [""]
