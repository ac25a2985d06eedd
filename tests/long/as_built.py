"""Full counts: how honest the as-built orders are, how many looks settle them, remotes, and cables mended by advice."""

from collections import defaultdict

from msgspec.structs import replace

from tests.judge.plugs.as_built_trials import Outcome, Tally, follow, ill_matched, judged, random_cables, shipped, trial
from tests.judge.remedy.repair_trials import mend_many
from tests.judge.wiring.remote_trials import decode_many
from tests.long import Check


def _deciles(tally: Tally, most: float) -> str:
    """Return what was said and what was so by decile; no decile is off by more than `most` or four deviations."""
    rows = tally.off()
    for decile, count, said, true, sd in rows:
        assert abs(said - true) <= max(most, 4 * sd), f"decile {decile} of {count}: said {said:.3f}, true {true:.3f}"
    return " ".join(f"{said:.3f}/{true:.3f}({count})" for _, count, said, true, _ in rows)


def _largest(tally: Tally) -> float:
    return max(abs(said - true) for _, count, said, true, _ in tally.off() if count >= 200)


def honest(seed: int, count: int) -> str:
    """Draw cables from the prior: chances come true, the end named is wrong, and looking settles.

    Three looks are enough where the plugs' makers are of those listed. A maker of whom nothing is known may put any
    conductor anywhere, and takes as many looks as an order that is drawn (`any_order`); they are counted, not bounded.
    """
    outcome = trial(seed, count, shipped(), shipped())
    ends, orders = _deciles(outcome.ends, 0.02), _deciles(outcome.orders, 0.02)
    three = sum(looked for looks, looked in outcome.looks.items() if looks <= 3) / count
    listed = max(100, count // 4)
    of_listed = trial(
        seed, listed, replace(shipped(), other_makers=replace(shipped().other_makers, share=0.0)), shipped()
    )
    assert outcome.unsettled == of_listed.unsettled == 0
    three_of_listed = sum(looked for looks, looked in of_listed.looks.items() if looks <= 3) / listed
    assert three_of_listed >= 0.99
    assert outcome.named_right >= 0.995 * outcome.named
    return (
        f"ends said/true {ends}; orders {orders}; looks {dict(sorted(outcome.looks.items()))}, {three:.2%} in three, "
        f"of listed makers {three_of_listed:.2%}; "
        f"settled right {outcome.settled_right / count:.2%}; end named {outcome.named}, right {outcome.named_right}"
    )


def ill_matched_prior(seed: int, count: int) -> str:
    """Judge cables by another workshop's habits: how far chances are off, and what looking still settles."""
    outcome = trial(seed, count, shipped(), ill_matched(shipped()))
    three = sum(looked for looks, looked in outcome.looks.items() if looks <= 3) / count
    assert outcome.unsettled == 0
    assert outcome.named_right >= 0.97 * outcome.named
    return (
        f"largest difference of a decile: ends {_largest(outcome.ends):.3f}, orders {_largest(outcome.orders):.3f}; "
        f"{three:.2%} in three looks; settled right {outcome.settled_right / count:.2%}; "
        f"end named {outcome.named}, right {outcome.named_right}"
    )


def any_order(seed: int, count: int) -> str:
    """Draw both plugs in any order at all: at most four looks with the pairs known, seven without."""
    said = []
    for pairing, most in ((True, 4), (False, 7)):
        outcome = Outcome(Tally.empty(), Tally.empty(), defaultdict(int), 0, 0, 0, 0)
        for drawn in random_cables(seed, count):
            evidence = drawn.evidence(pairing)
            built = judged(evidence, shipped())
            assert built is not None
            assert follow(drawn, evidence, built, shipped(), outcome) <= most
        known = "with pairs" if pairing else "without"
        right = outcome.settled_right / count
        said.append(f"{known}: looks {dict(sorted(outcome.looks.items()))}, settled right {right:.1%}")
    return "; ".join(said)


def remotes(seed: int, count: int) -> str:
    """Read random runs through a remote: no wrong mapping is called exact."""
    result = decode_many(seed, count)
    assert result.wrong == 0
    through: defaultdict[int, list[int]] = defaultdict(lambda: [0, 0])
    for (number, certainty), many in result.counts.items():
        through[number][0] += many
        through[number][1] += many * (certainty == "exact")
    by_count = " ".join(f"{number}:{exact / many:.0%}" for number, (many, exact) in sorted(through.items()))
    shares = ", ".join(f"{word} {share:.1%}" for word, share in result.shares().items())
    return f"none wrong; {shares}; exact by conductors through {by_count}"


def mended(seed: int, count: int) -> str:
    """Break cables in any way, do what is said, test again: all pass at last."""
    passed, wrong, tests = mend_many(seed, count)
    assert passed == wrong
    return f"{passed} of {wrong} pass; tests needed {tests}"


CHECKS = (
    Check("as-built: chances are honest and looking settles", honest, 10_000),
    Check("as-built: a prior of another workshop", ill_matched_prior, 1_000, least=1_000, from_share=0.1),
    Check("as-built: any order at all", any_order, 150),
    Check("remote: no wrong mapping is exact", remotes, 100_000),
    Check("repair: cables mended by advice pass", mended, 80),
)
