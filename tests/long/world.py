"""Full counts of the independent world: what is said is true, chances hold, and what is advised mends."""

from tests.long import Check
from tests.world import cables, prior_world
from tests.world.counts import count_many


def installers(seed: int, count: int) -> str:
    """Mend cables of installers with other habits: nothing false, right endings, nothing opened in vain."""
    found = count_many(cables.cable, seed, range(count))
    assert not found.false, found.failures()
    assert not found.wrong_endings, found.failures()
    assert found.more_than_needed <= 0.01 * found.mended, found.failures()
    assert found.needless_climbs == 0, found.failures()
    assert found.over_confident() < 0.05, found.summary()
    return found.summary()


def own_prior(seed: int, count: int) -> str:
    """Mend cables drawn from the habits believed in: chances hold to two points a decile."""
    found = count_many(prior_world.wrong_cable, seed, range(count))
    for kind, rows in found.deciles.items():
        for number, decile in rows.items():
            most = 0.02 if decile.count >= 1000 else max(0.02, decile.by_chance)
            assert abs(decile.off) <= most, (kind, number, decile, found.summary())
    return found.summary()


CHECKS = (
    Check("world: installers with other habits", installers, 5_000, least=300),
    Check("world: the prior's own installers", own_prior, 3_000, least=150),
)
