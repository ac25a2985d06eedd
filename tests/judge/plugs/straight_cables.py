"""What straight cables of eight show, and what is worked out of their plugs."""

from tests.judge.plugs.as_built_trials import (
    STRAIGHT,
    TIA,
    shipped,
)
from wiremap.judge.findings import Place
from wiremap.judge.plugs.as_built import as_built
from wiremap.judge.plugs.evidence import Evidence
from wiremap.judge.plugs.found import AsBuilt, Effort
from wiremap.judge.plugs.posterior import posterior
from wiremap.judge.plugs.prior import belief
from wiremap.judge.plugs.question import Posterior

HABITS = shipped()


def routes(changed: dict[int, int] | None = None) -> tuple[tuple[str, str], ...]:
    """Return the routes of a straight cable, some near contacts (1..8) arriving elsewhere, 0 = nowhere."""
    arrives = {n: n for n in range(1, 9)} | (changed or {})
    return tuple((str(near), str(far)) for near, far in arrives.items() if far)


def built(evidence: Evidence, effort: Effort | None = None, breaks: tuple[Place | None, ...] = ()) -> AsBuilt:
    """Judge a straight cable of eight."""
    found = as_built(STRAIGHT, TIA, evidence, 8, effort, breaks)
    assert found is not None
    return found


def posterior_of(evidence: Evidence) -> Posterior:
    """Return the posterior of a straight cable of eight."""
    known = belief(STRAIGHT, TIA, HABITS, 8)
    assert known is not None
    found = posterior(known, TIA, evidence)
    assert found is not None
    return found
