from pathlib import Path

import pytest

from firmware_sim.cable_model.written.description import read_description
from firmware_sim.cable_model.written.named import FOLDER, cable_names, load_cable
from firmware_sim.cable_model.written.toml_file import DescriptionError
from tests.firmware_sim.cable_model.random_cables import cable
from tests.firmware_sim.parsed import parse_description

PLAIN = cable("UTP", 3.0, far="tester")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (PLAIN + "\ncolour = 1\n", ("helm.toml", "attached.colour", "far")),
        ("colour = 1\n" + PLAIN, ("helm.toml", "colour", "near")),
        (PLAIN.replace("length_m", "lenght_m"), ("segment[1].lenght_m", "cable, length_m")),
        (PLAIN.replace("length_m = 3.0", ""), ("segment[1].length_m", "missing", "0.01 to 350")),
        (PLAIN.replace("length_m = 3.0", "length_m = 0x1" + 5000 * "0"), ("segment[1].length_m", "too many digits")),
        (PLAIN.replace("length_m = 3.0", "length_m = 1" + 5000 * "0"), ("not TOML",)),
        (PLAIN.replace('near = "T568B"', "near = " + 5000 * "["), ("not TOML",)),
        (PLAIN.replace('near = "T568B"', "near." + 900 * "a." + "a = 1"), ("near", "a list of texts")),
        (PLAIN.replace('near = "T568B"', f'near = "{"x" * 500_000}"'), ("near", "xxx...", "T568A")),
        (PLAIN + "#" * 1_000_000, ("larger than 1000000 bytes",)),
        (PLAIN + "[[fault]]\nkind = 'open'\nconductors = ['blue', 7]\n", ("fault[1].conductors", "7", "list of texts")),
        (PLAIN + "[[fault]]\nkind = 'short'\nconductors = ['blue', 'green']\nvolt = 1\n", ("fault[1].volt", "a leak")),
        (PLAIN + "[[fault]]\nkind = 'screen-open'\nconductors = ['blue']\n", ("fault[1].conductors", "the screen")),
        (PLAIN + "[fault]\nkind = 'open'\n", ("fault", "[[fault]]")),
        ("line = 3\n" + PLAIN, ("line is 3", "[line]")),
        (PLAIN.replace('near = "T568B"', 'near = ""'), ("near", "T568A")),
        (PLAIN.replace("length_m = 3.0", "length_m = 400"), ("segment[1].length_m", "350")),
        (PLAIN.replace("length_m = 3.0", "length_m = nan"), ("segment[1].length_m", "0.01 to 350")),
        (PLAIN.replace("length_m = 3.0", "length_m = true"), ("segment[1].length_m", "True")),
        (PLAIN.replace('"UTP"', '"STP"'), ("segment[1].cable", "STP", "F/UTP")),
        (PLAIN.replace('near = "T568B"', 'near = "T568C"'), ("near", "T568C", "T568A", "in-sequence")),
        (PLAIN.replace('near = "T568B"', 'near = ["blue"]'), ("near", "8 different colours", "white-brown")),
        (PLAIN.replace('near = "T568B"', "near = 7"), ("near", "7")),
        ("screen = 'joined'\n" + PLAIN, ("screen", "joined", "none")),
        ("connectors = ['rj45']\n" + PLAIN, ("connectors", "m12d")),
        (PLAIN + "[[fault]]\nkind = 'melt'\n", ("fault[1].kind", "melt", "open")),
        (PLAIN + "[[fault]]\nkind = 'open'\nconductors = ['pink']\n", ("fault[1].conductors", "pink", "blue")),
        (PLAIN + "[[fault]]\nkind = 'open'\nconductors = ['blue']\nat_m = 4\n", ("fault[1].at_m", "0 to 3")),
        (PLAIN + "[[fault]]\nkind = 'open'\nconductors = ['blue']\nat_m = 1\nend = 'near'\n", ("fault[1].end", "at_m")),
        (PLAIN + "[[fault]]\nkind = 'leak'\nconductors = ['blue', 'green']\n", ("fault[1].ohm", "missing")),
        (PLAIN + "[[fault]]\nkind = 'leak'\nconductors = ['blue']\nohm = 5\n", ("fault[1].conductors", "2 different")),
        (
            PLAIN + "[[fault]]\nkind = 'open'\nconductors = ['blue']\nfor_s = 2\nevery_s = 1\n",
            ("fault[1].every_s", "for_s"),
        ),
        (PLAIN.replace('far = "tester"', 'far = "remote-E"'), ("attached.far", "remote-D")),
        (PLAIN + "kind = 'dc'\n", ("attached.contact", "missing")),
        (PLAIN + "[line]\npace = 'slow'\n", ("line.pace", "real")),
        ("format = 1\n", ("segment", "bench")),
        (PLAIN.replace("format = 1", "format = 2"), ("format", "2")),
        ("format = 1\nformat = 1\n", ("not TOML",)),
        ("\x00", ("not TOML",)),
        (PLAIN + "[[segment]]\ncable = 'UTP'\nlength_m = 1\norder = ['blue']\n", ("segment[2].order", "8 different")),
        (PLAIN + "[[segment]]\ncable = '2-pair'\nlength_m = 1\n", ("segment[2].order", "missing")),
        (PLAIN + "[[bench]]\ncable = 'patch'\nplug_at_s = 5\nunplug_at_s = 4\n", ("bench[1].unplug_at_s", "5 to")),
    ],
)
def test_wrong_description_names_the_place(text: str, said: tuple[str, ...]) -> None:
    """A wrong description is refused with file, key, what was found and what is allowed."""
    with pytest.raises(DescriptionError) as error:
        parse_description(text, "helm.toml")
    for part in ("helm.toml", *said):
        assert part in str(error.value)


def test_every_named_cable_is_sound() -> None:
    """Every cable that comes with the simulator can be read and says in its title what it is."""
    assert len(cable_names()) >= 30
    for name in cable_names():
        description = load_cable(name)
        assert len(description.title) > 20
        assert len(description.title) <= 100


def test_unknown_name_lists_the_known() -> None:
    """A cable's name that is not known is refused with the names that are."""
    with pytest.raises(DescriptionError, match=r"no cable 'pach'.*crossover.*patch.*\.toml"):
        load_cable("pach")


def test_a_file_that_is_missing_is_said_so(tmp_path: Path) -> None:
    """A file of the user's own that is not there is named with the reason."""
    with pytest.raises(DescriptionError, match=r"mine\.toml: cannot be read \(No such file"):
        load_cable(str(tmp_path / "mine.toml"))


def test_bench_finds_cables_beside_its_file(tmp_path: Path) -> None:
    """A description is read from a file, and remembers the folder its lot's cables lie in."""
    path = tmp_path / "lot.toml"
    path.write_text("format = 1\n[[bench]]\ncable = 'own.toml'\nplug_at_s = 1\nunplug_at_s = 2\n")
    assert read_description(path).folder == tmp_path
    assert FOLDER.name == "cables"
