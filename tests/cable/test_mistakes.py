"""Mistakes that exchange many conductors of a plug are data."""

from pathlib import Path

import pytest

from wiremap.cable.mistakes import FILE, mistakes, read_mistakes
from wiremap.errors import FileError

# ANSI/TIA-568 pin tables, contacts 1 to 8, and orders people crimp (common practice, no source).
T568A = ("white-green", "green", "white-orange", "blue", "white-blue", "orange", "white-brown", "brown")
T568B = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")
CRIMPED = {
    "in-sequence": ("white-orange", "orange", "white-green", "green", "white-blue", "blue", "white-brown", "brown"),
    "solid-first": ("orange", "white-orange", "green", "blue", "white-blue", "white-green", "brown", "white-brown"),
    "plug-turned-over": tuple(reversed(T568B)),
    "usoc": ("white-brown", "white-green", "white-orange", "blue", "white-blue", "orange", "green", "brown"),
    "half-crossed": ("white-green", "orange", "white-orange", "blue", "white-blue", "green", "white-brown", "brown"),
}


def crimped(places: tuple[tuple[str, str], ...], intended: tuple[str, ...]) -> tuple[str, ...]:
    """Return what sits in contacts 1 to 8 when somebody who meant `intended` made the mistake."""
    return tuple(intended[int(of) - 1] for _, of in places)


@pytest.mark.parametrize("name", CRIMPED)
def test_what_a_mistake_does_to_a_plug(name: str) -> None:
    """Each mistake puts the conductors where people put them."""
    made = [
        crimped(mistake.places, intended)
        for mistake in mistakes()
        if mistake.name == name and mistake.connector.name == "rj45"
        for intended in (T568A, T568B)
    ]
    assert CRIMPED[name] in made


def test_a_shifted_plug_has_an_empty_contact() -> None:
    """A plug shifted by one holds seven conductors, each beside its place."""
    shifted = [mistake for mistake in mistakes() if mistake.name == "shifted-by-one"]
    assert sorted({int(at) - int(of) for mistake in shifted for at, of in mistake.places}) == [-1, 1]
    assert all(len(mistake.places) == 7 for mistake in shifted)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"8", "7", "6"', '"8", "8", "6"', "order"),
        ('connector = "rj45"', 'connector = "rj46"', "connector"),
        ('["-", ', '["-", "-", ', "order"),
    ],
)
def test_a_wrong_file(old: str, new: str, said: str, tmp_path: Path) -> None:
    """A file of mistakes with an error in it is refused with file and key."""
    path = tmp_path / "mistakes.toml"
    path.write_text(FILE.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    with pytest.raises(FileError, match=said):
        read_mistakes(path)
