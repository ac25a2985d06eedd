"""The cable judged with all that was said of it; what contradicts what was measured is found and asked once more."""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.mend.events import Asked, Mend
from wiremap.bench.mend.known import Known, Spot, requirements_with
from wiremap.errors import UsageError
from wiremap.judge.case import Case, Requirements, judge_case, read_by_eye
from wiremap.judge.plugs.evidence import UNREAD

MOST_TIMES = 2  # a question is asked: once, and once more where the answer contradicts what was measured


class Weighed(Struct, frozen=True):
    """A cable as it was judged. doubt: what is to be asked once more, None = nothing; why: what contradicts what.

    left_out: contacts whose colours were said twice so and cannot be; they are not believed.
    """

    case: Case
    doubt: Asked | None = None
    why: str = ""
    left_out: tuple[Spot, ...] = ()


def weighed(mend: Mend, known: Known) -> Weighed:
    """Judge the newest reading with what is known; UsageError where it cannot be judged whatever is left out."""
    left_out: list[Spot] = []
    why = ""
    while True:
        try:
            case = _case(mend, known, requirements_with(mend, known, left_out))
            return Weighed(case, left_out=tuple(left_out), why=why)
        except UsageError as error:
            suspects = _suspects(known, left_out)
            if not suspects:
                return _without_statements(mend, known, left_out)
            why = error.what
            fitting = [spot for spot in suspects if _fits(mend, known, (*left_out, spot))] or suspects
            once = [spot for spot in fitting if known.times.get(_of(spot), 0) < MOST_TIMES]
            if once and not (len(once) == 1 and len(fitting) > 1):
                case = _case_at_last(mend, known, (*left_out, once[0]))
                return Weighed(case, _of(once[0]), why, tuple(left_out))
            left_out.append((once or fitting)[0])  # what was said twice is believed before what was said once


def _of(spot: Spot) -> Asked:
    """Return the question for the colour at a contact."""
    return Asked("colour", spot[0], (spot[1],))


def _case(mend: Mend, known: Known, wanted: Requirements) -> Case:
    reading = read_by_eye(wanted) if mend.by_eye else known.reading
    assert reading is not None
    return judge_case(reading, wanted, mend.names)


def _fits(mend: Mend, known: Known, left_out: Sequence[Spot]) -> bool:
    try:
        _case(mend, known, requirements_with(mend, known, left_out))
    except UsageError:
        return False
    return True


def _case_at_last(mend: Mend, known: Known, left_out: Sequence[Spot]) -> Case:
    """Return the cable judged without what is in doubt, and where that is not enough without anything that was said."""
    try:
        return _case(mend, known, requirements_with(mend, known, left_out))
    except UsageError:
        return _without_statements(mend, known, list(known.reads)).case


def _suspects(known: Known, left_out: Sequence[Spot]) -> list[Spot]:
    """Return the contacts whose colour may have been said wrongly: the one looked at last first, then what was made."""
    told = [spot for spot, word in known.reads.items() if word != UNREAD and spot not in left_out]
    return [
        *(spot for spot in reversed(told) if spot in known.said),
        *(spot for spot in reversed(told) if spot not in known.said),
    ]


def _without_statements(mend: Mend, known: Known, left_out: Sequence[Spot]) -> Weighed:
    """Judge without what was stated of whole plugs, which cannot be either."""
    wanted = requirements_with(mend, known, left_out)
    bare = replace(wanted, near_order=None, statements=replace(wanted.statements, sound=()))
    return Weighed(_case(mend, known, bare), left_out=tuple(left_out))
