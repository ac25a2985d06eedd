"""When which faults are there: a list of moments and the faults active from each on."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from firmware_sim.cable_model.written.when import When

US_PER_S = 1_000_000
MOST_ENTRIES = 100_000


@dataclass(frozen=True, slots=True)
class Timeline:
    """entries: (from_us, indices active from then on), the first at 0; period_us: repeats after that, None = never."""

    entries: tuple[tuple[int, frozenset[int]], ...]
    period_us: int | None


def timeline(whens: Sequence[When], horizon_s: float = 3600.0) -> Timeline:
    """Return what holds when. All periodic: one common period. Once and periodic mixed: written out to horizon_s."""
    always = frozenset(number for number, when in enumerate(whens) if when.always)
    changing = {number: when for number, when in enumerate(whens) if not when.always}
    if not changing:
        return Timeline(((0, always),), None)
    periods = [in_us(w.every_s) for w in changing.values() if w.every_s is not None and w.from_s < w.every_s]
    period_us = math.lcm(*periods) if len(periods) == len(changing) else None
    if period_us is not None and period_us > in_us(horizon_s):
        period_us = None
    end_us = period_us or max(in_us(horizon_s), *(_last_change_us(when) for when in changing.values()))
    marks = {0}
    spells: dict[int, list[tuple[int, int]]] = {}
    for number, when in changing.items():
        spells[number] = _spells(when, end_us, wraps=period_us is not None)
        marks.update(mark for spell in spells[number] for mark in spell if mark < end_us)
        if len(marks) > MOST_ENTRIES:
            end_us = sorted(marks)[MOST_ENTRIES]
    entries: list[tuple[int, frozenset[int]]] = []
    active: set[int] = set(always)
    starts: dict[int, list[int]] = {}
    stops: dict[int, list[int]] = {}
    for number, parts in spells.items():
        for start_us, stop_us in parts:
            starts.setdefault(start_us, []).append(number)
            stops.setdefault(stop_us, []).append(number)
    for mark in sorted(mark for mark in marks if mark < end_us):
        active.difference_update(stops.get(mark, ()))
        active.update(starts.get(mark, ()))
        if not entries or entries[-1][1] != active:
            entries.append((mark, frozenset(active)))
    return Timeline(tuple(entries), period_us)


def in_us(seconds: float) -> int:
    """Return whole microseconds."""
    return round(seconds * US_PER_S)


def _last_change_us(when: When) -> int:
    return in_us(when.from_s + (when.for_s or 0.0)) + 1


def _spells(when: When, end_us: int, wraps: bool) -> list[tuple[int, int]]:
    """Return [start, stop) of every spell before end_us; wraps: a spell that crosses the end goes on at 0."""
    start_us, length_us = in_us(when.from_s), in_us(when.for_s) if when.for_s is not None else end_us
    if when.every_s is None:
        return [(start_us, start_us + length_us)]
    every_us = in_us(when.every_s)
    found = []
    for start in range(start_us, end_us, every_us)[:MOST_ENTRIES]:
        stop = start + length_us
        found.append((start, stop))
        if wraps and stop > end_us:
            found.append((0, stop - end_us))
    return found
