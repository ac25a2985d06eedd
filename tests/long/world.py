"""The world at full count: cables of many installers, a user who does what the page says, an oracle that knows."""

import math
import random
from collections.abc import Callable

from tests.long import Check
from tests.world import cables, prior_world
from tests.world.counts import Counts, count_many

MOST_OFF = 0.02  # a chance that was said, against what came true, in the prior's own world
MOST_OVER_CONFIDENT = 0.05  # the same above 90 %, with other installers
MOST_NEEDLESS = 0.01  # of the cables mended: with more terminations than were needed
FEW = 800  # below so many mended cables a share is allowed what chance does to it


def honest(counts: Counts, most: float) -> None:
    """Assert that no decile of any kind of chance is off by more than `most`, or four deviations of the count."""
    for kind, rows in counts.deciles.items():
        for number, decile in rows.items():
            assert abs(decile.off) <= max(most, decile.by_chance), (kind, number, decile)


def other_installers(seed: int, count: int) -> str:
    """Mend cables of installers with habits of their own: nothing false, endings right, no plug opened needlessly."""
    return _mended(cables.cable, seed, count)


def strangers(seed: int, count: int) -> str:
    """Mend cables of installers who mostly have ways of their own that no list has: the same must hold."""
    return _mended(cables.strange_cable, seed, count)


def _at_most(mended: int) -> float:
    """Return how many of so many repairs may take more than is needed, with what chance does to few."""
    slack = 2 * math.sqrt(MOST_NEEDLESS * mended) if mended < FEW else 0.0
    return MOST_NEEDLESS * mended + slack


def _mended(draw: Callable[[random.Random], cables.Job], seed: int, count: int) -> str:
    met = count_many(draw, seed, range(count))
    assert not met.false, met.failures()
    assert not met.wrong_endings, met.failures()
    assert not met.needless_climbs, met.failures()
    assert met.more_than_needed <= _at_most(met.mended), met.failures()
    assert max(met.over_confident().values()) < MOST_OVER_CONFIDENT, met.summary()
    return met.summary()


def prior_s_own(seed: int, count: int) -> str:
    """Mend cables drawn from the habits that are believed in: chances come true, every ending is right."""
    met = count_many(prior_world.wrong_cable, seed, range(count))
    assert not met.false, met.failures()
    assert not met.wrong_endings, met.failures()
    assert met.more_than_needed <= _at_most(met.mended), met.failures()
    honest(met, MOST_OFF)
    return met.summary()


CHECKS = (
    Check("world: cables of other installers, mended as the page says", other_installers, 5_000),
    Check("world: cables of strangers, mended as the page says", strangers, 1_000),
    Check("world: cables of the prior's own world, mended as the page says", prior_s_own, 2_500),
)
