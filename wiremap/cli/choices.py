"""Words of options that are one of a few."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, cast

from wiremap.cable.patterns import Pattern, pattern
from wiremap.contact import ENDS, End
from wiremap.errors import UsageError
from wiremap.reading.reading import FARS, Far
from wiremap.reading.table_cells import CELLS, CellMeaning

if TYPE_CHECKING:
    from wiremap.reading.talk.language import Language


def ends_words(option: str, words: Sequence[str]) -> tuple[End, ...]:
    """Return the ends that an option names; UsageError where one is no end."""
    for word in words:
        if word not in ENDS:
            raise UsageError(f"{option} {word}: not known", "Give near or far.")
    return tuple(end for end in ENDS if end in words)


def far_word(word: str) -> Far:
    """Return what the far plug is in; UsageError for a word that is none."""
    if word not in FARS:
        raise UsageError(f"--far {word}: not known", "Give one of " + ", ".join(FARS) + ".")
    return word


def cells_word(word: str | None) -> CellMeaning | None:
    """Return what 0 and 1 mean in a CSV file; UsageError for a word that is none."""
    if word is not None and word not in CELLS:
        raise UsageError(f"--cells {word}: not known", "Give one of " + ", ".join(CELLS) + ".")
    return word


def language_in(path: Path | None) -> "Language | None":
    """Return the language a file describes, None where none was named; FileError for one that cannot be read."""
    if path is None:
        return None
    from wiremap.reading.talk.language import read_language

    return read_language(path)


def language_of_tester(path: Path | None, address: str | None) -> "Language | None":
    """Return the language of the tester at an address: the file's that was named, else the one learnt, else None."""
    if path is not None or address is None or address.startswith("sim"):
        return language_in(path)
    from wiremap.records.languages import language_of
    from wiremap.tester.line import device_serial

    return language_of(device_serial(address))


def end_word(word: str | None) -> End | None:
    """Return the end that was named; UsageError for a word that is none."""
    if word not in (None, "near", "far"):
        raise UsageError(f"--end {word}: not known", "Give near or far.")
    return cast(End | None, word)


def adapters(near: str | None, far: str | None) -> tuple[Pattern | None, Pattern | None]:
    """Return the adapters that were named, None where none was; UsageError for a name that is none."""
    return pattern(near) if near else None, pattern(far) if far else None
