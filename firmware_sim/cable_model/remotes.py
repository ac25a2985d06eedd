"""The resistors of the passive remotes A to D, from remotes.toml."""

from functools import cache
from pathlib import Path

from firmware_sim.cable_model.plugs import RJ45
from firmware_sim.cable_model.toml_table import read_table


@cache
def remote_ohm(name: str) -> dict[str, float]:
    """Return ohms from each contact of the plug a remote is for to its star, by contact, of remote "A".."D"."""
    table = read_table(Path(__file__).with_name("remotes.toml"))
    part = table.take_table(name)
    values = {contact: part.take_number(contact, 1, 1e6) for contact in RJ45}
    part.finish()
    return values
