"""Learns a tester's language from what it prints while one wire that is known joins one contact to another. Pure.

Near 1 to far 2 decides most at once: which end rows are, how contacts are numbered, the order of bits, what joined
looks like. Where ways are left that differ in the screen or the last contact, a second wire tells.
"""

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from wiremap.contact import far_contact, near_contact
from wiremap.reading.talk.language import Language
from wiremap.reading.talk.meanings import SCREEN_NAME
from wiremap.reading.talk.scans import AlikeScan
from wiremap.reading.talk.senses import USUAL_CONTACTS, meanings, steady_scans
from wiremap.reading.talk.talk_lines import talk_lines

LearningStep = Literal["wire", "learnt", "unknown"]
FIRST_WIRE = ("1", "2")
MOST_WIRES = 3


class Learning(Struct, frozen=True):
    """Where learning stands. step: a wire is wanted, the language is known, or it cannot be found out.

    wire: the near and the far contact to be joined now. left: the ways that fit all that was heard. plain: contacts
    of a plug but for the screen. wires: how many were heard. why: of "unknown", and of a wire to be heard again, what
    is wrong. screen: whether the tester has a contact for the screen, None = not known.
    """

    step: LearningStep = "wire"
    wire: tuple[str, str] = FIRST_WIRE
    left: tuple[Language, ...] = ()
    plain: int = USUAL_CONTACTS
    wires: int = 0
    why: str = ""
    screen: bool | None = None

    @property
    def language(self) -> Language:
        """Return the language that was learnt."""
        return self.left[0]


def after_listening(state: Learning, content: bytes, live: bool = True) -> Learning:
    """Return where learning stands after this text was printed with the wire that was wanted."""
    lines = talk_lines(content, live)
    scans, failed = steady_scans(lines)
    if not scans:
        why = failed[0].what if failed else "nothing in it looks like a scan of contacts"
        return replace(state, why=why)
    fitting = _fitting(state, scans, lines)
    left = fitting if state.wires == 0 else tuple(known for known in state.left if known in fitting)
    if not left:
        return replace(state, why=f"no way to read it fits one wire from near {state.wire[0]} to far {state.wire[1]}")
    return _next(replace(state, left=left, wires=state.wires + 1, why=""))


def no_screen(state: Learning) -> Learning:
    """Return where learning stands when the user says that the tester has no contact for the screen."""
    left = tuple(language for language in state.left if language.screen == "none")
    if not left:
        return replace(state, step="unknown", why="it names a contact that is a screen's")
    return _next(replace(state, left=left, screen=False))


def _fitting(
    state: Learning, scans: Sequence[tuple[Language, AlikeScan]], lines: tuple[str, ...]
) -> tuple[Language, ...]:
    wanted = {frozenset((near_contact(state.wire[0]), far_contact(state.wire[1])))}
    found = []
    for shape, seen in scans:
        for language, said in meanings(shape, seen, lines, state.plain):
            if {frozenset(pair) for pair in said.joined} == wanted and said.far:
                found.append(replace(language, count=len(said.near)))
    return tuple(dict.fromkeys(found))


def _next(state: Learning) -> Learning:
    """Settle where one way is left, else ask for the wire that tells the ways apart."""
    if len(state.left) == 1:
        return replace(state, step="learnt")
    if state.wires >= MOST_WIRES:
        return replace(state, step="unknown", why=f"{len(state.left)} ways to read it are left")
    plain = min((language.count or 0) - (language.screen != "none") for language in state.left)
    plain = min(plain, state.plain) if state.left[0].form == "links" else plain
    if state.screen is None and len({language.screen for language in state.left}) > 1:
        return replace(state, step="wire", wire=(SCREEN_NAME, str(plain)), screen=True)
    if state.wires < MOST_WIRES and state.wire != (str(plain), str(plain - 1)) and plain > 2:
        return replace(state, step="wire", wire=(str(plain), str(plain - 1)))
    return replace(state, step="unknown", why=f"{len(state.left)} ways to read it are left")
