"""The exact posterior over the orders of a plug, from the mixture of `prior` and what was seen."""

from wiremap.cable.colours import ColourSet
from wiremap.judge.plugs.evidence import Evidence
from wiremap.judge.plugs.full_plugs import FullEngine
from wiremap.judge.plugs.prior import Belief, is_full
from wiremap.judge.plugs.question import Posterior, Question


def posterior(known: Belief, colours: ColourSet, evidence: Evidence, together: bool = True) -> Posterior | None:
    """Return the posterior over the near plug's orders, and the far plug's where they are determined.

    together: whether the likeliest orders of both plugs are wanted where the far plug's are not determined. None where
    no order agrees with the evidence, or where there are too many to write out.
    """
    question = Question(known, colours, evidence)
    if is_full(known):
        return FullEngine(question).solve(together)
    from wiremap.judge.plugs.small_plugs import SmallEngine

    return SmallEngine(question).solve()
