"""What would run on a cable as it is: the danger as sentences, the short form, and the table with every reason."""

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from wiremap.report.words.faults import listed

if TYPE_CHECKING:  # words for what was judged need none of the judging
    from wiremap.judge.remedy.service import Answer, Reason, Service

WIDEST_NAME = 26
ANSWERS: "dict[Answer, str]" = {
    "wire map allows it": "the wire map allows it",
    "at risk": "at risk",
    "no": "no",
    "not promised": "not promised",
    "danger": "DO NOT CONNECT",
}
ORDER: "tuple[Answer, ...]" = ("danger", "no", "not promised", "at risk", "wire map allows it")
REASONS: "dict[Reason, str]" = {
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
    "length-not-measured": "length",
    "pairs-not-measured": "split pairs",
    "shorts-not-measured": "shorts",
    "resistance-not-measured": "resistance",
    "unbalance-not-measured": "resistance unbalance",
}
UNMEASURED = "-not-measured"
NEVER_MEASURED = ("category", "loss", "crosstalk")
POWER = {
    "PoE Alternative A": "PoE over Alternative A",
    "PoE Alternative B": "PoE over Alternative B",
    "PoE, four pairs": "PoE over four pairs",
    "passive injector": "a passive injector",
}
SHORT_POWER = {
    "PoE Alternative A": "PoE A",
    "PoE Alternative B": "PoE B",
    "PoE, four pairs": "PoE 4-pair",
    "passive injector": "passive",
}
DANGERS: "dict[Reason, str]" = {
    "plus-and-minus-on-one-pair": "+ and - can meet on one pair ({where}) and destroy the equipment",
    "reversed-supply": "+ and - are exchanged ({where}), which can destroy the equipment",
    "through-windings": "+ and - meet through the windings of other pairs, which can destroy the equipment",
    "supply-shorted": "its + and - are joined ({where})",
    "power-on-the-screen": "{where} is joined to the screen, so power would be on the boat's ground",
}
SHORTEST_HEADS: "dict[Answer, str]" = {"wire map allows it": "map allows", "danger": "DO NOT CONNECT"}
MORE = "more with {option}"


def danger_sentences(services: "Sequence[Service]") -> tuple[str, ...]:
    """Return what must not be connected and why, a sentence for each kind of danger; nothing where there is none.

    It is to stand first wherever the cable is shown.
    """
    found: dict[Reason, tuple[list[str], list[str]]] = {}
    for service in services:
        if service.answer == "danger":
            for reason, where in service.reasons:
                if reason in DANGERS:
                    names, places = found.setdefault(reason, ([], []))
                    names.append(_power_said(service))
                    places += [place for place in where.split(", ") if place not in places]
    return tuple(
        f"DO NOT CONNECT {listed(names, 'or')}: {DANGERS[reason].format(where=', '.join(places))}."
        for reason, (names, places) in found.items()
    )


def _power_said(service: "Service") -> str:
    bare = service.name.removesuffix(", fed from the far end")
    return POWER[bare] + (" fed from the far end" if service.from_far else "")
