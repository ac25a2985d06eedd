"""Kinds of cable that a user taught, one file each under the user's folder, and every kind by its name."""

import json
import re
from pathlib import Path

from wiremap.cable.kinds import Kind, kind_named, kinds, read_kind, read_kinds
from wiremap.errors import FileError, UsageError
from wiremap.files import is_there
from wiremap.records.home import home
from wiremap.records.new_file import make_folder, write_new_file

FORMAT = 1
ENDING = ".toml"
KIND_NAME = re.compile(r"[a-z0-9][a-z0-9._-]{0,39}")
HINT = "Check the folder, or set WIREMAP_HOME."


def kinds_to_name() -> tuple[Kind, ...]:
    """Return the kinds that ship and that a cable can be sold as; a wet one is none."""
    return tuple(one for one in kinds() if one.lay != "wet")


def own_kind_path(name: str) -> Path:
    """Return where a kind that a user taught is kept."""
    return home() / "kinds" / f"{name}{ENDING}"


def own_kind_names() -> tuple[str, ...]:
    """Return the names of the kinds that a user taught, whether their files can be used or not."""
    return tuple(sorted(path.stem for path in (home() / "kinds").glob(f"*{ENDING}") if KIND_NAME.fullmatch(path.stem)))


def own_kind(name: str) -> Kind:
    """Return a kind that a user taught; FileError when its file cannot be used."""
    path = own_kind_path(name)
    found = read_kinds(path)
    if [one.name for one in found] != [name]:
        raise FileError(f"{path}: has {', '.join(one.name for one in found)}", f"Allowed there: one kind, '{name}'.")
    return found[0]


def kind_called(word: str) -> Kind:
    """Return a kind by its name or from a FILE.toml, those that ship before those taught; UsageError names all."""
    if word.endswith(ENDING):
        return read_kind(Path(word))
    own = own_kind_names()
    if word in own and word not in {one.name for one in kinds()}:
        return own_kind(word)
    return kind_named(word, kinds_to_name(), own)


def check_new_kind(name: str) -> None:
    """Refuse a name that cannot be taught: UsageError for a bad one, one that ships, one that was taught already."""
    if not KIND_NAME.fullmatch(name) or name.endswith(ENDING):
        raise UsageError(
            f"'{name}' cannot name a kind of cable",
            "Use up to 40 small letters, digits, dots and dashes, as mast-reel.",
        )
    if name in {one.name for one in kinds()}:
        raise UsageError(f"there is a kind '{name}' that comes with wiremap", "Give your own another name.")
    if is_there(own_kind_path(name)):
        raise UsageError(
            f"the kind '{name}' was taught already", f"Give another name, or remove {own_kind_path(name)}."
        )


def keep_kind(taught: Kind) -> Path:
    """Write a kind that was taught into a new file, whole or not at all; return where it is."""
    path = own_kind_path(taught.name)
    lines = [f"format = {FORMAT}", "", f'["{taught.name}"]']
    lines += [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in taught.to_builtins().items()]
    make_folder(path.parent, HINT)
    write_new_file(path, ("\n".join(lines) + "\n").encode(), HINT)
    return path
