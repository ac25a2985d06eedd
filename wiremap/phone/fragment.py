"""The page of a tester in the hand as a fragment of HTML, made here and only shown there."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from wiremap.bench.handset import HandsetPhase, Shot, next_label_of
from wiremap.bench.handset_loop import HandsetView, looks
from wiremap.cable.colours import ColourSet
from wiremap.cable.mistakes import EMPTY
from wiremap.judge.case import Case
from wiremap.judge.plugs.evidence import UNREAD
from wiremap.phone.html import button, conductor, esc, looking, map_table, wire
from wiremap.phone.mend_fragment import mend_section
from wiremap.report.plug_marks import mark_of, plug_marks
from wiremap.report.wire_rows import Row, row_words, wire_rows
from wiremap.report.words import records as wording
from wiremap.report.words.cases import dangers, ends_of, next_on_paper, said_on_paper
from wiremap.report.words.checks import not_checked_sentence
from wiremap.report.words.measurements import run_sentence
from wiremap.report.words.origin import FLAGS, ORIGINS, verdict_word

PHASES: dict[HandsetPhase, str] = {
    "starting": "Looking for the tester.",
    "nothing": "No cable is in. Put both plugs into the tester.",
    "moving": "It moves: hold it still.",
    "measuring": "Measuring. Hold it still.",
    "shown": "",
    "lost": "The tester is not there.",
}
UNSEEN = "Put the near plug into the tester, then press Test again."
OUT, BEFORE = "The cable of this test is out.", "What stands here is of the test before."
NO_TEST = "No test yet"


def event_of(view: HandsetView) -> dict[str, Any]:
    """Return what phones are sent of a view: the fragment, and what the buttons below it need to know."""
    shot = view.handset.newest
    return {
        "html": fragment(view),
        "test": view.handset.count,
        "phase": view.handset.phase,
        "kept": shot is not None and shot.is_kept,
        "step": view.step.now if view.step is not None else "",
        "label": view.handset.label,
        "ring": {"id": str(view.handset.count), "kind": view.case.diagnosis.verdict if view.case is not None else ""},
    }


def fragment(view: HandsetView) -> str:
    """Return the page of a view."""
    case, shot = view.case, view.handset.newest
    parts = [_head(view), '<div class="main">']
    trouble = view.handset.trouble
    parts.append(f'<p class="trouble" role="alert">{esc(trouble)}</p>' if trouble else "")
    if view.step is not None:
        parts.append(mend_section(view.step, case.colours if case is not None else None))
    elif case is not None and shot is not None:
        parts += [
            f'<p class="said">{esc(said_on_paper(case))}</p>',
            f"<p>Next: {esc(next_on_paper(case))}</p>",
            _look(case),
            _mend(case, view.unfinished),
        ]
    if case is not None and shot is not None:
        parts += [
            run_said(case),
            _map(case),
            not_checked_section(case),
            _record(shot),
        ]
        parts.append(_colours(case.colours) if case.colours is not None else "")
    return "".join(part for part in [*parts, "</div>"] if part)


def run_said(case: Case) -> str:
    """Return what is said of the run between the plugs, "" where nothing is."""
    run = run_sentence(case.diagnosis)
    return f"<p>{esc(run)}</p>" if run else ""


def not_checked_section(case: Case) -> str:
    """Return what was not checked, and where the reading comes from."""
    return (
        f"<h2>{esc(wording.NOT_CHECKED)}</h2><p>{esc(not_checked_sentence(case.diagnosis.not_checked))}</p>"
        f'<p class="small">{esc(ORIGINS[case.reading.origin])}</p>'
    )


def verdict_head(case: Case, below: str, is_out: bool = False) -> str:
    """Return the head of a page with a verdict, dangers first; below: what stands under it, HTML."""
    verdict, flag = case.diagnosis.verdict, FLAGS[case.reading.origin]
    return "".join(
        [
            f'<header class="{verdict}{" out" if is_out else ""}">',
            f'<p class="flag">{esc(flag)}</p>' if flag else "",
            *(f'<p class="flag danger">{esc(danger)}</p>' for danger in dangers(case)),
            f"<h1>{wording.SIGNS[verdict]} {esc(verdict_word(verdict, case.reading.origin))}</h1>",
            below,
            "</header>",
        ]
    )


def _head(view: HandsetView) -> str:
    case, shot, handset = view.case, view.handset.newest, view.handset
    old = (OUT if handset.phase == "nothing" else BEFORE) if view.is_out else ""
    state = [PHASES[handset.phase] if view.sees or handset.phase != "nothing" else UNSEEN, old]
    about = esc(" ".join(said for said in state if said))
    label = _label(handset.label)
    if case is None or shot is None:
        return f'<header class="none"><h1>{NO_TEST}</h1>{label}<p class="state">{about}</p></header>'
    test = f"<p>Test {shot.number}, {shot.at:%H:%M:%S}, {esc(shot.label or 'no label')}</p>"
    state_said = f'<p class="state">{about}</p>' if about else ""
    return verdict_head(case, label + test + state_said, view.is_out)


def _label(label: str) -> str:
    after = next_label_of(label)
    said = f"Next cable: {after}" if after else "Label"
    return f'<button class="label" {button("label", label, "")} data-arm="{esc(said)}">{esc(said)}</button>'


def _look(case: Case) -> str:
    """Return the button that asks for a colour, where one look decides which plug is wrong."""
    steps = case.advice.repair.steps if case.advice.repair else ()
    look = steps[0].look if steps else None
    if look is None:
        return ""
    end = ends_of(case).near if look.end == "near" else ends_of(case).far
    said = _which(look.contact, end)
    return f'<button type="button" class="wide" {_picks(look.end, look.contact, end)}>{esc(said)}</button>'


def _which(contact: str, end: str) -> str:
    return f"Which colour is at contact {contact} of the {end} end?"


def _picks(end: str, contact: str, called: str) -> str:
    """Return the attributes of a button that asks for a colour; called: what the end is called."""
    return f'data-pick="{end} {esc(contact)}" data-which="{esc(_which(contact, called))}"'


def _mend(case: Case, unfinished: str) -> str:
    if case.diagnosis.verdict == "pass":
        return ""
    found = f'<button class="wide" {button("mend")}>Mend it, step by step</button>'
    if not unfinished:
        return found
    begun = f"{datetime.fromisoformat(unfinished).astimezone():%d %b, %H:%M}"
    said = f"Go on with the repair begun on {begun}: only if it is of this cable"
    return f'<button class="wide" {button("mend", "go-on")}>{esc(said)}</button>{found}'


def _map(case: Case) -> str:
    marks, told, ends = plug_marks(case), _told(case), ends_of(case)
    rows = []
    for row in wire_rows(case):
        near, said, far, note = row_words(row, case)
        mark = mark_of(marks["near"], [near])
        nears = _contact("near", near, ends.near, mark, told) if row.near else "<td></td>"
        rows.append(f"<tr>{nears}<td>{conductor(row, said, note)}</td>{_far(row, far, case)}</tr>")
    every = {mark for end in marks.values() for mark in end.values()}
    keys = [said for mark, said in wording.MARK_KEYS.items() if mark in every]
    keys += ["Tap a contact to say which colour you see there."] if case.colours is not None else []
    return f'{map_table(ends, rows)}<p class="small">{esc(" ".join(keys))}</p>'


def _far(row: Row, words: str, case: Case) -> str:
    marks = plug_marks(case)["far"]
    if len(row.far) == 1 and row.far[0] in case.shown.far_contacts:
        return _contact("far", row.far[0], ends_of(case).far, mark_of(marks, row.far), _told(case))
    return f'<td class="contact"><span>{esc(words)}</span></td>'


def _told(case: Case) -> set[tuple[str, str]]:
    said = case.requirements.statements
    return {
        (end, part.partition("=")[0].strip())
        for end, words in (("near", said.near_colours), ("far", said.far_colours))
        for part in words.split(",")
        if part.strip()
    }


def _contact(end: str, name: str, called: str, mark: str | None, told: Iterable[tuple[str, str]]) -> str:
    is_told = (end, name) in set(told)
    said = f"{name}, {called} end" + (f", {mark}" if mark else "") + (", colour told" if is_told else "")
    ring = " told" if is_told else ""
    return (
        f'<td class="contact"><button type="button" class="{mark or "sound"}{ring}" aria-label="{esc(said)}" '
        f"{_picks(end, name, called)}>{esc(name)}{' •' if is_told else ''}</button></td>"
    )


def _colours(colours: ColourSet) -> str:
    """Return the colours that may be said of a contact, for the phone to put over the page."""
    said = {EMPTY: "nothing: it is empty", UNREAD: "I cannot tell"}
    found = []
    for word in looks(colours):
        drawn = "" if word in said else wire(looking(colours, word))
        found.append(
            f'<button type="button" data-colour="{esc(word)}">{drawn}<span>{esc(said.get(word, word))}</span></button>'
        )
    return f"<template>{''.join(found)}</template>"


def _record(shot: Shot) -> str:
    photos = f"{len(shot.photos)} photo{'s' if len(shot.photos) != 1 else ''}"
    if shot.kept is None:
        said = f"Not kept yet. {photos}."
    elif shot.is_kept:
        said = f"Kept as {shot.kept.file}, with {photos}."
    else:
        said = f"Kept as {shot.kept.file}, but what was said since is not: press Keep. {photos}."
    return f"<h2>{esc(wording.RECORD)}</h2><p>{esc(said)}</p>"
