"""Text from outside as HTML has it."""

from html import escape

from wiremap.errors import spelled_out


def esc(said: str) -> str:
    """Return a text as HTML has it, in an element or an attribute; what a browser would obey is spelled out."""
    return escape(spelled_out(said), quote=True)
