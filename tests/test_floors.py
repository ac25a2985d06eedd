"""The house plan, kept by reading the imports of every module."""

import ast
from collections.abc import Iterator
from pathlib import Path

import firmware_sim
import wiremap

PACKAGE = Path(wiremap.__file__).parent
SIMULATOR = Path(firmware_sim.__file__).parent
FLOORS = ("errors", "cable", "calibration", "reading", "tester judge", "records", "report", "bench", "__init__", "cli")
JUDGE_FLOORS = (
    "findings",
    "nets",
    "faults",
    "remote",
    "capacitance",
    "pairing",
    "echo",
    "length",
    "as_built",
    "repair",
    "services",
    "verdict",
)
ONLY_IN = {"serial": "tester/line.py", "typer": "cli/", "matplotlib": "report/"}
MSGSPEC_IN = ("reading", "records/")


def imports(path: Path) -> Iterator[tuple[str, bool]]:
    """Yield each module imported by a file and whether that happens when the file is loaded."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    late = {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        for inner in ast.walk(node)
    }
    checking_only = {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if node in checking_only:
            continue
        if isinstance(node, ast.Import):
            for name in node.names:
                yield name.name, node not in late
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: imports are absolute"
            for name in node.names:
                child = PACKAGE.parent.joinpath(*node.module.split("."), f"{name.name}.py")
                yield (f"{node.module}.{name.name}" if child.is_file() else node.module), node not in late


def modules(folder: Path) -> list[Path]:
    """Return every Python file of a package, in order."""
    found = sorted(folder.rglob("*.py"))
    assert found
    return found


def room(path: Path) -> str:
    """Return the room a module of wiremap is in: reading_csv belongs to reading."""
    first = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    return "reading" if first.startswith("reading") else "cli" if first == "__main__" else first


def floor(name: str) -> int:
    """Return how high a room lies."""
    return next(level for level, names in enumerate(FLOORS) if name in names.split())


def test_data_flows_one_way() -> None:
    """No module imports from a floor above its own, nor tester and judge from each other."""
    for path in modules(PACKAGE):
        here = room(path)
        for name, _ in imports(path):
            if not name.startswith("wiremap."):
                assert name != "wiremap" or floor(here) > floor("__init__"), f"{path} imports the whole package"
                continue
            there = "reading" if name.split(".")[1].startswith("reading") else name.split(".")[1]
            if there == here:
                continue
            assert floor(there) < floor(here), f"{path} imports {name}"


def test_only_bench_and_cli_know_both_tester_and_judge() -> None:
    """Measuring and judging meet only where commands and loops are made."""
    for path in modules(PACKAGE):
        rooms = {name.split(".")[1] for name, _ in imports(path) if name.startswith("wiremap.")}
        if {"tester", "judge"} <= rooms:
            assert room(path) in ("bench", "cli", "__init__"), path


def judge_floor(stem: str) -> int:
    """Return how high a module of judge lies; a helper module is on the floor its name begins with."""
    levels = [level for level, name in enumerate(JUDGE_FLOORS) if stem == name or stem.startswith(name + "_")]
    assert levels, f"judge/{stem}.py has no floor"
    return max(levels, key=lambda level: len(JUDGE_FLOORS[level]))


def test_judge_has_floors_of_its_own() -> None:
    """Within judge, too, a module imports only from lower floors, or from helpers on its own."""
    for path in modules(PACKAGE / "judge"):
        if path.stem == "__init__":
            continue
        for name, _ in imports(path):
            if name.startswith("wiremap.judge."):
                assert judge_floor(name.split(".")[2]) <= judge_floor(path.stem), f"{path} imports {name}"


def test_tester_software_and_simulator_are_strangers() -> None:
    """The protocol has two independent witnesses: neither package imports the other."""
    for path in modules(PACKAGE):
        assert not any(name.split(".")[0] == "firmware_sim" for name, _ in imports(path)), path
    for path in modules(SIMULATOR):
        assert not any(name.split(".")[0] == "wiremap" for name, _ in imports(path)), path


def test_heavy_libraries_stay_in_their_rooms() -> None:
    """The serial library, the command line's and the plotting library are each imported in one room alone."""
    for path in modules(PACKAGE):
        place = path.relative_to(PACKAGE).as_posix()
        for name, at_load in imports(path):
            library = name.split(".")[0]
            if library in ONLY_IN:
                assert place.startswith(ONLY_IN[library]), f"{place} imports {name}"
            if library == "matplotlib":
                assert not at_load, f"{place} loads {name} before it is needed"
                assert "pyplot" not in name, f"{place} imports {name}"
            if library == "msgspec":
                assert place.startswith(MSGSPEC_IN), f"{place} imports {name}"
