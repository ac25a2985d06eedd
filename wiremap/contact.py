"""A contact of a cable's plug: at which end, and what it is called there."""

from typing import Any, Literal, get_args

End = Literal["near", "far"]
ENDS: tuple[End, ...] = get_args(End)


class Contact:
    """A contact at an end, such as contact 3 of the near plug; comparable, and never changed.

    Its text, "near 3", is what files have; `contact_from` reads it back. Not a Struct, so that a decoder asks how it
    is written instead of writing its fields.
    """

    __slots__ = ("end", "name")
    end: End
    name: str

    def __init__(self, end: End, name: str) -> None:
        object.__setattr__(self, "end", end)
        object.__setattr__(self, "name", name)

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"a contact is never changed: {name}")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Contact) and (self.end, self.name) == (other.end, other.name)

    def __lt__(self, other: "Contact") -> bool:
        return (ENDS.index(self.end), self.name) < (ENDS.index(other.end), other.name)

    def __hash__(self) -> int:
        return hash((self.end, self.name))

    def __str__(self) -> str:
        return f"{self.end} {self.name}"

    def __repr__(self) -> str:
        return f"Contact({self.end!r}, {self.name!r})"

    def __reduce__(self) -> tuple[Any, ...]:
        return Contact, (self.end, self.name)


def near_contact(name: str) -> Contact:
    """Return a contact of the near plug."""
    return Contact("near", name)


def far_contact(name: str) -> Contact:
    """Return a contact of the far plug."""
    return Contact("far", name)


def contact_from(text: str) -> Contact:
    """Return the contact that a text such as "near 3" names; ValueError where it names none."""
    for end in ENDS:
        name = text.removeprefix(f"{end} ")
        if name != text and name and " " not in name:
            return Contact(end, name)
    raise ValueError(f"'{text}' is no contact; 'near 3' and 'far S' are")
