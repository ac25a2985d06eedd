"""Named cables of the simulator with any far end, read by a user who says what the far plug is in, rightly or not."""

import re
from functools import cache

from msgspec.structs import replace

from firmware_sim.cable_model.written.named import FOLDER, cable_names
from tests.firmware_sim.parsed import parse_description
from tests.judge.simulated import measured_reading
from wiremap.reading.reading import Far, Reading

REAL: dict[str, Far] = {
    'far = "open"': "open",
    'far = "joined"': "joined",
    **{f'far = "remote-{letter}"': "remote" for letter in "ABCD"},
    **{f'far = "equipment"\nport = "{port}"': "equipment" for port in ("four-pair", "two-pair", "tied")},
}
# A reel takes long to work out, a rack's lot is many cables, empty sockets have none.
NAMES = tuple(name for name in cable_names() if name not in ("reel", "rack-lot", "empty", "gauge"))


@cache
def read(name: str, attached: str | None, said: Far) -> Reading:
    """Return what is read of a named cable; attached: what its far plug is in (None: the tester), said: what is said.

    What arrives at the far socket is in the reading whatever was said, as the tester's program keeps it.
    """
    if attached is None and said != "tester":
        return replace(read(name, None, "tester"), far=said)
    text = re.sub(r"\n\[attached\]\n.*", "", (FOLDER / f"{name}.toml").read_text(encoding="utf-8"), flags=re.DOTALL)
    whole = f"{text}\n[attached]\n{attached}\n" if attached else text
    return measured_reading(parse_description(whole, name, FOLDER), traces=False, echoes=False, said=said)
