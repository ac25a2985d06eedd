"""Measured answers: tag, status, fields, and the CRC that lets the host tell a damaged line from a true one."""

import binascii

OPEN = "9.9E37"  # SCPI-1999: infinity, here also over range and no echo
NOT_MEASURED = "9.91E37"  # SCPI-1999: not a number


def crc(text: str) -> str:
    """Return the CRC-32/ISO-HDLC of an ASCII text as "#H" and eight digits."""
    return "#H%08X" % (binascii.crc32(text.encode()) & 0xFFFFFFFF)


def sealed(tag: int, status: str, fields: list[str]) -> str:
    """Return the answer to the question with this tag."""
    text = ",".join(["%d" % tag, status] + fields)
    return text + "," + crc(text)


class Refused(Exception):
    """Nothing more is driven: the status word and the fields that say why."""

    def __init__(self, status: str, fields: list[str]) -> None:
        super().__init__(status)
        self.status = status
        self.fields = fields
