"""The set-up guessed: right or silent on every named cable with every far end, and never on cables at both ends."""

import random

import pytest
from msgspec.structs import replace

from tests.judge.wiring.set_ups import NAMES, REAL, read
from tests.strategies import apart, cable, joined, nets_of, plugs, random_map, random_nets, reading_of
from wiremap.cable.patterns import pattern
from wiremap.errors import UsageError
from wiremap.judge.case import Case, JobNames, judge_case, requirements
from wiremap.judge.verdict import judge, to_builtins
from wiremap.judge.wiring.setup import SetUp
from wiremap.reading.parts import Capacitance
from wiremap.reading.reading import FARS, Far, Reading
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page
from wiremap.report.words.cases import sentences, what_next
from wiremap.report.words.typed import without_options

STRAIGHT = pattern("straight")
CONTACTS = (*"12345678", "S")
IN_ADAPTERS = {
    "device-bus": "m12a-rj45",
    "device-bus-one-terminator": "m12a-rj45",
    "sensor-m12d": "m12d-rj45",
    "sensor-quad": "m12d-rj45",
}
OPTION = {"open": "--far open", "joined": "--far joined", "remote": "--far remote", "equipment": "--far equipment"}
# Of 32 cables; the others hide it by a short or a leak of their own, or by pairs that are not the pattern's.
LEAST_GUESSED = {"open": 27, "joined": 32, "remote": 31, "equipment": 24}


def case_of(reading: Reading, expect: str | None = "straight") -> Case:
    """Return the reading, judged."""
    return judge_case(reading, requirements(expect), JobNames("helm", "mast"))


@pytest.mark.parametrize("attached", REAL)
def test_a_far_end_that_was_not_declared_is_recognised_or_nothing_is_said(attached: str) -> None:
    """Of every named cable, with an expectation and without, the far end that is guessed is the true one."""
    right = 0
    for name in NAMES:
        reading = read(name, attached, "tester")
        for expect in (STRAIGHT, None):
            seen = judge(reading, expect).setup
            if seen is None:
                continue
            assert seen.seen == REAL[attached], (name, attached)
            assert seen.explains_all
            assert seen.letter == (attached[-2] if seen.seen == "remote" else None)
            assert seen.plugged == (True, False)
            right += expect is not None
    assert right >= LEAST_GUESSED[REAL[attached]]


@pytest.mark.parametrize("said", [far for far in FARS if far != "tester"])
@pytest.mark.parametrize("attached", REAL)
def test_a_far_end_that_was_declared_wrongly_is_recognised_or_nothing_is_said(attached: str, said: Far) -> None:
    """An option that does not fit the reading is named with what is there; one that fits is left alone."""
    for name in NAMES:
        seen = judge(read(name, attached, said), STRAIGHT).setup
        if said == REAL[attached]:
            assert seen is None, name
        elif seen is not None:
            assert (seen.seen, seen.said) == (REAL[attached], said), name


@pytest.mark.parametrize("name", NAMES)
def test_cables_with_both_plugs_in_the_tester_are_never_guessed_at(name: str) -> None:
    """No far end is guessed where the far plug is in the tester; adapters only where they are."""
    for expect in (STRAIGHT, None):
        seen = judge(read(name, None, "tester"), expect).setup
        assert seen is None or (
            seen.seen == "adapter" and seen.adapter == IN_ADAPTERS.get(name.removesuffix("-in-sequence"))
        )
        assert (seen is not None) == (name.removesuffix("-in-sequence") in IN_ADAPTERS)
        if seen is not None:
            assert seen.explains_all


def test_partial_maps_and_shorts_are_never_guessed_at() -> None:
    """Maps of every size, right ones and wrong, with shorts: nothing is guessed where something arrives.

    Where nothing does, "open" is asked; an adapter only where nothing but its contacts is used.
    """
    choose = random.Random(20)
    for _ in range(1500):
        nets = random_nets(choose, CONTACTS[:8], CONTACTS[:8], choose.choice((0, 0, 1, 2, 4)))
        if choose.random() < 0.3:
            nets = nets_of(random_map(choose, CONTACTS[:8], CONTACTS[:8]), CONTACTS[:8], CONTACTS[:8])
        reading = reading_of(nets, (CONTACTS, CONTACTS))
        arriving = {a for net in nets for end, a in net if end == "near" and any(one == "far" for one, _ in net)}
        for expect in (STRAIGHT, None):
            seen = judge(reading, expect).setup
            if seen is None:
                continue
            if arriving:
                assert (seen.seen, set(seen.near)) in (("adapter", set("1236")), ("adapter", set("2345")))
                assert set(seen.near) == arriving
            else:
                assert seen.seen == "open" or len({a for net in nets for end, a in net if len(net) > 3}) >= 4


def test_a_straight_cable_with_opens_is_never_guessed_at() -> None:
    """Of all 256 sets of conductors that arrive straight, those of an adapter and none at all are asked about."""
    for number in range(256):
        arrives = {n: n for n in range(1, 9) if number >> (n - 1) & 1}
        seen = judge(reading_of(cable(STRAIGHT, arrives), (CONTACTS, CONTACTS)), STRAIGHT).setup
        expected = {(): "open", (1, 2, 3, 6): "m12d-rj45", (2, 3, 4, 5): "m12a-rj45"}.get(tuple(arrives))
        if expected is None or expected == "open":  # a screen that arrives shows the far plug in the tester
            assert seen is None
        else:
            assert seen is not None
            assert seen.adapter == expected


def test_a_cable_broken_in_every_conductor_is_asked_about_with_both_causes() -> None:
    """Nothing but capacitance tells it from a plug that hangs free: without it both are said."""
    broken = reading_of(cable(STRAIGHT, {}, screen=False), (CONTACTS, CONTACTS))
    case = case_of(broken)
    assert case.diagnosis.setup == SetUp("open", "tester", (), True)
    assert "--far open" in what_next(case)
    assert "broken in every conductor" in what_next(case)
    for near, far, says in (
        (90.0, 90.0, None),
        (90.0, 11.0, "If it is in the tester, push it home."),
        (11.0, 90.0, "Push the helm plug home in the tester and test again."),
        (11.0, 11.0, "Push the helm plug home in the tester and test again; if the mast plug hangs free"),
    ):
        single = (near,) * 8 + (10.0,) + (far,) * 8 + (10.0,)
        shown = case_of(replace(broken, capacitance=Capacitance(None, single, None, 10.0, False, 8, 0.1)))
        if says is None:
            assert shown.diagnosis.setup is None
            assert "every conductor is broken" in what_next(shown)
        else:
            assert says in what_next(shown)


@pytest.mark.parametrize("said", FARS)
def test_empty_sockets_are_seen(said: Far) -> None:
    """With no cable in the tester at all, whatever was said, the near plug is asked for first."""
    case = case_of(read("empty", None, said))
    assert case.diagnosis.setup is not None
    assert case.diagnosis.setup.plugged[0] is False
    assert sentences(case) == ("No cable shows in the tester's near socket.",)
    assert what_next(case).startswith("Push the helm plug home in the tester and test again")


def test_adapters_that_were_not_named() -> None:
    """The options that are offered give a page that fits the cable."""
    bus = case_of(read("device-bus", None, "tester"))
    assert "--near-adapter m12a-rj45 --far-adapter m12a-rj45 --expect m12a-5pole" in what_next(bus)
    assert "60 ohm" in what_next(bus)
    plug = case_of(read("sensor-m12d", None, "tester"))
    assert "--near-adapter m12d-rj45 --expect m12d-rj45" in what_next(plug)
    assert judge(read("sensor-m12d", None, "tester"), pattern("straight-2pair")).setup is None
    with pytest.raises(UsageError) as refused:
        judge(read("sensor-m12d", None, "tester"), pattern("m12d-rj45"))
    assert "--near-adapter m12d-rj45" in (refused.value.hint or "")
    with pytest.raises(UsageError) as refused:
        judge(read("sensor-m12d", None, "tester"), pattern("m12d-rj45").swapped())
    assert "--far-adapter m12d-rj45" in (refused.value.hint or "")


@pytest.mark.parametrize("attached", [None, *REAL])
@pytest.mark.parametrize("said", FARS)
def test_what_is_said_is_true_and_asked(attached: str | None, said: Far) -> None:
    """The page asks, names the option that fits, warns of what must not meet equipment, and accuses no conductor."""
    case = case_of(read("mast-camera", attached, said))
    seen, advice, read_as = case.diagnosis.setup, what_next(case), " ".join(sentences(case))
    real = REAL[attached] if attached else "tester"
    if said == real:
        assert seen is None
        return
    assert seen is not None
    assert seen.seen == real
    assert "both plugs home" not in advice
    if attached is None:
        assert f"was said not to be in it (--far {said})" in read_as
        assert advice.startswith("Test again without saying so")
        assert case.diagnosis.verdict == "undecided"
        assert not case.diagnosis.findings
    else:
        assert OPTION[real] in advice
    assert "?" in advice or real in ("equipment", "tester")
    offered = {real, said} if real == "open" else {real}
    assert ("never plugged into equipment" in advice) == bool(offered & {"remote", "joined"})
    if real == "remote":
        assert f"remote {attached[-2] if attached else ''}" in advice
    if said == "tester" and real != "equipment":
        assert read_as.endswith("at the far socket.")
    assert "--" not in without_options(read_as + advice)
    for terminal in (Terminal(80, 24), Terminal(40, 16)):
        lines = page(case, terminal).splitlines()
        assert len(lines) < (terminal.height or 0)
        flat = " ".join(" ".join(lines).split())
        if attached is not None:
            assert OPTION[real] in flat or real == "equipment" or terminal.width == 40
        assert advice.split(". ")[0][:30] in flat


@pytest.mark.parametrize("attached", ['far = "joined"', 'far = "remote-B"'])
def test_the_caution_stands_where_they_are_used(attached: str) -> None:
    """A page of a cable with a joining plug or a remote on it says that it is never plugged into equipment."""
    case = case_of(read("mast-camera", attached, REAL[attached]))
    for terminal in (Terminal(80, 24), Terminal(40, 16)):
        assert "never plugged into equipment" in " ".join(page(case, terminal).split())
    hanging = case_of(read("mast-camera", 'far = "open"', "open"))
    assert "a remote onto it (which is never plugged into equipment)" in what_next(hanging)


def test_a_remote_comes_off_before_a_cable_is_used() -> None:
    """A cable that passes through a remote is used once the remote is off."""
    case = case_of(read("patch", 'far = "remote-A"', "remote"))
    assert case.diagnosis.verdict == "pass"
    assert what_next(case).startswith("Take the remote off the mast plug. Label it and use it.")


def test_an_adapter_beside_a_short_is_said_below() -> None:
    """Where an adapter does not explain all, what is wrong is said first and the question stands below the map."""
    nets = joined(cable(STRAIGHT, {1: 1, 2: 2, 3: 3, 6: 6}), "near 1, near 2")
    case = case_of(reading_of(nets, (CONTACTS, CONTACTS)))
    assert case.diagnosis.setup is not None
    assert not case.diagnosis.setup.explains_all
    assert "adapter" not in what_next(case)
    assert "Is an M12 D-coded plug in an adapter?" in page(case, Terminal(80, None))


def test_it_stands_in_json_where_there_is_one() -> None:
    """What was guessed is a key of the diagnosis, absent where nothing was."""
    plain = to_builtins(judge(read("mast-camera", 'far = "remote-B"', "tester"), STRAIGHT))
    assert plain["setup"] == {
        "seen": "remote",
        "said": "tester",
        "near": [*"12345678", "S"],
        "explains_all": True,
        "plugged": {"near": True, "far": False},
        "letter": "B",
    }
    assert "setup" not in to_builtins(judge(read("patch", None, "tester"), STRAIGHT))


def test_a_plug_alone_is_not_guessed_at() -> None:
    """Of a loopback plug, which has no far end, nothing is guessed."""
    loop = pattern("loopback-100")
    assert judge(reading_of(apart(loop), plugs(loop)), loop).setup is None
