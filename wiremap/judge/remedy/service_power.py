"""Power: whether the wire map allows it, what of it is dangerous, and the class that a hot cable carries."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import product

from wiremap.cable.limits import Limits
from wiremap.cable.service_rules import PowerClass, PowerRule, ServiceRules
from wiremap.judge.remedy.service import PAIRS, Cable, Net, Said, Service, ServiceReason, Wires, unbalanced, worst
from wiremap.reading.joined import nets as joined

COLD_C = 20.0  # at which resistance is taken to be measured
FAR_PLACES = {pair: number for number, pair in enumerate(PAIRS)}
NEAR_PLACES = {pair: number for number, pair in enumerate(PAIRS, len(PAIRS))}
Feeds = Mapping[str, set[str]]  # far pair -> near pairs


def power(rule: PowerRule, wires: Wires, cable: Cable, rules: ServiceRules, limits: Limits) -> Service:
    """Return whether the wire map allows this power, fed from the near end."""
    feeds = _feeds(rule, wires)
    said = _dangers(rule, wires, feeds)
    found = _delivery(rule, wires, feeds)
    said += found if said else _after_windings(rule, wires) + found
    delivered = None if any(answer == "danger" for answer, _, _ in said) else _delivered(rule, wires, feeds)
    path = None
    if worst(said) not in ("danger", "no"):
        said += cable.of_the_run(wires.contacts(_fed(rule)), rules, screen=False)
        said += _unbalances(rule, wires, cable, rules, limits)
        path = _path_ohm(rule, wires, dict(cable.ohm))
    hot, best = None, None
    if path is not None:
        hot, best, more = _by_resistance(rule, path, _path_ohm(rule, wires, _hot(cable, rules)) or 0.0, rules)
        said += more
    elif worst(said) not in ("danger", "no"):
        said.append(("wire map allows it", "resistance-not-measured", ""))
    return Service(
        rule.name,
        worst(said),
        tuple((reason, where) for _, reason, where in said),
        rule.clause,
        "power",
        delivered,
        rule.poles == "fixed",
        path,
        hot,
        best.name if best else None,
        best.device_w if best else None,
    )


def power_from_far(rule: PowerRule, wires: Wires) -> Service | None:
    """Return the danger of this power fed into wires that are seen from there; None where there is none."""
    said = _dangers(rule, wires, _feeds(rule, wires))
    if not said:
        return None
    reasons = tuple((reason, where) for _, reason, where in said)
    return Service(f"{rule.name}, fed from the far end", "danger", reasons, rule.clause, "power", from_far=True)


def _fed(rule: PowerRule) -> tuple[str, ...]:
    return tuple(pair for pairs in rule.sets for pair in pairs)


def _sources(fed: tuple[str, ...], net: Net) -> set[str]:
    return {signal[0] for signal in net.near if signal[0] in fed}


def _feeds(rule: PowerRule, wires: Wires) -> Feeds:
    """Return for each far pair the near pairs that feed one of its conductors, nets that short the supply left out."""
    found: dict[str, set[str]] = {}
    fed = _fed(rule)
    for net in wires.nets:
        sources = _sources(fed, net)
        if len(sources) == 1:
            for signal in net.far:
                found.setdefault(signal[0], set()).update(sources)
    return found


def _supply_shorted(rule: PowerRule, wires: Wires) -> list[str]:
    """Return the near pairs, two by two, whose conductors are joined although they are fed differently."""
    fed = _fed(rule)
    joined_nets = [_sources(fed, net) for net in wires.nets if len(net.near) > 1]
    return sorted({wires.called(pair) for sources in joined_nets if len(sources) > 1 for pair in sources})


def _dangers(rule: PowerRule, wires: Wires, feeds: Feeds) -> list[Said]:
    """Return what can hurt equipment or people, for every polarity that the source may have.

    Each set of pairs may have its poles either way round, so conductors of any two fed pairs on one far pair
    are plus and minus across a winding for one of them.
    """
    clash = [wires.called_far(pair) for pair in PAIRS if len(feeds.get(pair, ())) > 1]
    grounded = [wires.called(pair) for pair in _fed(rule) if pair in wires.on_screen]
    said: list[Said] = []
    if clash:
        said.append(("danger", "plus-and-minus-on-one-pair", ", ".join(clash)))
    if rule.poles == "fixed":
        for minus, plus in rule.sets:
            if plus in feeds.get(minus, ()) and minus in feeds.get(plus, ()):
                said.append(("danger", "reversed-supply", f"{wires.called_far(plus)}, {wires.called_far(minus)}"))
        if not clash and _through_windings(rule, wires):
            said.append(("danger", "through-windings", ""))
        if short := _supply_shorted(rule, wires):
            said.append(("danger", "supply-shorted", ", ".join(short)))
    if grounded:
        said.append(("danger", "power-on-the-screen", ", ".join(grounded)))
    return said


def _through_windings(rule: PowerRule, wires: Wires) -> bool:
    """Whether a way leads from one fed pair to another through windings at either end, of pairs that are not fed.

    A winding lies across each far pair, and across each near pair that is not fed.
    """
    fed = _fed(rule)
    ways = []
    for net in wires.nets:
        ends = [FAR_PLACES[signal[0]] for signal in net.far] + [NEAR_PLACES[signal[0]] for signal in net.near]
        ways += [(ends[0], end) for end in ends[1:]]
    labels = joined(len(FAR_PLACES) + len(NEAR_PLACES), ways)
    return len({labels[NEAR_PLACES[pair]] for pair in fed}) < len(fed)


def _after_windings(rule: PowerRule, wires: Wires) -> list[Said]:
    """Return why a source that asks first gives nothing: it sees a short."""
    if short := _supply_shorted(rule, wires):
        return [("no", "supply-shorted", ", ".join(short))]
    return [("no", "through-windings", "")] if _through_windings(rule, wires) else []


def _delivery(rule: PowerRule, wires: Wires, feeds: Feeds) -> list[Said]:
    """Return what of the fed conductors does not arrive, or not where the device takes it."""
    through = {pair: [pair + sign for sign in "+-" if pair + sign in wires.arrived] for pair in _fed(rule)}
    missing = [wires.called(pair) for pair, signals in through.items() if not signals]
    if missing:
        return [("no", "pairs-missing", ", ".join(missing))]
    said: list[Said] = []
    for pairs in rule.sets:
        if rule.poles == "fixed" and any(feeds.get(pair, set()) != {pair} for pair in pairs):
            return [("no", "power-elsewhere", "")]
        if {end for end, sources in feeds.items() if sources & set(pairs)} - set(pairs):
            said.append(("at risk", "alternatives-crossed", ""))
            break
    single = [wires.called(pair) for pair, signals in through.items() if len(signals) == 1]
    if single:
        said.append(("at risk", "one-conductor", ", ".join(single)))
    shorted = [wires.called(pair) for pair in through if pair in wires.shorted]
    if shorted:
        said.append(("at risk", "shorted", ", ".join(shorted)))
    return said


def _delivered(rule: PowerRule, wires: Wires, feeds: Feeds) -> str | None:
    """Return "1-2 negative, 3-6 positive" for the far pairs, as rule.sets has the poles."""
    poles = {pair: pole for pairs in rule.sets for pair, pole in zip(pairs, ("negative", "positive"), strict=True)}
    words = [f"{wires.called_far(pair)} {poles[min(feeds[pair])]}" for pair in PAIRS if pair in feeds]
    return ", ".join(words) or None


def _unbalances(rule: PowerRule, wires: Wires, cable: Cable, rules: ServiceRules, limits: Limits) -> list[Said]:
    """Return the pairs whose conductors differ, and the pairs that differ although they feed together."""
    ohm = dict(cable.ohm)
    resolved_ohm = limits.unbalance_resolutions * cable.step_ohm
    whole = {pair: [ohm[c] for c in wires.contacts((pair,)) if c in ohm] for pair in _fed(rule)}
    whole = {pair: values for pair, values in whole.items() if len(values) == 2}
    said: list[Said] = []

    def say(reason: ServiceReason, called: str, values: Sequence[float], ratio: float, floor_ohm: float) -> None:
        over = unbalanced(values, ratio, floor_ohm, resolved_ohm)
        if over == "not resolved":
            said.append(("wire map allows it", "unbalance-not-measured", ""))
        elif over is not None:
            said.append(("at risk", reason, f"{called} {over[0]:.2f} ohm, limit {over[1]:.2f} ohm"))

    for pair, values in whole.items():
        say("unbalance", wires.called(pair), values, limits.unbalance_ratio, limits.unbalance_floor_ohm)
    if len(rule.sets) == 2:
        for one, other in product(*rule.sets):
            if one in whole and other in whole:
                values = [parallel(whole[one]), parallel(whole[other])]
                called = f"{wires.called(one)}, {wires.called(other)}"
                say("pair-to-pair-unbalance", called, values, rules.pair_to_pair_ratio, rules.pair_to_pair_floor_ohm)
    return list(dict.fromkeys(said))


def _hot(cable: Cable, rules: ServiceRules) -> dict[str, float]:
    """Return the most that each conductor may have in a hot cable, by a tester of this resolution."""
    from wiremap.cable.materials import materials

    warmer = 1.0 + materials().copper.temperature_coefficient_per_k * (rules.hot_c - COLD_C)
    return {contact: warmer * (value + cable.step_ohm) for contact, value in cable.ohm}


def parallel(ohm: Iterable[float]) -> float:
    """Return the resistance of several in parallel."""
    values = list(ohm)
    return 0.0 if 0.0 in values else 1.0 / sum(1.0 / value for value in values)


def _path_ohm(rule: PowerRule, wires: Wires, ohm: dict[str, float]) -> float | None:
    """Return the resistance of the fed path, ohms: the conductors of a pair in parallel, out and back in series.

    Several sets of pairs stand in parallel. None where a conductor's resistance is not known.
    """
    through = []
    for pairs in rule.sets:
        total = 0.0
        for pair in pairs:
            contacts = wires.contacts((pair,))
            if not contacts or any(contact not in ohm for contact in contacts):
                return None
            total += parallel(ohm[contact] for contact in contacts)
        through.append(total)
    return parallel(through)


def _by_resistance(
    rule: PowerRule, path_ohm: float, hot_ohm: float, rules: ServiceRules
) -> tuple[float, PowerClass | None, list[Said]]:
    """Return the hot path, the class it carries, and what is to be said where it carries none."""
    best = highest_class(rule.classes, hot_ohm)
    if best is not None or not rule.classes:
        return hot_ohm, best, []
    if highest_class(rule.classes, path_ohm) is None:
        return hot_ohm, None, [("no", "resistance-too-high", f"{path_ohm:.1f} ohm")]
    return hot_ohm, None, [("at risk", "resistance-too-high", f"up to {hot_ohm:.1f} ohm at {rules.hot_c:.0f} C")]


def highest_class(classes: Sequence[PowerClass], path_ohm: float) -> PowerClass | None:
    """Return the class of most power that a path of this resistance may carry; None when it may carry none."""
    reached = [known for known in classes if path_ohm <= known.loop_ohm]
    return max(reached, key=lambda known: known.device_w, default=None)
