"""The course of a commissioning, pure: from what was found so far to the step that is next, and what follows."""

from collections.abc import Mapping
from datetime import UTC, datetime

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.commission.amounts import amount_typed
from wiremap.bench.commission.steps import BoardStep, figures_of, steps_of
from wiremap.errors import FileError, UsageError
from wiremap.reading.parts import Tester
from wiremap.records.commissions import HINT, Amount, Commission, Figure, Found, figure_said
from wiremap.tester.measure import SIMULATED

UNDO, NO_METER, IT_FAILS = "u", "n", "f"
SAYS_WHO = "answers"  # the step in which the board says who it is: without it there is no record


class Course(Struct, frozen=True):
    """Where a commissioning stands.

    typed: the figures of the step that is asked, so far. doubtful: the step as it was found, a figure of it beyond its
    limits, until that is confirmed. trouble: what was wrong with the last thing typed or measured.
    """

    commission: Commission
    typed: tuple[Figure, ...] = ()
    doubtful: Found | None = None
    trouble: str = ""

    @property
    def step(self) -> BoardStep | None:
        """Return the step that is next, the first in their order that nothing was found of; None = it is over."""
        if self.commission.over:
            return None
        done = {found.step for found in self.commission.found}
        return next((step for step in steps_of(self.commission.board) if step.name not in done), None)

    @property
    def number(self) -> int:
        """Return which of the steps is asked, from 1."""
        names = [step.name for step in steps_of(self.commission.board)]
        return names.index(self.step.name) + 1 if self.step is not None else len(names)


def course_from(commission: Commission) -> Course:
    """Return the course of a commissioning, one that was interrupted or is over too.

    Of one that is over the step that failed and those not measured are asked again, what else was found stays.
    FileError where steps were found that this version does not know.
    """
    known = {step.name for step in steps_of(commission.board)}
    for found in commission.found:
        if found.step not in known:
            raise FileError(f"the commissioning has a step '{found.step}', which is not known", HINT)
    if not commission.over:
        return Course(commission)
    kept = tuple(found for found in commission.found if found.how != "not-measured" and not found.wrong)
    return Course(replace(commission, found=kept, over=len(kept) == len(known)))


def said(course: Course, line: str, at: datetime | None = None) -> Course:
    """Return the course after a line was typed: a figure, or one of the three words; what is neither is trouble."""
    step, word = course.step, line.strip()
    if step is None:
        return course
    if word == UNDO:
        return _undone(course)
    if course.doubtful is not None:
        if word == IT_FAILS:
            return _after(course, course.doubtful)
        return replace(course, trouble="Type f (it is so: the board fails) or u (to measure it again).")
    if word == NO_METER:
        if step.name == SAYS_WHO:
            return replace(course, trouble="Without the tester's answer there is no record. q stops here.")
        return _after(course, Found(step.name, step.title, "not-measured", _moment(at)))
    if step.probe or not word:
        return replace(course, trouble="")
    sought = step.figures[len(course.typed)]
    try:
        typed = (*course.typed, sought.found(amount_typed(word, sought.unit)))
    except UsageError as error:
        return replace(course, trouble=f"{error.what}. {error.hint}")
    if len(typed) < len(step.figures) and typed[-1].holds:
        return replace(course, typed=typed, trouble="")
    return _held(course, Found(step.name, step.title, "typed", _moment(at), typed, step.repair))


def by_tester(course: Course, amounts: Mapping[str, Amount], at: datetime | None = None) -> Course:
    """Return the course after the tester measured the step that is asked, each figure by its name."""
    step = course.step
    assert step is not None
    figures = figures_of(step, amounts)
    return _held(course, Found(step.name, step.title, "measured", _moment(at), figures, step.repair))


def answered(course: Course, tester: Tester) -> Course:
    """Return the course with the tester that answered; UsageError where another one had answered before."""
    before = course.commission
    if before.serial and before.serial != tester.serial:
        raise UsageError(
            f"the tester {tester.serial} answers, and the one being commissioned is {before.serial}",
            "Plug that one in, or begin with this one: name it with --tester.",
        )
    simulated = SIMULATED in tester.features
    known = replace(before, model=tester.model, serial=tester.serial, firmware=tester.firmware, simulated=simulated)
    return replace(course, commission=known)


def _held(course: Course, found: Found) -> Course:
    """Go on where all figures hold; else ask whether it is so."""
    if not found.wrong:
        return _after(course, found)
    return Course(course.commission, doubtful=found, trouble="")


def _after(course: Course, found: Found) -> Course:
    """Return the course after a step: it is over with its last step, and with one that does not hold."""
    before = course.commission
    after = replace(before, found=(*before.found, found))
    last = len(after.found) == len(steps_of(after.board))
    return Course(replace(after, over=bool(found.wrong) or last))


def _undone(course: Course) -> Course:
    if course.doubtful is not None:
        return Course(course.commission)
    if course.typed:
        return replace(course, typed=course.typed[:-1], trouble="")
    before = course.commission
    if not before.found:
        return replace(course, trouble="There is nothing to take back.")
    return Course(replace(before, found=before.found[:-1]))


def _moment(at: datetime | None) -> str:
    return f"{at or datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}"


def verdict_lines(commission: Commission) -> tuple[str, ...]:
    """Return the verdict in sentences: what failed and what to do, or what was not measured."""
    failed = commission.failed
    if failed is not None:
        wrong = "; ".join(figure_said(figure) for figure in failed.wrong)
        return (f"{failed.title}: {wrong}.", failed.repair, "Then run this command again: it goes on with this step.")
    if commission.missing:
        names = "; ".join(found.title for found in commission.missing)
        return (f"Not measured: {names}.", "Until then it is not proven; this command asks for these alone.")
    if not commission.over:
        return ("It is not over.",)
    return ("Every step was measured and lies within its limits.",)
