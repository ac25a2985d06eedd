"""Text of a tester to a Reading: by its description, or, where it names both ends itself, by its own names.

Every way to read it is tried. It is believed only where all that fit give the same wires; nothing is guessed, and a
scan counts only whole and only when it came alike often enough, since such a line has no check value.
"""

from collections.abc import Sequence

from msgspec import Struct

from wiremap.cable.connectors import Connector
from wiremap.contact import Contact
from wiremap.errors import FileError
from wiremap.ranges import LONGEST_TEXT
from wiremap.reading.parts import HeardText, Tester
from wiremap.reading.reading import Ohm, Origin, Reading, square
from wiremap.reading.talk.language import Language, language_text
from wiremap.reading.talk.meanings import SCREEN_NAME, TalkWires, UnfitError, wires
from wiremap.reading.talk.rows import items
from wiremap.reading.talk.scans import AlikeScan, UnsteadyError, scans_of, steady
from wiremap.reading.talk.senses import USUAL_CONTACTS, ends_named, meanings, steady_scans
from wiremap.reading.talk.talk_lines import talk_lines

LINES_IN_READING = 400  # a reading holds no more
LEARN = "Describe its language (--talks FILE.toml); `wiremap learn` finds it out with one wire."


class NoTalkError(FileError):
    """The text is that of no tester, as far as anybody can tell; what else it is may be better said by others."""


class FromTalk(Struct, frozen=True):
    """What was believed of a text: its language, the wires, and how often the scan came alike."""

    language: Language
    wires: TalkWires
    times: int
    lines: tuple[str, ...]

    @property
    def read_as(self) -> str:
        """Return how the text was read, in words."""
        return f"{in_words(self.language, len(self.wires.near))}; seen {self.times} times alike"


def understood(content: bytes, source: str, language: Language, live: bool = False) -> FromTalk:
    """Return what a text says in a language; FileError when no scan of it can be believed."""
    lines = talk_lines(content, live)
    if not lines:
        raise FileError(f"{source}: holds no whole line", "Let the tester print a few scans.")
    try:
        seen = steady(scans_of(items(lines, language), language), language.least_alike)
        return FromTalk(language, wires(seen.scan, language), seen.times, lines)
    except UnsteadyError as why:
        raise unsteady(source, why) from why
    except UnfitError as why:
        raise FileError(
            f"{source}: does not fit the description ({why})", "Correct the description, or run `wiremap learn` again."
        ) from why


def recognised(content: bytes, source: str, plain: int | None = None, live: bool = False) -> FromTalk:
    """Return what a text says that names both ends of the cable itself; FileError says what else it could mean.

    plain: contacts of a plug but for the screen, as the expected pattern has them, None = not known.
    """
    lines = talk_lines(content, live)
    scans, failed = steady_scans(lines)
    if not scans:
        if failed:
            raise unsteady(source, max(failed, key=lambda why: why.whole))
        raise NoTalkError(f"{source}: no text of a tester that is known", LEARN)
    found: dict[TalkWires, tuple[Language, AlikeScan]] = {}
    unnamed: dict[TalkWires, Language] = {}
    for shape, seen in scans:
        ended = ends_named(shape, seen.scan)
        if ended and _constant(shape, seen):
            raise FileError(
                f"{source}: every cell is {seen.scan.rows[0].cells[0]}: nothing is joined, or everything is", LEARN
            )
        for language, said in meanings(shape, seen, lines, plain or USUAL_CONTACTS):
            if ended:
                found.setdefault(said, (language, seen))
            else:
                unnamed.setdefault(said, language)
    # What explains as much and never came alike speaks against what did.
    most = max((seen.times for _, seen in found.values()), default=0)
    against = max(failed, key=lambda why: why.whole, default=None)
    if against is not None and against.whole > 2 and against.whole >= most:
        raise unsteady(source, against)
    if len(found) == 1 and not (plain is None and next(iter(found.values()))[0].form == "links"):
        ((said, (language, seen)),) = found.items()
        return FromTalk(language, said, seen.times, lines)
    raise _ambiguous(source, [(language, said) for said, (language, _) in found.items()], list(unnamed.items()))


def _constant(shape: Language, seen: AlikeScan) -> bool:
    cells = {cell for row in seen.scan.rows for cell in row.cells}
    return shape.form in ("cells", "masks") and len(cells) == 1


def _ambiguous(
    source: str, found: Sequence[tuple[Language, TalkWires]], unnamed: Sequence[tuple[TalkWires, Language]]
) -> FileError:
    ways = [in_words(language, len(said.near)) for language, said in found]
    ways += [] if ways else [in_words(language, len(said.near)) for said, language in unnamed]
    if not ways:
        return NoTalkError(f"{source}: no text of a tester that is known", LEARN)
    distinct = list(dict.fromkeys(ways))
    if len(distinct) == 1:
        return FileError(f"{source}: can be {distinct[0]}, and does not say so itself", LEARN)
    more = f", or {len(distinct) - 2} ways more" if len(distinct) > 2 else ""
    return FileError(f"{source}: can be {distinct[0]}; or {distinct[1]}{more}", LEARN)


def unsteady(source: str, why: UnsteadyError) -> FileError:
    """Return what to say of a text whose scans did not agree."""
    kind = FileError if why.whole > 2 else NoTalkError
    return kind(
        f"{source}: {why.what} ({why.whole} whole, {why.broken} broken)",
        "Let the tester print a few more scans of one cable that is not touched.",
    )


LAYOUT_WORDS = {
    "all": "each contact of both plugs to every other",
    "interleaved": "near and far contacts in turn, each to every other",
    "one-plug": "each contact of one plug to every other",
}


def in_words(language: Language, count: int) -> str:
    """Return a language in words: "rows of 9 cells, a row a near contact, 1 is joined"."""
    if language.form == "cells":
        size = f"rows of {count if language.layout in ('two-ends', 'one-plug') else 2 * count} cells"
    else:
        size = {
            "links": "a link a joined pair",
            "lists": "a list a contact",
            "masks": "a mask a contact",
            "json": "JSON",
        }[language.form]
    said = [size, LAYOUT_WORDS.get(language.layout) or f"{language.first_end} contacts first"]
    if language.form in ("cells", "json", "masks"):
        bit = "bit " if language.form == "masks" else ""
        said.append("cells are ohms" if language.joined in ("ohm", "kohm") else f"{bit}{language.joined} is joined")
    if language.form == "masks":
        base = {"2": "binary", "10": "decimal", "16": "hexadecimal"}[language.radix]
        said.append(f"{base}, {'contact 1 the ' + language.bits + ' bit' if language.bits != 'from-1' else 'bit 1'}")
    if language.form in ("links", "lists"):
        said.append(f"numbered from {language.first}")
    said.append(
        {"none": "no screen", "named": "the screen by name"}.get(language.screen, f"the screen {language.screen}")
    )
    return ", ".join(said)


def reading_of(said: FromTalk, origin: Origin, tester: Tester | None = None, taken_utc: str | None = None) -> Reading:
    """Return what was heard as a Reading in the tester's contacts; what was not looked at is not measured."""
    near, far = said.wires.near, said.wires.far
    values: dict[tuple[Contact, Contact], Ohm] = {(a, b): value for a, b, value in said.wires.seen}
    contacts = [*(Contact("near", name) for name in near), *(Contact("far", name) for name in far)]
    return Reading(
        taken_utc=taken_utc,
        tester=tester,
        calibration=None,
        far="tester",
        near_contacts=near,
        far_contacts=far,
        resistance_ohm=square(contacts, values, None),
        origin=origin,
        heard=HeardText(
            tuple(map(_printable, said.lines[-LINES_IN_READING:])),
            said.times,
            language_text(said.language, "the language of the tester"),
        ),
    )


def _printable(line: str) -> str:
    spelt = "".join(letter if letter.isprintable() else f"\\x{ord(letter):02x}" for letter in line)
    return spelt[: LONGEST_TEXT - 1] or " "


def plain_contacts(near: Connector | None) -> int | None:
    """Return how many contacts a plug has but for its screen, None = the plug is not known."""
    return None if near is None else sum(name != SCREEN_NAME for name in near.contacts)
