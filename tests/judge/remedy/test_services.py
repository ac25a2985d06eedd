"""What would run on a cable as it is: links, power, and what must not be connected."""

import random
from dataclasses import replace

import pytest

from wiremap.cable.patterns import pattern, pattern_names
from wiremap.judge.remedy.services import Answer, Cable, Port, Service, services

STRAIGHT = pattern("straight")
OHM = tuple((str(n), 2.5) for n in range(1, 9))
TEN = ("10BASE-T", "100BASE-TX")
GIGABIT = ("1000BASE-T", "2.5GBASE-T", "5GBASE-T", "10GBASE-T")


def cable(
    changed: dict[int, int] | None = None,
    length_m: float | None = 27.0,
    shorted: tuple[str, ...] = (),
    split: tuple[tuple[str, str], ...] = (),
) -> Cable:
    """Build a straight cable of eight, some near contacts arriving elsewhere, 0 = nowhere."""
    arrives = {n: n for n in range(1, 9)} | (changed or {})
    routes = tuple((str(near), str(far)) for near, far in arrives.items() if far)
    return Cable(routes, shorted, split, OHM, length_m)


def asked(seen: Cable, near: Port = "auto", far: Port = "auto") -> dict[str, Service]:
    """Return every service by name."""
    return {service.name: service for service in services(STRAIGHT, seen, near, far)}


def answers(seen: Cable, near: Port = "auto", far: Port = "auto") -> dict[str, Answer]:
    """Return the answers by name."""
    return {name: service.answer for name, service in asked(seen, near, far).items()}


def test_a_sound_cable_carries_everything() -> None:
    """All links and all power, the highest class of each, and a clause named beside every one."""
    found = asked(cable())
    assert {service.answer for service in found.values()} == {"yes"}
    assert found["PoE, four pairs"].power_class == "8"
    assert all(service.clause.startswith("IEEE 802.3") for service in found.values())


@pytest.mark.parametrize(
    ("near", "far", "crossed", "links"),
    [
        ("fixed-mdi", "fixed-mdi", False, False),
        ("fixed-mdi", "fixed-mdi", True, True),
        ("fixed-mdi", "fixed-mdi-x", False, True),
        ("fixed-mdi", "fixed-mdi-x", True, False),
        ("fixed-mdi-x", "fixed-mdi-x", True, True),
        ("auto", "fixed-mdi", False, True),
        ("auto", "fixed-mdi", True, True),
        ("fixed-mdi-x", "auto", True, True),
    ],
)
def test_transmitters_must_face_receivers(near: Port, far: Port, crossed: bool, links: bool) -> None:
    """10 and 100 Mbit/s link when a transmitter faces a receiver, or one port crosses over by itself."""
    seen = cable({1: 3, 2: 6, 3: 1, 6: 2} if crossed else None)
    found = asked(seen, near, far)
    assert [found[name].answer == "yes" for name in TEN] == [links, links]
    if not links:
        assert found["10BASE-T"].reasons[0][0] == "transmitter-facing-transmitter"


def test_gigabit_between_ports_that_do_not_cross() -> None:
    """Between two like ports a straight cable carries 1000BASE-T only if one crosses over by itself: at risk."""
    assert answers(cable(), "fixed-mdi", "fixed-mdi")["1000BASE-T"] == "at risk"
    every_pair = cable({1: 3, 2: 6, 3: 1, 6: 2, 4: 7, 5: 8, 7: 4, 8: 5})
    assert answers(every_pair, "fixed-mdi", "fixed-mdi")["1000BASE-T"] == "yes"
    assert answers(cable(), "fixed-mdi", "fixed-mdi-x")["1000BASE-T"] == "yes"


def test_missing_pairs() -> None:
    """With blue and brown missing 10 and 100 Mbit/s still link, gigabit does not, and power comes by A alone."""
    found = answers(cable({4: 0, 5: 0, 7: 0, 8: 0}))
    assert all(found[name] == "yes" for name in TEN)
    assert all(found[name] == "no" for name in GIGABIT)
    assert found["PoE Alternative A"] == "yes"
    assert found["PoE Alternative B"] == found["PoE, four pairs"] == "no"


def test_a_reversed_pair() -> None:
    """A reversed pair is a risk at 10 and 100 Mbit/s, nothing to gigabit, and changes nothing of the power."""
    found = asked(cable({3: 6, 6: 3}))
    assert [found[name].answer for name in TEN] == ["at risk", "at risk"]
    assert [found[name].answer for name in GIGABIT] == ["yes"] * 4
    assert found["PoE Alternative A"].delivered == asked(cable())["PoE Alternative A"].delivered


def test_a_split_pair_and_an_unknown_length_are_risks() -> None:
    """A split pair or a length that nobody measured is "at risk", never "no"; over 100 m nothing is promised."""
    split = answers(cable(split=(("1", "2"), ("3", "6"))))
    assert {split[name] for name in (*TEN, *GIGABIT)} == {"at risk"}
    unknown = answers(cable(length_m=None))
    assert set(unknown.values()) == {"at risk"}
    assert set(answers(cable(length_m=101.0)).values()) == {"not promised"}


def test_plus_and_minus_on_one_pair() -> None:
    """1 and 3 exchanged puts + and - on a pair: do not connect; pairs exchanged whole with C and D may work."""
    found = asked(cable({1: 3, 3: 1}))
    assert found["PoE Alternative A"].answer == "danger"
    assert found["PoE Alternative A"].reasons[0] == ("plus-and-minus-on-one-pair", "1-2, 3-6")
    assert found["PoE Alternative B"].answer == "yes"
    rolled = asked(cable({n: 9 - n for n in range(1, 9)}))
    assert rolled["PoE Alternative A"].answer == "at risk"
    assert rolled["PoE Alternative A"].reasons[0][0] == "alternatives-crossed"


def test_danger_is_never_missed() -> None:
    """For random orders and opens, power is in danger exactly when a far pair gets both poles, worked out apart."""
    choose = random.Random(7)
    feeds = {1: "-", 2: "-", 3: "+", 6: "+"}
    pairs = {1: 0, 2: 0, 3: 1, 6: 1, 4: 2, 5: 2, 7: 3, 8: 3}
    for _ in range(400):
        order = choose.sample(range(1, 9), 8)
        arrives = {near: (far if choose.random() > 0.1 else 0) for near, far in enumerate(order, 1)}
        poles: dict[int, set[str]] = {}
        for near, pole in feeds.items():
            if arrives[near]:
                poles.setdefault(pairs[arrives[near]], set()).add(pole)
        danger = any(len(found) > 1 for found in poles.values())
        assert (answers(cable(arrives))["PoE Alternative A"] == "danger") == danger


def test_a_short_stops_its_pairs() -> None:
    """A short of 7 and 8 stops every service that uses their pairs, and no other."""
    found = answers(cable(shorted=("7", "8")))
    assert all(found[name] == "yes" for name in TEN)
    assert found["1000BASE-T"] == found["PoE Alternative B"] == "no"
    assert found["PoE Alternative A"] == "yes"


def test_class_by_resistance() -> None:
    """The class that can be carried falls as the path's resistance rises, until none is left."""
    routes = tuple((str(n), str(n)) for n in range(1, 9))
    highest = []
    for ohm in (2.0, 12.5, 12.6, 20.0, 20.1):
        seen = Cable(routes, ohm=tuple((near, ohm) for near, _ in routes), length_m=50.0)
        service = asked(seen)["PoE Alternative A"]
        highest.append(service.power_class)
        if service.power_class is None:
            assert service.answer == "no"
    assert highest == ["4", "4", "3", "3", None]
    unknown = asked(Cable(routes, length_m=50.0))["PoE Alternative A"]
    assert (unknown.answer, unknown.power_class) == ("at risk", None)


def test_only_ethernet_has_services() -> None:
    """Telephone, serial, bus and loopback patterns print no services; every Ethernet pattern with two plugs does."""
    for name in pattern_names():
        known = pattern(name)
        found = services(known, Cable(known.conductors, length_m=5.0))
        assert bool(found) == (known.use == "ethernet" and known.far_connector is not None)


def test_m12_d_has_no_gigabit() -> None:
    """Over four conductors 10 and 100 Mbit/s link and gigabit does not, the missing pairs called by their letters."""
    known = pattern("m12d-rj45")
    found = {service.name: service for service in services(known, Cable(known.conductors, length_m=5.0))}
    assert found["100BASE-TX"].answer == "yes"
    assert found["1000BASE-T"].reasons == (("pairs-missing", "C, D"),)


def test_services_in_json() -> None:
    """In JSON a service has name, answer, reasons and clause, and for power what is delivered."""
    plain = asked(cable())["PoE Alternative A"].to_builtins()
    assert plain["answer"] == "yes"
    assert plain["power_class"] == "4"
    assert plain["device_w"] == pytest.approx(29.1, abs=0.01)


def test_a_doubtful_run_is_a_risk_for_everything() -> None:
    """Where the cable is wet, its wire thin or a contact not sound, nothing is a plain yes, and the reason is named."""
    found = asked(replace(cable(), doubts=("wet",)))
    assert {service.answer for service in found.values()} == {"at risk"}
    assert all(("wet", "") in service.reasons for service in found.values())
