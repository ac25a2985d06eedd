"""Judging by eye, at full count: what colours show of every order is what a tester measures of it."""

import itertools
import random
from collections.abc import Iterable, Sequence

from tests.long import Check
from tests.strategies import nets_of, plugs, reading_of
from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import pattern
from wiremap.judge.plugs.by_eye import reading_by_eye
from wiremap.judge.verdict import Diagnosis, judge

CONTACTS = tuple("12345678")
# ANSI/TIA-568: the conductor in each contact of an 8-position plug, 1 to 8.
STANDARDS = {
    "T568A": ["white-green", "green", "white-orange", "blue", "white-blue", "orange", "white-brown", "brown"],
    "T568B": ["white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown"],
}
ALL_ORDERS = 40_320


def shown(found: Diagnosis) -> object:
    """Return what colours can show of a cable: verdict, each fault with its contacts, the pattern it is instead."""
    faults = [(one.fault, one.near, one.far, one.certainty, one.polarity_exchanged) for one in found.findings]
    return found.verdict, sorted(faults), found.nearest, found.cause


def check_order(order: Sequence[str], unexpected: bool) -> None:
    """Assert that a far plug's order is judged by eye as it is measured, with the near plug by either standard.

    order: where each near contact arrives. unexpected: judged without a pattern as well.
    """
    straight, tia = pattern("straight"), colour_set("tia")
    nets = nets_of(dict(zip(CONTACTS, order, strict=True)), straight.near_contacts, straight.far_contacts)
    measured = reading_of(nets, plugs(straight), tester=None)
    wanted, nearest = shown(judge(measured, straight)), judge(measured).nearest if unexpected else None
    for standard in STANDARDS.values():
        near, far = (tuple(zip(plug, standard, strict=True)) for plug in (CONTACTS, order))
        seen = reading_by_eye(straight, tia, near, far)
        assert shown(judge(seen, straight)) == wanted, order
        assert not unexpected or judge(seen).nearest == nearest, order


def every_order_by_eye(seed: int, count: int) -> str:
    """The far plug in all 40 320 orders (or `count` of them), the near plug by either standard."""
    choose = random.Random(seed)
    orders: Iterable[Sequence[str]] = itertools.permutations(CONTACTS)
    if count < ALL_ORDERS:
        orders = [CONTACTS, *(choose.sample(CONTACTS, 8) for _ in range(count - 1))]
    judged = 0
    for number, order in enumerate(orders):
        check_order(order, unexpected=number % 100 == 0)
        judged += 1
    return f"{judged} orders of the far plug are judged by eye as measured, near plugs {' and '.join(STANDARDS)}"


CHECKS = (Check("every-order-by-eye", every_order_by_eye, ALL_ORDERS),)
