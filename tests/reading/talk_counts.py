"""How strangers' testers fare: learnt with one wire or two, then cables, damaged lines, and texts of no tester."""

import random
from collections import Counter
from functools import cache

from tests.reading.other_texts import other_texts
from tests.reading.strangers import (
    KNOWN,
    MARKS,
    Noise,
    Stranger,
    cable,
    jumper,
    noise,
    spoken,
    truth,
)
from wiremap.errors import FileError
from wiremap.reading.talk.heard import FromTalk, recognised, understood
from wiremap.reading.talk.language import Language
from wiremap.reading.talk.learning import Learning, after_listening, no_screen

# Flipped bits a character and damage a line: a good, a usual and a bad line.
RATES = ((1e-4, 1e-3), (1e-3, 1e-2), (5e-3, 3e-2))


@cache
def taught(tester: Stranger, mark: str) -> tuple[Language, int]:
    """Return the language of a tester, learnt from a quiet line, and with how many wires."""
    state, rng = Learning(plain=tester.plain), random.Random(tester.name)
    for _ in range(4):
        if state.step != "wire":
            break
        if state.wire[0] == "S" and tester.screen == "none":
            state = no_screen(state)
            continue
        text = spoken(tester, jumper(tester, *state.wire), 8, mark, Noise(), rng)
        state = after_listening(state, text, live=False)
        assert not state.why, (tester.name, state.why)
    assert state.step == "learnt", (tester.name, state.why, state.left)
    return state.language, state.wires


def said_pairs(said: FromTalk) -> frozenset[tuple[str, str]]:
    """Return the near and far contacts that are joined, of all that was believed."""
    return frozenset((a.name, b.name) for a, b in said.wires.joined if a.end != b.end)


def count_forms(_seed: int, count: int) -> str:
    """Every known form is learnt, with each mark between its scans; count is a number of forms."""
    wires: Counter[int] = Counter()
    for tester in KNOWN[:count]:
        for mark in MARKS:
            wires[taught(tester, mark)[1]] += 1
    return f"{min(count, len(KNOWN))} forms, {sum(wires.values())} testers: wires {dict(sorted(wires.items()))}"


def count_cables(seed: int, count: int) -> str:
    """No cable of a tester that was learnt is read wrong, on lines of every kind; half are read at all."""
    rng = random.Random(seed)
    seen: Counter[str] = Counter()
    for _ in range(count):
        tester, mark = rng.choice(KNOWN), rng.choice(MARKS)
        language, _ = taught(tester, mark)
        nets = cable(tester, rng)
        text = spoken(tester, nets, 8, mark, noise(rng), rng)
        seen[_outcome(tester, nets, text, language)] += 1
    assert 2 * seen["right"] > count, seen
    return _told(seen)


def _outcome(tester: Stranger, nets: frozenset[frozenset[tuple[str, int]]], text: bytes, language: Language) -> str:
    try:
        said = understood(text, tester.name, language)
    except FileError:
        return "refused"
    good = said_pairs(said) == truth(tester, nets) and len(said.wires.near) == tester.count
    assert good, (tester.name, said.read_as, sorted(truth(tester, nets)), sorted(said_pairs(said)))
    return "right"


def count_damaged(seed: int, count: int) -> str:
    """At no rate of damage is a join read that is none, or one missed; count cables a rate."""
    rng = random.Random(seed)
    told = []
    for flip, damage in RATES:
        seen: Counter[str] = Counter()
        for _ in range(count):
            tester, mark = rng.choice(KNOWN), rng.choice(MARKS[:3])
            language, _ = taught(tester, mark)
            nets = cable(tester, rng)
            line = Noise(damage=damage, flip=flip)
            seen[_outcome(tester, nets, spoken(tester, nets, 8, mark, line, rng), language)] += 1
        told.append(f"{flip:g}/{damage:g}: {_told(seen)}")
    return "; ".join(told)


def count_unaided(seed: int, count: int) -> str:
    """Text that names both ends is believed unaided and never read wrong; of any other nothing is believed."""
    rng = random.Random(seed)
    seen: Counter[str] = Counter()
    for _ in range(count):
        tester, mark = rng.choice(KNOWN), rng.choice(MARKS)
        nets = cable(tester, rng)
        text = spoken(tester, nets, 8, mark, noise(rng), rng)
        try:
            said = recognised(text, tester.name, tester.plain, live=rng.random() < 0.5)
        except FileError:
            seen["refused"] += 1
            continue
        good = said_pairs(said) == truth(tester, nets)
        assert good, (tester.name, said.read_as, sorted(truth(tester, nets)), sorted(said_pairs(said)))
        assert tester.named, (tester.name, said.read_as)
        seen["right"] += 1
    assert seen["right"], seen
    return _told(seen)


def count_others(seed: int, count: int) -> str:
    """Text of no tester is never believed, neither live nor from a file."""
    for text in other_texts(seed, count):
        for live in (True, False):
            try:
                said = recognised(text, "text", 8, live)
            except FileError:
                continue
            raise AssertionError((text[:300], said.read_as))
    return f"{count} texts, none believed"


def _told(seen: Counter[str]) -> str:
    return ", ".join(f"{seen[word]} {word}" for word in ("right", "refused", "wrong"))
