"""Golden pages of the terminal; `python -m tests.report.terminal.golden_pages` writes them anew after a look."""

from pathlib import Path

from tests.judge.simulated import FAR_OPEN, TAKEN, described, fault, measured_reading
from tests.strategies import Net, cable, joined, plugs, reading_of
from wiremap.bench.mend.events import Answered, Asked, Mend, Tested, reported
from wiremap.bench.mend.machine import what_now
from wiremap.bench.mend.mend_page import mend_page
from wiremap.bench.mend.shown import step_shown
from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import ScreenRule, pattern
from wiremap.cable.terminations import termination
from wiremap.calibration import Calibration
from wiremap.contact import far_contact, near_contact
from wiremap.judge.case import JobNames, Requirements, judge_case, read_by_eye, requirements
from wiremap.judge.remedy.knowledge import statements
from wiremap.reading.parts import ForeignVoltage
from wiremap.reading.reading import Reading
from wiremap.report.card import card
from wiremap.report.terminal.card_page import card_page
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page
from wiremap.report.words.cases import all_services
from wiremap.report.words.measurements import calibration_lines

FOLDER = Path(__file__).parents[2] / "golden" / "pages"
PLAIN, BLOCKS, COLOURED = Terminal(80, 24), Terminal(80, 24, 0, True), Terminal(80, 24, 256, True)
SMALL = Terminal(40, 16, 0, True)
STRAIGHT = {n: n for n in range(1, 9)}
CALLED = JobNames("helm", "mast", "mast camera")


def rj45(*groups: str, arrives: dict[int, int] | None = None, screen: bool = True) -> list[Net]:
    """Return the nets of a cable between RJ45 plugs, straight unless told."""
    return joined(cable(pattern("straight"), STRAIGHT if arrives is None else arrives, screen), *groups)


def shown(
    nets: list[Net],
    expect: str | None = "straight",
    terminal: Terminal = PLAIN,
    screen: ScreenRule | None = None,
    order: str | None = None,
    changed: dict[tuple[str, str], float] | None = None,
    like: str = "straight",
) -> str:
    """Judge a cable and return its page."""
    reading = reading_of(nets, plugs(pattern(expect or like)), changed={**(changed or {})})
    return _page(reading, expect, terminal, screen, order)


def _page(
    reading: Reading,
    expect: str | None,
    terminal: Terminal = PLAIN,
    screen: ScreenRule | None = None,
    order: str | None = None,
) -> str:
    near_order = termination(order) if order else None
    wanted = Requirements(pattern(expect) if expect else None, screen, near_order=near_order)
    return page(judge_case(reading, wanted, CALLED), terminal)


def live() -> str:
    """Return the page of a cable with a passive injector at its far end."""
    near, far = plugs(pattern("straight"))
    places = (*map(near_contact, near), *map(far_contact, far))
    nothing = tuple(tuple(0.0 if a == b else None for b in places) for a in places)
    voltages = tuple(
        ForeignVoltage(near_contact(contact), sign * 48_000, "dc")
        for contact, sign in zip("4578", (1, 1, -1, -1), strict=True)
    )
    return _page(Reading(None, None, None, "tester", near, far, nothing, foreign=voltages), "straight")


def bus() -> str:
    """Return the page of a device bus cable with both terminators."""
    expect = pattern("m12a-5pole")
    ohms = {("near 4", "near 5"): 60.0, ("far 4", "far 5"): 60.0, ("near 4", "far 5"): 60.0, ("near 5", "far 4"): 60.0}
    return shown(cable(expect, {n: n for n in range(2, 6)}), "m12a-5pole", changed=ohms)


KNOWN = Calibration(
    "1",
    TAKEN,
    nvp=0.683,
    nvp_u=0.004,
    capacitance_pf_per_m=49.0,
    capacitance_u_pf_per_m=0.4,
    ohm_per_m=0.0938,
    ohm_u_per_m=0.0009,
    known_length_m=20.0,
)
EXCHANGED = ("white-orange", "orange", "green", "blue", "white-blue", "white-green", "white-brown", "brown")
TALL = Terminal(80, 60)


SWAPPED = 'order = ["white-blue", "white-green", "white-orange", "orange", "blue", "green", "white-brown", "brown"]'
SPLIT_SECTION = f"""
[[segment]]
cable = "F/UTP"
length_m = 2.0
{SWAPPED}
[[segment]]
cable = "F/UTP"
length_m = 4.0
{SWAPPED}
"""


def run(
    length_m: float = 18.0,
    near: str = "T568B",
    far: str | tuple[str, ...] | None = None,
    more: str = "",
    terminal: Terminal = PLAIN,
    calibration: Calibration | None = None,
    near_colours: str | None = None,
    expect: str = "straight",
) -> str:
    """Return the page of a simulated cable of which capacitances and echoes were measured as well."""
    cable_of = described(length_m, near, far, "F/UTP", more, 'screen = "joined"')
    found = measured_reading(cable_of, calibration=calibration or Calibration("1", TAKEN))
    wanted = Requirements(pattern(expect), statements=statements(near_colours=near_colours))
    return page(judge_case(found, wanted, CALLED), terminal)


def joined_at_the_far_end() -> str:
    """Return the page of a run whose far plug is in a plug that joins all its contacts."""
    return run(more='[attached]\nfar = "joined"\n')


SEEN = "1=white-orange,2=orange,3=white-green,4=blue,5=white-blue,6=green,7=white-brown,8=brown"
WHITES = "1=white,2=orange,3=white,4=blue,5=white,6=green,7=white,8=brown"


def seen(near: str, far: str, colours: str | None = None, terminal: Terminal = PLAIN) -> str:
    """Return the page of a straight cable whose plugs were looked into."""
    wanted = requirements("straight", colours=colours, statements=statements(near, far))
    return page(judge_case(read_by_eye(wanted), wanted, CALLED), terminal)


def services() -> str:
    """Return the whole table of what would run, of a cable with exchanged conductors of two pairs."""
    nets = rj45(arrives=STRAIGHT | {3: 4, 4: 3})
    reading = reading_of(nets, plugs(pattern("straight")))
    return "\n".join(all_services(judge_case(reading, Requirements(pattern("straight")), CALLED), 80)) + "\n"


def plug_card(terminal: Terminal) -> str:
    """Return the card of a plug that is to be made anew, with the place each conductor is in now."""
    order = termination("T568B")
    held = dict(order.conductors)
    now = held | {"3": held["6"], "6": held["3"]}
    why = "The mast end is wrong (over 99 %)."
    made = card(
        order.connector,
        colour_set("tia"),
        held,
        end="mast",
        pattern="straight",
        named="T568B",
        why=why,
        now=now,
    )
    return card_page(made, terminal)


def repair(terminal: Terminal, *said: tuple[str, str]) -> str:
    """Return the page of a guided repair of a pair exchanged at 3 and 6, after colours of near contacts were said."""
    nets = rj45(arrives={n: {3: 6, 6: 3}.get(n, n) for n in range(1, 9)}, screen=False)
    mend = reported(Mend(requirements("straight"), CALLED), Tested(reading_of(nets, plugs(pattern("straight")))))
    for contact, colour in said:
        mend = reported(mend, Answered(Asked("colour", "near", (contact,)), colour))
    return mend_page(step_shown(mend, what_now(mend)), terminal, "mast camera")


PAGES = {
    "repair-look": lambda: repair(PLAIN),
    "repair-look-small": lambda: repair(SMALL),
    "repair-again-small": lambda: repair(SMALL, ("3", "-")),
    "repair-card": lambda: repair(PLAIN, ("3", "green"), ("4", "blue"), ("1", "white-orange")),
    "repair-card-small": lambda: repair(SMALL, ("3", "green"), ("4", "blue"), ("1", "white-orange")),
    "run-pass": run,
    "run-calibrated": lambda: run(calibration=KNOWN),
    "run-split": lambda: run(near="in-sequence"),
    "run-split-section": lambda: run(more=SPLIT_SECTION),
    "run-broken": lambda: run(more=fault("open", ["green"], 11.0)),
    "run-far-open": lambda: run(more=FAR_OPEN),
    "run-far-joined": joined_at_the_far_end,
    "run-exchanged": lambda: run(far=EXCHANGED, terminal=TALL),
    "run-as-built": lambda: run(far=EXCHANGED, terminal=TALL, near_colours="3=white-green,6=green"),
    "run-as-built-small": lambda: run(far=EXCHANGED, terminal=SMALL, near_colours="3=white-green,6=green"),
    "seen-right": lambda: seen(SEEN, SEEN),
    "seen-right-small": lambda: seen(SEEN, SEEN, terminal=SMALL),
    "seen-whites": lambda: seen(WHITES, WHITES, "plain-white"),
    "seen-in-one-plug": lambda: seen(SEEN, SEEN.replace("8=brown", "8=-"), terminal=BLOCKS),
    "services": services,
    "calibration": lambda: "\n".join(calibration_lines(KNOWN)) + "\n",
    "card": lambda: plug_card(PLAIN),
    "card-small": lambda: plug_card(SMALL),
    "pass": lambda: shown(rj45()),
    "pass-blocks": lambda: shown(rj45(), terminal=BLOCKS),
    "pass-coloured": lambda: shown(rj45(), terminal=COLOURED),
    "reversed": lambda: shown(rj45(arrives=STRAIGHT | {3: 6, 6: 3})),
    "reversed-coloured": lambda: shown(rj45(arrives=STRAIGHT | {3: 6, 6: 3}), terminal=COLOURED),
    "reversed-small": lambda: shown(rj45(arrives=STRAIGHT | {3: 6, 6: 3}), terminal=SMALL),
    "crossover-copied": lambda: shown(rj45(), "crossover"),
    "straight-is-crossover": lambda: shown(rj45(arrives=STRAIGHT | {1: 3, 2: 6, 3: 1, 6: 2})),
    "turned-over": lambda: shown(rj45(arrives={n: 9 - n for n in range(1, 9)})),
    "shifted": lambda: shown(rj45(arrives={n: n + 1 for n in range(1, 8)})),
    "three-in-a-ring": lambda: shown(rj45(arrives=STRAIGHT | {1: 2, 2: 3, 3: 1})),
    "moved-and-open": lambda: shown(rj45(arrives={1: 3, 2: 6, 4: 4, 5: 5, 7: 7, 8: 8})),
    "open-and-short": lambda: shown(rj45("near 1, near 2", arrives={n: n for n in range(1, 8)})),
    "nothing-arrives": lambda: shown(rj45(arrives={}, screen=False)),
    "screen-not-asked": lambda: shown(rj45(screen=False)),
    "screen-open": lambda: shown(rj45(screen=False), screen="both"),
    "screen-short": lambda: shown(rj45("near 3, near S")),
    "high-resistance": lambda: shown(rj45(), changed={("near 2", "far 2"): 7.2}),
    "leakage": lambda: shown(rj45(), changed={("near 3", "near 6"): 45_000.0}),
    "undecided-sound": lambda: shown(rj45(), None),
    "undecided-unknown": lambda: shown(rj45(arrives=STRAIGHT | {1: 2, 2: 4, 4: 1}), None),
    "near-order-told": lambda: shown(rj45(), order="T568A"),
    "m12d": lambda: shown(cable(pattern("m12d-rj45"), {1: 1, 2: 3, 3: 2, 4: 6}), "m12d-rj45"),
    "m12d-in-sequence": lambda: shown(cable(pattern("m12d-rj45"), {1: 1, 2: 2, 3: 3, 4: 6}), "m12d-rj45"),
    "device-bus": bus,
    "live": live,
}


if __name__ == "__main__":
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, draw in PAGES.items():
        FOLDER.joinpath(f"{name}.txt").write_text(draw(), encoding="utf-8")
