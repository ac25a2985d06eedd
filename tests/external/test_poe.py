"""Power over a cable and MDI against the published figures of IEEE 802.3.

Powers of the classes and voltages at the source: IEEE 802.3 clauses 33 and 145, as printed in texts that cite it.
Loop resistances for power: from memory; they reproduce all eight source powers. MDI and MDI-X: Table 40-12.
"""

from math import sqrt

import pytest

from wiremap.cable.connectors import connector
from wiremap.cable.patterns import pattern
from wiremap.cable.service_rules import PowerClass, service_rules
from wiremap.judge.remedy.service import Cable, Net
from wiremap.judge.remedy.services import services

RULES = service_rules()
CLASSES = {known.name: known for rule in RULES.powers for known in rule.classes}
# class: power at the source, at the device (W), least voltage at the source (V), most loop resistance (ohm)
PUBLISHED = {
    "1": (4.0, 3.84, 44.0, 20.0),
    "2": (7.0, 6.49, 44.0, 20.0),
    "3": (15.4, 12.95, 44.0, 20.0),
    "4": (30.0, 25.5, 50.0, 12.5),
    "5": (45.0, 40.0, 50.0, 6.25),
    "6": (60.0, 51.0, 50.0, 6.25),
    "7": (75.0, 62.0, 52.0, 6.25),
    "8": (90.0, 71.3, 52.0, 6.25),
}
MDI = {"1": "A+", "2": "A-", "3": "B+", "6": "B-", "4": "C+", "5": "C-", "7": "D+", "8": "D-"}
MDI_X = {"1": "B+", "2": "B-", "3": "A+", "6": "A-", "4": "D+", "5": "D-", "7": "C+", "8": "C-"}
STRAIGHT = tuple(Net((str(n),), (str(n),)) for n in range(1, 9))


def at_device(known: PowerClass, volt: float) -> float:
    """Return the current at which a device has its power over the longest loop: (V - sqrt(V^2 - 4RP)) / 2R."""
    root = sqrt(volt**2 - 4.0 * known.loop_ohm * known.device_w)
    return (volt - root) / (2.0 * known.loop_ohm)


@pytest.mark.parametrize("name", PUBLISHED)
def test_class_powers(name: str) -> None:
    """Source power over the longest loop leaves the published power at the device, to 0.2 % (its rounding)."""
    source_w, device_w, volt, loop_ohm = PUBLISHED[name]
    known = CLASSES[name]
    assert (known.device_w, known.loop_ohm) == (device_w, loop_ohm)
    at_source = source_w / volt
    assert source_w - at_source**2 * loop_ohm == pytest.approx(device_w, rel=2e-3)
    assert volt * at_device(known, volt) == pytest.approx(source_w, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "ampere", "device_volt", "source_w"), [("3", 0.35, 37.0, 15.4), ("4", 0.6, 42.5, 30.0)]
)
def test_worked_currents(name: str, ampere: float, device_volt: float, source_w: float) -> None:
    """12.95 W over 20 ohm from 44 V takes 0.35 A and leaves 37 V; 25.5 W over 12.5 ohm from 50 V 0.6 A and 42.5 V."""
    known, volt = CLASSES[name], PUBLISHED[name][2]
    current = at_device(known, volt)
    assert current == pytest.approx(ampere, abs=5e-5)
    assert volt - current * known.loop_ohm == pytest.approx(device_volt, abs=5e-3)
    assert current * volt == pytest.approx(source_w, abs=5e-3)


def test_a_loop_of_a_cable_is_twice_the_path_of_power() -> None:
    """Out on a conductor and back on its mate is twice out on a pair and back on a pair: 9.38 ohm a conductor."""
    cable = Cable(STRAIGHT, ohm=tuple((str(near), 9.38) for near in range(1, 9)), length_m=100.0)
    by_name = {service.name: service for service in services(pattern("straight"), cable)}
    assert by_name["PoE Alternative A"].path_ohm == pytest.approx(9.38)
    assert by_name["PoE, four pairs"].path_ohm == pytest.approx(4.69)
    assert by_name["PoE Alternative A"].power_class == "4"
    assert by_name["PoE, four pairs"].power_class == "8"


def test_pse_pinout() -> None:
    """Table 145-3: Alternative A feeds 1, 2 and 3, 6; B feeds 4, 5 positive and 7, 8 negative."""
    by_name = {service.name: service for service in services(pattern("straight"), Cable(STRAIGHT, length_m=1.0))}
    assert by_name["PoE Alternative A"].delivered == "1-2 negative, 3-6 positive"
    assert by_name["PoE Alternative B"].delivered == "4-5 positive, 7-8 negative"
    crossed = tuple(Net((near,), (far,)) for near, far in pattern("crossover").conductors)
    other = {service.name: service for service in services(pattern("crossover"), Cable(crossed, length_m=1.0))}
    assert other["PoE Alternative A"].delivered == "1-2 positive, 3-6 negative"
    assert other["PoE Alternative A"].answer == "wire map allows it"


def test_mdi_and_mdi_x() -> None:
    """Signals by contact are Table 40-12's MDI; the all-pair crossover leads each to the same signal of MDI-X."""
    rj45 = connector("rj45")
    assert RULES.signals_of(rj45) == MDI
    for near, far in pattern("crossover-all").conductors:
        assert MDI[near] == MDI_X[far]


def test_m12_carries_the_same_signals() -> None:
    """M12 D and X carry at each contact the signal of the RJ45 contact it leads to (IEC 61076-2-101, -109)."""
    for name in ("m12d-rj45", "m12x-rj45"):
        known = pattern(name)
        far = known.far_connector
        assert far is not None
        at_near, at_far = RULES.signals_of(known.near_connector), RULES.signals_of(far)
        for near_contact, far_contact in known.conductors:
            assert at_near[near_contact] == at_far[far_contact]


def test_gigabit_corrects_what_the_standard_lets_it() -> None:
    """1000BASE-T takes A with B and C with D exchanged, C and D in any polarity (40.1.4), and no other exchange.

    Reversed A or B is at risk: negotiation runs there and its pulses have a polarity (from memory).
    """
    exchanged = {1: 6, 2: 3, 3: 2, 6: 1, 4: 8, 5: 7, 7: 5, 8: 4}
    routes = tuple(Net((str(near),), (str(far),)) for near, far in sorted(exchanged.items()))
    by_name = {service.name: service for service in services(pattern("straight"), Cable(routes, length_m=5.0))}
    assert by_name["1000BASE-T"].reasons[0] == ("polarity", "1-2, 3-6")
    assert by_name["10BASE-T"].answer == "at risk"
    exchanged |= {1: 3, 2: 6, 3: 1, 6: 2}
    routes = tuple(Net((str(near),), (str(far),)) for near, far in sorted(exchanged.items()))
    by_name = {service.name: service for service in services(pattern("straight"), Cable(routes, length_m=5.0))}
    assert by_name["1000BASE-T"].answer == "wire map allows it"
    a_with_c = {1: 4, 2: 5, 4: 1, 5: 2, 3: 3, 6: 6, 7: 7, 8: 8}
    routes = tuple(Net((str(near),), (str(far),)) for near, far in sorted(a_with_c.items()))
    by_name = {service.name: service for service in services(pattern("straight"), Cable(routes, length_m=5.0))}
    assert by_name["1000BASE-T"].answer == "no"
