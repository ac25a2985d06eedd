"""A user without a tester, who is asked for the colours in the plugs one by one."""

import random
from dataclasses import dataclass, field

from tests.world import cables
from tests.world.cables import Job
from tests.world.mending import Guided, Mended
from wiremap.bench.mend.events import Mend
from wiremap.bench.mend.stage import Stage
from wiremap.judge.case import requirements


class GuidedByEye(Guided):
    """One person with one cable and no tester. to_card: questions until the first card, None = there was none."""

    def __init__(self, job: Job, seed: int, wrong: float = 0.0, unknown: float = 0.0) -> None:
        super().__init__(job, seed, wrong, unknown)
        self.repair = Mend(requirements(job.pattern.name, colours=job.colours), live=False, by_eye=True)
        self.to_card: int | None = None
        self.says_right = False

    def _step(self, stage: Stage) -> None:
        if stage.kind == "card" and self.to_card is None:
            self.to_card = self.found.questions
        self.says_right = stage.case is not None and stage.case.diagnosis.verdict == "pass"
        super()._step(stage)

    @property
    def order_is_right(self) -> bool:
        """Whether what sits in the contacts of both plugs is what the pattern wants."""
        near, far = self.truth.near.at, self.truth.far.at
        arrives = all(near[a] is not None and near[a] == far[b] for a, b in self.job.pattern.wanted)
        return arrives and all(self.truth.keeps_pairs(end, self.job.pattern) for end in ("near", "far"))

    def _right(self, ending: str) -> bool:
        return ending == "by-eye" and (self.order_is_right or not self.says_right)


@dataclass
class ByEyeCounts:
    """What is counted of cables mended by eye. cards: questions until the first card, of cables with a wrong order.

    false: cables said to be right that are not. in_vain: plugs made though the order was right.
    """

    cables: int = 0
    wrong_orders: int = 0
    cards: list[int] = field(default_factory=list)
    missed: int = 0
    false: int = 0
    in_vain: int = 0
    right: int = 0
    again: int = 0
    twice: int = 0
    examples: list[Mended] = field(default_factory=list)

    def summary(self) -> str:
        """Return all in one line."""
        cards = sorted(self.cards)
        middle, most = (cards[len(cards) // 2], cards[(9 * len(cards)) // 10]) if cards else (0, 0)
        return (
            f"{self.cables} cables by eye, {self.wrong_orders} with a wrong order: a card after {middle} questions in "
            f"half, {most} in nine of ten; none for {self.missed}; said right and not so {self.false}; plugs in vain "
            f"{self.in_vain}; ended as right {self.right}; asked again {self.again}, twice without reason {self.twice}"
        )


def by_eye(seed: int, count: int, wrong: float = 0.0, unknown: float = 0.0) -> ByEyeCounts:
    """Have so many cables mended by eye."""
    counts = ByEyeCounts()
    for number in range(count):
        job = cables.cable(random.Random(f"{seed}/{number}"))
        if job.other_kind:
            continue
        user = GuidedByEye(job, number, wrong, unknown)
        bad = not user.order_is_right
        found = user.guided()
        counts.cables += 1
        counts.wrong_orders += bad
        if bad and user.to_card is not None:
            counts.cards.append(user.to_card)
        counts.missed += bad and user.to_card is None
        lies = user.says_right and not user.order_is_right
        counts.false += lies
        counts.in_vain += not bad and found.terminations > 0
        counts.right += user.says_right and user.order_is_right
        counts.again += found.again
        counts.twice += len(found.twice)
        if lies or (bad and user.to_card is None) or found.ending != "by-eye":
            counts.examples.append(found)
    return counts
