"""A table's cells to values: continuity in its usual words, or ohms with their units; nothing is guessed."""

import math
import re
from collections import Counter
from collections.abc import Sequence
from typing import Literal, get_args

from wiremap.reading.reading import Ohm
from wiremap.reading.table_text import TableCell, TableRefusedError

CellMeaning = Literal["continuity", "ohms"]
CELLS: tuple[CellMeaning, ...] = get_args(CellMeaning)
ASK = "Say --cells continuity (1 = joined) or --cells ohms (1 = 1 ohm)."
NOTHING = ("", "-", "--", "---", ".")
# What means joined -> what may stand for open beside it; a table has one word for each.
CONTINUITY: dict[str, tuple[str, ...]] = {
    "1": ("0",),
    "x": NOTHING,
    "\u00d7": NOTHING,
    "*": NOTHING,
    "\u2713": (*NOTHING, "x", "\u2717", "\u2718"),
    "\u2714": (*NOTHING, "x", "\u2717", "\u2718"),
    "yes": ("no",),
    "y": ("n",),
    "true": ("false",),
    "t": ("f",),
    "wahr": ("falsch",),
    "vrai": ("faux",),
    "ja": ("nein",),
    "oui": ("non",),
    "on": ("off",),
    "joined": ("open", "not joined"),
    "connected": ("open", "not connected", "disconnected"),
    "closed": ("open",),
}
CERTAIN_OPEN = ("no", "false", "falsch", "faux", "nein", "non", "off", "not joined", "not connected", "disconnected")
OPEN_WORDS = ("open", "inf", "infinity", "\u221e", "ol", "o.l", "o.l.", "0l", "0.l", "0.l.", "overload")
NUMBER = r"(?:0|[1-9][0-9]*|(?=[.,][0-9]))(?:[.,][0-9]*)?(?:[eE][+-]?[0-9]+)?"
OHMS = re.compile(rf"(?P<number>{NUMBER}) *(?P<unit>.*)")
THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
OHM_WORD = r"(?:[Oo][Hh][Mm][Ss]?|\u03a9|\u2126)"
NOT_MEASURED_OHM = 9.91e37  # SCPI-1999: 9.91E37 stands for "not a number", 9.9E37 for infinity
SENTINEL_OHM = 1e6  # from here a number is open whatever it stands for
ALLOWED = (
    "Allowed there: ohms from 0, with a unit or none, or one word for open in the whole table (open, OL, inf, or "
    "nothing); contact names as on the plug in a first row or column."
)


def values(cells: Sequence[TableCell], told: CellMeaning | None, factor: float | None) -> tuple[tuple[Ohm, ...], str]:
    """Return what the cells say, in their order, and how they were read: "1 = joined", "ohms".

    factor: ohms of a number without a unit, None = 1, nothing was said. TableRefusedError names the cell that has no
    meaning, or both that a table can have.
    """
    words = [cell.text.lower() for cell in cells]
    seen = set(words)
    if told == "continuity" and seen <= {"0", "1", ""}:
        said = ["1 = joined", *(f"{word or 'nothing'} = open" for word in ("0", "") if word in seen), "as told"]
        return tuple("joined" if word == "1" else "open" for word in words), ", ".join(said)
    if told != "ohms":
        for joined, opens in CONTINUITY.items():
            if joined in seen and len(seen) <= 2 and seen - {joined} <= set(opens):
                other = (seen - {joined}).pop() if len(seen) == 2 else ""
                how = f"{joined} = joined" + (f", {other or 'nothing'} = open" if len(seen) == 2 else "")
                return tuple("joined" if word == joined else "open" for word in words), how
        if len(seen) == 1 and seen <= {"0", *CERTAIN_OPEN}:
            return tuple("open" for _ in words), f"{words[0]} = open"
    if told == "continuity":
        _not_continuity(cells)
    return _ohms(cells, told, factor)


def _not_continuity(cells: Sequence[TableCell]) -> None:
    """Refuse the first cell that is no word of continuity, or the second word for joined or for open."""
    odd = [cell for cell in cells if cell.text.lower() not in ("0", "1", "")]
    raise TableRefusedError(
        3,
        odd[0].place,
        f"'{odd[0].text[:40]}' is no continuity beside the other cells",
        "Allowed there: 1 (joined), 0 or nothing (open).",
    )


def _ohms(cells: Sequence[TableCell], told: CellMeaning | None, factor: float | None) -> tuple[tuple[Ohm, ...], str]:
    opens: dict[str, TableCell] = {}
    found: list[Ohm] = []
    for cell in cells:
        word = cell.text.lower()
        if word in OPEN_WORDS or word in NOTHING:
            opens.setdefault("open" if word in OPEN_WORDS else word, cell)
            found.append("open")
        else:
            found.append(_ohm(cell, factor))
    numbers = [cell for cell, value in zip(cells, found, strict=True) if value != "open"]
    if told is None and all(value in (0.0, 1.0) for value in found if value != "open") and set(opens) <= set(NOTHING):
        words = sorted({cell.text for cell in numbers}) or ["nothing"]
        blank = " and blanks" if opens else ""
        raise TableRefusedError(
            3, cells[0].place, f"holds only 0, 1 and blanks ({', '.join(words)}{blank}): continuity or ohms", ASK
        )
    if len(opens) > 1:
        first, second = list(opens)[:2]
        raise TableRefusedError(
            3,
            opens[second].place,
            f"'{second}' stands here and '{first}' at {opens[first].place}: both open, or one not measured",
            "Write one word for open in the whole table; a cell that was not measured has no place in it.",
        )
    if told is None:
        _no_stand_in(cells, found)
    comma = _decimal_comma(numbers)
    how = "ohms" + (" with a decimal comma" if comma else "")
    return tuple(found), how + (f", {next(iter(opens.values())).text or 'nothing'} = open" if opens else "")


def _ohm(cell: TableCell, factor: float | None) -> float:
    match = OHMS.fullmatch(cell.text)
    number = float(match["number"].replace(",", ".")) if match and match["number"] else math.nan
    ohm = number * (unit_ohm(match["unit"]) if match and match["unit"] else factor or 1.0)
    if not math.isfinite(ohm) or ohm == NOT_MEASURED_OHM:
        raise TableRefusedError(3, cell.place, f"'{cell.text[:40]}' is no resistance", ALLOWED)
    return ohm


def unit_ohm(unit: str) -> float:
    """Return how many ohms a unit is; NaN when it is none, or when nobody can tell milli from mega by its letters."""
    match = re.fullmatch(rf"(?P<prefix>[kKmM]?) ?(?P<ohm>{OHM_WORD}|R|r)?", unit)
    if match is None or not unit:
        return math.nan
    prefix, ohm = match["prefix"], match["ohm"] or ""
    if prefix in ("m", "M"):
        letters = [letter for letter in unit if letter.isascii() and letter.isalpha()]
        one_case = len(letters) > 1 and len({letter.isupper() for letter in letters}) == 1
        if one_case or unit == "m":
            return math.nan
    if ohm in ("R", "r") and prefix:
        return math.nan
    return {"": 1.0, "k": 1e3, "K": 1e3, "m": 1e-3, "M": 1e6}[prefix]


def _decimal_comma(numbers: Sequence[TableCell]) -> bool:
    """Return whether decimals are written with a comma; refuse both in one table, and commas that can be thousands."""
    commas = [cell for cell in numbers if "," in cell.text]
    points = [cell for cell in numbers if "." in cell.text]
    if commas and points:
        raise TableRefusedError(
            3,
            max(commas[0], points[0], key=lambda cell: (cell.line, cell.column)).place,
            f"'{commas[0].text[:40]}' and '{points[0].text[:40]}' in one table: what is the decimal sign?",
            "Write all decimals with a point, and no thousands sign.",
        )
    if commas and all(THOUSANDS.match(cell.text) for cell in commas):
        raise TableRefusedError(
            3,
            commas[0].place,
            f"'{commas[0].text[:40]}' can be a decimal comma or a thousands sign",
            "Write decimals with a point, and no thousands sign.",
        )
    return bool(commas)


def _no_stand_in(cells: Sequence[TableCell], found: Sequence[Ohm]) -> None:
    """Refuse a table most of whose cells are one number under 1 Mohm: that is a word for open, or continuity."""
    counted = Counter(number for number in found if isinstance(number, float))
    most = max(counted, key=lambda number: counted[number], default=math.inf)
    if 2 * (counted[0.0] + counted[1.0]) > len(cells):
        usual, word = {0.0, 1.0}, "0 or 1"
    elif 2 * counted[most] > len(cells) and most < SENTINEL_OHM:
        usual, word = {most}, next(cell.text for cell, number in zip(cells, found, strict=True) if number == most)
    else:
        return
    odd = next((cell for cell, number in zip(cells, found, strict=True) if number not in usual), cells[0])
    raise TableRefusedError(
        3,
        odd.place,
        f"most cells are {word}, this one is '{odd.text[:40]}': a slip, or a number that stands for open",
        "Write open where nothing is joined; --cells ohms says that all numbers are ohms.",
    )


def contradicting_cells(rows: Sequence[Sequence[Ohm]]) -> tuple[tuple[int, int], bool] | None:
    """Return where a continuity table contradicts itself, and whether it would not with joined and open exchanged.

    What is joined to one contact is joined to all that this one is joined to: two rows that have a column in common
    are alike. None: no contradiction.
    """

    def place(joined: Ohm) -> tuple[int, int] | None:
        for i, row in enumerate(rows):
            for other in rows[:i]:
                both = [(a == joined, b == joined) for a, b in zip(row, other, strict=True)]
                if (True, True) in both and any(a != b for a, b in both):
                    return i, next(column for column, (a, b) in enumerate(both) if a != b)
        return None

    found = place("joined")
    return None if found is None else (found, place("open") is None)
