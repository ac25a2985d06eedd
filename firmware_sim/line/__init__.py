"""The serial line: the end that a host connects to, and what can happen to the bytes on their way."""
