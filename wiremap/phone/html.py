"""Pieces of HTML that fragments share; every text from outside passes `esc`."""

import json
from collections.abc import Iterable

from wiremap.cable.colours import Colour, ColourSet
from wiremap.report.markup import esc as esc
from wiremap.report.wire_rows import Row
from wiremap.report.words.faults import Ends
from wiremap.report.words.records import WRONG_MARK


def button(what: str, *words: str) -> str:
    """Return the attributes of a button that asks for something."""
    return f'type="button" data-do="{esc(what)}" data-words="{esc(json.dumps(list(words)))}"'


def wire(colour: Colour | None) -> str:
    """Return a piece of wire in its colours, which the script paints: the policy allows no style in the page."""
    if colour is None:
        return '<i class="wire"></i>'
    stripe = f' data-stripe="{esc(colour.stripe)}"' if colour.stripe else ""
    return f'<i class="wire" data-body="{esc(colour.body)}"{stripe}></i>'


def conductor(row: Row, said: str, note: str) -> str:
    """Return the middle of a row of the wire map: the conductor in its colours, its name, and what is said of it."""
    drawn = wire(row.colour) if row.near is not None else ""
    noted = f"<b>{WRONG_MARK} {esc(note)}</b>" if row.notes else f'<span class="note">{esc(note)}</span>'
    return f"{drawn}<span>{esc(said)}</span> {noted}"


def map_table(ends: Ends, rows: Iterable[str]) -> str:
    """Return the wire map of these rows, with the names of both ends above it."""
    heads = f'<caption><p class="ends"><span>{esc(ends.near)}</span><span>{esc(ends.far)}</span></p></caption>'
    return f'<table class="map">{heads}{"".join(rows)}</table>'


def looking(colours: ColourSet | None, word: str) -> Colour | None:
    """Return a conductor of a cable that looks so, None where none does."""
    every = colours.conductors if colours is not None else ()
    return next((one for one in every if one.looks == word), None)
