"""What was checked of a cable, and what was not, in words that a reader who is no technician knows."""

from collections.abc import Callable, Collection, Sequence

from wiremap.judge.case import Case
from wiremap.judge.findings import Check, NotChecked
from wiremap.reading.reading import Reading
from wiremap.report.words.faults import CHECK_WORDS, capital, missing_with_reasons

CHECKED_WORDS: dict[Check, str] = {
    "continuity": "which contact reaches which, conductor by conductor",
    "shorts": "that no contacts are joined that should not be",
    "screen": "where the screen is joined",
    "resistance": "each conductor's resistance",
    "resistance-unbalance": "that both conductors of a pair have the same resistance",
    "contact-film": "films on contacts",
    "foreign-voltage": "that nothing else feeds the cable",
    "capacitance": "capacitance",
    "split-pairs": "that the twisted pairs are the ones wanted",
    "length": "length",
    "intermittent": "that nothing comes and goes as it is moved",
    "terminators": "the terminators of the bus",
}
NEVER_SHOWN = "A test of this kind never shows category, loss or crosstalk."


def checked(reading: Reading, not_checked: Sequence[NotChecked], said: Collection[str]) -> tuple[Check, ...]:
    """Return the checks that the reading has evidence for and that are not among those not made.

    said: which of "pairs", "lengths", "loops" and "terminators" the diagnosis has.
    """
    left_out = {item.what for item in not_checked}
    measured = any(isinstance(value, int | float) for i, row in enumerate(reading.resistance_ohm) for value in row[:i])
    evidence: dict[Check, bool] = {
        "continuity": reading.far != "open",
        "opens": False,  # a part of continuity, named where only that part was not looked at
        "shorts": True,
        "screen": True,
        "resistance": measured,
        "resistance-unbalance": measured,
        "contact-film": reading.low_level_ohm is not None,
        "leakage": False,  # sought wherever ohms are measured; named where they are not
        "foreign-voltage": reading.tester is not None and "FOREIGN" in reading.tester.features,
        "capacitance": reading.capacitance is not None,
        "split-pairs": "pairs" in said,
        "length": "lengths" in said,
        "intermittent": bool(reading.events),
        "terminators": "terminators" in said,
    }
    return tuple(check for check in CHECK_WORDS if evidence[check] and check not in left_out)


def checked_in(case: Case) -> tuple[Check, ...]:
    """Return what was checked of a cable."""
    found = case.diagnosis
    said = {"pairs": found.pairs, "lengths": found.lengths, "terminators": found.terminators}
    return checked(case.reading, found.not_checked, [name for name, value in said.items() if value])


def checked_sentence(checks: Sequence[Check]) -> str:
    """Return what was checked."""
    said = [CHECKED_WORDS[check] for check in CHECKED_WORDS if check in checks]
    return capital("; ".join(said)) + "." if said else "Nothing."


def not_checked_sentence(items: Sequence[NotChecked]) -> str:
    """Return what was not checked and why, and what never is."""
    text = missing_with_reasons(items)
    return f"{capital(text)}. {NEVER_SHOWN}" if text else NEVER_SHOWN


def checked_briefly(case: Case) -> str:
    """Return what was checked where the wire map does not show it: "Checked: shorts, length."; "" where it does."""
    if not any(item.what == "continuity" for item in case.diagnosis.not_checked):
        return ""
    loops = ["that pairs get through"] if any(loop.ohm is not None for loop in case.diagnosis.loops) else []
    said = [*loops, *(CHECK_WORDS[check] for check in checked_in(case))]
    return f"Checked: {', '.join(said)}." if said else ""


def missing_in_room(items: Sequence[NotChecked], fits: Callable[[str], bool]) -> str:
    """Return what was not checked as far as it fits, and how much more: "not checked: length and 2 more"."""
    names = list(dict.fromkeys(CHECK_WORDS[item.what] for item in items))
    for count in range(len(names), 0, -1):
        more = f" and {len(names) - count} more" if count < len(names) else ""
        text = f"not checked: {', '.join(names[:count])}{more}"
        if fits(text):
            return text
    return f"not checked: {len(names)} things" if names else ""
