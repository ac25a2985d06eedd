"""A user who mends a cable as a guided repair asks: one thing at a time, answered by what is really in the plugs.

Now and then an answer is wrong, or "I do not know". What the repair says is judged by the truth, as for the page.
"""

import random
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import cast

from tests.world.cables import Job
from tests.world.outcome import StopsError
from tests.world.product import CardRead
from tests.world.readings import reading
from tests.world.tables import CONTACTS
from tests.world.truth import Plug, Truth, fewest_terminations
from tests.world.user import User
from wiremap.bench.mend.events import (
    Answered,
    Asked,
    Did,
    Mend,
    Tested,
    reported,
    what_stands,
)
from wiremap.bench.mend.machine import done, what_now
from wiremap.bench.mend.stage import Stage
from wiremap.cable.colours import colour_set
from wiremap.errors import WiremapError
from wiremap.judge.case import requirements
from wiremap.judge.plugs.found import Holds as OrderHeld
from wiremap.judge.remedy.knowledge import Statements
from wiremap.reading.reading import Reading

MOST_STEPS = 80
UNKNOWN = "?"
MOST_QUESTIONS = 3


@dataclass
class Mended:
    """What became of one cable in a guided repair. wrong: answers that were not so, in the order of questions."""

    job: Job
    ending: str = ""
    right: bool = False
    questions: int = 0
    again: int = 0
    twice: list[Asked] = field(default_factory=list)
    wrong: int = 0
    unknown: int = 0
    terminations: int = 0
    fewest: int | None = 0
    story: list[str] = field(default_factory=list)
    last: Mend | None = None


class Guided(User):
    """One person with one cable and a guided repair. wrong, unknown: how often an answer is so."""

    def __init__(self, job: Job, seed: int, wrong: float = 0.0, unknown: float = 0.0, tells_reach: bool = True) -> None:
        super().__init__(job, seed)
        self.errs = random.Random(f"answers {seed}")
        self.wrong, self.unknown = wrong, unknown
        told = Statements(closed=job.closed if tells_reach else ())
        screen = "both" if self.truth.screen_asked else None
        wanted = requirements(job.pattern.name, screen, colours=job.colours, statements=told)
        self.repair = Mend(wanted)
        self.found = Mended(job)

    def guided(self) -> Mended:
        """Do what the repair says until it is over; return what became of the cable."""
        found = self.found
        reachable = self.truth.run.sound and not self.job.other_kind
        found.fewest = fewest_terminations(self.truth, self.job.pattern, self.job.with_pairs) if reachable else None
        try:
            for _ in range(MOST_STEPS):
                self._step(what_now(self.repair))
            found.ending = "stuck"
        except StopsError as stop:
            found.ending = str(stop)
        except WiremapError as error:
            found.ending = f"refused: {error.what}"
        found.terminations = self.outcome.terminations
        found.right = self._right(found.ending)
        found.last = self.repair
        found.story += self.outcome.story
        return found

    def _right(self, ending: str) -> bool:
        if ending in ("passed", "serves"):
            return self.truth.as_wanted(self.job.pattern)
        if ending == "other-kind":
            return bool(self.job.other_kind)
        if ending in ("replace", "both-well"):
            return not self.job.truth.run.sound or bool(self.job.other_kind)
        return False

    def _measured(self) -> Reading:
        return reading(self.truth, self.choose, self.job.with_pairs)

    def _step(self, stage: Stage) -> None:
        self.outcome.story.append(f"{stage.kind} {stage.asked or stage.work or stage.why or ''} {stage.end or ''}")
        match stage.kind:
            case "measure":
                self._report(Tested(self._measured()))
            case "move":
                self._report(Tested(self._measured(), moved=True))
            case "ask":
                self._answer(stage)
            case "card":
                self._make(stage)
            case "do":
                self._report(done(stage))
            case "part":
                self._report(Tested(self._lead(), of=stage.asked))  # of a plain cable no other part is asked for
            case "passed":
                raise StopsError("passed")
            case "stopped":
                raise StopsError(str(stage.why))

    def _lead(self) -> Reading:
        """Return what the tester sees of a good lead in both its sockets."""
        kind, meant = self.truth.near.kind, self.job.truth.near.meant
        plug = Plug(kind, meant, meant, clamped=self.truth.run.screened)
        run = replace(self.truth.run, broken=(), poor=(), crushed=(), screen_broken=False, length_m=2.0)
        whole, self.truth = self.truth, Truth(plug, plug, run, self.truth.screen_asked)
        seen = self._measured()
        self.truth = whole
        return seen

    def _report(self, event: Tested | Answered | Did) -> None:
        self.repair = reported(self.repair, event)

    def _answer(self, stage: Stage) -> None:
        asked = stage.asked
        assert asked is not None
        self.found.questions += 1
        stands = what_stands(self.repair.events)
        before = [one for one in stands if isinstance(one, Answered) and one.asked == asked]
        remade = [n for n, one in enumerate(stands) if isinstance(one, Did) and one.work == "re-terminate"]
        since = remade[-1] if remade else -1
        fresh = [one for one in stands[since + 1 :] if isinstance(one, Answered) and one.asked == asked]
        if stage.again:
            self.found.again += 1
        elif fresh or (before and asked.kind != "colour"):
            self.found.twice.append(asked)
        true = self._truth_of(asked, stage)
        word = true
        draw = self.errs.random()
        others = [one for one in stage.choices if one not in (true, "closed", "slow")]
        if draw < self.wrong and others and asked.kind in ("colour", "in-plug", "in-plugs"):
            word = self.errs.choice(others)
            self.found.wrong += 1
        elif draw < self.wrong + self.unknown:
            word = UNKNOWN
            self.found.unknown += 1
        self.outcome.story.append(f"  says {word} (it is {true})")
        self._report(Answered(asked, word))

    def _truth_of(self, asked: Asked, stage: Stage) -> str:
        """Return what a person who looks sees."""
        match asked.kind:
            case "colour":
                assert asked.end is not None
                name = self.truth.plug(asked.end).at.get(asked.contacts[0])
                return "-" if name is None else colour_set(self.truth.run.colours).colour(name).looks
            case "in-plug":
                assert asked.end is not None
                return "there" if self._is_there(asked.end, asked) else "well"
            case "in-plugs":
                there = [end for end in ("near", "far") if self._is_there(end, asked)]
                return there[0] if there else "neither"
            case "conductors":
                return "yes" if len(self.truth.conductors) == len(self.job.pattern.wanted) else "no"
            case "set-up":
                return "tester" if "tester" in stage.choices else "no"
            case "reach":
                return "closed" if any(word == "far" for word in self.job.closed) else "yes"
            case _:
                return UNKNOWN

    def _is_there(self, end: str, asked: Asked) -> bool:
        plug, here = self.truth.plug(end), set(asked.contacts)
        match asked.fault:
            case "open":
                return any(one in plug.loose or plug.at.get(one, "") is None for one in here)
            case "short" | "screen-short":
                return any(set(pair) & here for pair in plug.strands)
            case "screen-open":
                return not plug.clamped
            case _:
                return any(contact in here for contact, _ in plug.poor)

    def _make(self, stage: Stage) -> None:
        assert stage.end is not None
        assert stage.work is not None
        end, order = stage.end, cast(OrderHeld, ())
        step = stage.step
        if step is None:
            self._same_order(end, paired=stage.paired)
        else:
            card = _card_read(stage)
            if isinstance(card, str):
                raise StopsError(f"no card: {card}")
            if not self._can_follow(card):  # there is no such conductor: what was said last cannot have been so
                self.found.again += 1
                self.outcome.story.append("  there is no such conductor")
                self._report(Answered(Asked("card", stage.end), "no"))
                return
            self._crimp_read(card)
            order = step.order
        self._report(Did(stage.work, end, order, stage.faults))

    def _can_follow(self, made: CardRead) -> bool:
        holds, kind = self.truth.plug(made.end).at, self.truth.plug(made.end).kind
        names = {self._meant_by(said, contact, holds) for contact, said in made.lines}
        return names <= {None, *self._cable()} and {contact for contact, _ in made.lines} == set(CONTACTS[kind])

    def _crimp_read(self, made: CardRead) -> None:
        holds, kind = self.truth.plug(made.end).at, self.truth.plug(made.end).kind
        at = {contact: self._meant_by(said, contact, holds) for contact, said in made.lines}
        self._crimp(made.end, tuple(at[contact] for contact in CONTACTS[kind]))


def _card_read(stage: Stage) -> CardRead | str:
    from tests.world.product import read_card
    from wiremap.report.termination import card_of_step

    assert stage.case is not None
    assert stage.step is not None
    return read_card(card_of_step(stage.case, stage.step))


def guided(job: Job, seed: int, wrong: float = 0.0, unknown: float = 0.0) -> Mended:
    """Return what becomes of a cable in a guided repair; half of the users say at once which plugs are out of reach."""
    return Guided(job, seed, wrong, unknown, tells_reach=seed % 2 == 0).guided()


@dataclass
class MendCounts:
    """What is counted of many guided repairs."""

    cables: int = 0
    endings: Counter[tuple[str, bool]] = field(default_factory=Counter)
    questions: Counter[int] = field(default_factory=Counter)
    first: Counter[int] = field(default_factory=Counter)
    again: int = 0
    twice: int = 0
    false_pass: int = 0
    wrong: int = 0
    unknown: int = 0
    more: int = 0
    extra: int = 0
    examples: dict[str, Mended] = field(default_factory=dict)

    def add(self, one: Mended) -> None:
        """Count what became of one cable."""
        self.cables += 1
        self.endings[one.ending, one.right] += 1
        self.questions[one.questions] += 1
        self.first[one.questions - one.again] += 1
        self.again += one.again
        self.twice += len(one.twice)
        self.false_pass += one.ending == "passed" and not one.right
        self.wrong += one.wrong
        self.unknown += one.unknown
        if one.fewest is not None and one.ending == "passed":
            self.more += one.terminations > one.fewest
            self.extra += max(0, one.terminations - one.fewest)
        for kind, met in (
            ("ending", not one.right),
            ("twice", bool(one.twice)),
            ("questions", one.questions > MOST_QUESTIONS),
            ("more", one.fewest is not None and one.terminations > one.fewest),
        ):
            if met:
                self.examples.setdefault(f"{kind}: {one.ending}", one)

    @property
    def wrong_endings(self) -> int:
        """Return how many cables did not end as they should."""
        return sum(count for (_, right), count in self.endings.items() if not right)

    @property
    def many_questions(self) -> int:
        """Return of how many cables more than three questions were asked."""
        return sum(count for number, count in self.questions.items() if number > MOST_QUESTIONS)

    @property
    def many_first(self) -> int:
        """Return the same without those that were asked once more, to settle a contradiction."""
        return sum(count for number, count in self.first.items() if number > MOST_QUESTIONS)

    def summary(self) -> str:
        """Return all in one line."""
        endings = ", ".join(
            f"{ending}{'' if right else ' (wrong)'} {count}" for (ending, right), count in self.endings.most_common()
        )
        asked = " ".join(f"{number}:{count}" for number, count in sorted(self.questions.items()))
        return (
            f"{self.cables} cables: {endings}; questions {asked}; over "
            f"three {self.many_questions}, without those asked again {self.many_first}; asked again "
            f"{self.again}, twice without reason {self.twice}; false passes "
            f"{self.false_pass}; wrong answers {self.wrong}, not known {self.unknown}; with more terminations than "
            f"needed {self.more}, {self.extra} in all"
        )

    def failures(self) -> str:
        """Return an example of every kind of failure, with its story."""
        return "\n".join(
            f"[{kind}]\n  {replace(one.job)}\n" + "\n".join(f"    {line}" for line in one.story[-40:])
            for kind, one in self.examples.items()
        )
