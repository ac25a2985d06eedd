"""What would run on the cable as it is: links and power, each with the reason and the standard's clause.

Case from what arrives where, not from the pattern: a cable that is wrong for its job may still carry another.
Nothing is promised over 100 m; a split pair or a length nobody measured is a risk, not a no.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from wiremap.cable.connectors import Connector
from wiremap.cable.patterns import Pattern
from wiremap.cable.service_rules import LinkRule, PowerClass, PowerRule, ServiceRules, service_rules

Port = Literal["auto", "fixed-mdi", "fixed-mdi-x"]
PORTS: tuple[Port, ...] = get_args(Port)
Answer = Literal["yes", "at risk", "no", "not promised", "danger"]
Reason = Literal[
    "pairs-missing",
    "transmitter-facing-transmitter",
    "needs-crossing",
    "pairs-elsewhere",
    "shorted",
    "split",
    "polarity",
    "length-not-measured",
    "too-long",
    "alternatives-crossed",
    "one-conductor",
    "plus-and-minus-on-one-pair",
    "resistance-not-measured",
    "resistance-too-high",
    "wet",
    "unsound-contact",
    "wire",
]
WORST_FIRST: tuple[Answer, ...] = ("danger", "no", "not promised", "at risk", "yes")


@dataclass(frozen=True, slots=True)
class Service:
    """One service and whether it would run.

    reasons: words that wording knows, with the contacts or pairs concerned (near "1-2"), "" = none.
    delivered: for power, polarity at the far contacts, as "1-2 negative, 3-6 positive". path_ohm: resistance of
    the fed path; power_class: the highest that can be carried; device_w: what reaches the device in that class.
    """

    name: str
    answer: Answer
    reasons: tuple[tuple[Reason, str], ...]
    clause: str
    delivered: str | None = None
    path_ohm: float | None = None
    power_class: str | None = None
    device_w: float | None = None

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
            "power_class": self.power_class,
            "device_w": None if self.device_w is None else round(self.device_w, 2),
        }
        return plain | {key: value for key, value in more.items() if value is not None}


@dataclass(frozen=True, slots=True)
class Cable:
    """What services are judged from.

    routes: (near contact, far contact) of conductors that arrive. shorted: near contacts in a short. split: near
    pairs, either order, whose conductors are not twisted together. ohm: of each near contact's conductor.
    length_m None = not measured. doubts: what makes everything on it a risk.
    """

    routes: tuple[tuple[str, str], ...]
    shorted: tuple[str, ...] = ()
    split: tuple[tuple[str, str], ...] = ()
    ohm: tuple[tuple[str, float], ...] = ()
    length_m: float | None = None
    doubts: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class _Wires:
    """A cable in MDI signals: near signal -> far signal, and the near contact of each near signal."""

    leads: Mapping[str, str]
    near_contact: Mapping[str, str]
    far_contact: Mapping[str, str]

    def pair_at(self, pair: str) -> str | None:
        """Return the far pair at which both conductors of a near pair arrive; None when they do not."""
        ends = {self.leads.get(pair + sign, "?")[0] for sign in "+-"}
        return ends.pop() if len(ends) == 1 and "?" not in ends else None

    def missing(self, pair: str) -> bool:
        """Whether a conductor of the pair does not arrive."""
        return any(pair + sign not in self.leads for sign in "+-")

    def is_reversed(self, pair: str) -> bool:
        """Whether the pair arrives with its conductors exchanged."""
        return self.leads[pair + "+"].endswith("-")

    def called(self, pair: str) -> str:
        """Return the near contacts of a pair, "1-2"; its letter where the plug has no contacts for it."""
        if pair + "+" not in self.near_contact or pair + "-" not in self.near_contact:
            return pair
        return "-".join(self.near_contact[pair + sign] for sign in "+-")

    def called_far(self, pair: str) -> str:
        """Return the far contacts of a pair, "1-2"."""
        return "-".join(self.far_contact[pair + sign] for sign in "+-")


def services(
    pattern: Pattern,
    cable: Cable,
    port_near: Port = "auto",
    port_far: Port = "auto",
    rules: ServiceRules | None = None,
) -> tuple[Service, ...]:
    """Return what would run on the cable between these ports; nothing for telephone, serial and bus patterns.

    Power is fed from the near end.
    """
    if pattern.use != "ethernet" or pattern.far_connector is None:
        return ()
    known = rules or service_rules()
    near, far = pattern.near_connector, pattern.far_connector
    wires = _wires(cable, near, far, known)
    found = [_link(rule, wires, cable, port_near, port_far, known) for rule in known.links]
    found += [_power(rule, wires, cable, known) for rule in known.powers]
    return tuple(found)


def _wires(cable: Cable, near: Connector, far: Connector, rules: ServiceRules) -> _Wires:
    leads = {}
    for here, there in cable.routes:
        ours, theirs = rules.signal(near, here), rules.signal(far, there)
        if ours and theirs and here not in cable.shorted:
            leads[ours] = theirs
    near_contact = {s: c for c in near.conductor_contacts if (s := rules.signal(near, c))}
    far_contact = {s: c for c in far.conductor_contacts if (s := rules.signal(far, c))}
    return _Wires(leads, near_contact, far_contact)


def _worst(answers: Sequence[Answer]) -> Answer:
    return min(answers, key=WORST_FIRST.index, default="yes")


def _link(rule: LinkRule, wires: _Wires, cable: Cable, port_near: Port, port_far: Port, rules: ServiceRules) -> Service:
    answers: list[Answer] = []
    reasons: list[tuple[Reason, str]] = []

    def say(answer: Answer, reason: Reason, where: str = "") -> None:
        answers.append(answer)
        reasons.append((reason, where))

    short = [wires.called(pair) for pair in rule.pairs if _is_shorted(pair, wires, cable)]
    missing = [wires.called(pair) for pair in rule.pairs if wires.missing(pair) and wires.called(pair) not in short]
    mixed = [wires.called(pair) for pair in rule.pairs if not wires.missing(pair) and wires.pair_at(pair) is None]
    if short:
        say("no", "shorted", ", ".join(short))
    if missing:
        say("no", "pairs-missing", ", ".join(missing))
    if mixed:
        say("no", "pairs-elsewhere", ", ".join(mixed))
    if not answers:
        arrives = {pair: wires.pair_at(pair) or "" for pair in rule.pairs}
        crossing = _crossing(rule, arrives, port_near, port_far)
        if crossing is not None and crossing != "needs-crossing":
            return Service(rule.name, "no", ((crossing, ""),), rule.clause)
        if crossing is not None:
            say("at risk", crossing)
        split = [wires.called(pair) for pair in rule.pairs if _is_split(pair, wires, cable.split)]
        if split:
            say("at risk", "split", ", ".join(split))
        turned = [wires.called(pair) for pair in rule.pairs if wires.is_reversed(pair)]
        if turned and rule.reversed == "at risk":
            say("at risk", "polarity", ", ".join(turned))
        _say_of_the_run((answers, reasons), cable, rules)
    return Service(rule.name, _worst(answers), tuple(reasons), rule.clause)


def _say_of_the_run(say_to: tuple[list[Answer], list[tuple[Reason, str]]], cable: Cable, rules: ServiceRules) -> None:
    answers, reasons = say_to
    for doubt in cable.doubts:
        answers.append("at risk")
        reasons.append((doubt, ""))
    if cable.length_m is None:
        answers.append("at risk")
        reasons.append(("length-not-measured", ""))
    elif cable.length_m > rules.longest_m:
        answers.append("not promised")
        reasons.append(("too-long", f"{cable.length_m:.0f} m"))


def _is_shorted(pair: str, wires: _Wires, cable: Cable) -> bool:
    return any(wires.near_contact.get(pair + sign) in cable.shorted for sign in "+-")


def _is_split(pair: str, wires: _Wires, split: Collection[tuple[str, str]]) -> bool:
    mine = {wires.near_contact.get(pair + sign) for sign in "+-"}
    return any(set(other) == mine for other in split)


def _crossing(rule: LinkRule, arrives: Mapping[str, str], port_near: Port, port_far: Port) -> Reason | None:
    """Return what is wrong with the pairs at which the near pairs arrive; None when the ports can use them."""
    groups = (("A", "B"), ("C", "D"))
    inside = all({arrives[pair] for pair in group if pair in arrives} <= set(group) for group in groups)
    if not inside:
        return "pairs-elsewhere"
    if "auto" in (port_near, port_far):
        return None
    if rule.crossing == "within-ab-and-cd":
        # Like ports need A on B and C on D, unlike ones every pair on itself; else a port has to cross over by itself.
        other = {"A": "B", "B": "A", "C": "D", "D": "C"}
        wanted = {pair: other[pair] if port_near == port_far else pair for pair in arrives}
        return None if arrives == wanted else "needs-crossing"
    sends = "A" if port_near == "fixed-mdi" else "B"
    hears = "B" if port_far == "fixed-mdi" else "A"
    return None if arrives[sends] == hears else "transmitter-facing-transmitter"


def _power(rule: PowerRule, wires: _Wires, cable: Cable, rules: ServiceRules) -> Service:
    answers: list[Answer] = []
    reasons: list[tuple[Reason, str]] = []
    fed = [(pair, "negative" if place == 0 else "positive") for pairs in rule.sets for place, pair in enumerate(pairs)]
    poles: dict[str, set[str]] = {}
    delivered: dict[str, str] = {}
    single, missing, shorted = [], [], []
    for pair, pole in fed:
        if _is_shorted(pair, wires, cable):
            shorted.append(wires.called(pair))
            continue
        arrivals = [wires.leads[pair + sign] for sign in "+-" if pair + sign in wires.leads]
        if not arrivals:
            missing.append(wires.called(pair))
        elif len(arrivals) == 1:
            single.append(wires.called(pair))
        for signal in arrivals:
            poles.setdefault(signal[0], set()).add(pole)
            delivered[wires.far_contact[signal]] = pole
    clash = [pair for pair, found in poles.items() if len(found) > 1]
    apart = [pair for pair, _ in fed if wires.pair_at(pair) is None and not wires.missing(pair)]
    if clash:
        where = ", ".join(wires.called_far(pair) for pair in sorted(clash))
        answers.append("danger")
        reasons.append(("plus-and-minus-on-one-pair", where))
    if shorted:
        answers.append("no")
        reasons.append(("shorted", ", ".join(shorted)))
    if missing:
        answers.append("no")
        reasons.append(("pairs-missing", ", ".join(missing)))
    if not answers:
        if apart or any(set(pairs) != {wires.pair_at(pair) for pair in pairs} for pairs in rule.sets if not single):
            answers.append("at risk")
            reasons.append(("alternatives-crossed", ""))
        if single:
            answers.append("at risk")
            reasons.append(("one-conductor", ", ".join(single)))
    polarity = _polarity(delivered, wires) if delivered and not clash else None
    if "danger" in answers or "no" in answers:
        return Service(rule.name, _worst(answers), tuple(reasons), rule.clause, polarity)
    _say_of_the_run((answers, reasons), cable, rules)
    path = _path_ohm(rule, wires, dict(cable.ohm))
    if path is None:
        reasons.append(("resistance-not-measured", ""))
        answers.append("at risk")
        return Service(rule.name, _worst(answers), tuple(reasons), rule.clause, polarity)
    best = highest_class(rule.classes, path)
    if best is None:
        answers.append("no")
        reasons.append(("resistance-too-high", f"{path:.1f} ohm"))
        return Service(rule.name, _worst(answers), tuple(reasons), rule.clause, polarity, path)
    return Service(
        rule.name, _worst(answers), tuple(reasons), rule.clause, polarity, path, best.name, best.at_device_w(path)
    )


def _polarity(delivered: Mapping[str, str], wires: _Wires) -> str:
    """Return "1-2 negative, 3-6 positive" for the far contacts."""
    words = []
    for pair in "ABCD":
        contacts = [wires.far_contact[pair + sign] for sign in "+-" if pair + sign in wires.far_contact]
        held = {delivered[contact] for contact in contacts if contact in delivered}
        if held:
            words.append(f"{wires.called_far(pair)} {held.pop()}")
    return ", ".join(words)


def _path_ohm(rule: PowerRule, wires: _Wires, ohm: Mapping[str, float]) -> float | None:
    """Return the resistance of the fed path, ohms: the conductors of a pair in parallel, out and back in series.

    Several sets of pairs stand in parallel. None where a conductor's resistance is not known.
    """
    through = []
    for pairs in rule.sets:
        total = 0.0
        for pair in pairs:
            values = [ohm.get(wires.near_contact[pair + sign]) for sign in "+-" if pair + sign in wires.leads]
            known = [value for value in values if value is not None]
            if not known or len(known) < len(values):
                return None
            total += 0.0 if 0.0 in known else 1.0 / sum(1.0 / value for value in known)
        through.append(total)
    return 0.0 if 0.0 in through else 1.0 / sum(1.0 / value for value in through)


def highest_class(classes: Sequence[PowerClass], path_ohm: float) -> PowerClass | None:
    """Return the class of most power that a path of this resistance may carry; None when it may carry none."""
    reached = [known for known in classes if path_ohm <= known.loop_ohm]
    return max(reached, key=lambda known: known.device_w, default=None)
