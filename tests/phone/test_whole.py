"""The program as a process, with a phone of a few lines: its own folder of captures, and a repair on either screen."""

import json
import subprocess
import sys
from pathlib import Path

from tests.cli.benches import plugged_in
from tests.phone.aboard import Pocket, aboard
from tests.phone.benches import HandBench
from wiremap.records.captures.check import check

JOB = ("--job", "cable=W-1", "--job", "near=helm", "--job", "far=mast")


def test_without_save_captures_are_kept_in_a_folder_of_ones_own(tmp_path: Path) -> None:
    """The folder that the terminal names is where Keep writes, under the user's own."""
    with plugged_in(HandBench("none")) as tester, aboard(tmp_path, tester, save=False) as served:
        url = served.start()
        folder = Path(served.said["captures"])
        assert folder.is_relative_to(tmp_path / "home")
        pocket = Pocket(served.port)
        pocket.enter(url)
        test = pocket.page_of(1)["test"]
        said = pocket.ask("keep", test, "keep-0001")
        assert said is not None
        (path,) = folder.glob("*.json")
        assert said["said"] == f"Kept as {path.name}."
        assert check(path.read_bytes(), path.name, {}).digest_holds


def test_a_repair_goes_on_at_the_terminal_and_on_the_phone_again(tmp_path: Path) -> None:
    """Begun on the phone, one answer at the terminal, and the phone stands where the terminal stopped."""
    bench = HandBench("exchanged")
    with plugged_in(bench) as tester, aboard(tmp_path, tester, *JOB) as served:
        url = served.start()
        pocket = Pocket(served.port)
        pocket.enter(url)
        test = pocket.page_of(1)["test"]
        assert (pocket.ask("mend", test, "mend-0001") or {})["ok"]
        first = pocket.page_of(1)["step"]
        assert first == "Which colour is at contact 3 of the helm plug?"
        served.kill()
        words = ["mend", "--tester", tester, "--expect", "straight", *JOB, "--json"]
        done = subprocess.run(
            [sys.executable, "-m", "wiremap", *words],
            env=served.environment,
            input="3",  # white-green, as the page's keys say
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        steps = [json.loads(line) for line in done.stdout.splitlines()]
        assert steps[0]["now"] == first, done.stderr
        assert steps[0]["choices"]["3"] == "white-green"
        second = steps[1]["now"]
        assert second != first
        served.start()
        assert pocket.page_of(1)["step"] == second  # what is mended is not tested anew meanwhile
