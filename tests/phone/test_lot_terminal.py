"""A lot on phones, as the laptop's terminal shows it: the count and the code; and who types there stops no clock."""

from pathlib import Path

import pytest

from tests.cli.benches import Bench, plugged_in
from tests.cli.running import process
from tests.cli.terminals import terminal
from tests.phone.aboard import free_port
from tests.phone.lots import LotPocket, on_phones
from tests.phone.test_code import LINES_OF_CODE, drawn, read
from wiremap.cli.options import PHONE_PORT
from wiremap.phone.lot.fragment import TYPING


def test_the_terminal_shows_count_and_code_and_a_note_typed_there_is_no_silence(tmp_path: Path) -> None:
    """On 80 x 24: the count first, verdict, prompt and keys, the code below, which a reader reads. While somebody types
    at the laptop the phone says so and has no buttons; then the note is noted and it goes on.
    """
    home = {"WIREMAP_HOME": str(tmp_path / "home"), "TERM": "xterm-256color"}
    port = free_port()
    bench = Bench(["none"])
    with plugged_in(bench) as tester, terminal(tmp_path, 80, 24, **home) as screen:
        words = ("--expect", "straight", "--prefix", "R-", "--key", "none", "--no-bell")
        screen.start("batch", "rack", "--tester", tester, *words, *on_phones(port))
        screen.wait_for("1 tested")
        screen.wait_for("0 phones in.")
        lines = screen.screen()
        assert len(lines) <= 24
        assert lines[0].startswith("rack   1 tested")
        assert lines[1].startswith("PASS   R-001, straight")
        assert lines[2].startswith("Take it out.")
        assert lines[3].startswith("space again")
        assert sum(bool(LINES_OF_CODE.search(line)) for line in lines) == 17
        (url,) = read(drawn(screen.coloured()))
        pocket = LotPocket(port)
        pocket.enter(url)
        screen.wait_for("1 phone in.")
        screen.press("n")
        screen.wait_for("Note on R-001")
        page = pocket.page(lambda page: TYPING in page)
        assert "<button" not in page
        screen.press("k", "Enter")
        bench.seen()
        assert "Note on R-001" in pocket.page(lambda page: "Put the next cable" in page and "<button" in page)
        screen.press("q")
        screen.wait_for("ended 0")
    assert '"text":"k"' in (tmp_path / "home/lots/rack/ledger.jsonl").read_text(encoding="utf-8")


def test_a_small_terminal_keeps_the_lot_and_says_the_address(tmp_path: Path) -> None:
    """On 60 x 16 the page of the lot stands as ever, and the address in words."""
    port = free_port()
    home = {"WIREMAP_HOME": str(tmp_path / "home")}
    with plugged_in(Bench(["exchanged"])) as tester, terminal(tmp_path, 60, 16, **home) as screen:
        screen.start("batch", "rack", "--tester", tester, "--expect", "straight", "--key", "none", *on_phones(port))
        screen.wait_for("1 tested")
        screen.wait_for("FAIL")
        lines = screen.screen()
        assert len(lines) <= 16
        assert any(line.startswith(f"http://127.0.0.1:{port}/#") for line in lines)
        assert not any(LINES_OF_CODE.search(line) for line in lines)
        screen.press("C-c")
        screen.wait_for("ended 130")


@pytest.mark.parametrize(
    "words", [("--address", "127.0.0.1"), ("--port", str(PHONE_PORT + 1)), ("--name", "boat.test"), ("--tls",)]
)
def test_where_phones_come_in_is_nothing_without_phones(words: tuple[str, ...]) -> None:
    """What only phones need is refused where none are served, before a tester is looked for."""
    ran = process("batch", "rack", "--expect", "straight", "--idle", "0", "--tester", "/dev/none", *words)
    assert (ran.code, "Give --phone too." in ran.err) == (2, True)


def test_without_the_extra_a_lot_on_phones_says_how_to_install_it(tmp_path: Path) -> None:
    """It is refused before a tester is looked for, no lot is left behind; without --phone nothing is missed."""
    (tmp_path / "sitecustomize.py").write_text("import sys\nsys.modules['uvicorn'] = None\n", encoding="utf-8")
    words = ("batch", "rack", "--expect", "straight", "--idle", "0", "--tester", "/dev/none")
    home = {"WIREMAP_HOME": str(tmp_path / "home"), "PYTHONPATH": f"{tmp_path}:{Path(__file__).parents[2]}"}
    ran = process(*words, "--phone", environment=home)
    assert ran.code == 2
    assert "pip install 'wiremap[phone]'" in ran.err
    assert not (tmp_path / "home").exists()
    assert process(*words, environment=home).code == 5
