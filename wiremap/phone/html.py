"""Pieces of HTML that fragments share; every esc from outside passes `esc`."""

import json
from html import escape

from wiremap.cable.colours import Colour


def esc(said: str) -> str:
    """Return a esc as HTML has it, in an element or an attribute."""
    return escape(said, quote=True)


def button(what: str, *words: str) -> str:
    """Return the attributes of a button that asks for something."""
    return f'type="button" data-do="{esc(what)}" data-words="{esc(json.dumps(list(words)))}"'


def wire(colour: Colour | None) -> str:
    """Return a piece of wire in its colours, which the script paints: the policy allows no style in the page."""
    if colour is None:
        return '<i class="wire"></i>'
    stripe = f' data-stripe="{esc(colour.stripe)}"' if colour.stripe else ""
    return f'<i class="wire" data-body="{esc(colour.body)}"{stripe}></i>'
