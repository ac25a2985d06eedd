"""A description of a cable from its text."""

from pathlib import Path

from firmware_sim.cable_model.written.description import Description, description_in
from firmware_sim.cable_model.written.toml_file import parse_toml


def parse_description(text: str, source: str = "description", folder: Path = Path()) -> Description:
    """Read a description from TOML text."""
    return description_in(source, parse_toml(source, text.encode("utf-8")), folder)
