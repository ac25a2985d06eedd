"""The phone at full count: kills, a simulator that is stopped, and the page of every cable the simulator knows."""

import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import expect

from firmware_sim.cable_model.written.named import cable_names
from tests.long import Check
from tests.phone.aboard import aboard, free_port
from tests.phone.benches import HandBench
from tests.phone.browsing import NAME, Ship, audit, chromium, heard, kept, ship
from tests.phone.kills import killed_often
from tests.phone.lot_kills import lot_loses_nothing
from tests.phone.lots import kept as lots_kept
from tests.phone.lots import let_in, on_phones, swept

MOST_WAIT_S = 0.12
UNSEEN = ("far-open", "empty", "far-joined")  # plugs that are not in both sockets are not seen to come


def killed(seed: int, count: int) -> str:
    """The program is killed at any moment while Keep is pressed: one capture a test, whole, none lost."""
    with TemporaryDirectory() as folder:
        return killed_often(Path(folder), seed, count)


def killed_in_the_hand(seed: int, count: int) -> str:
    """The same with a real page that presses: it comes back by itself each time, and each test is kept once."""
    choose = random.Random(seed)
    with TemporaryDirectory() as folder, chromium() as browser, ship(browser, Path(folder), "none") as found:
        with found.phone() as page:
            for test in range(1, count + 1):
                expect(page.locator("header")).to_contain_text(f"Test {test},")
                page.get_by_role("button", name="Keep").click()
                time.sleep(choose.uniform(0.0, MOST_WAIT_S))
                found.served.kill()
                time.sleep(choose.uniform(0.0, 3.0))
                found.start()
            expect(page.locator("header")).to_contain_text(f"Test {count + 1},")
            heard(page)
        every = kept(found)
        assert len(every) == count, [one.source for one in every]
    return f"{count} kills, {len(every)} captures"


@contextmanager
def simulator(cable: str) -> Iterator[tuple[str, int]]:
    """Give a simulator's address, and its process group."""
    command = [sys.executable, "-m", "firmware_sim", "--cable", cable]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    with subprocess.Popen(command, stdout=subprocess.PIPE, env=environment, start_new_session=True) as process:
        assert process.stdout is not None
        try:
            yield process.stdout.readline().decode().strip(), process.pid
        finally:
            os.killpg(process.pid, signal.SIGCONT)
            os.killpg(process.pid, signal.SIGTERM)


# Grey for what was there before would be over soon: a tester that answers takes it away within a beat.
STAYS_GREY = """(first) => {
  const said = document.getElementById("stale").textContent;
  return said.includes("The tester is not there") || Number(said.match(/answered for (\\d+) s/)?.[1]) >= first + 3;
}"""


def stopped(_: int, count: int) -> str:
    """The simulator is stopped (SIGSTOP): the page turns grey, stays so, and is fresh again when it goes on."""
    with TemporaryDirectory() as folder, chromium() as browser, simulator("patch") as (tester, group):
        words = ("--name", NAME, "--job", "cable=W-1")
        with aboard(Path(folder), tester, *words) as served:
            found = Ship(browser, HandBench(), served)
            found.start()
            with found.phone() as page:
                expect(page.locator("h1")).to_contain_text("PASS")
                for _ in range(count):
                    expect(page.locator("#stale")).to_be_hidden()
                    os.killpg(group, signal.SIGSTOP)
                    expect(page.locator("#stale")).to_be_visible()
                    said = re.search(r"answered for (\d+) s", page.locator("#stale").inner_text())
                    page.wait_for_function(STAYS_GREY, arg=int(said[1]) if said else 0)
                    assert "grayscale" in page.evaluate("getComputedStyle(document.querySelector('#page')).filter")
                    os.killpg(group, signal.SIGCONT)
                    expect(page.locator("#stale")).to_be_hidden()
    return f"{count} times grey for as long as it was stopped, and fresh after"


def looked_at(seed: int, count: int) -> str:
    """The pages of the simulator's cables, in every size, light and dark, long names: nothing cut, small or pale."""
    names = [name for name in cable_names() if name not in UNSEEN]
    random.Random(seed).shuffle(names)
    seen = {}
    with TemporaryDirectory() as folder, chromium() as browser:
        for name in names[:count]:
            job = (
                "--job",
                "cable=thermal camera, mast top, port 2",
                "--job",
                "near=wheelhouse",
                "--job",
                "far=mast top",
            )
            with aboard(Path(folder) / name, f"sim:{name}", "--name", NAME, *job) as served:
                found = Ship(browser, HandBench(), served)
                found.start()
                assert urlsplit(found.url).hostname == NAME
                with found.phone() as page:
                    expect(page.locator("header")).to_contain_text("Test 1,")
                    expect(page.locator("header")).to_contain_text("SIMULATED")
                    faults = audit(page, name)
                    assert faults == [], faults
                    seen[name] = page.locator("h1").inner_text()
    return f"{len(seen)} cables, {len(set(seen.values()))} verdicts"


def lot_killed(seed: int, count: int) -> str:
    """A lot on a phone, the program killed at any moment while verdicts come and notes are sent: nothing is lost."""
    with TemporaryDirectory() as folder:
        return lot_loses_nothing(Path(folder), seed, count, count)


def lot_simulated(_: int, __: int) -> str:
    """The simulator's lot of four at the pace of hands: swept from a phone it is kept as from the terminal.

    Alike is all but what the simulator's noise moves from one test to the next: ohms, lengths and what follows of them.
    """
    ledgers = []
    for is_phone in (False, True):
        port = free_port()
        words = ("--expect", "straight", "--count", "4", "--prefix", "R-", *(on_phones(port) if is_phone else []))
        with TemporaryDirectory() as folder, swept(Path(folder), "sim:rack-lot", *words) as found:
            if is_phone:
                pocket = let_in(found, port)
                pocket.page(lambda page: "Every cable of the lot is tested." in page)
                pocket.press("stop")
            else:
                found.until_said("Every cable of the lot is tested.")
                found.type("q")
            assert found.end() == 3
            ledgers.append(without_noise(*lots_kept(found.folder)))
    assert ledgers[0] == ledgers[1]
    return f"{len(ledgers[1][0])} lines and {len(ledgers[1][1])} captures alike, from keys and from a phone"


def without_noise(lines: list[Any], captures: dict[str, Any]) -> tuple[list[Any], dict[str, Any]]:
    """Return a lot's lines and captures without what noise moves; of the diagnosis its verdict and faults stay."""
    said = [{key: value for key, value in line.items() if key not in ("contact_ohm", "length_m")} for line in lines]
    cables = {}
    for name, record in captures.items():
        found = record["diagnosis"]
        faults = [(fault["fault"], fault["near"], fault["far"]) for fault in found["findings"]]
        rest = {key: value for key, value in record.items() if key not in ("reading", "diagnosis")}
        cables[name] = {**rest, "verdict": found["verdict"], "faults": faults}
    return said, cables


CHECKS = (
    Check("phone: a lot whose program is killed", lot_killed, 30, least=2),
    Check("phone: the simulator's lot", lot_simulated, 1, from_share=0.1),
    Check("phone: killed while Keep is pressed", killed, 100, least=2),
    Check("phone: killed while a page presses Keep", killed_in_the_hand, 8, least=2, from_share=0.1),
    Check("phone: the simulator is stopped", stopped, 3, from_share=0.1),
    Check("phone: the pages of the simulator's cables", looked_at, 8, least=2, from_share=0.1),
)
