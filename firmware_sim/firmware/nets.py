"""Groups of contacts that are joined, and how they depart from what they were."""


def nets(rows: "list[int]") -> "list[list[int]]":
    """Return the groups of contacts that are joined, each in order, from a row of bits for each contact."""
    found = []
    left = (1 << len(rows)) - 1
    for first in range(len(rows)):
        if not left >> first & 1:
            continue
        group = 1 << first
        grown = 0
        while grown != group:
            grown = group
            for contact in range(len(rows)):
                if group >> contact & 1:
                    group |= rows[contact]
        left &= ~group
        found.append([contact for contact in range(len(rows)) if group >> contact & 1])
    return found


def departures(before: "list[list[int]]", now: "list[list[int]]") -> "list[tuple[int, int, str]]":
    """Return how nets depart from what they were: (a, b, "OPEN") or (a, b, "JOIN"), the lowest contacts of each."""
    found = []
    for net in before:
        pieces = [[contact for contact in group if contact in net] for group in now]
        pieces = sorted(piece for piece in pieces if piece)
        for piece in pieces[1:]:
            found.append((pieces[0][0], piece[0], "OPEN"))
    for group in now:
        pieces = [[contact for contact in net if contact in group] for net in before]
        pieces = sorted(piece for piece in pieces if piece)
        for piece in pieces[1:]:
            found.append((pieces[0][0], piece[0], "JOIN"))
    return found
