"""The tool that judges cables."""

__version__ = "0.1.0"
