"""What the tester itself can measure of its board: a question or a few over the line -> the figures of a step.

Every probe returns its figures by name. TesterError where the tester does not answer, or refuses for another
reason than the step is about.
"""

import re
from collections.abc import Callable, Sequence
from typing import Literal

from wiremap.errors import TesterError
from wiremap.records.commissions import Amount, BoardKind
from wiremap.tester import answers
from wiremap.tester.answers import Answer, FrameError
from wiremap.tester.measure import CAPACITANCE_REPEATS, SIMULATED, OpenTester, RefusedError, ok, view_of

Amounts = dict[str, Amount]
Probe = Callable[[OpenTester], Amounts]
BENCH_FEATURES, NOT_BENCH = {"RES", "LOW", "CAP", "GROUP", "FOREIGN"}, {"ECHO", "TRACE"}
BARE_FEATURES = {"CONT", "FOREIGN"}
PATIENCE_S = 60.0  # a board that was just soldered may be slow, and nobody is in a hurry
SIDE = 9  # contacts of a plug with its screen
HUM_SCANS = 5
MEETS_OHM = 10_000.0  # two contacts are joined up to here


def board_kinds(tester: OpenTester) -> tuple[BoardKind, ...]:
    """Return the kinds of board that a tester can be, by its contacts and what it offers; () = none of them."""
    if (len(tester.near_contacts), len(tester.far_contacts)) != (SIDE, SIDE):
        return ()
    words = {*tester.tester.features}
    if words >= BENCH_FEATURES and not words & NOT_BENCH:
        return ("bench",)
    return ("bare-clamped", "bare") if words - {SIMULATED} == BARE_FEATURES else ()


def probed(name: str, device: OpenTester) -> Amounts:
    """Return the figures of a probe by its name; KeyError for a name that is none."""
    return PROBES[name](device)


def _answers(device: OpenTester) -> Amounts:
    return {"answers with this board's features": float(bool(board_kinds(device)))}


def _self_test(device: OpenTester) -> Amounts:
    def parse(line: bytes) -> int:
        if not re.fullmatch(rb"[0-9]{1,6}\r?", line):
            raise FrameError("the answer to *TST? is no number", raw=line)
        return int(line)

    return {"result": float(device.line.ask_plain("*TST?", parse, PATIENCE_S))}


def _voltages(device: OpenTester) -> tuple[answers.Voltage, ...]:
    return device.ask("MEASure:VOLTage?", parse=answers.voltages, timeout_s=PATIENCE_S)


def _scan(device: OpenTester) -> dict[tuple[int, int], Amount | None]:
    """Return what lies between every two contacts: ohms, "open", or of a tester that knows no ohms 0 for joined."""
    view = view_of(device)
    values = device.scan(view, PATIENCE_S)
    pairs = [(a, b) for a in range(view.size) for b in range(a + 1, view.size)]
    return {
        pair: 0.0 if value == "joined" else value if value is None or value == "open" else float(value)
        for pair, value in zip(pairs, values, strict=True)
    }


def _seen(device: OpenTester) -> dict[tuple[int, int], Amount | None]:
    """Scan where nothing is to be there that is refused; TesterError names it."""
    try:
        return _scan(device)
    except RefusedError as refused:
        at = ", ".join(f"contact {found.contact + 1}: {found.millivolts} mV" for found in refused.foreign)
        raise TesterError(
            f"the tester refuses to measure: {at or 'it sees equipment'}",
            "Take away whatever feeds the contacts; where nothing does, a contact of the board leaks: undo, and look.",
        ) from refused


def _empty(device: OpenTester) -> Amounts:
    """Look for voltages; only where none is there, scan."""
    there = max((abs(found.millivolts) for found in _voltages(device)), default=0)
    if there:
        return {"highest voltage": float(there)}
    found = [float(value) for value in _seen(device).values() if value is not None and value != "open"]
    return {"highest voltage": 0.0, "lowest resistance": min(found) if found else "open"}


def _empty_joined(device: OpenTester) -> Amounts:
    """Look for voltages; only where none is there, scan."""
    there = len(_voltages(device))
    if there:
        return {"contacts with a voltage": float(there)}
    joined = sum(value == 0.0 for value in _seen(device).values())
    return {"contacts with a voltage": 0.0, "joined": float(joined)}


def _volts(sign: Literal[1, -1]) -> Probe:
    """Return the probe that looks at near 1, and asks for a scan, which must be refused."""

    def probe(device: OpenTester) -> Amounts:
        seen = [found.millivolts for found in _voltages(device) if found.contact == 0]
        try:
            _scan(device)
            refused = False
        except RefusedError as error:
            refused = bool(error.foreign)
        level = max(seen, key=lambda millivolts: sign * millivolts) if seen else 0
        return {"seen at near 1": float(level), "refused": float(refused)}

    return probe


def own_figures(answer: Answer) -> dict[str, tuple[int, ...]]:
    """Return the figures that a board has of itself, by group: a word, a count, and so many whole numbers each."""
    fields, found = list(answer.fields), {}
    while fields:
        word, count = fields.pop(0), fields.pop(0) if fields else ""
        if not re.fullmatch("[A-Z]{2,12}", word) or not re.fullmatch("[0-9]{1,2}", count) or int(count) > len(fields):
            raise FrameError(f"the tester's figures make no sense at {word},{count}", raw=answer.raw)
        values, fields = fields[: int(count)], fields[int(count) :]
        if word in found or not all(answers.INTEGER.fullmatch(value) for value in values):
            raise FrameError(f"the tester's figures of {word} are no whole numbers", raw=answer.raw)
        found[word] = tuple(map(int, values))
    return found


def _own(device: OpenTester, **wanted: int) -> dict[str, tuple[int, ...]]:
    """Ask for a board's own figures; wanted: groups with how many figures each must have."""

    def parse(answer: Answer) -> dict[str, tuple[int, ...]]:
        found = own_figures(answer)
        for word, count in wanted.items():
            if len(found.get(word, ())) != count:
                raise FrameError(f"the tester gives {len(found.get(word, ()))} figures of {word}", raw=answer.raw)
        return found

    return device.line.ask("DIAGnostic:FIGures?", parse=ok(parse), timeout_s=PATIENCE_S)


def _converter(device: OpenTester) -> Amounts:
    own = _own(device, GROUND=2, MIDDLE=2, ZERO=1, SCALE=1)
    volts = {f"ground, side {side}": value / 1000 for side, value in zip("AB", own["GROUND"], strict=True)}
    middle = {f"middle over supply, side {side}": value / 1e6 for side, value in zip("AB", own["MIDDLE"], strict=True)}
    zero, scale = own["ZERO"][0] / 1000, own["SCALE"][0] / 1e6
    return {**volts, **middle, "zero of the difference": zero, "known resistor over the one below": scale}


def _times(device: OpenTester) -> Amounts:
    port, reading, conversion = _own(device, TIMES=3)["TIMES"]
    return {"port write": port / 1000, "reading": reading / 1000, "conversion": conversion / 1000}


def _leakage(device: OpenTester) -> Amounts:
    own = _own(device, LEAK=2 * SIDE, COMMON=2)
    worst = {name: max(map(abs, own[word])) / 1000 for name, word in (("contact", "LEAK"), ("common", "COMMON"))}
    return {"worst contact": worst["contact"], "worst common": worst["common"]}


def _like(seen: dict[tuple[int, int], Amount | None]) -> tuple[list[float], int]:
    """Return the ohms of contacts that are joined to their like at the other end, and how many others are joined."""
    joined = {pair: float(value) for pair, value in seen.items() if isinstance(value, float) and value <= MEETS_OHM}
    like = [ohm for (a, b), ohm in joined.items() if b == a + SIDE]
    return like, len(joined) - len(like)


def _patch_joined(device: OpenTester) -> Amounts:
    like, others = _like(_seen(device))
    return {"joined to their like": float(len(like)), "joined to others": float(others)}


def _patch(device: OpenTester) -> Amounts:
    like, others = _like(_seen(device))
    drives = [value / 1000 for value in _own(device, OWN=2 * SIDE)["OWN"] if value]
    return {
        "joined to their like": float(len(like)),
        "joined to others": float(others),
        "highest resistance": max(like, default=0.0),
        "lowest drive": min(drives, default=0.0),
        "highest drive": max(drives, default=0.0),
    }


def _between(seen: dict[tuple[int, int], Amount | None], contact: int) -> Amount:
    """Return what lies between a near contact, from 1, and the far one that is like it."""
    value = seen[(contact - 1, contact - 1 + SIDE)]
    return "open" if value is None else value


def _known_ohms(device: OpenTester) -> Amounts:
    seen = _seen(device)
    wire, *others = (_between(seen, contact) for contact in (1, 2, 3, 4))
    less = 0.0 if wire == "open" else float(wire)
    names = ("0.1 ohm", "1 ohm", "10 ohm")
    known: Amounts = {"wire": wire}
    for name, ohm in zip(names, others, strict=True):
        known[name] = "open" if ohm == "open" else float(ohm) - less
    return known


def _known_leaks(device: OpenTester) -> Amounts:
    seen = _seen(device)
    return {"51 kohm": _between(seen, 5), "1 Mohm": _between(seen, 6)}


def _known_farads(device: OpenTester) -> Amounts:
    _seen(device)
    single, double = (_capacitances(device, form) for form in ("SINGle", "DOUBle"))
    size = 2 * SIDE
    found: Amounts = {}
    for name, a in (("10 pF", 6), ("100 pF", 7), ("1 nF", 8)):
        b = a + SIDE
        place = a * (2 * size - a - 1) // 2 + b - a - 1
        parts = (single[a], single[b], double[place])
        if None in parts:
            raise TesterError(
                f"the capacitance of {name} was not measured: its contacts leak, or are joined",
                "Look at the gauge and at leakage; undo goes back to it.",
            )
        one, other, both = (float(part) for part in parts if part is not None)
        found[name] = (one + other - both) / 2000  # what lies between two conductors directly, pF
    return found


def _capacitances(device: OpenTester, form: Literal["SINGle", "DOUBle"]) -> Sequence[int | None]:
    def parse(answer: Answer) -> answers.Capacitances:
        found = answers.capacitances(answer, form)
        if found.contacts != 2 * SIDE:
            raise FrameError(f"the tester gives capacitances of {found.contacts} contacts", raw=answer.raw)
        return found

    return device.ask("MEASure:ARRay:CAPacitance?", form, CAPACITANCE_REPEATS, parse=parse, timeout_s=PATIENCE_S).values


def _hum(device: OpenTester) -> Amounts:
    scans = [_seen(device) for _ in range(HUM_SCANS)]
    spreads = []
    for contact in range(1, SIDE):
        ohms = [_between(seen, contact) for seen in scans]
        numbers = [float(ohm) for ohm in ohms if ohm != "open"]
        if len(numbers) == HUM_SCANS and max(numbers) <= MEETS_OHM:
            spreads.append(max(numbers) - min(numbers))
    if not spreads:
        raise TesterError("no conductor of a cable is joined", "Put both plugs of the cable into the tester.")
    return {"widest spread of a conductor": max(spreads)}


def _parts_joined(device: OpenTester) -> Amounts:
    seen = _seen(device)
    wanted = float(_between(seen, 1) == 0.0)
    return {"10 kohm is joined": wanted, "others joined": sum(value == 0.0 for value in seen.values()) - wanted}


PROBES: dict[str, Probe] = {
    "answers": _answers,
    "self-test": _self_test,
    "empty": _empty,
    "empty-joined": _empty_joined,
    "volts-plus": _volts(1),
    "volts-minus": _volts(-1),
    "converter": _converter,
    "times": _times,
    "leakage": _leakage,
    "patch": _patch,
    "patch-joined": _patch_joined,
    "known-ohms": _known_ohms,
    "known-leaks": _known_leaks,
    "known-farads": _known_farads,
    "parts-joined": _parts_joined,
    "hum": _hum,
}
