"""The resistors of the passive remotes A to D, from remotes.toml."""

from functools import cache
from pathlib import Path

from firmware_sim.cable_model.written.plugs import RJ45
from firmware_sim.cable_model.written.toml_file import read_toml, wrong

FILE = Path(__file__).with_name("remotes.toml")


@cache
def remote_ohm(name: str) -> dict[str, float]:
    """Return ohms from each contact of the plug a remote is for to its star, by contact, of remote "A".."D"."""
    values = read_toml(FILE)[name]
    if set(values) != set(RJ45):
        raise wrong(str(FILE), name, sorted(values), "an ohm for each of " + ", ".join(RJ45))
    for contact, ohm in values.items():
        if isinstance(ohm, bool) or not isinstance(ohm, int | float) or not 1 <= ohm <= 1e6:
            raise wrong(str(FILE), f"{name}.{contact}", ohm, "a number from 1 to 1e+06")
    return {contact: float(values[contact]) for contact in RJ45}
