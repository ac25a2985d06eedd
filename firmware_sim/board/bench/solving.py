"""Steady voltages of a resistor network, and how a network of resistors and capacitors settles to them."""

LONGEST_APPLIED_US = 1 << 12  # of one application; longer waits take several


def steady(links: "list[dict[int, float]]", ground: "list[float]", driven: "list[float]") -> "list[float]":
    """Return the voltage of every node.

    links: for each node what joins it to others, uS; used up. ground: what joins it to fixed voltages, uS, and
    driven: the sum of each such times its voltage, uA; both are changed. Nodes are taken out one after the other, which
    only adds and divides, so that milliohms beside gigohms lose nothing.
    """
    taken = []
    for node in range(len(links)):
        star = links[node]
        total = ground[node]
        for us in star.values():
            total += us
        taken.append((star, total))
        for one, us in star.items():
            others = links[one]
            del others[node]
            share = us / total
            ground[one] += share * ground[node]
            driven[one] += share * driven[node]
            for two, beyond in star.items():
                if two != one:
                    others[two] = others.get(two, 0.0) + share * beyond
    volts = [0.0] * len(links)
    for node in range(len(links) - 1, -1, -1):
        star, total = taken[node]
        current = driven[node]
        for one, us in star.items():
            current += us * volts[one]
        volts[node] = current / total
    return volts


def product(a: "list[list[float]]", b: "list[list[float]]") -> "list[list[float]]":
    """Return the product of two square matrices."""
    columns = list(zip(*b))
    return [[sum([x * y for x, y in zip(row, column)]) for column in columns] for row in a]


def inverse(matrix: "list[list[float]]") -> "list[list[float]]":
    """Return the inverse of a square matrix."""
    size = len(matrix)
    rows = [list(row) + [1.0 if k == n else 0.0 for k in range(size)] for n, row in enumerate(matrix)]
    for at in range(size):
        best = max(range(at, size), key=lambda n: abs(rows[n][at]))
        rows[at], rows[best] = rows[best], rows[at]
        pivot = rows[at][at]
        head = [value / pivot for value in rows[at]]
        rows[at] = head
        for n in range(size):
            factor = rows[n][at]
            if n != at and factor:
                rows[n] = [value - factor * over for value, over in zip(rows[n], head)]
    return [row[size:] for row in rows]


class Settling:
    """How far off the steady state one is after a time, from how far off at first.

    rates: C^-1 G, per microsecond. One microsecond is 1/(1 + x + x^2/2 + x^3/6 + x^4/24) of the rates x, which no rate
    makes swing; longer times are its squares, made when first asked for.
    """

    def __init__(self, rates: "list[list[float]]") -> None:
        second = product(rates, rates)
        third, fourth = product(second, rates), product(second, second)
        size = len(rates)
        series = [
            [
                (1.0 if i == j else 0.0) + rates[i][j] + second[i][j] / 2 + third[i][j] / 6 + fourth[i][j] / 24
                for j in range(size)
            ]
            for i in range(size)
        ]
        self._ladder = [inverse(series)]

    def after(self, off: "list[float]", us: int) -> "list[float]":
        """Return how far off every node is after so many microseconds."""
        step = 0
        while us:
            if 1 << step >= LONGEST_APPLIED_US:
                times, us = us, 0
            else:
                times, us = us & 1, us >> 1
            if step == len(self._ladder):
                self._ladder.append(product(self._ladder[-1], self._ladder[-1]))
            matrix = self._ladder[step]
            for _ in range(min(times, 1000)):
                off = [sum([x * y for x, y in zip(row, off)]) for row in matrix]
            step += 1
        return off
