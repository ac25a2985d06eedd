from pathlib import Path

import pytest

from tests.cli.benches import Bench, plugged_in
from tests.cli.terminals import Terminal, terminal
from tests.firmware_sim.simulators import simulator
from wiremap.records.captures.files import load
from wiremap.records.lots.ledger import LEDGER, read_ledger
from wiremap.records.lots.rebuild import CAPTURES
from wiremap.records.lots.statistics import summarise

SIZES = [(80, 24), (40, 16)]
sizes = pytest.mark.parametrize(("width", "height"), SIZES, ids=lambda side: str(side))


def take_out(bench: Bench) -> None:
    """Take the cable out, and put no other one in."""
    bench.todo.clear()
    bench.take_out()


@sizes
def test_a_lot_in_a_terminal(tmp_path: Path, width: int, height: int) -> None:
    """In a terminal a lot is swept with single keys: verdict large, note, retest, undo, stop; all on one screen."""
    bench = Bench(["exchanged"])
    with plugged_in(bench) as address, terminal(tmp_path, width, height, WIREMAP_HOME=str(tmp_path)) as screen:
        screen.start(
            "batch",
            "rack",
            "--tester",
            address,
            "--key",
            "none",
            "--expect",
            "straight",
            "--prefix",
            "R-",
            "--count",
            "3",
        )
        lines = screen.wait_for("Take it out.")
        assert lines[0].startswith("rack   1 of 3 tested")
        assert any("Pair 3-6 is reversed" in line for line in lines)
        assert lines[-1] == "" or len(lines) <= height
        screen.press("n")
        screen.wait_for("Note on R-001:")
        screen.type("crimped by hand")
        screen.press("Enter")
        screen.press("r")
        lines = _again(screen, tmp_path, 3)
        assert lines[0].startswith("rack   1 of 3 tested")
        take_out(bench)
        screen.wait_for("Put the next cable in")
        screen.press("u")
        screen.wait_for("Taken back: the verdict before counts again.")
        screen.press("s")
        screen.wait_for("Next: R-003.")
        screen.press("q")
        screen.wait_for("ended 3")
    entries = read_ledger(tmp_path / "lots" / "rack" / LEDGER)
    assert [(entry.kind, entry.of) for entry in entries] == [
        ("test", None),
        ("note", 1),
        ("test", 1),
        ("undo", 3),
        ("skip", None),
    ]
    assert entries[1].text == "crimped by hand"


def _again(screen: Terminal, home: Path, lines: int) -> list[str]:
    """Wait until the ledger has so many lines and the verdict stands again."""
    while len(read_ledger(home / "lots" / "rack" / LEDGER)) < lines:
        screen.wait_for("tested")
    return screen.wait_for("Take it out.")


@sizes
def test_a_mended_cable_goes_back_under_its_label(tmp_path: Path, width: int, height: int) -> None:
    """The page says what did not pass and which key; both verdicts stay, the record names the one before, the last
    counts, and the two yields stand apart.
    """
    bench = Bench(["exchanged"])
    words = ("--key", "none", "--expect", "straight", "--prefix", "R-", "--count", "1")
    with plugged_in(bench) as address, terminal(tmp_path, width, height, WIREMAP_HOME=str(tmp_path)) as screen:
        screen.start("batch", "rack", "--tester", address, *words)
        screen.wait_for("Take it out.")
        bench.seen()
        screen.wait_for("Not passed: R-001.")
        screen.wait_for("When one is mended: press l, give its label, put it in.")
        screen.press("l")
        screen.wait_for("Label:")
        screen.type("R-001")
        screen.press("Enter")
        screen.wait_for("Put the cable in that is to be tested again. Next: R-001.")
        bench.add("none")
        lines = screen.wait_for("The verdicts before stay in the record; this one counts.")
        assert lines[0].startswith("rack   1 of 1 tested")
        bench.seen()
        screen.wait_for("Every cable of the lot is tested.")
        assert not any("Not passed" in line for line in screen.screen())
        screen.press("q")
        screen.wait_for("ended 0")
    first, again = read_ledger(tmp_path / "lots" / "rack" / LEDGER)
    assert [(entry.label, entry.verdict, entry.of) for entry in (first, again)] == [
        ("R-001", "fail", None),
        ("R-001", "pass", 1),
    ]
    kept = load(tmp_path / "lots" / "rack" / CAPTURES / str(again.file)).record
    assert kept is not None
    assert (kept.follows, kept.job.cable) == (first.capture, "R-001")
    summary = summarise(tmp_path / "lots" / "rack" / LEDGER, "rack")
    assert summary.first_pass is not None
    assert summary.final is not None
    assert (summary.first_pass.count, summary.final.count) == (0, 1)


def test_a_lot_on_a_terminal_that_cannot_draw(tmp_path: Path) -> None:
    """On a plain terminal, without colours and without moving about, the same is said in lines."""
    bench = Bench(["none"])
    environment = {"WIREMAP_HOME": str(tmp_path), "TERM": "dumb", "NO_COLOR": "1"}
    with plugged_in(bench) as address, terminal(tmp_path, 80, 24, **environment) as screen:
        screen.start("batch", "rack", "--tester", address, "--key", "none", "--expect", "straight")
        screen.wait_for("Take it out.")
        assert not any("\x1b" in line for line in screen.screen())
        screen.press("q")
        screen.wait_for("ended 0")


def test_a_tester_unplugged_in_mid_lot(tmp_path: Path) -> None:
    """When the tester goes away the page says so, and when it is back the lot goes on by itself."""
    bench = Bench(["none"])
    place = tmp_path / "tester"
    with terminal(tmp_path, 80, 24, WIREMAP_HOME=str(tmp_path)) as screen:
        with plugged_in(bench) as address:
            place.symlink_to(address)
            screen.start("batch", "rack", "--tester", str(place), "--key", "none", "--expect", "straight")
            screen.wait_for("Take it out.")
        screen.wait_for("The tester does not answer. Plug it in again: the lot goes on by itself.")
        other = Bench(["none", "short"])
        other.todo = [1]
        with plugged_in(other) as address:
            place.unlink()
            place.symlink_to(address)
            lines = screen.wait_for("shorted together")
            assert lines[0].startswith("rack   2 tested")
            screen.press("q")
            screen.wait_for("ended 3")


@sizes
def test_a_watch_in_a_terminal(tmp_path: Path, width: int, height: int) -> None:
    """In a terminal a watch shows what opened and how often, counts movements, and ends with the cable's page."""
    with simulator(cable="intermittent") as (address, _), terminal(tmp_path, width, height) as screen:
        screen.start("watch", "--tester", address, "--expect", "straight", "--minutes", "0")
        lines = screen.wait_for("near 7 - far 7  opened")
        assert "EVENT" in lines[0]
        assert any(line.startswith("space: I move it now") for line in lines)
        screen.press("Space")
        screen.wait_for("moved 1 of 3")
        screen.press("q")
        screen.wait_for("ended 3")
