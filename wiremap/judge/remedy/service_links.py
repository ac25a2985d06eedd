"""Links: whether the wire map allows one between two ports."""

from collections.abc import Mapping

from wiremap.cable.limits import Limits
from wiremap.cable.service_rules import LinkRule, ServiceRules
from wiremap.judge.remedy.service import Cable, Port, Said, Service, ServiceReason, Wires, unbalanced, worst

OTHER = {"A": "B", "B": "A", "C": "D", "D": "C"}


def link(
    rule: LinkRule, wires: Wires, cable: Cable, ports: tuple[Port, Port], rules: ServiceRules, limits: Limits
) -> Service:
    """Return whether the wire map allows this link between the ports (near, far)."""
    said = _stops(rule, wires)
    if not said:
        arrives = {pair: wires.pair_at[pair] for pair in rule.pairs}
        crossing = _crossing(rule, arrives, *ports)
        if crossing is not None:
            said.append(("at risk" if crossing == "needs-crossing" else "no", crossing, ""))
        said += _risks(rule, wires, cable, limits)
        said += cable.of_the_run(wires.contacts(rule.pairs), rules, rule.open_screen == "at risk", rule)
    rating = rule.rating(cable.category) if cable.category else None
    clause = rule.clause if rating is None else f"{rule.clause}; {rating.source}"
    return Service(rule.name, worst(said), tuple((reason, where) for _, reason, where in said), clause)


def _stops(rule: LinkRule, wires: Wires) -> list[Said]:
    """Return what leaves the link without a pair of its own from end to end."""
    short = [pair for pair in rule.pairs if pair in wires.shorted]
    missing = [pair for pair in rule.pairs if wires.missing(pair) and pair not in short]
    mixed = [pair for pair in rule.pairs if pair not in (*short, *missing) and pair not in wires.pair_at]
    found: tuple[tuple[ServiceReason, list[str]], ...] = (
        ("shorted", short),
        ("pairs-missing", missing),
        ("pairs-elsewhere", mixed),
    )
    return [("no", reason, ", ".join(map(wires.called, pairs))) for reason, pairs in found if pairs]


def _risks(rule: LinkRule, wires: Wires, cable: Cable, limits: Limits) -> list[Said]:
    ohm = dict(cable.ohm)
    splits = {frozenset(pair) for pair in cable.split}
    screened, split, turned, uneven = [], [], [], []
    for pair in rule.pairs:
        mine = wires.contacts((pair,))
        known = [ohm[contact] for contact in mine if contact in ohm]
        if pair in wires.on_screen:
            screened.append(wires.called(pair))
        if frozenset(mine) in splits:
            split.append(wires.called(pair))
        if pair in rule.at_risk_reversed and wires.is_reversed(pair):
            turned.append(wires.called(pair))
        resolved_ohm = limits.unbalance_resolutions * cable.step_ohm
        if len(known) == 2:
            over = unbalanced(known, limits.unbalance_ratio, limits.unbalance_floor_ohm, resolved_ohm)
            if isinstance(over, tuple):
                uneven.append(f"{wires.called(pair)} {over[0]:.2f} ohm, limit {over[1]:.2f} ohm")
    found: tuple[tuple[ServiceReason, list[str]], ...] = (
        ("to-the-screen", screened),
        ("split", split),
        ("polarity", turned),
        ("unbalance", uneven),
    )
    return [("at risk", reason, ", ".join(where)) for reason, where in found if where]


def _crossing(rule: LinkRule, arrives: Mapping[str, str], port_near: Port, port_far: Port) -> ServiceReason | None:
    """Return what is wrong with the pairs at which the near pairs arrive; None when the ports can use them."""
    groups = (("A", "B"), ("C", "D"))
    inside = all({arrives[pair] for pair in group if pair in arrives} <= set(group) for group in groups)
    if not inside:
        return "pairs-elsewhere"
    if "auto" in (port_near, port_far):
        return None
    if rule.crossing == "within-ab-and-cd":
        # Like ports need A on B and C on D, unlike ones every pair on itself; else a port has to cross over by itself.
        wanted = {pair: OTHER[pair] if port_near == port_far else pair for pair in arrives}
        return None if arrives == wanted else "needs-crossing"
    sends = "A" if port_near == "fixed-mdi" else "B"
    hears = "B" if port_far == "fixed-mdi" else "A"
    return None if arrives[sends] == hears else "transmitter-facing-transmitter"
