"""A reading as a JSON file, as it stands in a capture."""

import json

from wiremap.reading.reading import Reading, to_builtins


def to_json(reading: Reading) -> bytes:
    """Return the reading as one JSON object, UTF-8."""
    return json.dumps(to_builtins(reading), ensure_ascii=False, separators=(",", ":")).encode("utf-8")
