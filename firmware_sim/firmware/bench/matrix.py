"""What every net holds, femtofarads, and the same in the forms that are asked for."""

import micropython

LARGEST_FF = 100_000_000
FIXED = 1 << 52  # of what is turned round, so that whole numbers do


class Matrix:
    """What a net holds: against each other net, and in all, femtofarads; and the scatter of one reading."""

    def __init__(self, nets: "list[list[int]]") -> None:
        self.nets = nets
        size = len(nets)
        self.direct = [[0] * size for _ in range(size)]
        self.own = [0] * size  # against everything else, all of it low
        self.spoilt = [False] * size  # by a leak, or out of the amplifier's range
        self.squares = 0
        self.freedom = 0
        self.weighings = 0


def singles(found: Matrix) -> "list[int]":
    """Return each net alone against all others low, what its contacts hold included."""
    return list(found.own)


def double(found: Matrix, i: int, j: int) -> int:
    """Return two nets together against all others low."""
    return found.own[i] + found.own[j] - 2 * found.direct[i][j]


@micropython.native
def pairs(found: Matrix) -> "list[list[int]]":
    """Return each two nets, the first driven, the second low, all others floating: (1/K_ii - ...) of the inverse."""
    size = len(found.nets)
    rows = [
        [found.own[i] if i == j else -found.direct[i][j] for j in range(size)]
        + [FIXED if i == j else 0 for j in range(size)]
        for i in range(size)
    ]
    for at in range(size):
        pivot = rows[at][at] or 1
        # Left of these columns nothing is looked at any more, and right of them nothing changes yet.
        first, end = at + 1, size + at + 1
        head = rows[at][first:end]
        for n in range(size):
            factor = rows[n][at]
            if n != at and factor:
                rows[n][first:end] = [value - factor * over // pivot for value, over in zip(rows[n][first:end], head)]
    # K_ij in FIXED / femtofarad.
    k = [[rows[i][size + j] // (rows[i][i] or 1) for j in range(size)] for i in range(size)]
    values = [[0] * size for _ in range(size)]
    for i in range(size):
        for j in range(size):
            if i != j and k[j][j]:
                left = k[i][i] - k[i][j] * k[j][i] // k[j][j]
                values[i][j] = FIXED // left if left > 0 else LARGEST_FF
    return values
