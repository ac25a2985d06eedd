"""Languages of testers that were learnt, a file each under the user's folder, named after the device."""

import re
from pathlib import Path

from wiremap.files import is_there
from wiremap.reading.talk.language import Language, language_text, read_language
from wiremap.records.home import home
from wiremap.records.new_file import make_folder, write_over

PLACE_HINT = "Check the folder, or set WIREMAP_HOME."


def language_path(device: str) -> Path:
    """Return where the language of a device is kept; device: its serial number, where it has none its address."""
    return home() / "testers" / f"{re.sub(r'[^A-Za-z0-9.-]', '_', device).strip('.') or '_'}.toml"


def language_of(device: str) -> Language | None:
    """Return what was learnt of a device, None = nothing; FileError when its file cannot be used."""
    path = language_path(device)
    return read_language(path) if is_there(path) else None


def keep_language(device: str, language: Language, path: Path | None = None) -> Path:
    """Write a language, in the place of the one before, whole or not at all; return where. path: None = its own."""
    place = path or language_path(device)
    if path is None:
        make_folder(place.parent, PLACE_HINT)
    about = f"The language of the tester {device}, learnt by wiremap."
    write_over(place, language_text(language, about).encode(), PLACE_HINT)
    return place
