"""Measured answers: tag, status, fields, and the CRC that lets the host tell a damaged line from a true one."""

import binascii

INFINITY = "9.9E37"  # SCPI-1999: infinity, here also over range and no echo
NOT_MEASURED = "9.91E37"  # SCPI-1999: not a number
TOGETHER = 50
PIECE = 8


def crc(text: str) -> str:
    """Return the CRC-32/ISO-HDLC of an ASCII text as "#H" and eight digits."""
    return "#H%08X" % (binascii.crc32(text.encode()) & 0xFFFFFFFF)


def sealed(tag: int, status: str, fields: "list[str]") -> str:
    """Return the answer to the question with this tag.

    The CRC is taken piece by piece: a trace is long, and the chip has no room for it twice.
    """
    pieces = ["%d,%s" % (tag, status)]
    value = binascii.crc32(pieces[0].encode())
    for start in range(0, len(fields), PIECE):
        piece = "," + ",".join(fields[start : start + PIECE])
        value = binascii.crc32(piece.encode(), value)
        pieces.append(piece)
    pieces.append(",#H%08X" % (value & 0xFFFFFFFF))
    return "".join(pieces)


def joined(values: "list[int]") -> "list[str]":
    """Return numbers as fields, fifty to a text: few long texts take less room than many short ones."""
    return [
        ",".join(["%d" % value for value in values[start : start + TOGETHER]])
        for start in range(0, len(values), TOGETHER)
    ]


class Refused(Exception):
    """Nothing more is driven: the status word and the fields that say why."""

    def __init__(self, status: str, fields: list[str]) -> None:
        super().__init__(status)
        self.status = status
        self.fields = fields
