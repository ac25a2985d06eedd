"""Stands in for MicroPython's own module on CPython; MicroPython's VM has its own and makes native code."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import ParamSpec, TypeVar

    P = ParamSpec("P")
    R = TypeVar("R")


def native(function: "Callable[P, R]") -> "Callable[P, R]":
    """Leave the function as it is."""
    return function
