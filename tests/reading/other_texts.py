"""Texts that are no scan of any tester: logs, lists, programs."""

import random
from collections.abc import Iterator


def other_texts(seed: int, count: int) -> Iterator[bytes]:
    """Yield texts of no tester: positions, motion, memory dumps, menus, ports, status bits, prose, logs of programs."""
    rng = random.Random(seed)
    for _ in range(count):
        kind = rng.randrange(10)
        n = rng.randint(8, 60)
        lines = [_other_line(kind, k, rng) for k in range(n)]
        if rng.random() < 0.5:
            lines = lines[: rng.randint(1, 12)] * 6
        yield ("\r\n".join(lines) + "\r\n").encode()


def _other_line(kind: int, k: int, rng: random.Random) -> str:
    match kind:
        case 0:
            place = f"5321.{rng.randrange(9999):04},N,00615.{rng.randrange(9999):04},W"
            return f"$GPGGA,{rng.randrange(240000):06},{place},1,08*{rng.randrange(256):02X}"
        case 1:
            return ",".join(f"{rng.uniform(-2, 2):.2f}" for _ in range(6))
        case 2:
            return f"{16 * k:04x}: " + " ".join(f"{rng.randrange(256):02x}" for _ in range(16))
        case 3:
            return f"{k % 9 + 1}: " + rng.choice(("Settings", "Back", "Start scan", "Light on"))
        case 4:
            return f"A{k % 8}: {rng.randrange(1024)}"
        case 5:
            return "" if k % 9 == 8 else " ".join(rng.choice("01") for _ in range(8))
        case 6:
            return f"D{k % 14}={rng.randrange(2)}"
        case 7:
            return f"N{k % 8 + 1}: {rng.randrange(2)}"
        case 8:
            return f'{{"t":{k},"v":[{rng.randrange(9)},{rng.randrange(9)}]}}'
        case _:
            return rng.choice(("port 1 - port 2 up", "10.0.0.1 -> 10.0.0.7", "A1-B3", "step 3 to 4", "1 2 3 4 5 6 7 8"))
