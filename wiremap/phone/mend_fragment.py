"""The step of a guided repair as a fragment of HTML: the question or the work first, then card, work list, cautions."""

from wiremap.bench.mend.shown import MendStep
from wiremap.cable.colours import ColourSet
from wiremap.judge.plugs.evidence import UNREAD
from wiremap.phone.html import button, esc, looking, wire
from wiremap.report.card import Card, making
from wiremap.report.words.faults import capital

PHONE_TICK, PHONE_NO_TICK = "☒", "☐"


def mend_section(step: MendStep, colours: ColourSet | None) -> str:
    """Return the section of a step; colours: of the cable's conductors, None = not known."""
    parts = [f'<section class="mend"><h2>Mend it</h2><p class="said">{esc(step.now)}</p>']
    parts += [f'<p class="caution">{esc(caution)}</p>' for caution in step.cautions[:1]]
    if step.progress is not None:
        parts.append(f'<progress value="{step.progress:.2f}" max="1"></progress>')
    if step.choices:
        words = [(choice.word, capital(choice.said)) for choice in step.choices]
        parts.append('<div class="choices">')
        parts += [_choice(word, said, colours) for word, said in (*words, (UNREAD, "I do not know"))]
        parts.append("</div>")
    if step.card is not None:
        parts.append(_card(step.card))
    if step.kind in ("card", "do"):
        parts += [
            f'<button class="wide tick" {button("tick", line.name)} aria-pressed="{str(line.ticked).lower()}">'
            f"{PHONE_TICK if line.ticked else PHONE_NO_TICK} {esc(line.text)}</button>"
            for line in step.work
        ]
    if step.ready:
        parts.append(f'<button class="wide go" {button("did")}>{esc(capital(step.ready))}</button>')
    if step.later:
        parts.append(f'<button class="wide" {button("not-moved")}>Not now</button>')
    parts += [f'<p class="small">{esc(caution)}</p>' for caution in step.cautions[1:]]
    parts += [f"<p>{esc(wrong)}</p>" for wrong in step.wrong]
    if step.undo:
        parts.append(f'<button class="wide" {button("undo")}>Take the last one back</button>')
    over = step.kind in ("passed", "stopped")
    parts.append(f'<button class="wide" {button("leave")}>{"Done" if over else "Leave the repair"}</button></section>')
    return "".join(parts)


def _choice(word: str, said: str, colours: ColourSet | None) -> str:
    colour = looking(colours, word)
    return f"<button {button('answer', word)}>{wire(colour) if colour else ''}<span>{esc(said)}</span></button>"


def _card(card: Card) -> str:
    rows = "".join(
        f'<tr><td class="contact"><b>{esc(line.contact)}</b></td><td>{wire(line.colour)}<span>{esc(line.said)}</span>'
        f"{' <b>! changes</b>' if line.changes else ''}</td></tr>"
        for line in card.lines
    )
    made = "".join(f'<p class="small">{esc(said)}</p>' for said in making(card))
    return f'<h2>{esc(card.title)}</h2><table class="map">{rows}</table>{made}'
