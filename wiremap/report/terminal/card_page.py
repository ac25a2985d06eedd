"""The termination card as text."""

from wiremap.cable.workmanship import workmanship
from wiremap.lines import in_lines, in_width
from wiremap.report.card import CAUTIONS, Card, CardLine, making
from wiremap.report.terminal.display import TALLER, Terminal
from wiremap.report.words.faults import capital

NARROW_CARD = 50  # columns under which the table says less
LEFT_OUT = "How the plug is made: in a taller window, or on the picture (--save card.png)."
VIEWS = "Key up; a picture of the card shows both views (--save card.png)"


def card_page(made: Card, terminal: Terminal) -> str:
    """Return the card as text, one line feed at the end; where it is too high, what comes last gives way."""
    work = workmanship(made.plug)
    held = VIEWS if work.face else capital(work.held)
    about, table = f"For {made.pattern}. {held}.", _table(made, terminal)
    steps, cautions = list(making(made)), list(CAUTIONS)
    first_words = made.why.partition(". ")[0].rstrip(".") + "." if made.why else ""
    lines: list[str] = []
    for texts in (
        [about, made.why, None, table, None, *steps, None, *cautions],
        [about, made.why, table, " ".join(steps), " ".join(cautions)],
        [about, made.why, table, LEFT_OUT, " ".join(cautions)],
        [made.why, table, cautions[0], TALLER],
        [first_words, table, cautions[0], TALLER],
    ):
        lines = [part for text in (made.title, *texts) for part in _wrapped(text, terminal.width)]
        if terminal.height is None or len(lines) < terminal.height:
            break
    lines[0] = terminal.styled(lines[0], "1")
    return "\n".join(line if terminal.colours else line.rstrip() for line in lines) + "\n"


def _wrapped(text: str | list[str] | None, width: int) -> list[str]:
    """Return a text in lines, lines as they are, and for None a blank one."""
    if text is None:
        return [""]
    return text if isinstance(text, list) else in_lines(text, width)


def _table(made: Card, terminal: Terminal) -> list[str]:
    narrow = terminal.width < NARROW_CARD
    contact, mate, before = ("in", "with", "now") if narrow else ("contact", "twisted with", "now in")
    told = [f"  {text}" if made.told else "" for text in (before, *map(_now, made.lines))]
    beside = len(f"  {contact}    {terminal.swatch(None)}  {mate}") + max(map(len, told))
    names = [in_width(line.said, terminal.width - beside) for line in made.lines]
    widest = max(len("conductor"), *map(len, names))
    heading = f"  {contact}  {'conductor':<{widest}}  {terminal.swatch(None)}  {mate}"
    rows = [heading + told[0]]
    for line, name, now in zip(made.lines, names, told[1:], strict=True):
        mark = "!" if line.changes else " "
        partner = (line.mate if narrow else f"contact {line.mate}") if line.mate else "-"
        text = f"{mark} {line.contact:>{len(contact)}}  {name:<{widest}}  "
        rows.append(f"{text}{terminal.swatch(line.colour)}  {partner:<{len(mate)}}{now}".rstrip())
    if any(line.changes for line in made.lines) and not narrow:
        rows.append("! another conductor is in this contact now")
    return rows


def _now(line: CardLine) -> str:
    if line.colour is None:
        return "-"
    return "not in" if line.now_in == "" else str(line.now_in or "?")
