"""A public name is defined in one module of the product and has one meaning; the few that have two homes say why."""

import ast
from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

import firmware_sim
import wiremap
from firmware_sim.cable_model.written.cable_file import BOARDS
from firmware_sim.launcher import flashed

ROOM = Path(wiremap.__file__).parent
SIMULATOR = Path(firmware_sim.__file__).parent
COMMAND = "every command is a file with a function of this name"
OPTION = "an option's type, always written options.NAME, beside what the option is of"
OWN_FILE = "the file or folder of data that a module reads"
VERSION = "the number of a form of JSON, each with its own"
DRAWN = "measures and colours of one drawing"
TWO_HOMES = {
    "command": COMMAND,
    "main": "where a program begins: the package's, and the command line's",
    "to_builtins": "what a type is in JSON, as a function where its module has only one such type",
    "T": "any type",
    "FILE": OWN_FILE,
    "FOLDER": OWN_FILE,
    "FORMAT": VERSION,
    "HINT": "what to do about a bad file of the kind that a module reads",
    **dict.fromkeys(
        ("Bell", "Cells", "Colours", "Far", "Job", "Joint", "Key", "Length", "Remote", "Screen", "Terminators"), OPTION
    ),
    **dict.fromkeys(
        ("HEIGHT", "INK", "MARGIN", "MARK", "MODULE", "SETTINGS", "SMALLEST", "WIDTH"),
        DRAWN,
    ),
}


BY_MODULE = "always written with its module, as bus.begin, since what is flashed has no folders"
IN_SIMULATOR = {
    "TYPE_CHECKING": "how types are left out where there is no typing module",
    **dict.fromkeys(("begin", "forget", "low_level", "pairs", "run"), BY_MODULE),
}


def defined(tree: ast.Module) -> Iterator[str]:
    """Give the public names that a module defines: functions, classes, constants and types."""
    for node in tree.body:
        names: list[str] = []
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names = [node.name]
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = [part.id for target in targets for part in ast.walk(target) if isinstance(part, ast.Name)]
        yield from (name for name in names if not name.startswith("_"))


def homes(room: Path, files: Iterable[Path] | None = None) -> dict[str, list[str]]:
    """Return for each public name the modules that define it; files: None = all that are in the room."""
    found: defaultdict[str, list[str]] = defaultdict(list)
    for path in sorted(room.rglob("*.py") if files is None else files):
        for name in dict.fromkeys(defined(ast.parse(path.read_text(encoding="utf-8")))):
            found[name].append(path.relative_to(room).as_posix())
    return found


def test_a_public_name_has_one_home() -> None:
    """A name that a second module defines means something else there, and needs another name, or stands in the list."""
    several = {name: modules for name, modules in homes(ROOM).items() if len(modules) > 1}
    assert {name: modules for name, modules in several.items() if name not in TWO_HOMES} == {}
    assert sorted(set(TWO_HOMES) - set(several)) == []


def test_a_name_of_the_simulator_has_one_home_in_its_house() -> None:
    """Board, hardware, cable, line, what is flashed to each board: they may share names, in each none is double."""
    seen = set()
    houses = [homes(SIMULATOR / house) for house in ("hardware", "cable_model", "line")]
    every = set((SIMULATOR / "board").rglob("*.py"))
    for other in ("bare", "bench"):  # models of two boards, of which one runs; solving is both's
        houses.append(homes(SIMULATOR / "board", every - set((SIMULATOR / "board" / other).glob("*.py"))))
    houses += [homes(SIMULATOR / "firmware", flashed(board)) for board in BOARDS]
    for house in houses:
        several = {name: modules for name, modules in house.items() if len(modules) > 1}
        assert {name: modules for name, modules in several.items() if name not in IN_SIMULATOR} == {}
        seen |= set(several)
    assert seen == set(IN_SIMULATOR)


def test_a_second_home_is_seen(tmp_path: Path) -> None:
    """Functions, classes, constants and types that two modules define are found; what is private is nobody else's."""
    (tmp_path / "a.py").write_text(
        "A, B = 1, 2\nC: int = 3\n\ndef f(): pass\n\nclass D: pass\n_e = 1\n", encoding="utf-8"
    )
    (tmp_path / "b.py").write_text("B = C = 2\nf = 1\nD = int\n_e = 1\n", encoding="utf-8")
    found = homes(tmp_path)
    assert {name for name, modules in found.items() if modules == ["a.py", "b.py"]} == {"B", "C", "D", "f"}
    assert found["A"] == ["a.py"]
