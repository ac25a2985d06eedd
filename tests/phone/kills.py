"""The program is killed at any moment while Keep is pressed: once each, whole, and nothing said to be kept is lost."""

import random
import threading
import time
from pathlib import Path

from tests.cli.benches import Bench, plugged_in
from tests.phone.aboard import Aboard, Pocket, aboard
from wiremap.records.captures.check import check
from wiremap.records.handset_file import read_handset

MOST_WAIT_S = 0.12  # Keep takes about half of it
KEPT_AS, DONE_BEFORE = "Kept as ", "Done before."


def killed_often(folder: Path, seed: int, count: int) -> str:
    """Kill it so often, and return what was seen; AssertionError where a capture is doubled, halved or lost."""
    choose = random.Random(seed)
    bench = Bench(["none", "exchanged"])
    with plugged_in(bench) as tester, aboard(folder, tester) as served:
        url = served.start()
        pocket = Pocket(served.port)
        pocket.enter(url)
        waits: dict[str, int] = {}  # what the phone has not heard of: its id and its test
        heard: dict[int, str] = {}
        kept: dict[int, str] = {}
        mid = 0
        for life in range(count):
            test = int(pocket.page_of(life + 1)["test"])
            _press(pocket, waits, kept)  # what was cut off in the life before
            waits, heard = {f"keep-{seed}-{life:04d}": test}, {}
            pressing = threading.Thread(target=_press, args=(pocket, dict(waits), heard))
            pressing.start()
            time.sleep(choose.uniform(0.0, MOST_WAIT_S))
            served.kill()
            pressing.join()
            kept |= heard
            waits = {mark: number for mark, number in waits.items() if number not in heard}
            mid += bool(waits)
            _look(served, kept)
            served.start()
        pocket.page_of(count + 1)
        _press(pocket, waits, kept)
        _look(served, kept)
        assert len(kept) == count, (kept, waits)
        # Tests of the same second whose readings are alike to the bit are one record: nothing tells them apart.
        files = set(kept.values())
        assert all(said.startswith(KEPT_AS) for said in files), files
        assert len(list(served.captures.glob("*.json"))) == len(files)
        return f"{count} kills, {mid} with a Keep unheard, {len(files)} captures of {len(kept)} tests kept"


def _press(pocket: Pocket, waits: dict[str, int], heard: dict[int, str]) -> None:
    """Ask for each once, and note which file each answer names; a line that breaks says nothing."""
    for mark, test in waits.items():
        answer = pocket.ask("keep", test, mark)
        if answer is not None:
            assert answer["ok"], answer
            heard[test] = answer["said"]


def _look(served: Aboard, kept: dict[int, str]) -> None:
    """Hold the folder and the state against what was heard: all whole, and what was said to be kept is there.

    What was heard of a test that was kept before its answer was lost gets the file's name from the state.
    """
    names = [path.name for path in served.captures.iterdir() if not path.name.startswith(".")]
    for name in names:
        found = check((served.captures / name).read_bytes(), name, {})
        assert found.digest_holds, name
        assert found.verdict == "same", name
    state = read_handset(served.home / "phone" / f"tests-{served.port}.json")
    assert state is not None
    for shot in state.shots:
        if shot.kept is not None:
            assert shot.kept.file in names
    of_test = {shot.number: shot.kept.file for shot in state.shots if shot.kept is not None}
    for test, said in list(kept.items()):
        if test > state.count - len(state.shots):
            assert test in of_test, (test, said)
        if said == DONE_BEFORE:
            kept[test] = f"{KEPT_AS}{of_test[test]}."
        assert kept[test].removeprefix(KEPT_AS).removesuffix(".") in names, (test, said)
    assert len(names) <= state.count
