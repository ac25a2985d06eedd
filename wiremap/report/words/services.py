"""What would run on a cable as it is: the danger as sentences, the short form, and the table with every reason."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from wiremap.lines import in_lines
from wiremap.report.words.faults import listed

if TYPE_CHECKING:  # words for what was judged need none of the judging
    from wiremap.judge.remedy.service import Service, ServiceAnswer, ServiceReason

WIDEST_NAME = 26
ANSWERS: "dict[ServiceAnswer, str]" = {
    "wire map allows it": "the wire map allows it",
    "at risk": "at risk",
    "no": "no",
    "not promised": "not promised",
    "danger": "DO NOT CONNECT",
}
IN_ROWS: "tuple[ServiceAnswer, ...]" = ("danger", "no", "not promised", "at risk", "wire map allows it")
SERVICE_REASON_WORDS: "dict[ServiceReason, str]" = {
    "plus-and-minus-on-one-pair": "+ and - can meet on one pair {where}: can destroy the equipment",
    "reversed-supply": "+ and - exchanged {where}: can destroy the equipment",
    "through-windings": "+ and - meet through the windings of other pairs",
    "supply-shorted": "shorts the supply: {where}",
    "power-on-the-screen": "{where} is joined to the screen: puts power onto the boat's ground",
    "pairs-missing": "not connected: {where}",
    "transmitter-facing-transmitter": "both ports transmit on the same pair",
    "needs-crossing": "only if a port crosses over by itself (optional)",
    "pairs-elsewhere": "pairs arrive where the port does not look for them {where}",
    "power-elsewhere": "power arrives where the device does not take it",
    "shorted": "shorted: {where}",
    "to-the-screen": "joined to the screen: {where}",
    "split": "split pair {where}",
    "polarity": "reversed pair {where}",
    "too-long": "{where}; nothing is promised over 100 m",
    "perhaps-too-long": "{where}; nothing is promised over 100 m",
    "of-no-category": "the kind that was told is of no category",
    "not-rated": "not rated on {where}",
    "beyond-rated": "{where} at most",
    "perhaps-beyond-rated": "{where} at most",
    "among-others": "over {where} only where no other cables lie beside it",
    "rated": "as {where}",
    "alternatives-crossed": "power arrives on other pairs than it was fed into: not conforming, may work",
    "one-conductor": "one conductor only in {where}",
    "unbalance": "Rmax - Rmin of pair {where}",
    "pair-to-pair-unbalance": "Rmax - Rmin of pairs {where} (m)",
    "resistance-too-high": "{where} is too much (m)",
    "wet": "wet, or not the kind that was told",
    "leakage": "moisture between contacts",
    "unsound-contact": "a contact is not sound",
    "wire": "thin or copper-clad wire",
    "screen-open": "the screen is open",
    "opens-not-measured": "opens",
    "length-not-measured": "length",
    "pairs-not-measured": "split pairs",
    "shorts-not-measured": "shorts",
    "resistance-not-measured": "resistance",
    "unbalance-not-measured": "resistance unbalance",
}
UNMEASURED = "-not-measured"
NEVER_MEASURED = ("category", "loss", "crosstalk")
BY_CATEGORY: "tuple[ServiceReason, ...]" = (
    "of-no-category",
    "not-rated",
    "beyond-rated",
    "perhaps-beyond-rated",
    "among-others",
    "rated",
)
OF_POE = {"PoE Alternative A": "Alternative A", "PoE Alternative B": "Alternative B", "PoE, four pairs": "four pairs"}
SHORT_POE = {"PoE Alternative A": "A", "PoE Alternative B": "B", "PoE, four pairs": "4-pair"}
INJECTOR = "passive injector"
FROM_FAR = ", fed from the far end"
DANGER_WORDS: "dict[ServiceReason, str]" = {
    "plus-and-minus-on-one-pair": "+ and - can meet on one pair ({where}) and destroy the equipment",
    "reversed-supply": "+ and - are exchanged ({where}), which can destroy the equipment",
    "through-windings": "+ and - meet through the windings of other pairs, which can destroy the equipment",
    "supply-shorted": "its + and - are joined ({where})",
    "power-on-the-screen": "{where} is joined to the screen, so power would be on the boat's ground",
}
HEADS: "dict[ServiceAnswer, str]" = {**ANSWERS, "wire map allows it": "wire map allows"}
SHORT_LINKS = {
    "10BASE-T": "10M",
    "100BASE-TX": "100M",
    "1000BASE-T": "1G",
    "2.5GBASE-T": "2.5G",
    "5GBASE-T": "5G",
    "10GBASE-T": "10G",
}
MOST_LINES = 4


def danger_sentences(services: "Sequence[Service]") -> tuple[str, ...]:
    """Return what must not be connected and why, a sentence for each kind of danger; nothing where there is none.

    They are to stand first wherever the cable is shown.
    """
    found: dict[tuple[ServiceReason, bool], tuple[list[str], list[str]]] = {}
    for service in services:
        for reason, where in service.reasons if service.answer == "danger" else ():
            if reason in DANGER_WORDS:
                names, places = found.setdefault((reason, service.from_far), ([], []))
                names.append(service.name.removesuffix(FROM_FAR))
                places += [place for place in where.split(", ") if place not in places]
    return tuple(
        f"DO NOT CONNECT {_power_said(names)}{' fed from the far end' if from_far else ''}: "
        f"{DANGER_WORDS[reason].format(where=', '.join(places))}."
        for (reason, from_far), (names, places) in found.items()
    )


def _power_said(names: Sequence[str]) -> str:
    """Return "PoE (Alternative B, four pairs) or a passive injector"."""
    poe = ", ".join(OF_POE[name] for name in names if name in OF_POE)
    said = [f"PoE ({poe})"] if poe else []
    return " or ".join([*said, f"a {INJECTOR}"] if INJECTOR in names else said)


def spoken(services: "Sequence[Service]") -> tuple[str, ...]:
    """Return the short form for paper: a sentence for each answer, worst first, with no width to keep to."""
    return tuple(f"{line[:1].upper()}{line[1:]}." for line in short_lines(services, 10_000, ""))


def short_lines(services: "Sequence[Service]", width: int = 80, option: str = "--services") -> list[str]:
    """Return in at most four lines of this width what may run, worst first; nothing where there are no services.

    option: what shows the whole table, "" where no command line is read. What is dangerous only when power is fed
    from the far end is left to the sentences of danger.
    """
    rows = [(answer, [one for one in services if one.answer == answer and not one.from_far]) for answer in IN_ROWS]
    rows = [(answer, alike) for answer, alike in rows if alike]
    lines = [_short_line(answer, alike, services, width) for answer, alike in rows]
    if not option or not lines:
        return lines
    for more in (f" (more with {option})", f" ({option})"):
        for number in range(len(lines) - 1, -1, -1):
            if len(lines[number]) + len(more) <= width:
                return [*lines[:number], lines[number] + more, *lines[number + 1 :]]
    return [*lines, more.strip()] if len(lines) < MOST_LINES else lines


def _short_line(answer: "ServiceAnswer", alike: "Sequence[Service]", services: "Sequence[Service]", width: int) -> str:
    """Return one answer with what it is said of: with the reason, without, or in the shortest names that fit."""
    whole, brief = _names(alike, services, False), _names(alike, services, True)
    why = {tuple(pair for pair in one.reasons if not pair[0].endswith(UNMEASURED)) for one in alike}
    reasons = why.pop() if len(why) == 1 else ()
    because = f" ({'; '.join(_reason(*pair) for pair in reasons)})" if reasons else ""
    fitting = (f"{HEADS[answer]}: {names}{more}" for names in (whole, brief) for more in dict.fromkeys((because, "")))
    return next((line for line in fitting if len(line) <= width), f"{HEADS[answer]}: {brief}")


def _names(alike: "Sequence[Service]", services: "Sequence[Service]", brief: bool) -> str:
    """Return the names of links, as a range where three or more follow each other, and of power."""
    every = [one.name for one in services if one.kind == "link"]
    power = [one.name for one in services if one.kind == "power" and not one.from_far]
    links = [one.name for one in alike if one.kind == "link"]
    fed = [one.name for one in alike if one.kind == "power"]
    called = [SHORT_LINKS[name] if brief else name for name in links]
    if len(links) > 2 and every.index(links[-1]) - every.index(links[0]) == len(links) - 1:
        called = [f"{called[0]} to {called[-1]}"]
    if fed == power:
        return ", ".join([*called, "all power"])
    poe = [SHORT_POE[name] if brief else OF_POE[name] for name in fed if name in OF_POE]
    said = [f"PoE {' '.join(poe)}" if brief else f"PoE ({', '.join(poe)})"] if poe else []
    return ", ".join([*called, *said, *(["passive" if brief else INJECTOR] if INJECTOR in fed else [])])


def service_lines(services: "Sequence[Service]", width: int = 80) -> list[str]:
    """Return every service with its answer, every reason and the standard's clause, as a table with its notes."""
    if not services:
        return []
    rows: list[tuple[str, Service, str]] = []
    for service in services:
        alike = rows and (rows[-1][1].answer, rows[-1][1].reasons) == (service.answer, service.reasons)
        together = f"{rows[-1][0].removesuffix('BASE-T')}, {service.name}" if rows else ""
        if alike and len(together) <= WIDEST_NAME and service.kind == "link":
            _, first, clauses = rows[-1]
            short = service.clause.removeprefix("IEEE 802.3 ")
            rows[-1] = (together, first, clauses if short in clauses else f"{clauses}, {short}")
        else:
            rows.append((service.name, service, service.clause))
    widest = max(len(name) for name, _, _ in rows if len(name) <= WIDEST_NAME)
    answers = max(len(ANSWERS[service.answer]) for service in services)
    lines = in_lines("As it is now (power fed from this end unless the far end is named):", width)
    for name, service, clause in rows:
        text = f"  {name:<{widest}}  {ANSWERS[service.answer]:<{answers}}  {service_said(service)}"
        lines += in_lines(f"{text.rstrip()} [{clause}]", width, then=" " * 4)
    return lines + _notes(services, width)


def _notes(services: "Sequence[Service]", width: int) -> list[str]:
    """Return what nobody measured, so that the wire map says nothing of it, and what the mark means."""
    missing = dict.fromkeys(reason for one in services for reason, _ in one.reasons if reason.endswith(UNMEASURED))
    told = any(reason in BY_CATEGORY for one in services for reason, _ in one.reasons)
    never = NEVER_MEASURED[1:] if told else NEVER_MEASURED
    unknown = listed([*never, *(SERVICE_REASON_WORDS[reason] for reason in missing)])
    category = " The category is as told." if told else ""
    notes = in_lines(f"Not measured, and not in these answers: {unknown}.{category}", width)
    if any("(m)" in f"{one.clause}{service_said(one)}" for one in services):
        notes += in_lines("(m): from memory, not checked against the standard's text.", width)
    return notes


def service_said(service: "Service") -> str:
    """Return why, and for power what it carries and where."""
    said = [_reason(*pair) for pair in service.reasons if not pair[0].endswith(UNMEASURED)]
    if service.power_class is not None and service.device_w is not None:
        said.append(f"up to class {service.power_class}, where a device may draw {service.device_w:g} W")
    if service.path_hot_ohm is not None:
        said.append(f"path at most {math.ceil(10 * service.path_hot_ohm) / 10:.1f} ohm when hot (m)")
    if service.delivered is not None:
        said.append(service.delivered + ("" if service.poles_fixed else ", or exchanged"))
    return "; ".join(said)


def _reason(reason: "ServiceReason", where: str) -> str:
    return SERVICE_REASON_WORDS[reason].format(where=where).strip()
