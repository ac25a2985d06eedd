"""What is said of a bus's terminators: how many there are, where, and which to fit or to take out.

`ends` are the names of the near and the far end. A sentence names an end only where it is known what sits there.
"""

from wiremap.judge.findings import Finding
from wiremap.judge.wiring.terminators import Terminators, rightly_placed

_Ends = tuple[str, str]
ELSEWHERE = " If the other one sits elsewhere on the backbone, say so (--terminators 1)."


def terminators_said(finding: Finding, contacts: str, ends: _Ends) -> str:
    """Return how many terminators there are against how many should be, and the one end where that is wrong."""
    seen, right = _numbers(finding)
    there = f"there {'is' if seen < 2 else 'are'} {_terminators(seen)} on the bus between {contacts}"
    if finding.detail == "asked":
        wants = f"{_number(right)} should be there"
    else:
        wants = "a whole backbone has two" if right == 2 else f"there should be {_number(right)}"
    if finding.end not in ("near", "far"):
        return f"{there}; {wants}"
    apart = abs(seen - right)
    what = f"{_number(apart)} {'is' if apart == 1 else 'are'} {'missing' if seen < right else 'too many'}"
    return f"{there}; {wants}: {what} at the {ends[0 if finding.end == 'near' else 1]} end"


def terminators_sentence(finding: Finding, contacts: str, ends: _Ends, seen: Terminators) -> str:
    """Return the same as a whole sentence, with what sits at each end and the ohms there."""
    said = terminators_said(finding, contacts, ends)
    at_each = f": {_at_each(seen, ends)}" if finding.end is None and seen.count and seen.near is not None else ""
    ohms = _ohms(seen, ends)
    return f"{said[:1].upper()}{said[1:]}{at_each}{f' ({ohms})' if ohms else ''}."


def terminators_line(seen: Terminators, near: str, far: str) -> str:
    """Return what terminators a bus shows, with the ohms at each end."""
    ends = (near, far)
    if not seen.count:
        return "No terminator: right for a single lead, not for a whole backbone."
    ohms = _ohms(seen, ends)
    measured = f" ({ohms})" if ohms else ""
    if seen.near is None:
        return f"{_capital(_terminators(seen.count))}{measured}."
    belongs = "; one belongs at each end of a backbone" if terminators_moved(seen, ends) else ""
    return f"{_capital(_terminators(seen.count))}: {_at_each(seen, ends)}{measured}{belongs}."


def terminators_next(finding: Finding, seen: Terminators | None, ends: _Ends) -> str:
    """Return which terminators to fit and which to take out."""
    count, right = _numbers(finding)
    also = ELSEWHERE if (count, right) == (1, 2) and finding.detail != "asked" else ""
    belong = rightly_placed(seen, right) if seen is not None else None
    if seen is not None and belong is not None:
        return f"Power off. {_capital(_moves(seen, belong, ends))}.{also}"
    apart = abs(count - right)
    if count < right:
        where = "See at which end of the backbone none is fitted, and fit it there" if right == 2 and count else ""
        return f"Power off. {where or f'Fit {_number(apart)} where the job wants {_it(apart)}'}.{also}"
    return f"Power off. See at both ends of the backbone, and between, and take out {_number(apart)}."


def terminators_moved(seen: Terminators, ends: _Ends) -> str:
    """Return what to move where two terminators are both at one end, "" where they are not."""
    belong = rightly_placed(seen, 2) if seen.count == 2 else None
    if belong is None or belong == (seen.near, seen.far):
        return ""
    return f"Power off. {_capital(_moves(seen, belong, ends))}."


def terminators_note(finding: Finding, seen: Terminators | None, ends: _Ends) -> str:
    """Return the same in the few words that a line of the wire map has, the end first: a narrow page cuts the rest."""
    count, right = _numbers(finding)
    belong = rightly_placed(seen, right) if seen is not None else None
    if seen is None or belong is None:
        return f"{_terminators(count)}, not {right}"
    there = (seen.near or 0, seen.far or 0)
    wrong = [(is_there, end) for end, is_there, belongs in zip(ends, there, belong, strict=True) if is_there != belongs]
    first, *others = [
        f"{end}: {_number(is_there) if number else _terminators(is_there)}"
        for number, (is_there, end) in enumerate(wrong)
    ]
    return ", ".join((first, *others))


def _moves(seen: Terminators, belong: tuple[int, int], ends: _Ends) -> str:
    there = (seen.near or 0, seen.far or 0)
    moves = []
    for end, is_there, belongs in zip(ends, there, belong, strict=True):
        apart = abs(is_there - belongs)
        if is_there > belongs:
            which = "the terminator" if is_there == 1 else f"{_number(apart)} of the {_number(is_there)} terminators"
            which = f"all {_number(apart)} terminators" if apart == is_there > 1 else which
            moves.append(f"take out {which} at the {end} end")
        elif is_there < belongs:
            moves.append(f"fit a terminator at the {end} end")
    return " and ".join(moves)


def _at_each(seen: Terminators, ends: _Ends) -> str:
    return f"{_number(seen.near or 0)} at the {ends[0]} end, {_number(seen.far or 0)} at the {ends[1]} end"


def _ohms(seen: Terminators, ends: _Ends) -> str:
    measured = zip(ends, (seen.near_ohm, seen.far_ohm), strict=True)
    return ", ".join(f"{ohm:.0f} ohm at the {end} end" for end, ohm in measured if ohm is not None)


def _numbers(finding: Finding) -> tuple[int, int]:
    return int(finding.value or 0), int(finding.limit or 0)


def _terminators(count: int) -> str:
    return ("no terminator", "one terminator")[count] if count < 2 else f"{_number(count)} terminators"


def _number(count: int) -> str:
    return ("none", "one", "two", "three", "four", "five", "six")[count] if count < 7 else str(count)


def _it(count: int) -> str:
    return "it" if count == 1 else "them"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
