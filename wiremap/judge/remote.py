"""A remote at the far end, read from the near end alone: which far contact each conductor reaches.

A remote has one resistor from each contact to a common star (remotes.toml). Near contacts i and j then show
a_i + a_j, where a_i is the conductor and the resistor behind it. From three contacts on, each a_i follows, and
with it the far contact and the remote's letter. Far contacts joined by a short stand in parallel. From two
contacts only a sum is known; from one, nothing. Within a short the order cannot be seen.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import sqrt
from typing import Literal

from wiremap.cable.limits import Limits
from wiremap.cable.remotes import Remote, RemoteSet, remote_set

Certainty = Literal["exact", "likely", "undecided"]
Why = Literal["exact", "ambiguous", "two-conductors", "too-few", "no-remote"]
Ohm = float | Literal["open", "joined"] | None
Contacts = tuple[str, ...]

STANDARD_UNCERTAINTIES = 4.0
MOST_FAR_JOINS = 1
LARGEST_SUBSET = 4


@dataclass(frozen=True, slots=True)
class RemoteNet:
    """Near contacts that are joined, and the sets of far contacts that may be behind them; one set = known.

    With more than one contact on a side the order within the set is not seen.
    """

    near: Contacts
    far: tuple[Contacts, ...]

    @property
    def known(self) -> bool:
        """Whether it is known which far contacts these reach."""
        return len(self.far) == 1


@dataclass(frozen=True, slots=True)
class RemoteSeen:
    """What the near end sees of a remote.

    letter: which remote, None = not known. certainty: "exact", the mapping is sure; "likely", it fits but is not
    sure; "undecided". nets: near contacts that reach something. silent: near contacts joined, if at all, among
    themselves only: they reach nothing. unreached: far contacts nothing arrives at, where that is known.
    """

    letter: str | None
    certainty: Certainty
    why: Why
    nets: tuple[RemoteNet, ...]
    silent: tuple[Contacts, ...]
    unreached: Contacts


@dataclass(frozen=True, slots=True)
class _Option:
    """Far contacts in parallel and what they look like, ohms."""

    far: frozenset[str]
    ohm: float


def _groups(contacts: Contacts, ohm: Mapping[tuple[str, str], Ohm], joined_ohm: float) -> list[list[str]]:
    groups: list[list[str]] = []
    for contact in contacts:
        mine = [group for group in groups if any(_is_joined(ohm[other, contact], joined_ohm) for other in group)]
        merged = [other for group in mine for other in group] + [contact]
        groups = [group for group in groups if group not in mine] + [merged]
    return sorted(groups, key=lambda group: contacts.index(group[0]))


def _is_joined(value: Ohm, joined_ohm: float) -> bool:
    return value == "joined" or (isinstance(value, int | float) and value <= joined_ohm)


def _between(ours: list[str], others: list[str], ohm: Mapping[tuple[str, str], Ohm]) -> float | None:
    """Return the mean ohms between two groups; None when any two of their contacts are open to each other."""
    values = [ohm[a, b] for a in ours for b in others]
    numbers = [float(value) for value in values if isinstance(value, int | float)]
    return sum(numbers) / len(numbers) if len(numbers) == len(values) else None


def _behind(sums: list[list[float]]) -> list[float]:
    """Return a_i from sums[i][j] = a_i + a_j by least squares, for three or more."""
    count = len(sums)
    rows = [sum(row) for row in sums]
    total = sum(rows) / 2 / (count - 1)
    return [(row - total) / (count - 2) for row in rows]


def _options(remote: Remote, contacts: Contacts) -> tuple[_Option, ...]:
    found = []
    for size in range(1, LARGEST_SUBSET + 1):
        for chosen in combinations(remote.fitted(contacts).resistors, size):
            parallel = 1.0 / sum(1.0 / value for _, value in chosen)
            found.append(_Option(frozenset(contact for contact, _ in chosen), parallel))
    return tuple(found)


def _fits(option: _Option, ohm: float, known: RemoteSet, noise: float) -> bool:
    low = option.ohm * (1 - known.deviation) - noise
    return low <= ohm <= option.ohm * (1 + known.deviation) + known.resistance_of_run_ohm + noise


def _assignments(
    fitting: Sequence[Sequence[_Option]], sizes: Sequence[int], spare: int
) -> Iterator[tuple[int, tuple[frozenset[str], ...]]]:
    """Yield (far contacts joined beyond a break, far contacts of each group), no contact in two groups.

    A group of m near contacts reaches up to m far contacts by its own conductors; each one more must be the far
    end of a conductor that is open at the near end, of which there are `spare`.
    """

    def place(number: int, used: frozenset[str], joins: int) -> Iterator[tuple[int, tuple[frozenset[str], ...]]]:
        if number == len(fitting):
            yield joins, ()
            return
        for option in fitting[number]:
            more = joins + max(0, len(option.far) - sizes[number])
            if more <= spare and not option.far & used:
                for least, rest in place(number + 1, used | option.far, more):
                    yield least, (option.far, *rest)

    yield from place(0, frozenset(), 0)


def read_remote(
    near_contacts: Contacts,
    far_contacts: Contacts,
    ohm: Mapping[tuple[str, str], Ohm],
    limits: Limits,
    expected: Mapping[str, str] | None = None,
    known: RemoteSet | None = None,
) -> RemoteSeen:
    """Return what a remote at the far end shows.

    ohm: between each two near contacts, both orders. far_contacts: of the plug the remote is made for.
    expected: far contact that each near contact should reach; needed for anything to be `likely` with two
    conductors, and not used otherwise.
    """
    remotes = known or remote_set()
    groups = _groups(near_contacts, ohm, limits.joined_ohm)
    between = [[0.0 if a is b else _between(a, b, ohm) for b in groups] for a in groups]
    alive = [i for i in range(len(groups)) if any(between[i][j] is not None for j in range(len(groups)) if j != i)]
    silent = tuple(tuple(group) for i, group in enumerate(groups) if i not in alive)
    if len(alive) < 2:
        return RemoteSeen(None, "undecided", "too-few", (), silent, ())
    heard = [groups[i] for i in alive]
    sums: list[list[float]] = []
    for i in alive:
        row = [between[i][j] for j in alive]
        if None in row:
            return _no_remote(heard, silent)
        sums.append([value for value in row if value is not None])
    if len(alive) == 2:
        return _two(heard, sums[0][1], silent, far_contacts, expected, remotes)
    return _many(heard, sums, silent, far_contacts, remotes)


def _no_remote(heard: list[list[str]], silent: tuple[Contacts, ...]) -> RemoteSeen:
    return RemoteSeen(None, "undecided", "no-remote", tuple(RemoteNet(tuple(g), ()) for g in heard), silent, ())


def _many(
    heard: list[list[str]],
    sums: list[list[float]],
    silent: tuple[Contacts, ...],
    far_contacts: Contacts,
    remotes: RemoteSet,
) -> RemoteSeen:
    behind = _behind(sums)
    count = len(heard)
    u_sum = [[remotes.step_ohm(value) / sqrt(12.0) for value in row] for row in sums]
    for i, j in combinations(range(count), 2):
        # Contacts of one group may be fed from either side of a short, so half the run may stand between them.
        slack = STANDARD_UNCERTAINTIES * u_sum[i][j] + (
            remotes.resistance_of_run_ohm if len(heard[i]) + len(heard[j]) > 2 else 0.0
        )
        if abs(sums[i][j] - behind[i] - behind[j]) > slack + 0.002 * sums[i][j]:
            return _no_remote(heard, silent)
    spread = sqrt(1.0 / (count - 1) + 1.0 / (2.0 * (count - 1) * (count - 2)))
    spare = sum(len(group) for group in silent)
    sizes = [len(group) for group in heard]
    found: list[tuple[int, str, tuple[frozenset[str], ...]]] = []
    for remote in remotes.remotes:
        options = _options(remote, far_contacts)
        fitting = [
            [option for option in options if _fits(option, ohm, remotes, STANDARD_UNCERTAINTIES * spread * max(u_row))]
            for ohm, u_row in zip(behind, u_sum, strict=True)
        ]
        if all(fitting):
            found += [(joins, remote.letter, sets) for joins, sets in _assignments(fitting, sizes, min(spare, 9))]
    if not found:
        return _no_remote(heard, silent)
    fewest = min(joins for joins, _, _ in found)
    found = [one for one in found if one[0] <= fewest + MOST_FAR_JOINS]
    letters = {letter for _, letter, _ in found}
    nets = []
    for number, group in enumerate(heard):
        sets = {tuple(sorted(one[2][number], key=far_contacts.index)) for one in found}
        nets.append(RemoteNet(tuple(group), tuple(sorted(sets))))
    letter = letters.pop() if len(letters) == 1 else None
    if letter is None or not all(net.known for net in nets):
        return RemoteSeen(letter, "likely", "ambiguous", tuple(nets), silent, ())
    reached = {contact for net in nets for contact in net.far[0]}
    fitted = {contact for contact, _ in remotes.remote(letter).fitted(far_contacts).resistors}
    unreached = tuple(contact for contact in far_contacts if contact in fitted - reached)
    return RemoteSeen(letter, "exact", "exact", tuple(nets), silent, unreached)


def _two(
    heard: list[list[str]],
    total: float,
    silent: tuple[Contacts, ...],
    far_contacts: Contacts,
    expected: Mapping[str, str] | None,
    remotes: RemoteSet,
) -> RemoteSeen:
    """Judge two conductors by their sum alone: likely, when some remote gives it for the far contacts expected."""
    wanted = [frozenset(expected[c] for c in group if expected and c in expected) for group in heard]
    nets = tuple(
        RemoteNet(tuple(group), (tuple(sorted(far, key=far_contacts.index)),) if far else ())
        for group, far in zip(heard, wanted, strict=True)
    )
    noise = STANDARD_UNCERTAINTIES * remotes.step_ohm(total)
    for remote in remotes.remotes:
        options = {option.far: option.ohm for option in _options(remote, far_contacts)}
        if all(far in options for far in wanted):
            looks = sum(options[far] for far in wanted)
            low = looks * (1 - remotes.deviation) - noise
            if low <= total <= looks * (1 + remotes.deviation) + 2 * remotes.resistance_of_run_ohm + noise:
                return RemoteSeen(None, "likely", "two-conductors", nets, silent, ())
    undecided = tuple(RemoteNet(net.near, ()) for net in nets)
    return RemoteSeen(None, "undecided", "too-few", undecided, silent, ())
