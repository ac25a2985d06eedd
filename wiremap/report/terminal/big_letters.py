"""The verdict in letters three lines high, readable at arm's length."""

LETTERS = {
    "A": ("▄▀▀▄", "█▄▄█", "█  █"),
    "C": ("▄▀▀▄", "█   ", "▀▄▄▀"),
    "D": ("█▀▀▄", "█  █", "█▄▄▀"),
    "E": ("█▀▀▀", "█▀▀ ", "█▄▄▄"),
    "F": ("█▀▀▀", "█▀▀ ", "█   "),
    "I": ("▀█▀", " █ ", "▄█▄"),
    "L": ("█   ", "█   ", "█▄▄▄"),
    "N": ("█▄ █", "█▀▄█", "█ ▀█"),
    "P": ("█▀▀▄", "█▄▄▀", "█   "),
    "S": ("▄▀▀▀", "▀▀▀▄", "▄▄▄▀"),
    "U": ("█  █", "█  █", "▀▄▄▀"),
}


def big(word: str) -> tuple[str, str, str]:
    """Return three lines that show a word made of the letters above."""
    first, second, third = (" ".join(LETTERS[letter][line] for letter in word) for line in range(3))
    return first, second, third
