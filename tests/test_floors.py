"""The house plan, kept by reading the imports of every module."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import firmware_sim
import wiremap

PACKAGE = Path(wiremap.__file__).parent
SIMULATOR = Path(firmware_sim.__file__).parent
MOST_FILES, MOST_LINES, MOST_FUNCTION_LINES = 14, 400, 60

# From the ground up: rooms on one line share a floor and do not know each other. A room is a file or a folder; where a
# folder's rooms stand here one by one, the folder has floors of its own. "judge" is what stands beside judge's folders.
FLOORS = (
    "errors version",
    "files lines ranges",
    "contact",
    "cable",
    "calibration",
    "reading",
    "tester judge/findings",
    "judge/measurements",
    "judge/wiring judge/plugs",
    "judge/run",
    "judge/verdict",
    "judge/taught judge/remedy",
    "judge/case",
    "records/home records/new_file records/canonical",
    "records/state_file",
    "records/broken records/keys records/calibrations records/languages records/own_kinds records/mend_file "
    "records/handset_file records/commissions",
    "records/captures",
    "records/lots",
    "report/words",
    "report",
    "report/terminal report/print",
    "bench library",
    "phone",
    "__init__",
    "cli",
    "cli/commands",
    "__main__",
)
# The simulator's house, drawn in firmware_sim/__init__.py. The firmware imports its own modules alone, by bare names.
SIMULATOR_FLOORS = (
    "hardware",
    "board/levels",
    "cable_model/arrays",
    "cable_model/written",
    "cable_model/laid_out",
    "cable_model/direct_current",
    "cable_model/fields",
    "cable_model/tables",
    "board line",
    "firmware",
    "launcher",
    "__main__",
)
FLASHED_FLAT = ("firmware",)  # on the board there are no folders
ONLY_IN = {
    "serial": ("tester/line.py",),
    "typer": ("cli/",),
    "matplotlib": ("report/print/",),
    "starlette": ("phone/",),
    "uvicorn": ("phone/",),
    "ifaddr": ("phone/",),
}
# Where what comes from outside is read; elsewhere only types are made with the decoder's library.
DECODING = ("reading/", "records/", "phone/")
SHOWS_NO_SECRET = "records/keys.py"  # the one type whose fields are not all shown


def imports(path: Path) -> Iterator[tuple[str, bool]]:
    """Yield each module imported by a file and whether that happens when the file is loaded; names stand for files."""
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
                yield _file_of(node.module, name.name), node not in late


def _file_of(module: str, name: str) -> str:
    """Return the module that a name is imported from: the name's own where it is one."""
    place = PACKAGE.parent.joinpath(*module.split("."))
    return f"{module}.{name}" if (place / f"{name}.py").is_file() or (place / name).is_dir() else module


def modules(folder: Path) -> list[Path]:
    """Return every Python file of a package, in order."""
    found = sorted(folder.rglob("*.py"))
    assert found
    return found


def place(path: Path, package: Path = PACKAGE) -> str:
    """Return where a module stands in its package: "judge/wiring/cells"; a folder's own file is the folder."""
    inside = path.relative_to(package).with_suffix("").as_posix()
    return inside.removesuffix("/__init__")


def room(where: str, floors: tuple[str, ...] = FLOORS) -> tuple[int, str]:
    """Return the floor and the room of a module: the longest room of the plan that it stands in."""
    found = [
        (len(name), level, name)
        for level, names in enumerate(floors)
        for name in names.split()
        if where == name or where.startswith(name + "/")
    ]
    assert found, f"{where} is in no room of the plan"
    _, level, name = max(found)
    return level, name


def test_data_flows_one_way() -> None:
    """A module imports only from rooms on lower floors, or from its own."""
    for path in modules(PACKAGE):
        if path.name == "__init__.py" and path.parent != PACKAGE:
            continue  # the description of a folder
        level, here = room(place(path))
        for name, _ in imports(path):
            if name == "wiremap":
                assert level > room("__init__")[0], f"{path} imports the whole package"
            if not name.startswith("wiremap."):
                continue
            above, there = room(name.removeprefix("wiremap.").replace(".", "/"))
            assert there == here or above < level, f"{path} ({here}) imports {name} ({there})"


def test_data_flows_one_way_in_the_simulator() -> None:
    """The simulator's modules import only from rooms on lower floors, or from their own; the firmware knows neither."""
    for path in modules(SIMULATOR):
        where = place(path, SIMULATOR)
        if path.name == "__init__.py":
            continue
        level, here = room(where, SIMULATOR_FLOORS)
        for name, _ in imports(path):
            if not name.startswith("firmware_sim."):
                continue
            above, there = room(name.removeprefix("firmware_sim.").replace(".", "/"), SIMULATOR_FLOORS)
            assert here != "firmware", f"{path} imports {name}"
            assert there == here or above < level, f"{path} ({here}) imports {name} ({there})"


def test_the_simulators_drawing_is_its_plan() -> None:
    """The drawing in firmware_sim/__init__.py names every room of the plan, from the ground up, and none besides."""
    drawing = (firmware_sim.__doc__ or "").strip().split("\n\n")[-1]
    named = [line.strip().split("  ")[0] for line in drawing.splitlines()]
    assert named == [name for name in SIMULATOR_FLOORS if name != "__main__"]
    for name in " ".join(SIMULATOR_FLOORS).split():
        assert (SIMULATOR / name).is_dir() or (SIMULATOR / f"{name}.py").is_file(), name


def test_every_room_of_the_plan_stands() -> None:
    """The plan names no room that is gone, and every folder says in one sentence what comes in and goes out."""
    for name in " ".join(FLOORS).split():
        assert (PACKAGE / name).is_dir() or (PACKAGE / f"{name}.py").is_file(), name
    for folder in {path.parent for path in modules(PACKAGE)} - {PACKAGE}:
        tree = ast.parse((folder / "__init__.py").read_text(encoding="utf-8"))
        assert ast.get_docstring(tree), folder
        assert len(tree.body) == 1, folder


def test_only_bench_and_cli_know_both_tester_and_judge() -> None:
    """Measuring and judging meet only where commands and loops are made."""
    for path in modules(PACKAGE):
        rooms = {name.split(".")[1] for name, _ in imports(path) if name.startswith("wiremap.")}
        if {"tester", "judge"} <= rooms:
            assert place(path).split("/")[0] in ("bench", "cli", "__init__"), path


def test_tester_software_and_simulator_are_strangers() -> None:
    """The protocol has two independent witnesses: neither package imports the other."""
    for path in modules(PACKAGE):
        assert not any(name.split(".")[0] == "firmware_sim" for name, _ in imports(path)), path
    for path in modules(SIMULATOR):
        assert not any(name.split(".")[0] == "wiremap" for name, _ in imports(path)), path


def test_heavy_libraries_stay_in_their_rooms() -> None:
    """The serial library, the command line's and the plotting library stay in the rooms meant for them."""
    for path in modules(PACKAGE):
        where = path.relative_to(PACKAGE).as_posix()
        for name, at_load in imports(path):
            library = name.split(".")[0]
            if library in ONLY_IN:
                assert where.startswith(ONLY_IN[library]), f"{where} imports {name}"
            if library == "matplotlib":
                assert not at_load, f"{where} loads {name} before it is needed"
                assert "pyplot" not in name, f"{where} imports {name}"


def test_types_are_light_and_decoders_stay_in_two_rooms() -> None:
    """Types are Structs, which take a fiftieth of a dataclass's time to load; who decodes is in reading or records."""
    for path in modules(PACKAGE):
        where = path.relative_to(PACKAGE).as_posix()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module == "dataclasses":
                assert where == SHOWS_NO_SECRET, f"{where}: make it a Struct, class Name(Struct, frozen=True)"
            whole = isinstance(node, ast.Import) and any(name.name.startswith("msgspec") for name in node.names)
            part = node.module if isinstance(node, ast.ImportFrom) else None
            if whole or (part != "msgspec.structs" and (part or "").startswith("msgspec.")):
                assert where.startswith(DECODING), f"{where} decodes"


def test_no_circles() -> None:
    """No module reaches itself through imports, late ones included."""
    for package in (PACKAGE, SIMULATOR):
        arrows: dict[str, set[str]] = {}
        for path in modules(package):
            own = ".".join(path.relative_to(package.parent).with_suffix("").parts)
            arrows[own] = {name for name, _ in imports(path) if name.startswith(package.name + ".")} - {own}
        done: set[str] = set()
        for start in arrows:
            _walk(start, arrows, done, ())


def _walk(name: str, arrows: dict[str, set[str]], done: set[str], trail: tuple[str, ...]) -> None:
    assert name not in trail, f"a circle: {' -> '.join((*trail[trail.index(name) :], name))}"
    if name in done:
        return
    for other in sorted(arrows.get(name, ())):
        _walk(other, arrows, done, (*trail, name))
    done.add(name)


def test_rooms_are_small() -> None:
    """No folder of the houses has more than 14 modules, but what is flashed; no module over 400 lines, no function 60.

    Modules of tests are as small; their folders are those of what they test.
    """
    for folder in {path.parent for path in (*modules(PACKAGE), *modules(SIMULATOR))}:
        if folder.is_relative_to(SIMULATOR) and folder.relative_to(SIMULATOR).parts[:1] == FLASHED_FLAT:
            continue
        assert len([path for path in folder.glob("*.py") if path.name != "__init__.py"]) <= MOST_FILES, folder
    for path in (*modules(PACKAGE), *modules(SIMULATOR), *modules(Path(__file__).parent)):
        text = path.read_text(encoding="utf-8")
        assert text.count("\n") <= MOST_LINES, path
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                lines = (node.end_lineno or 0) - node.lineno + 1
                assert lines < MOST_FUNCTION_LINES, f"{path}: {node.name} has {lines} lines"


def test_the_map_of_rooms_is_the_plan() -> None:
    """The map in DEVELOPERS.md names every room of the plan, from the ground up, and none that is not there."""
    text = (PACKAGE.parent / "DEVELOPERS.md") if (PACKAGE.parent / "DEVELOPERS.md").is_file() else Path("DEVELOPERS.md")
    drawn = text.read_text(encoding="utf-8").split("```\nwiremap/\n")[1].split("```")[0]
    named: list[str] = []
    for line in drawn.splitlines():
        folder = ""
        for word in line[2:].split("   ")[0].split():
            folder = word.rpartition("/")[0] if word.count("/") == 1 and not word.endswith("/") else folder
            name = word.rstrip("/")
            named.append(f"{folder}/{name}" if folder and "/" not in name else name)
    planned = [name for name in " ".join(FLOORS).split() if name not in ("__init__", "__main__")]
    inside = {
        "records/home",
        "records/new_file",
        "records/canonical",
        "records/broken",
        "records/keys",
        "records/calibrations",
        "records/own_kinds",
        "records/languages",
        "records/state_file",
        "records/mend_file",
        "records/handset_file",
        "records/commissions",
    }
    inside |= {"records/captures", "records/lots", "cli/commands"}
    assert [name for name in named if name != "records"] == [name for name in planned if name not in inside]
    for name in inside:
        assert name.split("/")[0] in named


def test_files_named_in_texts_stand_where_they_say() -> None:
    """Every file with a folder that a text for people names is there: from the top, a package, or the text itself."""
    top = PACKAGE.parent if (PACKAGE.parent / "DEVELOPERS.md").is_file() else Path()
    named = 0
    for text in (top / "README.md", top / "DEVELOPERS.md", SIMULATOR / "README.md"):
        for name in re.findall(r"`([\w/]+\.(?:py|toml|md))`", text.read_text(encoding="utf-8")):
            beside = (top, PACKAGE.parent, PACKAGE, SIMULATOR.parent, SIMULATOR, text.parent)
            places = tuple(folder / name for folder in beside)
            if "/" in name:
                assert any(place.is_file() for place in places), (text.name, name)
                named += 1
    assert named > 20


def test_what_is_asked_for_often_stands_where_the_map_says() -> None:
    """Every row of the table below the map names a file of the product and a word that stands in it."""
    top = PACKAGE.parent if (PACKAGE.parent / "DEVELOPERS.md").is_file() else Path()
    table = (top / "DEVELOPERS.md").read_text(encoding="utf-8").split("| where is ... |")[1].split("\n\n")[0]
    rows = re.findall(r"^\| ([^|]+) \| `([^`]+)` \| `([^`]+)` \|$", table, re.MULTILINE)
    assert len(rows) == table.count("\n| ") >= 20
    for asked, file, name in rows:
        assert name in (PACKAGE / file).read_text(encoding="utf-8"), asked
