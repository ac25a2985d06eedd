"""What a tester calls a contact: "N1", "far 3", "A2", "J1.4", "7", "shield"."""

import re
from typing import NamedTuple

from wiremap.contact import ENDS, End
from wiremap.reading.talk.language import Language

SCREEN_WORDS = r"S|SH|SCR|SHLD|shield|screen"
WORDS: dict[End, str] = {"near": r"near|N|A|left|L|local|in|J1", "far": r"far|F|B|right|R|remote|out|J2"}
# Names of the two ends belong together: a tester with an A end has a B end, and no far one.
TOGETHER = ("near far", "n f", "a b", "left right", "l r", "local remote", "in out", "j1 j2")
NAMED = re.compile(
    rf"(?:(?P<near>{WORDS['near']})|(?P<far>{WORDS['far']}))[ ._-]?(?P<number>\d{{1,2}}|{SCREEN_WORDS})", re.IGNORECASE
)
PLAIN = re.compile(
    rf"(?:pin|contact|row|wire|p|c|#)?[ ._-]?(?P<number>\d{{1,2}})|(?P<screen>{SCREEN_WORDS})", re.IGNORECASE
)
# A label in a line: a named one, or a number, by itself or after a word.
LABEL = rf"(?:(?:{WORDS['near']}|{WORDS['far']}|pin|contact|row|wire|p|c|#)?[ ._-]?(?:\d{{1,2}}|{SCREEN_WORDS}))"


class Name(NamedTuple):
    """A contact as a tester names it. end: None = not said; word: what it calls the end, "" = nothing.

    number: None = the screen, by its name.
    """

    end: End | None
    number: int | None
    word: str = ""


def name_of(text: str, language: Language | None = None) -> Name | None:
    """Return the contact a text names, None when it names none; by the language's own names where it has some."""
    text = text.strip().strip("\"'")
    if language is not None and language.near:
        for own, names in zip(ENDS, (language.near, language.far), strict=True):
            if text in names:
                return Name(own, names.index(text) + language.first, own)
        return None
    if match := NAMED.fullmatch(text):
        end: End = "near" if match["near"] else "far"
        word = (match["near"] or match["far"]).lower()
        if language is not None and language.ends:
            if word not in [one.lower() for one in language.ends]:
                return None
            end = "near" if word == language.ends[0].lower() else "far"
        return Name(end, int(match["number"]) if match["number"].isdigit() else None, word)
    if match := PLAIN.fullmatch(text):
        return Name(None, int(match["number"]) if match["number"] else None)
    return None


def one_kind(names: "list[Name]") -> bool:
    """Whether the names are of one tester: all say their end, in two words that belong together, or none does."""
    words = {name.word for name in names}
    if words == {""} or not names:
        return True
    return any(words <= set(pair.split()) for pair in TOGETHER) or words == {"near", "far"}
