"""The page of a guided repair on a terminal: one screen a step, the question or the work in its middle, keys below."""

from collections.abc import Iterable

from wiremap.bench.mend.known import CLOSED
from wiremap.bench.mend.shown import MendStep, WorkLine
from wiremap.judge.plugs.evidence import UNREAD
from wiremap.lines import in_lines, in_width
from wiremap.report.card import EMPTY_WORD, Card, CardLine
from wiremap.report.terminal.card_page import card_page
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import DANGER
from wiremap.report.words.typed import without_options

BETWEEN = "   "
DO_NOT_KNOW = "I do not know"
OUT_OF_REACH = "c"
KEY_WORDS = (("u", "undo"), ("w", "work list"), ("n", "not now"), ("x", "no such conductor"), ("q", "stop"))
MOST_DANGER_LINES = 2
MOST_BAR = 60
TICK, NO_TICK = "[x]", "[ ]"


def mend_page(shown: MendStep, terminal: Terminal, title: str = "", trouble: str = "") -> str:
    """Return the page of a step, no longer than the terminal is high, one line feed at the end.

    title: what the cable is called. trouble: what went wrong last, to stand first.
    """
    height = terminal.height or 24
    head = [*(_bars(trouble, terminal) if trouble else []), *_danger(shown, terminal), _head(shown, terminal, title)]
    now = [terminal.styled(line, "1") for line in _wrapped(shown.now, terminal.width)]
    if shown.progress is not None:
        now.append(_progress(shown.progress, terminal.width))
    foot = [*_choices(shown, terminal), *_keys(shown, terminal)]
    room = height - 1 - len(head) - len(now) - len(foot)
    first = len(_wrapped(shown.wrong[0], terminal.width)) if shown.wrong and shown.card is None else 0
    below = _card(shown, terminal, room - first) if shown.kind in ("card", "part") else []
    left = room - len(below)
    wrong = _whole(shown.wrong, terminal.width, left)
    left -= len(wrong)
    blank = [""] if left >= 2 else []
    lines = [*head, *wrong, *blank, *now, *below, *blank, *foot]
    return "\n".join(line if terminal.colours else line.rstrip() for line in lines[: height - 1]) + "\n"


def choice_keys(shown: MendStep) -> dict[str, str]:
    """Return what each key answers: 1 to 9, 0 for "I do not know", c for a plug that cannot be got at."""
    if not shown.choices:
        return {}
    words = [choice.word for choice in shown.choices if choice.word != CLOSED]
    keys = {str(number): word for number, word in enumerate(words, 1)} | {"0": UNREAD}
    closed = {OUT_OF_REACH: CLOSED} if len(words) < len(shown.choices) else {}
    return keys | closed


def work_page(work: tuple[WorkLine, ...], terminal: Terminal) -> str:
    """Return the work list: a key a line ticks it, or takes the tick away."""
    keys = "1-9a-k tick   w back"
    lines = [terminal.styled("Work list: what you say you did.", "1")]
    for number, line in enumerate(work):
        text = f"{work_key(number)} {TICK if line.ticked else NO_TICK} {line.text}"
        lines += in_lines(text, terminal.width, then=" " * 6)
    room = (terminal.height or 24) - 2
    return "\n".join([*lines[:room], keys]) + "\n"


def work_key(number: int) -> str:
    """Return the key of a line of the work list: 1 to 9, then a to k."""
    return str(number + 1) if number < 9 else "abcdefghijk"[number - 9]


def _bars(text: str, terminal: Terminal) -> list[str]:
    return [terminal.bar(line, "undecided") for line in _wrapped(text, terminal.width)]


def _danger(shown: MendStep, terminal: Terminal) -> list[str]:
    lines = [line for text in shown.dangers for line in _wrapped(text, terminal.width)]
    if len(lines) > MOST_DANGER_LINES:
        lines = _wrapped(DANGER, terminal.width)
    return [terminal.bar(line, "fail") for line in lines]


def _head(shown: MendStep, terminal: Terminal, title: str) -> str:
    text = in_width(BETWEEN.join(part for part in (shown.head or "MEND", shown.flag, title) if part), terminal.width)
    return terminal.bar(text, shown.verdict) if shown.verdict is not None else terminal.styled(text, "1")


def _progress(share: float, width: int) -> str:
    """Return a bar of what is done."""
    room = min(width, MOST_BAR) - 2
    done = round(max(0.0, min(share, 1.0)) * room)
    return f"[{'#' * done}{'.' * (room - done)}]"


def _choices(shown: MendStep, terminal: Terminal) -> list[str]:
    """Return the choices, a key each, in as many columns as there is room for."""
    if not shown.choices:
        return []
    said = {choice.word: choice.said for choice in shown.choices} | {UNREAD: DO_NOT_KNOW}
    words = [in_width(f"{key} {said[word]}", terminal.width) for key, word in choice_keys(shown).items()]
    widest = max(map(len, words)) + len(BETWEEN)
    columns = max(1, min(3, (terminal.width + len(BETWEEN)) // widest))
    rows = -(-len(words) // columns)
    return ["".join(f"{word:<{widest}}" for word in words[row::rows]).rstrip() for row in range(rows)]


def _keys(shown: MendStep, terminal: Terminal) -> list[str]:
    if shown.kind in ("passed", "stopped"):
        return []
    found = [f"space {shown.ready}"] if shown.ready else []
    letters = []
    for key, word in KEY_WORDS:
        if (key == "u" and not shown.undo) or (key == "w" and not (shown.work and shown.kind in ("card", "do"))):
            continue
        if (key == "n" and not shown.later) or (key == "x" and not shown.by_colours):
            continue
        letters.append(f"{key} {word}")
    return [line for text in (*found, "  ".join(letters)) for line in _wrapped(text, terminal.width)]


def _card(shown: MendStep, terminal: Terminal, room: int) -> list[str]:
    """Return the card in the room there is; where it has none, the first cautions."""
    if shown.card is None:
        return _whole(shown.cautions, terminal.width, room)
    small = Terminal(terminal.width, room + 1, terminal.colours, terminal.blocks)
    lines = [without_options(line) for line in card_page(shown.card, small).splitlines()]
    return lines if len(lines) <= room else _short_card(shown, shown.card, terminal.width)[: max(room, 0)]


def _whole(texts: Iterable[str], width: int, room: int) -> list[str]:
    """Return the first texts in the room there is, none of them cut."""
    found: list[str] = []
    for text in texts:
        lines = _wrapped(text, width)
        if len(found) + len(lines) > room:
            break
        found += lines
    return found


def _short_card(shown: MendStep, card: Card, width: int) -> list[str]:
    """Return the contacts of a card side by side, those that change marked, and the first caution."""
    words = [in_width(f"{'!' if line.changes else ' '} {line.contact} {_goes_in(line)}", width) for line in card.lines]
    columns = max(1, min(4, width // (max(map(len, words)) + 1)))
    rows = -(-len(words) // columns)
    wide = width // columns
    table = ["".join(f"{word:<{wide}}" for word in words[row::rows]).rstrip() for row in range(rows)]
    return [*table, *_wrapped(shown.cautions[0], width)]


def _goes_in(line: CardLine) -> str:
    """Return what goes into a contact: its conductor, or the contact that what goes in is in now."""
    if line.colour is not None or line.now_in is None or line.said == EMPTY_WORD:
        return line.said
    return f"from {line.now_in}" if line.changes else "stays"


def _wrapped(text: str, width: int) -> list[str]:
    return in_lines(text, width) or [""]
