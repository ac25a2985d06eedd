"""The termination card as text."""

import textwrap

from wiremap.cable.workmanship import workmanship
from wiremap.report.card import CAUTIONS, Card, CardLine, making
from wiremap.report.terminal.display import Terminal
from wiremap.report.words.faults import capital


def card_page(made: Card, terminal: Terminal) -> str:
    """Return the card as text, one line feed at the end."""
    width = terminal.width
    work = workmanship(made.plug)
    lines = [terminal.styled(made.title, "1")]
    lines += textwrap.wrap(f"For {made.pattern}. {capital(work.held)}.", width)
    if made.why:
        lines += textwrap.wrap(made.why, width)
    lines += ["", *_table(made, terminal), ""]
    lines += [part for text in making(made) for part in textwrap.wrap(text, width)]
    lines += ["", *(part for text in CAUTIONS for part in textwrap.wrap(text, width))]
    return "\n".join(line if terminal.colours else line.rstrip() for line in lines) + "\n"


def _table(made: Card, terminal: Terminal) -> list[str]:
    widest = max(len("conductor"), *(len(line.said) for line in made.lines))
    heading = f"  contact  {'conductor':<{widest}}  {terminal.swatch(None)}  twisted with"
    rows = [heading + ("  now in" if made.told else "")]
    for line in made.lines:
        mark = "!" if line.changes else " "
        mate = f"contact {line.mate}" if line.mate else "-"
        now = f"  {_now(line):<8}" if made.told else ""
        text = f"{mark} {line.contact:>7}  {line.said:<{widest}}  "
        rows.append(f"{text}{terminal.swatch(line.colour)}  {mate:<12}{now}")
    if any(line.changes for line in made.lines):
        rows.append("! another conductor is in this contact now")
    return rows


def _now(line: CardLine) -> str:
    if line.colour is None:
        return "-"
    return "not in" if line.now_in == "" else str(line.now_in or "?")
