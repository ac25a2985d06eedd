"""Guided repairs at full count: cables of many installers, users who answer what they see, wrongly now and then."""

import random
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.cli.mend_kills import killed, write_table
from tests.long import Check
from tests.world import cables
from tests.world.by_eye import by_eye
from tests.world.installed import GuidedInstalled
from tests.world.mending import MendCounts, guided

MOST_OVER_THREE = 0.05  # of the cables: with more than three questions
MOST_WRONG_ENDINGS = 0.005  # of the cables whose users answer wrongly now and then
MOST_UNTIL_CARD = 8  # questions by eye until the card of a wrong plug, in half of the cables
MOST_MISSED = 0.1  # of the wrong orders by eye, with one answer in ten wrong or not known: without a card
MOST_IN_VAIN = 0.08  # of the cables by eye, with such answers: a plug made though the order was right
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


@dataclass
class Installed:
    """What is counted of cables of installations. endings: by what is wrong beside plugs, and how the repair ended.

    halves, swaps: joints opened, leads exchanged. cut_first: plugs cut on a guess while a joint could be opened.
    """

    counts: MendCounts = field(default_factory=MendCounts)
    endings: Counter[tuple[str, str]] = field(default_factory=Counter)
    halves: int = 0
    swaps: int = 0
    cut_first: int = 0


def installed_many(seed: int, numbers: Iterable[int], wrong: float = 0.0, unknown: float = 0.0) -> Installed:
    """Mend the cables of installations of these numbers; wrong, unknown: how often an answer is so."""
    met = Installed()
    for number in numbers:
        user = GuidedInstalled(cables.installed(random.Random(f"{seed}/{number}")), number, wrong, unknown)
        one, around = user.guided(), user.job.around
        met.counts.add(one)
        what = "shaky" if around.shaky else "lead" if around.lead_open else "socket" if around.socket_open else ""
        met.endings[what or ("run" if not user.job.truth.run.sound else "plugs"), one.ending] += 1
        met.halves += user.halves
        met.swaps += user.swaps
        met.cut_first += user.cut_first
    return met


def of_installations(seed: int, count: int) -> str:
    """Cables with joints, behind leads, in bad sockets, one answer in ten wrong or not known: no false pass."""
    met = installed_many(seed, range(count), 0.05, 0.05)
    assert not met.counts.false_pass, met.counts.failures()
    assert met.counts.wrong_endings <= MOST_WRONG_ENDINGS * count, met.counts.failures()
    assert met.counts.many_questions <= MOST_OVER_THREE * count, met.counts.failures()
    assert not met.counts.twice, met.counts.failures()
    assert not met.cut_first, met.counts.summary()
    return f"{met.counts.summary()}; joints opened {met.halves}, leads exchanged {met.swaps}"


def of_eyes(seed: int, count: int) -> str:
    """Without a tester, colours asked one by one, one answer in ten wrong or not known: none is said right that is not.

    A wrong order has its card after eight questions in half of the cables, and nothing is asked twice for nothing.
    """
    met = by_eye(seed, count, 0.05, 0.05)
    assert not met.false, met.summary()
    assert not met.twice, met.summary()
    assert sorted(met.cards)[len(met.cards) // 2] <= MOST_UNTIL_CARD, met.summary()
    assert met.missed <= MOST_MISSED * met.wrong_orders, met.summary()
    assert met.in_vain <= MOST_IN_VAIN * met.cables, met.summary()
    return met.summary()


def killed_often(seed: int, count: int) -> str:
    """Repairs are killed at any moment, twice each: nothing that was acknowledged is lost, nothing is half written.

    Half of them have a tester; each goes on where it was.
    """
    with TemporaryDirectory() as folder:
        write_table(Path(folder))
        testers = ("", "sim:far-3-6-exchanged")
        seen = [killed(Path(folder), seed * 10_000 + number, testers[number % 2]) for number in range(count // 2)]
    kills, kept = (sum(counts) for counts in zip(*seen, strict=True))
    return f"{kills} kills, {kept} things kept, none lost; each went on where it was"


CHECKS = (
    Check("mend: guided repairs, answered as it is", answered_truly, 2_500),
    Check("mend: guided repairs, one answer in ten wrong or not known", answered_wrongly, 2_500, least=400),
    Check("mend: cables of installations", of_installations, 1_500, least=100),
    Check("mend: by eye, colours asked one by one", of_eyes, 600),
    Check("mend: killed at any moment", killed_often, 100, least=4),
)
