"""Sections of a run that are split, tried on cables of the analog world, whose kinds the judge was not told."""

import math
from dataclasses import dataclass, field

import numpy as np

from tests.judge.run.split_trials import QUAD, ROW
from tests.world.analog import Split, draw, kinds, measure
from wiremap.cable.patterns import pattern
from wiremap.judge.findings import Finding
from wiremap.judge.verdict import judge

KINDS = tuple(name for name in kinds() if name not in (QUAD, ROW))
EXCHANGED = (("3", "5"), ("1", "4"), ("6", "8"), ("2", "7"), ("2", "3"), ("5", "8"))
TO_95 = 1.96
MOST_FALSE = 0.005
LEAST_HELD = 0.93
MOST_OF_RUN = 0.48  # half is another cable: its pairs cannot be told
CELLS = ((0.5, 2.0, 10.0, 0.9), (1.0, 3.0, 30.0, 0.95), (2.0, 5.0, 95.0, 0.95))  # metres, in runs from, to, found


@dataclass
class Seen:
    """What was said of cables with a section of split: found of tried, and how often intervals held the truth."""

    tried: int = 0
    found: int = 0
    confirmed: int = 0
    metres_held: list[bool] = field(default_factory=list)
    place_held: list[bool] = field(default_factory=list)

    def add(self, true: Split | None, said: list[Finding]) -> None:
        """Count one cable. true: the section that is split, None = the cable is sound."""
        self.tried += 1
        self.found += bool(said)
        self.confirmed += any(one.certainty == "confirmed" for one in said)
        for one in said if true is not None else []:
            assert true is not None
            self.metres_held.append((one.low or 0.0) <= true.length_m <= (one.high or math.inf))
            if one.at_m is not None and one.u_m is not None:
                self.place_held.append(abs(one.at_m - true.start_m) <= TO_95 * one.u_m)

    @property
    def share(self) -> float:
        """Return which part of the cables something was said of."""
        return self.found / self.tried


def sections(
    name: str, length_m: float, metres: float, rng: np.random.Generator, trace: bool, uneven_pf: float
) -> tuple[Split | None, list[Finding]]:
    """Return the true section of a cable, None where it is sound (0 m), and what is said to be split of it."""
    four = kinds()[name].conductors == 4
    exchanged = ("2", "3") if four else EXCHANGED[int(rng.integers(len(EXCHANGED)))]
    starts = (0.0, length_m - metres, float(rng.uniform(0.0, length_m - metres)))
    true = Split(starts[int(rng.integers(3))], metres, exchanged) if metres else None
    cable = draw(name, length_m, rng, splits=[true] if true else [], asymmetry_pf=uneven_pf)
    expect = pattern("straight-2pair" if four else "straight")
    said = judge(measure(cable, rng, trace=trace), expect).findings
    return true, [one for one in said if one.fault in ("split-section", "split-pair")]


def _log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def false_alarms(seed: int, count: int) -> str:
    """Fewer than one sound cable in 200 is said to have a split section, of cables twice as uneven as assumed too.

    count: cables of each kind and unevenness, 0.3 to 95 m, without traces.
    """
    rng = np.random.default_rng(seed)
    said = []
    for uneven_pf in (0.5, 1.0):
        seen = Seen()
        for name in KINDS:
            for _ in range(count):
                seen.add(*sections(name, _log_uniform(rng, 0.3, 95.0), 0.0, rng, False, uneven_pf))
        chance = MOST_FALSE * seen.tried
        assert seen.found <= chance + 2 * math.sqrt(chance) + 1, (uneven_pf, seen)
        assert seen.confirmed == 0, (uneven_pf, seen)
        said.append(f"{seen.found} of {seen.tried} at {uneven_pf} pF per root metre")
    return f"false alarms {', '.join(said)}; none confirmed"


def found_sections(seed: int, count: int, trace: bool = False) -> str:
    """Sections of 0.5 m to 10 m and of 1 m to 30 m are found, and the intervals hold metres and place.

    count: cables of each kind and cell.
    """
    rng = np.random.default_rng(seed)
    lines, metres, places = [""], [], []
    for section_m, from_m, to_m, least in CELLS:
        all_kinds, cells = Seen(), []
        for name in KINDS:
            seen = Seen()
            for _ in range(count):
                true, said = sections(name, _log_uniform(rng, from_m, to_m), section_m, rng, trace, 0.5)
                seen.add(true, said)
                all_kinds.add(true, said)
            slack = 2 * math.sqrt(least * (1 - least) / count)
            assert seen.share >= least - slack - 1 / count, (section_m, to_m, name, seen.share)
            cells.append(f"{name} {seen.share:.0%}")
        metres += all_kinds.metres_held
        places += all_kinds.place_held
        assert all_kinds.share >= least, (section_m, to_m, all_kinds.share, cells)
        sure = all_kinds.confirmed / all_kinds.tried
        lines.append(
            f"  {section_m} m in {from_m:g} to {to_m:g} m: found {all_kinds.share:.1%}, confirmed {sure:.0%}, places "
            f"{len(all_kinds.place_held)} of {all_kinds.tried}; {', '.join(cells)}"
        )
    assert np.mean(metres) >= LEAST_HELD
    assert not trace or np.mean(places) >= LEAST_HELD
    place = f", places {np.mean(places):.1%} of {len(places)}" if places else ""
    return f"intervals hold metres {np.mean(metres):.1%} of {len(metres)}{place}" + "\n".join(lines)


def hidden_numbers(seed: int, count: int) -> str:
    """Of sections longer than those that a reading says can hide, 19 in 20 are found; of quads none passes.

    count: cables of each kind, 1 to 95 m. The section is a little longer than what a sound cable of the kind and length
    is said to hide; whether it is longer than what its own reading says is looked at then.
    """
    rng = np.random.default_rng(seed)
    tried, missed, share = 0, [], []
    for name in (*KINDS, QUAD):
        for _ in range(count):
            length_m = _log_uniform(rng, 1.0, 95.0)
            four = kinds()[name].conductors == 4
            expect = pattern("straight-2pair" if four else "straight")
            sound = judge(measure(draw(name, length_m, rng), rng, trace=False), expect).pairs
            if sound is None or sound.hidden_m is None:
                continue
            metres = sound.hidden_m * float(rng.uniform(1.0, 1.3))
            if metres > MOST_OF_RUN * length_m:
                continue
            exchanged = ("2", "3") if four else EXCHANGED[int(rng.integers(len(EXCHANGED)))]
            true = Split(float(rng.uniform(0.0, length_m - metres)), metres, exchanged)
            found = judge(measure(draw(name, length_m, rng, splits=[true]), rng, trace=False), expect)
            said = found.pairs
            if said is not None and said.hidden_m is not None and said.hidden_m >= metres:
                continue
            tried += 1
            share.append(metres / length_m)
            if found.verdict == "pass":
                missed.append(f"{name} {length_m:.1f} m, {metres:.2f} m of {exchanged}")
    assert tried > count, tried
    assert len(missed) <= 0.05 * tried + 2 * math.sqrt(0.05 * tried), missed
    assert not any(one.startswith(QUAD) for one in missed), missed
    return f"{tried - len(missed)} of {tried} found, {np.median(share):.1%} of the run in the middle"


def found_with_traces(seed: int, count: int) -> str:
    """Find sections as `found_sections` does, with the traces of four pairs, that say where they begin as well."""
    return found_sections(seed, count, trace=True)
