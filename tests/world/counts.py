"""What is counted of many cables: false sentences by kind, chances by decile, terminations, looks, climbs, endings."""

import random
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from math import sqrt

from tests.world.cables import Job
from tests.world.outcome import Outcome
from tests.world.user import mended


@dataclass
class Decile:
    """Chances of one tenth that were said: how many, their sum, how many came true, the variance of that number."""

    count: int = 0
    said: float = 0.0
    true: int = 0
    variance: float = 0.0

    def add(self, chance: float, true: bool) -> None:
        """Count one chance."""
        self.count += 1
        self.said += chance
        self.true += true
        self.variance += chance * (1 - chance)

    @property
    def off(self) -> float:
        """Return by how much what was said, on average, is more than what came true."""
        return (self.said - self.true) / self.count

    @property
    def by_chance(self) -> float:
        """Return four standard deviations of that difference if all that was said is so."""
        return 4 * sqrt(self.variance) / self.count


@dataclass
class Counts:
    """All that is counted; examples: the first cable of every kind of failure."""

    cables: int = 0
    sentences: Counter[str] = field(default_factory=Counter)
    false: Counter[str] = field(default_factory=Counter)
    hedged: Counter[tuple[str, bool]] = field(default_factory=Counter)
    endings: Counter[tuple[str, bool]] = field(default_factory=Counter)
    deciles: dict[str, dict[int, Decile]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(Decile)))
    looks: int = 0
    climbs: int = 0
    needless_climbs: int = 0
    mended: int = 0
    more_than_needed: int = 0
    examples: dict[str, Outcome] = field(default_factory=dict)

    def add(self, outcome: Outcome) -> None:
        """Count what became of one cable."""
        self.cables += 1
        for one in outcome.said:
            self.sentences[one.kind] += 1
            if one.hedged:
                self.hedged[one.kind, one.true] += 1
            elif not one.true:
                self.false[one.kind] += 1
                self._example(f"false: {one.kind}: {one.text}", one.kind, outcome)
        for kind, chance, true in outcome.chances:
            self.deciles[kind][min(9, int(10 * chance))].add(chance, true)
        self.endings[outcome.ending, outcome.right] += 1
        if not outcome.right:
            self._example(f"ending: {outcome.ending}", outcome.ending, outcome)
        self.looks += outcome.looks
        self.climbs += len(outcome.climbs)
        self.needless_climbs += outcome.needless_climbs
        if outcome.needless_climbs:
            self._example("needless climb", "climb", outcome)
        if outcome.fewest is not None and outcome.ending == "pass":
            self.mended += 1
            self.more_than_needed += outcome.terminations > outcome.fewest
            if outcome.terminations > outcome.fewest:
                self._example("more terminations than needed", "more", outcome)

    def _example(self, text: str, kind: str, outcome: Outcome) -> None:
        if not any(known.startswith(f"[{kind}]") for known in self.examples):
            self.examples[f"[{kind}] {text}"] = outcome

    @property
    def wrong_endings(self) -> int:
        """Return how many cables did not end as they should."""
        return sum(count for (_, right), count in self.endings.items() if not right)

    def over_confident(self, above: float = 0.9) -> dict[str, float]:
        """Return for each kind of chance by how much those above this are larger than what came true."""
        found = {}
        for kind, rows in sorted(self.deciles.items()):
            high = [decile for number, decile in rows.items() if number >= 10 * above]
            count = sum(one.count for one in high)
            found[kind] = sum(one.said - one.true for one in high) / count if count else 0.0
        return found

    def summary(self) -> str:
        """Return all in one line."""
        chances = "; ".join(
            f"{kind} said/true "
            + " ".join(f"{d.said / d.count:.3f}/{d.true / d.count:.3f}({d.count})" for _, d in sorted(rows.items()))
            for kind, rows in sorted(self.deciles.items())
        )
        endings = ", ".join(
            f"{ending}{'' if right else ' (wrong)'} {count}" for (ending, right), count in self.endings.most_common()
        )
        over = ", ".join(f"{kind} {100 * most:.1f}" for kind, most in self.over_confident().items())
        hedged = f"{sum(self.hedged.values())}, false " + str(
            {kind: count for (kind, true), count in sorted(self.hedged.items()) if not true} or 0
        )
        return (
            f"{self.cables} cables: {sum(self.sentences.values())} sentences, false {dict(self.false) or 0}; "
            f"endings {endings}; {self.more_than_needed} of {self.mended} mended with more terminations than needed; "
            f"{self.looks} looks, {self.climbs} climbs, {self.needless_climbs} needless; "
            f"over-confidence above 90 % {over} points; hedged {hedged}; {chances}"
        )

    def failures(self) -> str:
        """Return an example of every kind of failure, with the story of the cable."""
        return "\n".join(
            f"{text}\n  {outcome.job}\n" + "\n".join(f"    {line}" for line in outcome.story[:8])
            for text, outcome in self.examples.items()
        )


def count_many(draw: Callable[[random.Random], Job], seed: int, numbers: Iterable[int]) -> Counts:
    """Mend the cables of these numbers, each drawn and tested from its own seed."""
    counts = Counts()
    for number in numbers:
        counts.add(mended(draw(random.Random(f"{seed}/{number}")), number))
    return counts
