"""The page of a lot as a fragment of HTML: verdict or label large, the count, what to do, buttons, then the cable."""

import json
from typing import Any

from wiremap.bench.sweep import Phase, Sweep
from wiremap.bench.sweep_page import (
    ANOTHER_IN,
    TAKEN_BACK,
    Standing,
    is_troubled,
    next_label,
    progress_parts,
)
from wiremap.judge.case import Case
from wiremap.phone.fragment import not_checked_section, run_said, verdict_head
from wiremap.phone.html import button, conductor, esc, map_table
from wiremap.phone.lot.desk import LOT_STOPPED, LotView
from wiremap.phone.lot.keys import NOT_NOW, LotButton, called, meant_for, now_said, of_lot, offered
from wiremap.report.wire_rows import row_words, wire_rows
from wiremap.report.words.cases import ends_of, next_on_paper, said_on_paper
from wiremap.report.words.faults import VERDICT_WORDS, capital
from wiremap.report.words.origin import FLAGS

TYPING = "Somebody types at the laptop: the lot waits."
TAP_MENDED = "When one is mended: tap its label, put it in."
PHASES_SENT: dict[Phase, str] = dict.fromkeys(NOT_NOW, "measuring") | {"lost": "lost"}
MOST_LETTERS = {"label": 64, "note": 200}  # that may be typed


def lot_event(view: LotView) -> dict[str, Any]:
    """Return what phones are sent of a lot."""
    number, bell = view.ring
    sweep = view.sweep
    return {
        "html": lot_fragment(view),
        "lot": True,
        "test": 0,
        "phase": PHASES_SENT.get(sweep.phase, sweep.phase) if sweep is not None else "starting",
        "ring": {"id": number, "kind": bell},
    }


def lot_fragment(view: LotView) -> str:
    """Return the page of a view."""
    sweep, standing = view.sweep, view.standing
    if sweep is None or standing is None:
        return '<header class="none"><h1>wiremap</h1></header>'
    case = standing.case if sweep.phase == "shown" and sweep.said not in TAKEN_BACK else None
    said = LOT_STOPPED if view.ended else TYPING if view.typing else now_said(sweep)
    parts = [_head(sweep, standing, case), '<div class="main">']
    if standing.trouble and is_troubled(sweep):
        parts.append(f'<p class="trouble" role="alert">{esc(standing.trouble)}</p>')
    parts.append(f'<p class="said">{esc(said)}</p>')
    buttons = () if view.ended or view.typing else offered(sweep)
    parts += [_button(each, standing.lot) for each in buttons if each.what == "main"]
    parts += _cable(case) if case is not None else []
    parts += [_button(each, standing.lot) for each in buttons if each.what != "main"]
    parts += _to_mend(sweep, standing) if buttons else []
    return "".join([*parts, "</div>"])


def _head(sweep: Sweep, standing: Standing, case: Case | None) -> str:
    """Return the head: the verdict of the cable that is in, else the label of the one that comes or is measured."""
    counted = (
        f'<p class="count">{" ".join(f"<span>{esc(part)}</span>" for part in progress_parts(sweep, standing))}</p>'
    )
    last = sweep.last
    if case is not None and last is not None:
        following = next_label(sweep) if not sweep.complete else ""
        coming = f"<p>The next label is {esc(following)}.</p>" if following else ""
        return verdict_head(case, f'<p class="cable">{esc(capital(called(last)))}</p>{counted}{coming}')
    is_past = sweep.phase not in ANOTHER_IN
    before = f"<p>Last: {esc(called(last))} {VERDICT_WORDS[last.verdict]}</p>" if last is not None and is_past else ""
    flags = [FLAGS[origin] for origin, count in standing.counts.origins if count and FLAGS[origin]]
    flag = "".join(f'<p class="flag">{esc(said)}</p>' for said in flags)
    return f'<header class="none">{flag}<h1 class="name">{esc(_large(sweep))}</h1>{before}{counted}</header>'


def _large(sweep: Sweep) -> str:
    """Return what stands large where no verdict does: whose turn it is."""
    if sweep.phase == "done":
        return "Done"
    if sweep.phase == "reference" or sweep.reference:
        return "Reference cord"
    return next_label(sweep) or "No label yet"


def _button(each: LotButton, lot: str) -> str:
    """Return a button: one that stops or takes back wants two taps, one that needs words opens a field for them."""
    says, seen = capital(each.says), of_lot(lot, each.seen)
    style = "wide go" if each.what == "main" else "wide"
    if each.what in MOST_LETTERS:
        words = esc(json.dumps([seen]))
        most = MOST_LETTERS[each.what]
        asks = f'data-type="{each.what}" data-words="{words}" data-most="{most}" data-asks="{esc(says)}"'
        return f'<button type="button" class="{style}" {asks}>{esc(says)}</button>'
    armed = f' data-arm="{esc(says)}"' if each.what in ("stop", "undo") else ""
    return f'<button class="{style}" {button(each.what, seen, "")}{armed}>{esc(says)}</button>'


def _cable(case: Case) -> list[str]:
    """Return what is said of the cable that is in."""
    rows = []
    for row in wire_rows(case):
        near, said, far, note = row_words(row, case)
        rows.append(
            f'<tr><td class="contact">{esc(near)}</td><td>{conductor(row, said, note)}</td>'
            f'<td class="contact">{esc(far)}</td></tr>'
        )
    return [
        f'<p class="said">{esc(said_on_paper(case))}</p><p>Next: {esc(next_on_paper(case))}</p>',
        map_table(ends_of(case), rows),
        run_said(case),
        not_checked_section(case),
    ]


def _to_mend(sweep: Sweep, standing: Standing) -> list[str]:
    """Return which labels do not pass, each a button that puts its cable in again."""
    counts = standing.counts
    if not counts.not_passed or sweep.phase not in ("waiting", "done"):
        return []
    seen = of_lot(standing.lot, meant_for(sweep, "label"))
    unnamed = counts.not_passed - len(counts.labels)
    more = f" {unnamed} more have not passed." if unnamed else ""
    shown = [f'<button class="wide" {button("label", seen, label)}>{esc(label)}</button>' for label in counts.labels]
    return [f"<h2>Not passed</h2><p>{TAP_MENDED}{more}</p>", *shown]
