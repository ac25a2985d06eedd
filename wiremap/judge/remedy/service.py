"""One service and whether the wire map allows it; the cable that services are judged on, by contacts and by signals."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal, get_args

from msgspec import Struct

from wiremap.cable.connectors import Connector
from wiremap.cable.kinds import Category
from wiremap.cable.service_rules import LinkRule, ServiceRules

Port = Literal["auto", "fixed-mdi", "fixed-mdi-x"]
PORTS: tuple[Port, ...] = get_args(Port)
ServiceAnswer = Literal["wire map allows it", "at risk", "no", "not promised", "danger"]
PAIRS = ("A", "B", "C", "D")
WORST_FIRST: tuple[ServiceAnswer, ...] = ("danger", "no", "not promised", "at risk", "wire map allows it")
ServiceReason = Literal[
    "plus-and-minus-on-one-pair",
    "reversed-supply",
    "through-windings",
    "supply-shorted",
    "power-on-the-screen",
    "pairs-missing",
    "transmitter-facing-transmitter",
    "needs-crossing",
    "pairs-elsewhere",
    "power-elsewhere",
    "shorted",
    "to-the-screen",
    "split",
    "polarity",
    "too-long",
    "perhaps-too-long",
    "of-no-category",
    "not-rated",
    "beyond-rated",
    "perhaps-beyond-rated",
    "among-others",
    "rated",
    "alternatives-crossed",
    "one-conductor",
    "unbalance",
    "pair-to-pair-unbalance",
    "resistance-too-high",
    "wet",
    "leakage",
    "unsound-contact",
    "wire",
    "screen-open",
    "opens-not-measured",
    "length-not-measured",
    "pairs-not-measured",
    "shorts-not-measured",
    "resistance-not-measured",
    "unbalance-not-measured",
]
CATEGORY_WORDS: dict[Category, str] = {
    "5e": "Cat 5e",
    "6": "Cat 6",
    "6a": "Cat 6A",
    "7": "Cat 7",
    "none": "no category",
    "unknown": "not known",
}
Said = tuple[ServiceAnswer, ServiceReason, str]


class Service(Struct, frozen=True):
    """One service and whether the wire map allows it; more than that nobody can say who has not measured more.

    reasons: words that wording knows, with the contacts, pairs or numbers concerned (near "1-2"), "" = none.
    delivered: for power, the pole at each far pair, "1-2 negative, 3-6 positive"; poles_fixed: whether the source
    has them so and no other way. path_ohm: resistance of the fed path as measured; path_hot_ohm: the most it can be
    in a hot cable by a tester of this resolution; power_class: the highest that can be carried over that;
    device_w: what a device of that class may draw. from_far: power is fed from the far end; contacts are then near
    ones where they were far ones.
    """

    name: str
    answer: ServiceAnswer
    reasons: tuple[tuple[ServiceReason, str], ...]
    clause: str
    kind: Literal["link", "power"] = "link"
    delivered: str | None = None
    poles_fixed: bool = False
    path_ohm: float | None = None
    path_hot_ohm: float | None = None
    power_class: str | None = None
    device_w: float | None = None
    from_far: bool = False

    def to_builtins(self) -> dict[str, object]:
        """Return it as it stands in JSON; what it does not have is left out."""
        plain: dict[str, object] = {
            "name": self.name,
            "answer": self.answer,
            "reasons": [f"{reason} {where}".strip() for reason, where in self.reasons],
            "clause": self.clause,
        }
        more = {
            "delivered": self.delivered,
            "path_ohm": None if self.path_ohm is None else round(self.path_ohm, 3),
            "path_hot_ohm": None if self.path_hot_ohm is None else round(self.path_hot_ohm, 3),
            "power_class": self.power_class,
            "device_w": self.device_w,
            "from_far": self.from_far or None,
        }
        return plain | {key: value for key, value in more.items() if value is not None}


def worst(said: Iterable[Said]) -> ServiceAnswer:
    """Return the worst of several answers; that the wire map allows it where there is none."""
    return min((answer for answer, _, _ in said), key=WORST_FIRST.index, default="wire map allows it")


class Net(Struct, frozen=True):
    """Conductors joined in one: contacts (or signals) at the near and at the far end; screen: it is joined to one."""

    near: tuple[str, ...]
    far: tuple[str, ...]
    screen: bool = False

    @property
    def is_conductor(self) -> bool:
        """Whether it is one conductor that arrives, and nothing else."""
        return len(self.near) == len(self.far) == 1


class Cable(Struct, frozen=True):
    """What services are judged on.

    nets: what is joined, screens left out; a contact alone in its net need not stand here. split: near pairs, either
    order, whose conductors are not twisted together. ohm: of each near contact's conductor; step_ohm: to what the
    tester resolves it. length_m None = not measured; low_m, high_m: its 95 % interval, None = as it is given. category:
    of the kind that somebody named, None = nobody named one that has any. doubts: what makes services a risk, with the
    near contacts concerned, none = all. unmeasured: what nobody measured, beside length and resistance.
    """

    nets: tuple[Net, ...]
    split: tuple[tuple[str, str], ...] = ()
    ohm: tuple[tuple[str, float], ...] = ()
    step_ohm: float = 0.0
    length_m: float | None = None
    doubts: tuple[tuple[ServiceReason, tuple[str, ...]], ...] = ()
    unmeasured: tuple[ServiceReason, ...] = ()
    low_m: float | None = None
    high_m: float | None = None
    category: Category | None = None

    def of_the_run(
        self, contacts: Iterable[str], rules: ServiceRules, screen: bool, link: LinkRule | None = None
    ) -> list[Said]:
        """Return what length, doubts and what was not measured mean to a service that uses these near contacts.

        screen: whether an open screen is a risk to it. link: the one that is asked of, None = it is power, which no
        category is rated for.
        """
        mine = set(contacts)
        said: list[Said] = []
        for reason, where in self.doubts:
            if (not where or mine & set(where)) and (screen or reason != "screen-open"):
                said.append(("at risk", reason, ""))
        said += [("wire map allows it", reason, "") for reason in self.unmeasured]
        if link is not None and self.category is not None:
            said += self._as_rated(link, self.category)
        elif self._surely_over(rules.longest_m):
            said.append(("not promised", "too-long", f"{self.length_m:.0f} m"))
        elif self._perhaps_over(rules.longest_m):
            said.append(("at risk", "perhaps-too-long", self._length_said()))
        if self.length_m is None:
            said.append(("wire map allows it", "length-not-measured", ""))
        return list(dict.fromkeys(said))

    def _as_rated(self, link: LinkRule, category: Category) -> list[Said]:
        """Return what a link is promised on cables of this category, over this length as far as that is known."""
        name, rating = CATEGORY_WORDS[category], link.rating(category)
        if category == "none" or rating is None:
            return [("not promised", "of-no-category" if category == "none" else "not-rated", name)]
        most = rating.alone_m or rating.metres
        rated = f"{name}: {most:.0f} m"
        if self._surely_over(most):
            return [("not promised", "beyond-rated", f"{self._length_said()}; {rated}")]
        if self._perhaps_over(most):
            return [("at risk", "perhaps-beyond-rated", f"{self._length_said()}; {rated}")]
        if most > rating.metres and self._perhaps_over(rating.metres):
            return [("at risk", "among-others", f"{rating.metres:.0f} m")]
        return [("wire map allows it", "rated", f"{name}, {rating.metres:.0f} m")]

    def _surely_over(self, most_m: float) -> bool:
        low_m = self.length_m if self.low_m is None else self.low_m
        return low_m is not None and low_m > most_m

    def _perhaps_over(self, most_m: float) -> bool:
        high_m = self.length_m if self.high_m is None else self.high_m
        return high_m is not None and high_m > most_m

    def _length_said(self) -> str:
        if self.low_m is None or self.high_m is None:
            return f"{self.length_m:.0f} m"
        return f"{self.length_m:.0f} m ({self.low_m:.0f} to {self.high_m:.0f})"


class Wires(Struct, frozen=True):
    """A cable in MDI signals ("A+"), and what follows for its near pairs; made by `wires_of`.

    leads: near signal -> far signal of conductors that arrive and touch no other. arrived: near signals that arrive
    at all. pair_at: the far pair at which both conductors of a near pair arrive, pairs that do not left out. shorted:
    near pairs of which a conductor is joined to another. on_screen: near pairs of which one is joined to a screen.
    """

    nets: tuple[Net, ...]
    near_contact: Mapping[str, str]
    far_contact: Mapping[str, str]
    leads: Mapping[str, str]
    arrived: frozenset[str]
    pair_at: Mapping[str, str]
    shorted: frozenset[str]
    on_screen: frozenset[str]

    def mirrored(self) -> "Wires":
        """Return it as seen from the far end."""
        nets = tuple(Net(net.far, net.near, net.screen) for net in self.nets)
        return _wires(nets, self.far_contact, self.near_contact)

    def missing(self, pair: str) -> bool:
        """Whether a conductor of the pair does not arrive at all."""
        return pair + "+" not in self.arrived or pair + "-" not in self.arrived

    def is_reversed(self, pair: str) -> bool:
        """Whether the pair arrives with its conductors exchanged."""
        return self.leads[pair + "+"].endswith("-")

    def contacts(self, pairs: Iterable[str]) -> tuple[str, ...]:
        """Return the near contacts of pairs."""
        return tuple(self.near_contact[pair + sign] for pair in pairs for sign in "+-" if pair + sign in self.leads)

    def called(self, pair: str) -> str:
        """Return the near contacts of a pair, "1-2"; its letter where the plug has no contacts for it."""
        return _called(pair, self.near_contact)

    def called_far(self, pair: str) -> str:
        """Return the far contacts of a pair, "1-2"; its letter where the plug has no contacts for it."""
        return _called(pair, self.far_contact)


def _called(pair: str, contact: Mapping[str, str]) -> str:
    if pair + "+" not in contact or pair + "-" not in contact:
        return pair
    return "-".join(sorted((contact[pair + sign] for sign in "+-"), key=lambda name: (len(name), name)))


def _wires(nets: tuple[Net, ...], near_contact: Mapping[str, str], far_contact: Mapping[str, str]) -> Wires:
    leads = {net.near[0]: net.far[0] for net in nets if net.is_conductor}
    ends = {pair: (leads.get(pair + "+"), leads.get(pair + "-")) for pair in PAIRS}
    return Wires(
        nets,
        near_contact,
        far_contact,
        leads,
        arrived=frozenset(signal for net in nets if net.far for signal in net.near),
        pair_at={pair: plus[0] for pair, (plus, minus) in ends.items() if plus and minus and plus[0] == minus[0]},
        shorted=frozenset(signal[0] for net in nets if len(net.near) > 1 or len(net.far) > 1 for signal in net.near),
        on_screen=frozenset(signal[0] for net in nets if net.screen for signal in net.near),
    )


def wires_of(cable: Cable, near: Connector, far: Connector, rules: ServiceRules) -> Wires:
    """Return a cable in MDI signals; contacts that carry none are left out."""
    near_signal, far_signal = rules.signals_of(near), rules.signals_of(far)
    nets = []
    for net in cable.nets:
        ours = tuple(near_signal[contact] for contact in net.near if contact in near_signal)
        theirs = tuple(far_signal[contact] for contact in net.far if contact in far_signal)
        if ours or theirs:
            nets.append(Net(ours, theirs, net.screen))
    near_contact = {near_signal[c]: c for c in near.conductor_contacts if c in near_signal}
    far_contact = {far_signal[c]: c for c in far.conductor_contacts if c in far_signal}
    return _wires(tuple(nets), near_contact, far_contact)


def unbalanced(
    ohm: Sequence[float], ratio: float, floor_ohm: float, resolved_ohm: float
) -> tuple[float, float] | Literal["not resolved"] | None:
    """Return Rmax - Rmin and its limit where that is over it, None where it is not.

    The limit is ratio x (Rmax + Rmin), never under floor_ohm; under resolved_ohm it cannot be checked.
    """
    low, high = min(ohm), max(ohm)
    limit = max(ratio * (low + high), floor_ohm)
    if limit < resolved_ohm:
        return "not resolved"
    return (high - low, limit) if high - low > limit else None
