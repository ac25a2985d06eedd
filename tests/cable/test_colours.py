"""Colour sets against the published colours, and what a wrong file of the user's is told."""

from pathlib import Path

import pytest

from wiremap.cable.colours import FOLDER, colour_set, colour_set_names, read_colours
from wiremap.errors import FileError, UsageError

TWO_PAIRS = """
format = 1
name = "mine"
title = "my cable"
pairs = [["red", "pink"]]
[conductor.red]
letters = "R"
body = "#c80000"
[conductor.pink]
letters = "P"
body = "#ff80a0"
stripe = "#ffffff"
"""


def test_tia_pairs_are_blue_orange_green_brown() -> None:
    """Pairs 1 to 4 are blue, orange, green and brown, each with a white mate (ANSI/TIA-568 pair colours)."""
    tia = colour_set("tia")
    assert tia.pairs == tuple((f"white-{colour}", colour) for colour in ("blue", "orange", "green", "brown"))
    assert all(tia.said(name) == name for name in tia.names)
    assert all(tia.mates(f"white-{colour}") == (colour,) for colour in ("blue", "orange", "green", "brown"))


def test_industrial_pairs_are_yellow_orange_and_white_blue() -> None:
    """The two-pair industrial cable has yellow with orange and white with blue (IEC 61918)."""
    assert colour_set("iec61918").pairs == (("yellow", "orange"), ("white", "blue"))


def test_device_bus_has_red_black_white_blue_and_a_bare_screen() -> None:
    """The device bus cable has red and black for power, white and blue for data, a bare screen (IEC 61162-3)."""
    bus = colour_set("device-bus")
    assert bus.pairs == (("red", "black"), ("white", "blue"))
    assert bus.screen == "bare screen"


def test_plain_white_mates_cannot_be_told_apart() -> None:
    """Of plain white mates the eye sees four whites; each is named by the conductor it is twisted with."""
    plain = colour_set("plain-white")
    assert plain.names == colour_set("tia").names
    whites = ("white-blue", "white-orange", "white-green", "white-brown")
    assert plain.alike("white-green") == whites
    assert plain.alike("green") == ("green",)
    assert plain.said("white-green") == "white (with green)"


@pytest.mark.parametrize("name", colour_set_names())
def test_shipped_sets_are_named_as_their_files(name: str) -> None:
    """Each colour set that ships is called what its file is called, and letters tell its conductors apart."""
    colours = colour_set(name)
    assert colours.name == name
    letters = {colour.letters: colour.looks for colour in colours.conductors}
    assert len(letters) == len({colour.looks for colour in colours.conductors})
    assert (FOLDER / f"{name}.toml").read_text(encoding="utf-8").startswith("# ")


def test_own_file(tmp_path: Path) -> None:
    """A user's own colour file is read by its name."""
    file = tmp_path / "mine.toml"
    file.write_text(TWO_PAIRS, encoding="utf-8")
    mine = colour_set(str(file))
    assert mine.names == ("red", "pink")
    assert mine.colour("pink").stripe == "#ffffff"
    assert mine.screen == "screen"


@pytest.mark.parametrize(
    ("old", "new", "key", "allowed"),
    [
        ('body = "#c80000"', 'body = "red"', "conductor.red.body", '"#ff8000"'),
        ('stripe = "#ffffff"', 'stripe = "white"', "conductor.pink.stripe", '"none"'),
        ('letters = "R"\n', "", "conductor.red.letters", "a text in quotes"),
        ('letters = "P"', 'letters = "R"', "conductor.pink.letters", "letters that 'red' does not have"),
        ('["red", "pink"]', '["red", "green"]', "pairs", "red, pink"),
        ('["red", "pink"]', '["red", "red"]', "pairs", "each once"),
        ('title = "my cable"', "title = 3", "title", "a text in quotes"),
        ("format = 1", "format = 2", "format", "from 1 to 1"),
        ('title = "my cable"', 'title = "my cable"\ncolor = "red"', "color", "name, title, screen, pairs, conductor"),
    ],
)
def test_wrong_file_names_file_key_and_what_is_allowed(
    tmp_path: Path, old: str, new: str, key: str, allowed: str
) -> None:
    """A wrong colour file is told file, key and what is allowed there."""
    file = tmp_path / "mine.toml"
    assert old in TWO_PAIRS
    file.write_text(TWO_PAIRS.replace(old, new), encoding="utf-8")
    with pytest.raises(FileError) as caught:
        read_colours(file)
    assert str(file) in caught.value.what
    assert f"'{key}'" in caught.value.what
    assert allowed in caught.value.hint


def test_file_without_conductors(tmp_path: Path) -> None:
    """A colour file without conductors is told how to write one."""
    file = tmp_path / "mine.toml"
    file.write_text('format = 1\nname = "x"\ntitle = "x"\n[conductor]\n', encoding="utf-8")
    with pytest.raises(FileError, match="conductor") as caught:
        read_colours(file)
    assert "[conductor.blue]" in caught.value.hint


def test_unknown_names_list_the_known() -> None:
    """An unknown colour set or conductor is answered with those that are known."""
    with pytest.raises(UsageError) as caught:
        colour_set("rainbow")
    assert "tia" in caught.value.hint
    with pytest.raises(UsageError) as caught:
        colour_set("tia").colour("pink")
    assert "white-blue" in caught.value.hint
