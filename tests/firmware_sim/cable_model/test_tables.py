import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from firmware_sim.cable_model.tables import tables
from firmware_sim.cable_model.written.named import cable_names, load_cable
from firmware_sim.cable_model.written.toml_file import DescriptionError
from tests.firmware_sim.cable_model.random_cables import cable, random_cable
from tests.firmware_sim.parsed import parse_description

TRIANGLE = 18 * 17 // 2


def square(triangle: list[int | None]) -> np.ndarray:
    """Return a symmetric matrix of a triangle, NaN for None and 0 on the diagonal."""
    result = np.zeros((18, 18))
    result[np.triu_indices(18, 1)] = [np.nan if value is None else value for value in triangle]
    return result + result.T


def state_at(made: dict[str, Any], at_s: float) -> dict[str, Any]:
    """Return the network that holds at a moment, as the board finds it."""
    at_us = round(at_s * 1e6)
    if made["period_us"]:
        at_us %= made["period_us"]
    number = [index for from_us, index in made["schedule"] if from_us <= at_us][-1]
    network: dict[str, Any] = made["networks"][number]
    return network


def whole(value: object) -> bool:
    """Whether a value holds nothing but integers, texts, None, lists and dicts with texts for keys."""
    if isinstance(value, dict):
        return all(isinstance(key, str) and whole(item) for key, item in value.items())
    if isinstance(value, list):
        return all(map(whole, value))
    return value is None or (isinstance(value, int | str) and not isinstance(value, bool))


@pytest.mark.parametrize("name", cable_names())
def test_tables_hold_integers_only(name: str) -> None:
    """The tables of every named cable are integers in the shapes that the board reads, ready for JSON."""
    made = tables(load_cable(name), echo="none")
    assert whole(made)
    assert json.loads(json.dumps(made)) == made
    assert made["schedule"][0][0] == 0
    for network in made["networks"]:
        assert len(network["milliohm"]) == len(network["low_milliohm"]) == TRIANGLE
        assert 0 <= network["capacitance"] < len(made["capacitances"])
        assert 0 <= network["echo"] < len(made["echoes"])
    for capacitance in made["capacitances"]:
        assert {len(capacitance[key]) for key in ("pair_ff", "pair_tied_ff", "double_ff", "leak_ohm")} == {TRIANGLE}
        assert len(capacitance["single_ff"]) == 18
        assert min(value for value in capacitance["single_ff"]) >= 9_999
    assert all(0 <= index < len(made["networks"]) for _, index in made["schedule"])


def test_same_description_same_tables() -> None:
    """Tables depend on the description alone: made twice they are equal, with another seed not."""
    text = cable("UTP", 12.0, head='board = "reference"\ndelay_spread = 0.02\nseed = 5', far="tester")
    first, again = tables(parse_description(text)), tables(parse_description(text))
    other = tables(parse_description(text.replace("seed = 5", "seed = 6")))
    assert first == again
    assert first["echo"] != other["echo"]


def test_echoes_and_traces_of_a_patch_cable() -> None:
    """A patch cable answers at each end between any two contacts, rising, and its near contacts have traces."""
    made = tables(replace(load_cable("patch"), board="reference"))
    assert len(made["echo"]["50"]) == len(made["echo"]["330"]) == 56
    assert all(polarity == 1 and height > 50_000 for _, polarity, height in made["echo"]["50"].values())
    assert made["echo"]["50"]["3,4"] == made["echo"]["50"]["12,13"]
    trace = made["trace"]["3,4"]
    assert len(made["trace"]) == 28
    assert trace["dt_ps"] == 1000
    at = {round((trace["t0_ps"] + k * trace["dt_ps"]) / 1000): value for k, value in enumerate(trace["microvolts"])}
    assert at[-5] == pytest.approx(0, abs=20)
    assert at[15] / 3.3e6 == pytest.approx(0.505, abs=0.01)
    assert at[60] / 3.3e6 == pytest.approx(0.98, abs=0.02)


def test_filmed_contact_is_named() -> None:
    """A filmed contact is listed, and only the low-level resistance shows its film."""
    made = tables(load_cable("film"), echo="none")["networks"][0]
    assert [2, 11] in made["film"]
    difference = square(made["low_milliohm"]) - square(made["milliohm"])
    assert difference[2, 11] == pytest.approx(35_000 - 50, abs=2)
    assert np.nanmax(np.abs(np.delete(difference, 2, 0)[:, [0, 1, 3, 4, 5, 6, 7]])) == 0


def test_leaks_are_given_apart() -> None:
    """Leaks stand in ohms beside the capacitances, which are those of the dry cable."""
    made = tables(load_cable("salt-plug"), echo="none")
    leak = square(made["capacitance"]["leak_ohm"])
    assert leak[1, 2] == pytest.approx(40_000, abs=3)
    assert leak[3, 4] == pytest.approx(85_000, abs=3)
    assert np.isnan(leak[0, 1])
    dry = tables(parse_description(cable("UTP", 9.0, head="pin_pf = 10", far="tester")), echo="none")
    assert made["capacitance"]["pair_ff"] == dry["capacitance"]["pair_ff"]


def test_intermittent_conductor_comes_and_goes() -> None:
    """An intermittent conductor is joined, opens when its time comes and is joined again, round after round."""
    made = tables(load_cable("intermittent"), echo="none")
    for turn in (0, 1, 7):
        shown = [square(state_at(made, 1.7 * turn + at_s)["milliohm"])[6, 15] for at_s in (0.8, 0.92, 0.95)]
        assert np.isnan(shown).tolist() == [False, True, False]
    open_state = state_at(made, 0.92)
    assert made["capacitances"][open_state["capacitance"]] != made["capacitance"]


def test_lot_is_plugged_and_unplugged() -> None:
    """A lot's cables come and go: empty sockets, then bouncing contacts, then the cable, then empty again."""
    made = tables(load_cable("rack-lot"), echo="none")

    def joined(at_s: float) -> set[tuple[int, int]]:
        ohms = square(state_at(made, at_s)["milliohm"])
        return {(i + 1, j - 8) for i in range(9) for j in range(9, 18) if np.isfinite(ohms[i, j])}

    straight = {(k, k) for k in range(1, 9)}
    assert joined(1.0) == set()
    assert joined(13.0) == straight
    assert joined(18.0) == set()
    assert joined(30.0) == {(1, 1), (2, 2), (3, 6), (4, 4), (5, 5), (6, 3), (7, 7), (8, 8)}
    half = joined(38.0)
    assert half < straight
    assert 5 <= len(half) <= 7
    bounces = [joined(10.0 + k / 1000) for k in range(120)]
    assert all(state <= straight for state in bounces)
    assert len({frozenset(state) for state in bounces}) > 2


def test_lot_that_overlaps_is_refused(tmp_path: Path) -> None:
    """A lot that plugs a cable before the last one is out, or that names another lot, is refused."""
    part = '[[bench]]\ncable = "patch"\nplug_at_s = {}\nunplug_at_s = {}\n'
    overlap = parse_description("format = 1\n" + part.format(1, 5) + part.format(4, 8), "lot.toml")
    with pytest.raises(DescriptionError, match=r"lot\.toml: bench\[2\]\.plug_at_s is 4"):
        tables(overlap)
    with pytest.raises(DescriptionError, match="rack-lot"):
        tables(parse_description("format = 1\n" + part.replace("patch", "rack-lot").format(1, 5), "lot.toml"))
    (tmp_path / "own.toml").write_text(cable("UTP", 2.0, far="tester"))
    own = "format = 1\n" + part.replace("patch", "own.toml").format(1, 5)
    assert tables(parse_description(own, folder=tmp_path), echo="none")["networks"][1]


def test_foreign_voltage_lasts_as_long_as_its_cable_is_in() -> None:
    """In a lot a foreign voltage is there from plugging to unplugging only."""
    text = 'format = 1\n[[bench]]\ncable = "injector-48v"\nplug_at_s = 3\nunplug_at_s = 7.5\n'
    found = tables(parse_description(text), echo="none")["foreign"]
    assert found
    assert {(entry["from_us"], entry["for_us"]) for entry in found} == {(3_000_000, 4_500_000)}


def test_random_cables_have_sound_tables() -> None:
    """Any cable gives tables in which a triangle of the low level never lies below the one at full current."""
    for seed in range(12):
        network = tables(parse_description(random_cable(seed)), echo="none")["networks"][0]
        full, low = square(network["milliohm"]), square(network["low_milliohm"])
        assert (np.isnan(full) == np.isnan(low)).all()
        assert np.nanmin(low - full) >= -1
