"""Full counts: dangers of power and links against a brute force of its own over all orders, polarities and ports."""

from itertools import product

from tests.judge.remedy.service_trials import PORTS, count, every_order, sample
from tests.long import Check


def every_order_and_port(seed: int, many: int) -> str:
    """Judge orders between every two kinds of port, and as many with opens: nothing is missed, nothing false."""
    whole = count(every_order(many), tuple(product(PORTS, PORTS)))
    opens = count(sample(seed, many, 0.15), (("auto", "auto"),))
    kinds = {what.removesuffix(": dangerous"): found for what, found in whole.items() if what.endswith("dangerous")}
    said = ", ".join(f"{kind} {found}" for kind, found in kinds.items())
    some = sum(found for what, found in opens.items() if what.endswith("dangerous"))
    return f"0 missed, 0 false; dangerous orders: {said}; with opens {some} dangers of {4 * many}"


CHECKS = (Check("services: danger and links over every order, port and polarity", every_order_and_port, 40_320),)
