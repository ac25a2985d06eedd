"""A page for a phone: one HTML file that needs nothing else, no scripts, no network."""

import io
from collections.abc import Iterable

from wiremap.cable.colours import Colour
from wiremap.report.markup import esc
from wiremap.report.plug_marks import Mark, mark_of, plug_marks
from wiremap.report.proof import Proof
from wiremap.report.wire_rows import colour_heading, row_words, wire_rows
from wiremap.report.words import records as wording
from wiremap.report.words.cases import ends_of, next_on_paper, said_on_paper

# Nothing may be loaded, from anywhere; the page's own style and pictures are in it.
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"

# Colours and letters of pages for phones, of a capture and of the tester in the hand alike.
FAMILY = """
:root{color-scheme:light dark;--ink:#1d2329;--soft:#5b6670;--line:#c5cbd0;--paper:#fff;--head:#4a3900}
@media(prefers-color-scheme:dark){:root{--ink:#eceff1;--soft:#a9b3bb;--line:#475059;--paper:#14181b}}
header.pass{--head:#0d5c4d}header.fail{--head:#8f1d1d}header.undecided{--head:#6b5200}
*{box-sizing:border-box}
body{font:16px/1.4 system-ui,sans-serif;color:var(--ink);background:var(--paper)}
header .flag{background:#fff;color:#14181b;font-weight:700;font-size:1.2rem;padding:.3rem .6rem;border-radius:.3rem}
.said{font-weight:700;font-size:1.15rem;margin:.8rem 0 .3rem}
h2{font-size:.9rem;letter-spacing:.05em;text-transform:uppercase;color:var(--soft)}
h2{border-bottom:1px solid var(--line);margin:1.4rem 0 .4rem;padding-bottom:.2rem}
table{border-collapse:collapse;width:100%}
th{color:var(--soft);font-weight:400}
.small{font-size:.95rem;color:var(--soft)}
"""
STYLE = (
    FAMILY
    + """
body{margin:0 auto;max-width:40rem;padding:0 0 2rem}
header{padding:.9rem 1rem;color:#fff;background:var(--head)}
h1{margin:0;font-size:2.3rem;line-height:1.1;letter-spacing:.02em}
header p{margin:.3rem 0 0;overflow-wrap:anywhere}
main{padding:0 1rem}
td,th{padding:.35rem .3rem;border-bottom:1px solid var(--line);text-align:left;vertical-align:top}
td{overflow-wrap:anywhere}
th:last-child{text-align:right}
.pairs td:first-child{width:42%}
.contact{width:2.6rem;text-align:center}.contact b{display:block;padding:0 .2rem;border-radius:.3rem}
.contact .wrong{background:var(--ink);color:var(--paper)}.contact .either{outline:2px solid var(--ink)}
.wire{display:block;width:3.4rem;height:.8rem;border:1px solid var(--ink);border-radius:.2rem}
.note{color:var(--soft)}
.fault .note{display:block;color:inherit;font-weight:700}
dl{display:grid;grid-template-columns:5.5rem 1fr;gap:.2rem .6rem;margin:0}
dt{color:var(--soft)}dd{margin:0;overflow-wrap:anywhere}
.code{font-family:ui-monospace,monospace;font-size:.85rem;overflow-wrap:anywhere}
.qr{width:9rem;height:9rem;background:#fff;padding:.6rem;margin:.6rem 0}
ul{list-style:none;margin:0;padding:0}
"""
)


def phone(proof: Proof) -> bytes:
    """Return the page, UTF-8. The verdict and the next step come first."""
    verdict = proof.case.diagnosis.verdict
    parts = [
        f'<header class="{verdict}"><h1>{esc(proof.sign)} {esc(proof.word)}</h1>',
        f"<p><strong>{esc(proof.label)}</strong>{esc(', ' + proof.place if proof.place else '')}</p>",
        f"<p>{esc(proof.about)}</p>",
        f'<p class="flag">{esc(proof.flag)}</p>' if proof.flag else "",
        *(f'<p class="flag">{esc(sentence)}</p>' for sentence in proof.dangers),
        "</header><main>",
        f'<p class="said">{esc(said_on_paper(proof.case))}</p>',
        f"<p>Next: {esc(next_on_paper(proof.case))}</p>",
        _map(proof),
        _section(wording.CHECKED, f"<p>{esc(proof.checked())}</p>"),
        _section(wording.NOT_CHECKED, f"<p>{esc(proof.not_checked())}</p>"),
        _section(proof.lengths_title, _pairs(proof.lengths()) or f"<p>{esc(wording.NO_LENGTH)}</p>"),
        _section(wording.SERVICES, _pairs(proof.services())) if proof.services() else "",
        _work(proof),
        _section(wording.RECORD, _record(proof)),
        _section(wording.CLAIM_TITLE, f"<p>{esc(proof.claim)} {esc(wording.SEAL_CLAIM)}</p>"),
        _section(wording.CAUTION_TITLE, f"<p>{esc(wording.CAUTION)}</p>"),
    ]
    title = f"{proof.label}: {proof.word}"
    head = (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{esc(title)}</title><style>{STYLE}</style></head><body>"
    )
    return (head + "\n".join(part for part in parts if part) + "</main></body></html>\n").encode()


def _section(title: str, content: str) -> str:
    return f"<section><h2>{esc(title)}</h2>{content}</section>"


def _pairs(rows: Iterable[tuple[str, str]]) -> str:
    cells = "".join(f"<tr><td>{esc(name)}</td><td>{esc(text)}</td></tr>" for name, text in rows)
    return f'<table class="pairs">{cells}</table>' if cells else ""


def _map(proof: Proof) -> str:
    case = proof.case
    heads = f'<th colspan="2">{esc(ends_of(case).near)}</th><th>{esc(colour_heading(case))}</th>'
    far_head = ends_of(case).far if case.shown.far_contacts else wording.JOINED_TO
    rows = [f"<tr>{heads}<th>{esc(far_head)}</th></tr>"]
    marks = plug_marks(case)
    for row in wire_rows(case):
        near, said, far, note = row_words(row, case)
        wire = "" if row.near is None else f'<span class="wire" style="{_fill(row.colour)}"></span>'
        mark = f"{wording.WRONG_MARK} " if row.notes else ""
        near_mark, far_mark = mark_of(marks["near"], [near]), mark_of(marks["far"], row.far)
        rows.append(
            f'<tr class="{"fault" if row.notes else "right"}">{_contact(near, near_mark)}<td>{wire}</td>'
            f'<td>{esc(said)} <span class="note">{mark}{esc(note)}</span></td>'
            f"{_contact(far, far_mark)}</tr>"
        )
    every = {mark for end in marks.values() for mark in end.values()}
    keys = " ".join(text for mark, text in wording.MARK_KEYS.items() if mark in every)
    return f'<table class="map">{"".join(rows)}</table>' + (f'<p class="small">{esc(keys)}</p>' if keys else "")


def _contact(text: str, mark: Mark | None) -> str:
    return f'<td class="contact"><b class="{mark or "sound"}">{esc(text)}</b></td>'


def _fill(colour: Colour | None) -> str:
    if colour is None:
        return "background:repeating-linear-gradient(45deg,#8b949b 0 2px,#e3e7ea 2px 5px)"
    if colour.stripe is None:
        return f"background:{colour.body}"
    return f"background:repeating-linear-gradient(90deg,{colour.body} 0 9px,{colour.stripe} 9px 14px)"


def _work(proof: Proof) -> str:
    if not proof.work():
        return ""
    items = "".join(f"<li>{tick} {esc(text)}</li>" for tick, text in proof.work())
    return _section(wording.WORK, f'<p class="small">{esc(wording.WORK_CLAIM)}</p><ul>{items}</ul>')


def _record(proof: Proof) -> str:
    rows = "".join(f"<dt>{esc(name)}</dt><dd>{esc(text)}</dd>" for name, text in proof.facts())
    seals = "".join(
        f'<dt>{name}</dt><dd class="code">{esc(text)}</dd>'
        for name, text in (("Digest", proof.digest), ("Key", proof.key))
    )
    return f'<dl>{rows}{seals}</dl>{_qr(proof.code)}<p class="small">{esc(wording.CODE_SENTENCE)}</p>'


def _qr(content: str) -> str:
    """Return a QR code (ISO/IEC 18004) as SVG within the page."""
    import segno

    out = io.BytesIO()
    segno.make(content, error="M", micro=False, boost_error=False).save(
        out, kind="svg", border=4, xmldecl=False, svgns=False, svgclass="qr", lineclass=None, omitsize=True, nl=False
    )
    return out.getvalue().decode()
