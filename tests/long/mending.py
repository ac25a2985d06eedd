"""Guided repairs at full count: cables of many installers, users who answer what they see, wrongly now and then."""

import random
from collections.abc import Iterable
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.cli.mend_kills import killed, write_table
from tests.long import Check
from tests.world import cables
from tests.world.mending import MendCounts, guided

MOST_OVER_THREE = 0.05  # of the cables: with more than three questions
MOST_WRONG_ENDINGS = 0.005  # of the cables whose users answer wrongly now and then
MOST_MORE = 0.01  # of the cables: with more terminations than needed, where all answers are so


def many(seed: int, numbers: Iterable[int], wrong: float = 0.0, unknown: float = 0.0) -> MendCounts:
    """Mend the cables of these numbers; wrong, unknown: how often an answer is so."""
    counts = MendCounts()
    for number in numbers:
        counts.add(guided(cables.cable(random.Random(f"{seed}/{number}")), number, wrong, unknown))
    return counts


def answered_truly(seed: int, count: int) -> str:
    """Users answer what they see: every ending is right, at most three questions in 95 %, none twice for nothing."""
    met = many(seed, range(count))
    assert not met.wrong_endings, met.failures()
    assert not met.twice, met.failures()
    assert met.many_questions <= MOST_OVER_THREE * count, met.failures()
    assert met.more <= MOST_MORE * count + 2, met.failures()
    return met.summary()


def answered_wrongly(seed: int, count: int) -> str:
    """One answer in twenty is wrong, one in twenty "I do not know": no false pass, hardly a wrong ending."""
    met = many(seed, range(count), 0.05, 0.05)
    assert not met.false_pass, met.failures()
    assert not met.twice, met.failures()
    assert met.wrong_endings <= MOST_WRONG_ENDINGS * count, met.failures()
    assert met.many_questions <= MOST_OVER_THREE * count, met.failures()
    assert met.again >= met.wrong / 4, met.summary()
    return met.summary()


def killed_often(seed: int, count: int) -> str:
    """Repairs are killed at any moment, twice each: nothing that was acknowledged is lost, nothing is half written."""
    with TemporaryDirectory() as folder:
        write_table(Path(folder))
        kept = [killed(Path(folder), seed * 10_000 + number)[1] for number in range(count // 2)]
    return f"{2 * (count // 2)} kills, {sum(kept)} things kept, none lost"


CHECKS = (
    Check("mend: guided repairs, answered as it is", answered_truly, 2_500),
    Check("mend: guided repairs, one answer in ten wrong or not known", answered_wrongly, 2_500),
    Check("mend: killed at any moment", killed_often, 100),
)
