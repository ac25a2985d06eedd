"""What would run on a cable as it is: links, power, and what must not be connected."""

from collections.abc import Sequence
from itertools import product

import pytest
from msgspec.structs import replace

from tests.judge.remedy.service_trials import PORTS, count, sample
from wiremap.cable.kinds import Category
from wiremap.cable.patterns import pattern, pattern_names
from wiremap.judge.remedy.service import Cable, Net, Port, Service, ServiceAnswer
from wiremap.judge.remedy.services import services
from wiremap.report.words.services import danger_sentences, service_lines, short_lines

STRAIGHT = pattern("straight")
ALLOWED = "wire map allows it"
OHM = tuple((str(n), 2.5) for n in range(1, 9))
TEN = ("10BASE-T", "100BASE-TX")
GIGABIT = ("1000BASE-T", "2.5GBASE-T", "5GBASE-T", "10GBASE-T")


def cable(
    changed: dict[int, int] | None = None,
    length_m: float | None = 27.0,
    joined: Sequence[Net] = (),
    split: tuple[tuple[str, str], ...] = (),
) -> Cable:
    """Build a straight cable of eight, some near contacts arriving elsewhere, 0 = nowhere; joined: in own nets."""
    arrives = {n: n for n in range(1, 9)} | (changed or {})
    taken = {contact for net in joined for contact in net.near}
    routes = tuple(Net((str(near),), (str(far),)) for near, far in arrives.items() if far and str(near) not in taken)
    return Cable((*routes, *joined), split, OHM, 0.01, length_m)


def nets_of(routes: Sequence[tuple[str, str]]) -> tuple[Net, ...]:
    """Return conductors as nets."""
    return tuple(Net((near,), (far,)) for near, far in routes)


def asked(seen: Cable, near: Port = "auto", far: Port = "auto") -> dict[str, Service]:
    """Return every service by name."""
    return {service.name: service for service in services(STRAIGHT, seen, near, far)}


def answers(seen: Cable, near: Port = "auto", far: Port = "auto") -> dict[str, ServiceAnswer]:
    """Return the answers by name."""
    return {name: service.answer for name, service in asked(seen, near, far).items()}


def test_a_sound_cable_carries_everything() -> None:
    """Of all links and all power no more is said than that the wire map allows it, each with its clause."""
    found = asked(cable())
    assert {service.answer for service in found.values()} == {ALLOWED}
    assert found["PoE, four pairs"].power_class == "8"
    assert all(service.clause.startswith("IEEE 802.3") for name, service in found.items() if "injector" not in name)
    said = "\n".join([*service_lines(tuple(found.values())), *short_lines(tuple(found.values()))])
    assert "yes" not in said
    assert "Not measured, and not in these answers: category, loss and crosstalk." in said


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
    assert [found[name].answer == ALLOWED for name in TEN] == [links, links]
    if not links:
        assert found["10BASE-T"].reasons[0][0] == "transmitter-facing-transmitter"


def test_gigabit_between_ports_that_do_not_cross() -> None:
    """Between two like ports a straight cable carries 1000BASE-T only if one crosses over by itself: at risk."""
    assert answers(cable(), "fixed-mdi", "fixed-mdi")["1000BASE-T"] == "at risk"
    every_pair = cable({1: 3, 2: 6, 3: 1, 6: 2, 4: 7, 5: 8, 7: 4, 8: 5})
    assert answers(every_pair, "fixed-mdi", "fixed-mdi")["1000BASE-T"] == ALLOWED
    assert answers(cable(), "fixed-mdi", "fixed-mdi-x")["1000BASE-T"] == ALLOWED


def test_missing_pairs() -> None:
    """With blue and brown missing 10 and 100 Mbit/s still link, gigabit does not, and power comes by A alone."""
    found = answers(cable({4: 0, 5: 0, 7: 0, 8: 0}))
    assert all(found[name] == ALLOWED for name in TEN)
    assert all(found[name] == "no" for name in GIGABIT)
    assert found["PoE Alternative A"] == ALLOWED
    assert found["PoE Alternative B"] == found["PoE, four pairs"] == "no"


def test_a_reversed_pair() -> None:
    """Reversed 1-2 or 3-6 is a risk to every link, which negotiate there; 4-5 or 7-8 to none, and to no power."""
    found = asked(cable({3: 6, 6: 3}))
    assert {found[name].answer for name in (*TEN, *GIGABIT)} == {"at risk"}
    assert found["1000BASE-T"].reasons == (("polarity", "3-6"),)
    assert set(answers(cable({4: 5, 5: 4, 7: 8, 8: 7})).values()) == {ALLOWED}
    assert found["PoE Alternative A"].delivered == asked(cable())["PoE Alternative A"].delivered


def test_a_split_pair_and_an_unknown_length() -> None:
    """A split pair is "at risk"; a length nobody measured lowers no answer but is named; none goes over 100 m."""
    split = answers(cable(split=(("1", "2"), ("3", "6"))))
    assert {split[name] for name in (*TEN, *GIGABIT)} == {"at risk"}
    unknown = asked(cable(length_m=None))
    assert {service.answer for service in unknown.values()} == {ALLOWED}
    assert all(("length-not-measured", "") in service.reasons for service in unknown.values())
    assert "crosstalk and length." in " ".join(service_lines(tuple(unknown.values())))
    assert set(answers(cable(length_m=101.0)).values()) == {"not promised"}


def test_plus_and_minus_on_one_pair() -> None:
    """1 and 3 exchanged puts + and - on a pair: do not connect; pairs exchanged whole with C and D may work."""
    found = asked(cable({1: 3, 3: 1}))
    assert found["PoE Alternative A"].answer == "danger"
    assert found["PoE Alternative A"].reasons[0] == ("plus-and-minus-on-one-pair", "1-2, 3-6")
    assert found["PoE Alternative B"].answer == ALLOWED
    rolled = asked(cable({n: 9 - n for n in range(1, 9)}))
    assert rolled["PoE Alternative A"].answer == "at risk"
    assert rolled["PoE Alternative A"].reasons[0][0] == "alternatives-crossed"


def test_danger_is_never_missed_nor_said_falsely() -> None:
    """Over orders, polarities of both alternatives and ports, dangers and links are those of a separate brute force."""
    count(sample(7, 240), tuple(product(PORTS, PORTS)))
    count(sample(8, 600, opens=0.15), (("auto", "auto"),))


def test_three_and_four_exchanged() -> None:
    """One conductor of 3-6 against one of 4-5 is a danger over four pairs, as each alternative has either polarity."""
    found = asked(cable({3: 4, 4: 3}))
    assert found["PoE, four pairs"].reasons[0] == ("plus-and-minus-on-one-pair", "3-6, 4-5")
    assert [one.name for one in found.values() if one.answer == "danger"] == ["PoE, four pairs"]
    assert danger_sentences(tuple(found.values())) == (
        "DO NOT CONNECT PoE (four pairs): + and - can meet on one pair (3-6, 4-5) and destroy the equipment.",
    )


def test_blue_and_brown_exchanged() -> None:
    """Blue exchanged with brown reverses what a passive injector feeds; a conforming device takes either polarity."""
    found = asked(cable({4: 7, 5: 8, 7: 4, 8: 5}))
    assert found["passive injector"].reasons[0][0] == "reversed-supply"
    assert found["PoE Alternative B"].answer == ALLOWED
    assert danger_sentences(tuple(found.values())) == (
        "DO NOT CONNECT a passive injector: + and - are exchanged (4-5, 7-8), which can destroy the equipment.",
    )


def test_danger_from_the_far_end() -> None:
    """What is dangerous only when power is fed from the far end stands last, and in the sentence of danger."""
    other_way = asked(cable({4: 1, 5: 3, 1: 4, 3: 7, 2: 0, 6: 0, 7: 0, 8: 0}))
    assert other_way["PoE Alternative A"].answer != "danger"
    last = other_way["PoE Alternative A, fed from the far end"]
    assert (last.answer, last.from_far) == ("danger", True)
    assert "PoE (Alternative A, four pairs) fed from the far end: " in " ".join(
        danger_sentences(tuple(other_way.values()))
    )


def test_a_short_stops_its_pairs() -> None:
    """A short of 7 and 8 stops the links that use their pair, is a risk to power over it, and harms no other pair."""
    found = answers(cable(joined=(Net(("7", "8"), ("7", "8")),)))
    assert all(found[name] == ALLOWED for name in TEN)
    assert found["1000BASE-T"] == "no"
    assert found["PoE Alternative B"] == "at risk"
    assert found["PoE Alternative A"] == ALLOWED


def test_a_short_of_the_supply() -> None:
    """A short of 5 and 7 stops Alternative B, which asks first, and must not meet a passive injector."""
    found = answers(cable(joined=(Net(("5", "7"), ("5", "7")),)))
    assert (found["PoE Alternative B"], found["passive injector"]) == ("no", "danger")


def test_a_short_to_the_screen() -> None:
    """A conductor on the screen would put power onto the boat's ground: do not connect; links over it are at risk."""
    found = asked(cable(joined=(Net(("5",), ("5",), screen=True),)))
    assert [one.name for one in found.values() if one.answer == "danger"] == [
        "PoE Alternative B",
        "PoE, four pairs",
        "passive injector",
    ]
    assert (found["100BASE-TX"].answer, found["1000BASE-T"].answer) == (ALLOWED, "at risk")
    assert danger_sentences(tuple(found.values())) == (
        "DO NOT CONNECT PoE (Alternative B, four pairs) or a passive injector: 4-5 is joined to the screen, "
        "so power would be on the boat's ground.",
    )


def test_unbalance_reaches_the_services() -> None:
    """0.45 ohm between the conductors of a pair is a risk to all that uses it; 0.19 ohm is under the floor."""
    for more, answer in ((0.451, "at risk"), (0.19, ALLOWED)):
        uneven = replace(cable(), ohm=(*OHM[:4], ("5", 2.5 + more), *OHM[5:]))
        found = asked(uneven)
        assert found["1000BASE-T"].answer == found["PoE Alternative B"].answer == answer
        assert found["100BASE-TX"].answer == found["PoE Alternative A"].answer == ALLOWED
    coarse = asked(replace(uneven, step_ohm=1.0))["PoE Alternative B"]
    assert (coarse.answer, coarse.reasons) == (ALLOWED, (("unbalance-not-measured", ""),))


def test_unbalance_between_pairs() -> None:
    """Pairs that feed together may differ by 7 % of their sum, never under 0.1 ohm: a risk to four-pair power alone."""
    for more, answer in ((0.45, "at risk"), (0.30, ALLOWED)):  # limit 7 % of 1.25 + 1.25 + more / 2, about 0.19 ohm
        found = asked(replace(cable(), ohm=tuple((near, ohm + more * (near in "45")) for near, ohm in OHM)))
        assert found["PoE, four pairs"].answer == answer
        assert found["PoE Alternative A"].answer == found["PoE Alternative B"].answer == ALLOWED


def test_doubts_concern_who_uses_the_contact() -> None:
    """A contact that is not sound is a risk to services over its pair alone, an open screen to the fastest link."""
    found = asked(replace(cable(), doubts=(("unsound-contact", ("7",)), ("screen-open", ()))))
    assert all(found[name].answer == ALLOWED for name in TEN)
    assert found["1000BASE-T"].reasons == (("unsound-contact", ""),)
    assert found["10GBASE-T"].reasons == (("unsound-contact", ""), ("screen-open", ""))
    assert found["PoE Alternative A"].answer == ALLOWED


@pytest.mark.parametrize("width", [80, 40])
def test_the_short_form(width: int) -> None:
    """At 80 and at 40 columns the short form has at most four lines, each fits, and one says where more stands."""
    for order in sample(3, 150, 0.1):
        for ports in (("auto", "auto"), ("fixed-mdi", "fixed-mdi")):
            arrives = dict(enumerate(order, 1))
            found = tuple(asked(cable(arrives, length_m=20.0), *ports).values())
            lines = short_lines(found, width)
            assert 1 <= len(lines) <= 4
            assert max(map(len, lines)) <= width
            assert sum("--services" in line for line in lines) == 1
            assert not any("clause" in line or "(m)" in line for line in lines)
            assert not any("--" in line for line in short_lines(found, width, ""))


def test_marks_from_memory_stay_in_the_table() -> None:
    """The whole table keeps (m) beside every clause that is from memory, and says what it means."""
    lines = " ".join(" ".join(service_lines(tuple(asked(cable()).values()))).split())
    assert "clause 25 (m)" in lines
    assert "[IEEE 802.3 Table 145-3]" in lines
    assert "(m): from memory, not checked against the standard's text." in lines


def test_class_by_resistance() -> None:
    """The class falls as the path rises, warmed to 60 C by 0.00393 per kelvin and by the tester's step at its most."""
    highest = []
    for ohm in (2.0, 10.8, 10.81, 17.28, 17.29, 20.1):
        seen = Cable(cable().nets, ohm=tuple((str(near), ohm) for near in range(1, 9)), length_m=50.0)
        service = asked(seen)["PoE Alternative A"]
        assert service.path_hot_ohm == pytest.approx(ohm * (1 + 0.00393 * 40))
        highest.append((service.power_class, service.answer))
    carried: list[tuple[str | None, str]] = [("4", ALLOWED), ("4", ALLOWED), ("3", ALLOWED), ("3", ALLOWED)]
    assert highest == [*carried, (None, "at risk"), (None, "no")]
    unknown = asked(Cable(cable().nets, length_m=50.0))["PoE Alternative A"]
    assert (unknown.answer, unknown.power_class, unknown.reasons) == (ALLOWED, None, (("resistance-not-measured", ""),))


def test_a_coarse_tester_claims_no_nought() -> None:
    """Of 0 ohm read in steps of 1 ohm the path is said to be at most 1.2 ohm when hot, not 0.00 ohm."""
    seen = Cable(cable().nets, ohm=tuple((str(near), 0.0) for near in range(1, 9)), step_ohm=1.0, length_m=5.0)
    said = " ".join(" ".join(service_lines(tuple(asked(seen).values()))).split())
    assert "up to class 4, where a device may draw 25.5 W; path at most 1.2 ohm when hot (m)" in said
    assert "0.0" not in said


def test_only_ethernet_has_services() -> None:
    """Telephone, serial, bus and loopback patterns print no services; every Ethernet pattern with two plugs does."""
    for name in pattern_names():
        known = pattern(name)
        found = services(known, Cable(nets_of(known.conductors), length_m=5.0))
        assert bool(found) == (known.use == "ethernet" and known.far_connector is not None)


def test_m12_d_has_no_gigabit() -> None:
    """Over four conductors 10 and 100 Mbit/s link and gigabit does not, the missing pairs called by their letters."""
    known = pattern("m12d-rj45")
    found = {service.name: service for service in services(known, Cable(nets_of(known.conductors), length_m=5.0))}
    assert found["100BASE-TX"].answer == ALLOWED
    assert found["1000BASE-T"].reasons == (("pairs-missing", "C, D"),)


def test_services_in_json() -> None:
    """In JSON a service has name, answer, reasons and clause, and for power what is delivered."""
    plain = asked(cable())["PoE Alternative A"].to_builtins()
    assert plain["answer"] == ALLOWED
    assert plain["power_class"] == "4"
    assert plain["device_w"] == 25.5
    assert plain["path_hot_ohm"] == pytest.approx(2.51 * 1.1572, abs=1e-3)


def test_a_doubtful_run_is_a_risk_for_everything() -> None:
    """Where the cable is wet, its wire thin or a contact not sound, nothing is a plain yes, and the reason is named."""
    found = asked(replace(cable(), doubts=(("wet", ()),)))
    assert {service.answer for service in found.values()} == {"at risk"}
    assert all(("wet", "") in service.reasons for service in found.values())


def test_a_kind_is_rated_by_the_standard() -> None:
    """With a category told links are held against it and the distance, by the length's interval; power is not.

    2.5GBASE-T on Cat 5e and 5GBASE-T on Cat 6 (IEEE 802.3bz), 10GBASE-T 100 m on Cat 6A (IEEE 802.3an), 37 to 55 m on
    Cat 6 (TIA TSB-155), 100 m for the others (TIA-568).
    """
    promised: dict[tuple[Category, float], set[str]] = {
        ("5e", 40.0): {*TEN, "1000BASE-T", "2.5GBASE-T"},
        ("6", 30.0): {*TEN, *GIGABIT},
        ("6", 80.0): {*TEN, *GIGABIT} - {"10GBASE-T"},
        ("6a", 95.0): {*TEN, *GIGABIT},
        ("7", 95.0): {*TEN, *GIGABIT},
        ("none", 10.0): set(),
    }
    for (category, length_m), allowed in promised.items():
        found = asked(replace(cable(length_m=length_m), category=category))
        links = {name: one for name, one in found.items() if one.kind == "link"}
        assert {name for name, one in links.items() if one.answer == ALLOWED} == allowed, (category, length_m)
        assert {one.answer for name, one in links.items() if name not in allowed} <= {"not promised"}
        assert {one.answer for one in found.values() if one.kind == "power"} == {ALLOWED}
    among = asked(replace(cable(length_m=50.0), category="6"))["10GBASE-T"]
    assert (among.answer, among.reasons) == ("at risk", (("among-others", "37 m"),))
    assert "TSB-155" in among.clause


def test_a_length_is_held_against_distances_by_its_interval() -> None:
    """Not promised only where the whole interval is beyond; at risk where part of it is; the same without a kind."""
    cases: tuple[tuple[Category | None, str, float], ...]
    cases = (("5e", "1000BASE-T", 100.0), ("6", "10GBASE-T", 55.0), (None, "1000BASE-T", 100.0))
    for category, name, most in cases:
        for low_m, high_m, answer in (
            (most + 1, most + 8, "not promised"),
            (most - 3, most + 3, "at risk"),
        ):
            seen = Cable(cable().nets, (), OHM, 0.01, (low_m + high_m) / 2, (), (), low_m, high_m, category)
            assert asked(seen)[name].answer == answer, (category, low_m)
    unknown = asked(replace(cable(length_m=None), category="5e"))["1000BASE-T"]
    assert unknown.answer == ALLOWED
    assert ("length-not-measured", "") in unknown.reasons


def test_what_is_said_of_a_rated_cable_is_not_said_measured() -> None:
    """The table says that the category is as told, and the short form why a link is not promised."""
    found = tuple(asked(replace(cable(length_m=40.0), category="5e")).values())
    table = " ".join(" ".join(service_lines(found)).split())
    assert "Not measured, and not in these answers: loss and crosstalk. The category is as told." in table
    assert "IEEE 802.3bz" in table
    assert any(
        line.startswith("not promised: 5GBASE-T, 10GBASE-T (not rated on Cat 5e)") for line in short_lines(found)
    )
