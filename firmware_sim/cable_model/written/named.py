"""The named cables that come with the simulator, and files of the user's own."""

from pathlib import Path

from firmware_sim.cable_model.written.description import Description, read_description
from firmware_sim.cable_model.written.toml_file import DescriptionError

FOLDER = Path(__file__).parents[2] / "cables"


def cable_names() -> tuple[str, ...]:
    """Return the names of the cables that come with the simulator, sorted."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))


def load_cable(name_or_path: str, beside: Path | None = None) -> Description:
    """Read a named cable, or a file when the text ends in .toml (a relative one looked for in `beside`)."""
    if name_or_path.endswith(".toml"):
        return read_description((beside or Path()) / name_or_path)
    path = FOLDER / f"{name_or_path}.toml"
    if name_or_path not in cable_names():
        known = ", ".join(cable_names())
        raise DescriptionError(f"there is no cable {name_or_path!r}; known: {known}; or give a file that ends in .toml")
    return read_description(path)
