"""Names that mean harm: of files and folders, of testers, and in files of one's own; every output passes the gate."""

import json
from pathlib import Path

import pytest

from tests.cli.benches import Bench, plugged_in
from tests.gate import texts
from tests.gate.captures import lot_of, plain_capture, sealed
from tests.gate.commands import said
from wiremap.cable.patterns import FOLDER

FILES = {
    "obeyed": "\x1b[2J\x1b]0;t\x07\x9b31m\x85\u202eSSAP\u2066\u2028\x7f\t\r",
    "lines": "a\nPASS all is well\n",
    "a dash": "-rf",
    "an option": "--json",
    "stars": "*[a-z]?{1,2}",
    "a shell": "$(touch pwned);`touch pwned`|'\"\\",
    "markup": "<img src=x onerror=alert(1)>&amp;",
    "a formula": "=HYPERLINK(1)",
    "places": "%s{0}%n{}",
    "blanks": "  ",
    "half": "caf\udce9",
}


@pytest.fixture(autouse=True)
def _at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))


@pytest.mark.parametrize("kind", FILES)
def test_a_file_of_that_name(kind: str) -> None:
    """A capture so named is judged, verified and drawn; nothing else is touched, and no line is added by its name."""
    name = f"./{FILES[kind]}.json"
    Path(name).write_bytes(sealed(plain_capture()))
    Path("plain.json").write_bytes(sealed(plain_capture()))
    plain = said("judge", "plain.json", "plain.json")
    assert said("judge", name, "plain.json").count("\n") == plain.count("\n")
    assert said("verify", name).count("\n") == said("verify", "plain.json").count("\n")
    for words in (("judge", name), ("judge", name, "plain.json"), ("verify", name), ("verify", ".")):
        said(*words)
        said(*words, "--json")
    assert said("judge", "--", name[2:]) == said("judge", "--", name)
    said("report", name, "--make", "label,phone", "--save", "made")
    made = sorted(Path("made").iterdir())
    assert sorted(path.suffix for path in made) == [".html", ".pdf", ".png"], made
    for path in made:
        texts.check_file(path)
    assert {path.name for path in Path().iterdir()} == {name[2:], "plain.json", "made"}


@pytest.mark.parametrize("kind", [kind for kind in FILES if kind != "a dash"])
def test_a_lot_in_a_folder_of_that_name(kind: str) -> None:
    """A lot's folder so named is summarised, drawn and verified."""
    folder = lot_of(Path(f"./{FILES[kind]}"), "R-")
    for words in (("lots", f"./{folder.name}"), ("verify", f"./{folder.name}")):
        said(*words)
        said(*words, "--json")
    said("lots", f"./{folder.name}", "--save", "x.csv", "--save", "x.svg", "--save", "x.parquet")
    for path in Path().glob("x.*"):
        texts.check_file(path)
    assert len([*Path().glob("x.*")]) == 3


@pytest.mark.parametrize("kind", FILES)
def test_what_is_not_there(kind: str) -> None:
    """A name of nothing is refused, and said so."""
    for command in ("judge", "verify", "report", "lots"):
        assert said(command, "--", FILES[kind])


class Stranger(Bench):
    """A tester that calls itself what it likes."""

    def __init__(self, told: bytes) -> None:
        super().__init__(["exchanged"])
        self._told = told

    def answer(self, line: str) -> bytes:
        """Return its answer to one line."""
        return self._told + b"\n" if line.startswith("*IDN?") else super().answer(line)


TOLD = (
    b"<script>alert(1)</script>,$(touch pwned),../../../pwned,=1+1",
    b"WIREMAP,<script>alert(1)</script>,../../../pwned,=1+1",
    b"WIREMAP,%s{0}%n`id`,/etc/passwd,-rf --json",
    b"WIREMAP,*?[a],..,%00",
    b"WIREMAP,B,C:\\AUX,1",
    b"WIREMAP,B,\x1b[2J\x1b]0;t\x07,1",
    b"WIREMAP,B,\xe2\x80\xaeSSAP,1",
    b"WIREMAP," + b"B" * 4000 + b",7,1",
    b"WIREMAP,B,,1",
)


@pytest.mark.parametrize("told", TOLD)
def test_a_tester_that_calls_itself_so(told: bytes, tmp_path: Path) -> None:
    """It is tested with, or refused; its capture, pages and calibration stay where they belong."""
    with plugged_in(Stranger(told)) as address:
        for words in (
            ("testers",),
            ("testers", "--json"),
            ("test", "--expect", "straight", "--save", "x.json"),
            ("calibrate",),
        ):
            said(*words, "--tester", address)
    if Path("x.json").exists():
        said("judge", "x.json")
        said("verify", "x.json", "--json")
        said("report", "x.json", "--make", "sheet,label,phone", "--save", "made")
        for path in Path("made").iterdir():
            texts.check_file(path)
    assert {path.name for path in Path().iterdir()} <= {"x.json", "made"}
    assert {path.name for path in tmp_path.iterdir()} <= {"here", "home"}
    kept = [path for path in (tmp_path / "home").rglob("*") if path.is_file()]
    assert {path.parent.name for path in kept} <= {"calibrations", "keys"}, kept


@pytest.mark.parametrize("name", texts.HOSTILE)
def test_a_pattern_and_a_plan_full_of_it(name: str) -> None:
    """A pattern or a lot's plan with such names is refused, or all that is drawn by it passes."""
    text = json.dumps(texts.HOSTILE[name]).replace("\x7f", "\\u007f")
    straight = (FOLDER / "straight.toml").read_text()
    Path("own.toml").write_text(straight.replace('"straight"', text))
    Path("x.json").write_bytes(sealed(plain_capture()))
    for words in (("judge", "x.json"), ("pinout", "x.json", "--end", "near")):
        said(*words, "--expect", "own.toml")
    said("report", "x.json", "--expect", "own.toml", "--make", "phone,label", "--save", "made")
    for path in Path("made").glob("*"):
        texts.check_file(path)
    Path("job.toml").write_text(f"format = 1\nprefix = {text}\nnear = {text}\nexpect = {text}\n")
    said("batch", "rack", "--job", "job.toml", "--tester", "/nowhere")
    Path("kinds.toml").write_text(f"format = 1\n[{text}]\ntitle = {text}\nnvp = 0.6\n")
    said("judge", "x.json", "--cable", "kinds.toml")
