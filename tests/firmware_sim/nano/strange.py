"""Three strangers' sketches on real pins: learnt with one wire, then cables at random through what was learnt."""

import random
from collections.abc import Iterator
from contextlib import contextmanager

from tests.firmware_sim.nano.chip import Chip, pairs_of, sketch
from wiremap.reading.talk.language import Language
from wiremap.reading.talk.learning import Learning, after_listening, no_screen
from wiremap.tester.line import TalkLine, open_talk
from wiremap.tester.listening import Listener

SKETCHES = ("raw_table", "links", "hex_masks")
PINS = "D2,D3,D4,D5,D6,D7,D8,D9,-,D10,D11,D12,A0,A1,A2,A3,A4,-"
LEAD_OHM = 330
FIRST_FAR = 10
LISTEN_S, MOST_BYTES = 0.2, 20_000


@contextmanager
def stranger(name: str) -> Iterator[Chip]:
    """Start a stranger's tester with nothing in its sockets, as fast as the chip."""
    with Chip(sketch(name), pins=PINS, lead_ohm=LEAD_OHM, bleed_ohm=0, real_pace=True) as chip:
        yield chip


def random_nets(rng: random.Random) -> list[list[int]]:
    """Return a cable of eight conductors: straight or out of order, with opens and a short."""
    far = list(range(FIRST_FAR, FIRST_FAR + 8))
    if rng.random() < 0.7:
        rng.shuffle(far)
    nets = [[near, there] for near, there in enumerate(far, start=1) if rng.random() < 0.85]
    if len(nets) > 1 and rng.random() < 0.3:
        nets = [nets[0] + nets[1], *nets[2:]]
    return nets


def learnt(chip: Chip, line: TalkLine) -> Language:
    """Return the language, learnt from what is printed with one wire from near 1 to far 2; they have no screen."""
    chip.put([[1, FIRST_FAR + 1]])
    line.drain()
    state, content = Learning(), b""
    while state.wires == 0:
        content += line.read(LISTEN_S)
        assert len(content) < MOST_BYTES, state.why
        state = after_listening(Learning(), content)
    if state.step == "wire":
        assert state.wire[0] == "S", state
        state = no_screen(state)
    assert (state.step, state.wires) == ("learnt", 1), state
    return state.language


def count_sketches(seed: int, count: int) -> str:
    """Every sketch is learnt with one wire, and what it prints of a cable is then read right; count cables in all."""
    rng = random.Random(seed)
    right = 0
    for part, name in enumerate(SKETCHES):
        with stranger(name) as chip, open_talk(chip.address, 115_200, "none") as line:
            language = learnt(chip, line)
            listener = Listener(line, language)
            for _ in range((count + part) // len(SKETCHES)):
                nets = random_nets(rng)
                chip.put(nets)
                seen = listener.reading("tester", None, None)
                near = len(seen.near_contacts)
                wanted = {(a - 1, b - FIRST_FAR) for a, b in pairs_of(nets) if a <= 8 and b >= FIRST_FAR}
                found = {
                    (a, b)
                    for a in range(near)
                    for b in range(len(seen.far_contacts))
                    if seen.resistance_ohm[a][near + b] == "joined"
                }
                assert found == wanted, (name, sorted(found), sorted(wanted))
                right += 1
    return f"{len(SKETCHES)} sketches learnt with one wire each; {right} cables right, none wrong"
