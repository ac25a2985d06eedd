"""Captures and lots full of hostile texts: every output that is made of them passes the gate."""

from pathlib import Path

import pytest

from tests.gate import texts
from tests.gate.captures import full_of, lot_of, sealed
from tests.gate.commands import said
from wiremap.cli import output
from wiremap.report.terminal.display import Terminal

LONGEST = 60_000  # letters of a page, whatever is on it
TERMINALS = {"a pipe": Terminal(), "a small one": Terminal(40, 16), "colours": Terminal(80, 24, 256, True)}


@pytest.fixture(autouse=True)
def _at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))


@pytest.mark.parametrize("name", texts.HOSTILE)
def test_a_capture_full_of_it(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages, JSON, sheet, pictures, label, card and the page for a phone."""
    plain, count = full_of(texts.HOSTILE[name])
    assert count >= 15
    Path("x.json").write_bytes(sealed(plain))
    for where in TERMINALS.values():
        monkeypatch.setattr(output, "terminal", lambda where=where: where)
        assert len(said("judge", "x.json")) < LONGEST
        assert said("judge", "x.json", "x.json").count("\n") <= 8
        said("judge", "x.json", "--services")
        said("verify", "x.json", "x.json")
        said("pinout", "x.json", "--end", "near")
    for words in (("judge", "x.json"), ("verify", "x.json"), ("pinout", "x.json", "--end", "near")):
        said(*words, "--json")
    if name != "long":
        said("pinout", "x.json", "--end", "near", "--save", "card.svg", "--save", "card.pdf")
    kinds = "sheet,picture,label,phone" if name != "long" else "phone"  # `python -m tests.long gate` draws all of it
    assert "x.html" in said("report", "x.json", "--make", kinds, "--save", "made")
    for path in (*Path("made").iterdir(), *Path().glob("card.*")):
        texts.check_file(path)


@pytest.mark.parametrize("name", ["obeyed", "printed"])
def test_a_record_that_does_not_follow(name: str) -> None:
    """What a record says of faults that its reading does not show: a lot made again from it, and what is verified."""
    plain, count = full_of(texts.HOSTILE[name], diagnosis=True)
    assert count >= 40
    captures = Path("home/lots/rack/captures")
    captures.mkdir(parents=True)
    (captures / "00001-x.json").write_bytes(sealed(plain))
    for words in (("verify", "home/lots"), ("lots", "rack", "--rebuild"), ("lots", "rack"), ("verify", "home/lots")):
        said(*words)
        said(*words, "--json")


@pytest.mark.parametrize("name", texts.HOSTILE)
def test_a_lot_full_of_it(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page of a lot, its failed labels, pictures, tables for spreadsheets and for analysts."""
    lot_of(Path("home/lots/rack"), texts.HOSTILE[name])
    for where in TERMINALS.values():
        monkeypatch.setattr(output, "terminal", lambda where=where: where)
        for words in (("lots",), ("lots", "rack"), ("lots", "--failed"), ("verify", "home/lots/rack/captures")):
            said(*words)
    said("lots", "rack", "--json")
    said("lots", "rack", "--failed", "--save", "failed.csv")
    said(
        "lots", "rack", *(word for kind in ("csv", "svg", "pdf", "png", "parquet") for word in ("--save", f"x.{kind}"))
    )
    made = [*Path().glob("x.*"), Path("failed.csv")]
    assert len(made) == 6, made
    for path in made:
        texts.check_file(path)
