"""Options of the command line within sentences: always in brackets of their own, so that paper leaves them out."""

import re

TYPED = re.compile(r" ?\(--[^()]*\)")


def without_options(sentence: str) -> str:
    """Return a sentence as it reads where no command line is: what to type is left out of it."""
    return TYPED.sub("", sentence)
