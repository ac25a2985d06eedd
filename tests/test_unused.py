"""What only tests use is not part of the product: every public name of the packages is used by one of their modules.

The public library is what `wiremap/__init__.py` names, and it names it by importing it. A name counts as used where its
own module reads it outside its definition, where another imports it or reads it off the module, and, for what stands in
a class, where any attribute is called so.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import firmware_sim
import wiremap

# module and name -> why it stands there although no module uses it
EXCEPTIONS = {
    "firmware_sim.board.parts COMPARATOR_OHM": "a part that is drawn and judged; the simulated board never feels it",
    "firmware_sim.board.parts RAIL_BLEED_OHM": "a part that is drawn and judged; the simulated board never feels it",
    "firmware_sim.cable_model.written.kinds Geometry.centres": "what the matrices of the file were worked out from",
    "firmware_sim.cable_model.written.kinds Geometry.core": "what the matrices of the file were worked out from",
    "firmware_sim.cable_model.written.kinds Kind.geometry": "what the matrices of the file were worked out from",
    "wiremap.cable.limits Threshold.basis": "no limit without one: reading the file asks for it",
    "wiremap.cable.limits Threshold.reason": "no limit without one: reading the file asks for it",
    "wiremap.cable.remotes RemoteSet.rated_watt": "what the resistors are bought for; tests hold it against their heat",
    "wiremap.cli.app Group.invoke": "typer calls it",
    "wiremap.phone.line BoundedLine.connection_made": "the server calls it",
    "wiremap.phone.line BoundedLine.data_received": "the server calls it",
    "wiremap.phone.line BoundedLine.connection_lost": "the server calls it",
    "wiremap.phone.serve _Server.handle_exit": "the server calls it",
    "wiremap.records.captures.schema FILE": "DEVELOPERS.md writes the schema with it",
    "wiremap.records.captures.schema text": "DEVELOPERS.md writes the schema with it",
}
# On the board modules are imported by their bare names; a board's own files take the place of the common ones.
FLAT = ("firmware_sim.firmware", "firmware_sim.board.path")
Where = tuple[str, int]  # module and line


@dataclass
class Known:
    """The trees of modules, where names are defined, and where names of modules and attributes are used."""

    trees: dict[str, ast.Module]
    defined: dict[tuple[str, str], ast.stmt] = field(default_factory=dict)
    names: dict[tuple[str, str], list[Where]] = field(default_factory=dict)
    attributes: dict[str, list[Where]] = field(default_factory=dict)


def read_packages(folders: tuple[Path, ...]) -> dict[str, ast.Module]:
    """Return the tree of every module of some packages, by its dotted name."""
    found = {}
    for folder in folders:
        for path in folder.rglob("*.py"):
            name = ".".join(path.relative_to(folder.parent).with_suffix("").parts).removesuffix(".__init__")
            found[name] = ast.parse(path.read_text(encoding="utf-8"))
    return found


def definitions(body: list[ast.stmt], owner: str = "") -> Iterator[tuple[str, ast.stmt]]:
    """Yield what a module or a class defines: "name", "Class.name"."""
    for node in body:
        match node:
            case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name):
                yield owner + name, node
            case ast.ClassDef(name=name):
                yield owner + name, node
                yield from definitions(node.body, f"{name}.")
            case ast.Assign(targets=targets):
                for target in targets:
                    if isinstance(target, ast.Name):
                        yield owner + target.id, node
                    elif isinstance(
                        target, ast.Tuple
                    ):  # the codes of one register, which are told apart by their places
                        yield owner + "/".join(ast.unparse(one) for one in target.elts), node
            case ast.AnnAssign(target=ast.Name(id=name)):
                yield owner + name, node


def by_bare_names(module: str, known: Known) -> dict[str, list[str]]:
    """Return which modules a bare name may mean in a module: those of its own folder, else those of every board."""
    found: dict[str, list[str]] = {}
    for name in known.trees:
        if name.startswith(FLAT):
            found.setdefault(name.rpartition(".")[2], []).append(name)
    folder = module.rpartition(".")[0]
    if folder.startswith(FLAT) and folder not in FLAT:
        own = {stem: [name for name in names if name.startswith(folder)] for stem, names in found.items()}
        found |= {stem: names for stem, names in own.items() if names}
    return found


def note_uses(module: str, known: Known) -> None:
    """Note every use of a name or an attribute in a module."""
    tree = known.trees[module]
    bare = by_bare_names(module, known)
    modules: dict[str, list[str]] = {}
    for node in ast.walk(tree):
        match node:
            case ast.ImportFrom(module=str(source), names=imported):
                for one in imported:
                    if f"{source}.{one.name}" in known.trees:
                        modules[one.asname or one.name] = [f"{source}.{one.name}"]
                        continue
                    for other in bare.get(source, [source]):
                        known.names.setdefault((other, one.name), []).append((module, node.lineno))
            case ast.Import(names=imported):
                modules |= {one.asname or one.name: bare[one.name] for one in imported if one.name in bare}
    for node in ast.walk(tree):
        match node:
            case ast.Name(id=name, ctx=ast.Load()):
                known.names.setdefault((module, name), []).append((module, node.lineno))
            case ast.Attribute(value=ast.Name(id=name), attr=attribute) if name in modules:
                for other in modules[name]:
                    known.names.setdefault((other, attribute), []).append((module, node.lineno))
            case ast.Attribute(attr=attribute):
                known.attributes.setdefault(attribute, []).append((module, node.lineno))
            case ast.Call(
                func=ast.Name(id="getattr"), args=[ast.Name(id=name), ast.Constant(value=str(attribute)), *_]
            ):
                for other in modules.get(name, [module]):
                    known.names.setdefault((other, attribute), []).append((module, node.lineno))
            case ast.MatchClass(cls=ast.Name(id=name), patterns=[_, *_]):  # fields by their places
                known.attributes.setdefault(f"{name}.", []).append((module, node.lineno))


def unused(folders: tuple[Path, ...]) -> set[str]:
    """Return the public names that no module of the packages uses, "module Class.name"."""
    known = Known(read_packages(folders))
    for module, tree in known.trees.items():
        known.defined |= {(module, name): node for name, node in definitions(tree.body)}
        note_uses(module, known)
    found = set()
    for (module, name), node in known.defined.items():
        owner, _, last = name.rpartition(".")
        uses = known.attributes.get(f"{owner}.", []) if owner else []
        for one in last.split("/"):
            uses = uses + (known.attributes.get(one, []) if owner else known.names.get((module, one), []))
        inside = range(node.lineno, (node.end_lineno or node.lineno) + 1)
        loaded_by_name = name == "command" and module.startswith("wiremap.cli.commands.")
        if last.startswith("_") or loaded_by_name or any(where != module or line not in inside for where, line in uses):
            continue
        found.add(f"{module} {name}")
    return found


def test_nothing_is_there_for_tests_alone() -> None:
    """No public name is used by tests only, but for those with a reason; and no exception is left over."""
    found = unused((Path(wiremap.__file__).parent, Path(firmware_sim.__file__).parent))
    assert found - set(EXCEPTIONS) == set()
    assert set(EXCEPTIONS) - found == set()


def test_a_planted_name_is_found(tmp_path: Path) -> None:
    """A function, a constant, a method and a field that nobody uses are found; what is used anywhere is not."""
    planted = tmp_path / "boat"
    planted.mkdir()
    (planted / "__init__.py").write_text("", encoding="utf-8")
    (planted / "mast.py").write_text(
        "HEIGHT = 12\nLEFT = 3\ndef climb():\n    return HEIGHT\ndef fall():\n    return fall\n"
        "class Light:\n    colour: str\n    range: int\n    def shine(self):\n        return self.colour\n",
        encoding="utf-8",
    )
    (planted / "deck.py").write_text("from boat import mast\nmast.climb()\nmast.Light()\n", encoding="utf-8")
    assert unused((planted,)) == {f"boat.mast {name}" for name in ("LEFT", "fall", "Light.range", "Light.shine")}
