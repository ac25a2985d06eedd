"""Descriptions of random cables, valid by construction, as TOML text."""

import random

TIA = ("white-blue", "blue", "white-orange", "orange", "white-green", "green", "white-brown", "brown")
FAULTS = ("open", "short", "resistance", "leak", "film", "screen-open")


def words(items: list[str] | tuple[str, ...]) -> str:
    """Return a list of texts as TOML."""
    return "[" + ", ".join(f'"{item}"' for item in items) + "]"


def random_cable(seed: int, faults: int = 4, far: tuple[str, ...] = ("tester",)) -> str:
    """Return a cable of one to three segments with up to `faults` faults anywhere, in any order of conductors."""
    draw = random.Random(seed)
    screened = draw.random() < 0.5
    kinds = ["F/UTP"] * 3 if screened else [draw.choice(["UTP", "F/UTP"]) for _ in range(3)]
    lengths = [round(draw.uniform(0.3, 40.0), 3) for _ in range(draw.randint(1, 3))]
    any_screen = "F/UTP" in (kinds[0], kinds[len(lengths) - 1])
    lines = ["format = 1", f"near = {_plug(draw)}", f"far = {_plug(draw)}", f"seed = {draw.randint(0, 999)}"]
    if any_screen:
        lines.append(f'screen = "{draw.choice(["joined", "near", "far", "none"])}"')
    lines += [f"temperature_c = {draw.uniform(-20, 60):.1f}", f"contact_ohm = {draw.choice([0.0, 0.01, 0.03])}"]
    for number, (kind, length_m) in enumerate(zip(kinds, lengths, strict=False)):
        lines += ["[[segment]]", f'cable = "{kind}"', f"length_m = {length_m}", f"awg = {draw.choice([23, 24, 26])}"]
        lines.append(f'metal = "{draw.choice(["copper", "copper-clad-aluminium"])}"')
        if number and draw.random() < 0.6:
            lines.append(f"order = {words(draw.sample(TIA, 8))}")
    starts = [sum(lengths[:number]) for number in range(len(lengths))]
    for _ in range(draw.randint(0, faults)):
        place = draw.randrange(len(lengths))
        kind = draw.choice(FAULTS if kinds[place] == "F/UTP" else FAULTS[:-1])
        where = draw.choice(["near", "far", "inside"])
        if where == "near":
            place = 0
        elif where == "far":
            place = len(lengths) - 1
        if kind == "screen-open" and kinds[place] != "F/UTP":
            kind = "open"
        colours = list(TIA) + (["screen"] if kinds[place] == "F/UTP" else [])
        lines += ["[[fault]]", f'kind = "{kind}"']
        if kind != "screen-open":
            many = {"short": draw.randint(2, 3), "leak": 2}.get(kind, draw.randint(1, 2))
            lines.append(f"conductors = {words(draw.sample(colours, many))}")
        if kind != "open" and kind != "screen-open":
            lines.append(
                f"ohm = {round(10 ** draw.uniform(-1, 6), 3) if kind != 'short' else draw.choice([0, 0.2, 5])}"
            )
        if where == "inside":
            lines.append(f"at_m = {starts[place] + lengths[place] * draw.uniform(0.05, 0.95):.3f}")
        else:
            lines.append(f'end = "{where}"')
    lines += ["[attached]", f'far = "{draw.choice(far)}"']
    return "\n".join(lines) + "\n"


def _plug(draw: random.Random) -> str:
    colours = draw.sample(TIA, 8)
    return words([colour if draw.random() > 0.05 else "-" for colour in colours])


def cable(kind: str, length_m: float, more: str = "", head: str = "", far: str = "open") -> str:
    """Return a plain T568B cable, 8 pF a contact, its far plug hanging free unless `far` says otherwise."""
    return (
        f'format = 1\nnear = "T568B"\nfar = "T568B"\n{head}\n'
        f'[[segment]]\ncable = "{kind}"\nlength_m = {length_m}\n{more}\n[attached]\nfar = "{far}"\n'
    )
