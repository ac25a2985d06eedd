"""A remote at the far end, read from the near end alone: which far contact each conductor reaches.

A remote has one resistor from each contact to a common star (remotes.toml). Near contacts i and j then show
a_i + a_j, where a_i is the conductor and the resistor behind it. From three contacts on, each a_i follows, and
with it the far contact and the remote's letter. Far contacts joined by a short stand in parallel. From two
contacts only a sum is known; from one, nothing. Within a short the order cannot be seen.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import combinations
from math import sqrt
from typing import Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from wiremap.cable.limits import Limits
from wiremap.cable.remotes import Remote, RemoteSet
from wiremap.reading.joined import by_net, is_joined, nets
from wiremap.reading.reading import Ohm

RemoteCertainty = Literal["exact", "likely", "undecided"]
RemoteReason = Literal["exact", "ambiguous", "two-conductors", "too-few", "no-remote"]
Contacts = tuple[str, ...]

LARGEST_SET = 4


class RemoteNet(Struct, frozen=True):
    """Near contacts that are joined, and the sets of far contacts that may be behind them; one set = known.

    With more than one contact on a side the order within the set is not seen.
    """

    near: Contacts
    far: tuple[Contacts, ...]

    @property
    def known(self) -> bool:
        """Whether it is known which far contacts these reach."""
        return len(self.far) == 1


class RemoteSeen(Struct, frozen=True):
    """What the near end sees of a remote.

    letter: which remote, None = not known. certainty: "exact", the mapping is sure; "likely", it fits but is not
    sure; "undecided". nets: near contacts that reach something. silent: near contacts joined, if at all, among
    themselves only: they reach nothing. unreached: far contacts nothing arrives at, where that is known.
    """

    letter: str | None
    certainty: RemoteCertainty
    why: RemoteReason
    nets: tuple[RemoteNet, ...]
    silent: tuple[Contacts, ...]
    unreached: Contacts

    def to_builtins(self) -> dict[str, object]:
        """Return it as it stands in JSON."""
        nets = [{"near": list(net.near), "far": [list(far) for far in net.far]} for net in self.nets]
        said: dict[str, object] = {"letter": self.letter, "certainty": self.certainty, "why": self.why, "nets": nets}
        return said | {"silent": [list(group) for group in self.silent], "unreached": list(self.unreached)}


def _groups(contacts: Contacts, ohm: Mapping[tuple[str, str], Ohm], joined_ohm: float) -> list[list[str]]:
    two = combinations(range(len(contacts)), 2)
    labels = nets(len(contacts), [(i, j) for i, j in two if is_joined(ohm[contacts[i], contacts[j]], joined_ohm)])
    return list(by_net(contacts, labels).values())


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


@lru_cache(maxsize=32)
def _options(remote: Remote, contacts: Contacts) -> tuple[tuple[int, ...], NDArray[np.float64]]:
    """Return sets of far contacts as bits of `contacts`, smaller sets first, and what each looks like, ohms."""
    fitted = remote.fitted(contacts).resistors
    sets, parallel = [], []
    for size in range(1, LARGEST_SET + 1):
        for chosen in combinations(fitted, size):
            sets.append(sum(1 << contacts.index(contact) for contact, _ in chosen))
            parallel.append(1.0 / sum(1.0 / ohm for _, ohm in chosen))
    return tuple(sets), np.array(parallel)


def _fitting(
    options: tuple[tuple[int, ...], NDArray[np.float64]], ohm: float, known: RemoteSet, noise: float
) -> list[int]:
    """Return the sets of far contacts that can look like so many ohms behind a near contact."""
    sets, parallel = options
    low = parallel * (1.0 - known.deviation) - noise
    high = parallel * (1.0 + known.deviation) + known.resistance_of_run_ohm + noise
    return [sets[place] for place in np.flatnonzero((low <= ohm) & (ohm <= high)).tolist()]


def _assignments(fitting: Sequence[Sequence[int]], sizes: Sequence[int], joins: int) -> Iterator[tuple[int, ...]]:
    """Yield the far contacts of each group, no contact in two groups, with exactly `joins` more than conductors.

    A group of m near contacts reaches up to m far contacts by its own conductors; each one more must be the far
    end of a conductor that is open at the near end.
    """

    def place(number: int, used: int, left: int) -> Iterator[tuple[int, ...]]:
        if number == len(fitting):
            if left == 0:
                yield ()
            return
        for chosen in fitting[number]:
            more = left - max(0, chosen.bit_count() - sizes[number])
            if more >= 0 and not chosen & used:
                for rest in place(number + 1, used | chosen, more):
                    yield (chosen, *rest)

    yield from place(0, 0, joins)


def read_remote(
    near_contacts: Contacts,
    far_contacts: Contacts,
    ohm: Mapping[tuple[str, str], Ohm],
    limits: Limits,
    expected: Mapping[str, str] | None = None,
) -> RemoteSeen:
    """Return what a remote at the far end shows.

    ohm: between each two near contacts, both orders. far_contacts: of the plug the remote is made for.
    expected: far contact that each near contact should reach; needed for anything to be `likely` with two
    conductors. With more it says only how far-fetched another reading may be before it counts.
    """
    remotes = limits.remotes
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
        return _two(heard, sums[0][1], silent, far_contacts, expected, remotes, limits)
    return _many(heard, sums, silent, far_contacts, expected, remotes, limits)


def _no_remote(heard: list[list[str]], silent: tuple[Contacts, ...]) -> RemoteSeen:
    return RemoteSeen(None, "undecided", "no-remote", tuple(RemoteNet(tuple(g), ()) for g in heard), silent, ())


def _many(
    heard: list[list[str]],
    sums: list[list[float]],
    silent: tuple[Contacts, ...],
    far_contacts: Contacts,
    expected: Mapping[str, str] | None,
    remotes: RemoteSet,
    limits: Limits,
) -> RemoteSeen:
    behind = _behind(sums)
    count = len(heard)
    u_sum = [[remotes.step_ohm(value) / sqrt(12.0) for value in row] for row in sums]
    for i, j in combinations(range(count), 2):
        # Contacts of one group may be fed from either side of a short, so half the run may stand between them.
        slack = limits.remote_sigmas * u_sum[i][j] + (
            remotes.resistance_of_run_ohm if len(heard[i]) + len(heard[j]) > 2 else 0.0
        )
        if abs(sums[i][j] - behind[i] - behind[j]) > slack + limits.remote_gain_share * sums[i][j]:
            return _no_remote(heard, silent)
    spread = sqrt(1.0 / (count - 1) + 1.0 / (2.0 * (count - 1) * (count - 2)))
    spare = sum(len(group) for group in silent)
    sizes = [len(group) for group in heard]
    noise = [limits.remote_sigmas * spread * max(row) for row in u_sum]
    candidates = []
    for remote in remotes.remotes:
        options = _options(remote, far_contacts)
        fitting = [_fitting(options, ohm, remotes, more) for ohm, more in zip(behind, noise, strict=True)]
        if all(fitting):
            candidates.append((remote.letter, fitting))
    found = _fewest_joins(candidates, sizes, spare, _wanted(heard, far_contacts, expected))
    if not found:
        return _no_remote(heard, silent)
    letters = {letter for letter, _ in found}
    nets = []
    for number, group in enumerate(heard):
        sets = sorted({sets[number] for _, sets in found})
        nets.append(RemoteNet(tuple(group), tuple(_contacts(chosen, far_contacts) for chosen in sets)))
    letter = letters.pop() if len(letters) == 1 else None
    if letter is None or not all(net.known for net in nets):
        return RemoteSeen(letter, "likely", "ambiguous", tuple(nets), silent, ())
    reached = {contact for net in nets for contact in net.far[0]}
    fitted = {contact for contact, _ in remotes.remote(letter).fitted(far_contacts).resistors}
    unreached = tuple(contact for contact in far_contacts if contact in fitted - reached)
    return RemoteSeen(letter, "exact", "exact", tuple(nets), silent, unreached)


def _fewest_joins(
    candidates: Sequence[tuple[str, Sequence[Sequence[int]]]], sizes: Sequence[int], spare: int, wanted: Sequence[int]
) -> list[tuple[str, tuple[int, ...]]]:
    """Return (letter, far contacts of each group) of all assignments that are not much less likely than the best.

    The best has the fewest joins. Assignments with two more stand beside it; with one more only, when the best
    has every conductor where it should be: the others then need a conductor in the wrong place on top.
    """
    found: list[tuple[str, tuple[int, ...]]] = []
    last = spare
    for joins in range(spare + 1):
        if joins > last:
            break
        more = [(letter, sets) for letter, fitting in candidates for sets in _assignments(fitting, sizes, joins)]
        if more and not found:
            as_wanted = any(list(sets) == list(wanted) for _, sets in more)
            last = joins + (1 if as_wanted else 2)
        found += more
    return found


def _wanted(heard: list[list[str]], far_contacts: Contacts, expected: Mapping[str, str] | None) -> list[int]:
    """Return for each group the far contacts that its conductors should reach, as bits."""
    reach = [{(expected or {}).get(contact) for contact in group} for group in heard]
    return [sum(1 << place for place, contact in enumerate(far_contacts) if contact in far) for far in reach]


def _contacts(chosen: int, contacts: Contacts) -> Contacts:
    return tuple(contact for place, contact in enumerate(contacts) if chosen >> place & 1)


def _two(
    heard: list[list[str]],
    total: float,
    silent: tuple[Contacts, ...],
    far_contacts: Contacts,
    expected: Mapping[str, str] | None,
    remotes: RemoteSet,
    limits: Limits,
) -> RemoteSeen:
    """Judge two conductors by their sum alone: likely, when some remote gives it for the far contacts expected."""
    wanted = _wanted(heard, far_contacts, expected)
    nets = tuple(
        RemoteNet(tuple(group), (_contacts(chosen, far_contacts),)) for group, chosen in zip(heard, wanted, strict=True)
    )
    noise = limits.remote_sigmas * remotes.step_ohm(total)
    for remote in remotes.remotes:
        sets, parallel = _options(remote, far_contacts)
        if all(chosen in sets for chosen in wanted):
            looks = sum(float(parallel[sets.index(chosen)]) for chosen in wanted)
            low = looks * (1 - remotes.deviation) - noise
            if low <= total <= looks * (1 + remotes.deviation) + 2 * remotes.resistance_of_run_ohm + noise:
                return RemoteSeen(None, "likely", "two-conductors", nets, silent, ())
    undecided = tuple(RemoteNet(net.near, ()) for net in nets)
    return RemoteSeen(None, "undecided", "too-few", undecided, silent, ())
