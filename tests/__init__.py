"""Checks of the project; `pytest` runs the quick ones, `python -m tests.long` every one at full count."""
