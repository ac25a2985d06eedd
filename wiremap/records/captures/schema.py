"""The JSON Schema (draft 2020-12) of a capture's two lines, as it ships beside this module."""

from pathlib import Path
from typing import Any

import msgspec

from wiremap.judge.findings import VERDICTS
from wiremap.reading.reading import FORMAT as READING_FORMAT
from wiremap.reading.reading import Reading
from wiremap.records.captures.capture import FORMAT, Record
from wiremap.records.captures.seal import DIGEST, KEY, SIGNATURE

FILE = Path(__file__).with_name("capture.schema.json")


def schema() -> dict[str, Any]:
    """Return the schema: a line of a capture is a record (the first) or a seal (the second)."""
    _, parts = msgspec.json.schema_components((Record, Reading), ref_template="#/$defs/{name}", schema_hook=_contact)
    record = parts["Record"]["properties"]
    record["format"] = {"const": FORMAT}
    record["reading"] = {"$ref": "#/$defs/Reading"}
    record["diagnosis"] = {
        "type": "object",
        "properties": {"verdict": {"enum": list(VERDICTS)}, "findings": {"type": "array"}},
        "required": ["verdict", "findings"],
    }
    digest = {"type": "string", "pattern": f"^{DIGEST.pattern}$"}
    reading = parts["Reading"]
    reading["properties"]["format"] = {"const": READING_FORMAT}
    reading["required"] = ["format", *reading["required"]]
    for part in parts.values():
        part.pop("description", None)
        if part.get("type") == "object":
            part["additionalProperties"] = False
    parts["Seal"] = {
        "type": "object",
        "properties": {
            "digest": digest,
            "key": {"type": "string", "pattern": f"^{KEY.pattern}$"},
            "signature": {"type": "string", "pattern": f"^{SIGNATURE.pattern}$"},
        },
        "required": ["digest"],
        "dependentRequired": {"key": ["signature"], "signature": ["key"]},
        "additionalProperties": False,
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A line of a wiremap capture",
        "description": "A capture is two lines: the record, then its seal, both as RFC 8785 writes them.",
        "anyOf": [{"$ref": "#/$defs/Record"}, {"$ref": "#/$defs/Seal"}],
        "$defs": parts,
    }


def _contact(_kind: type) -> dict[str, Any]:
    """Return what a file has for a contact, the one type that the decoder does not know."""
    return {"type": "string"}


def text() -> str:
    """Return the schema as the file that ships."""
    return msgspec.json.format(msgspec.json.encode(schema(), order="sorted"), indent=2).decode() + "\n"
