"""What would run on the cable as it is: links and power, each with the reason and the standard's clause.

Case from what arrives where, not from the pattern: a cable that is wrong for its job may still carry another.
The most that is said is that the wire map allows it: category, loss and crosstalk are not in it.
"""

from wiremap.cable.limits import Limits, limits
from wiremap.cable.patterns import Pattern
from wiremap.cable.service_rules import ServiceRules, service_rules
from wiremap.judge.remedy.service import Cable, Port, Service, wires_of
from wiremap.judge.remedy.service_links import link
from wiremap.judge.remedy.service_power import power, power_from_far


def services(
    pattern: Pattern,
    cable: Cable,
    port_near: Port = "auto",
    port_far: Port = "auto",
    rules: ServiceRules | None = None,
    known_limits: Limits | None = None,
) -> tuple[Service, ...]:
    """Return what the wire map allows between these ports; nothing for telephone, serial and bus patterns.

    Power is fed from the near end; fed from the far end only what is dangerous so and not from the near end
    is there, last.
    """
    if pattern.use != "ethernet" or pattern.far_connector is None:
        return ()
    known, most = rules or service_rules(), known_limits or limits()
    wires = wires_of(cable, pattern.near_connector, pattern.far_connector, known)
    links = [link(rule, wires, cable, (port_near, port_far), known, most) for rule in known.links]
    powers = [power(rule, wires, cable, known, most) for rule in known.powers]
    from_far = wires.mirrored()
    other_way = [
        danger
        for rule, service in zip(known.powers, powers, strict=True)
        if service.answer != "danger" and (danger := power_from_far(rule, from_far))
    ]
    return (*links, *powers, *other_way)
