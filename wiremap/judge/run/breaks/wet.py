"""Where water begins in a cable, by traces: at one place every pair answers with a fall, and later with its own end.

Water between conductors lowers a pair's impedance, so that part of a step comes back falling. A short does the same to
one pair; no dry cable does it to all of them at once.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from wiremap.cable.limits import Limits
from wiremap.judge.findings import Certainty, Finding
from wiremap.judge.run.breaks.by_echo import at_echo
from wiremap.judge.run.echo import RISE_PS
from wiremap.judge.run.length.estimate import RunEstimate
from wiremap.judge.run.length.observed import Pair, falls

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading

FALL = "fall"  # what such a finding is told by


def wet_from(reading: "Reading", pairs: Sequence[Pair], limits: Limits) -> tuple[float, float] | None:
    """Return the one-way delay to where all pairs fall together, s, and the least fall; None where they do not."""
    found = falls(reading, pairs, limits)
    times = np.array([time_ps for time_ps, _ in found.values()])
    if len(pairs) < 2 or len(times) < len(pairs):
        return None
    if float(times.max()) > float(times.min()) * limits.wet_together + RISE_PS:
        return None
    return float(np.median(times)) * 0.5e-12, min(depth for _, depth in found.values())


def wet_finding(fall: tuple[float, float], run: RunEstimate, limits: Limits) -> Finding:
    """Return a wet cable with the place from which it is; likely, where another kind of cable may do the same.

    fall: as `wet_from`.
    """
    certainty: Certainty = "confirmed" if fall[1] > limits.wet_sure_fall else "likely"
    return at_echo(Finding("wet-or-wrong-cable", certainty=certainty, detail=FALL), fall[0], run, limits)
