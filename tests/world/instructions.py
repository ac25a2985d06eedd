"""What the page tells a person to do: one regular expression a kind of sentence."""

import re

from tests.world.sentences import WHO

THE_END = r"the (?P<end>near|far) end"
AT_END = r"At the (?P<end>near|far) end: "
CHANGES = r"(?: \(contacts? [^)]*changes?\)| in the same order)?"
PAIRED = r"(?P<paired>, each pair on its own contacts)?"
WHICH = rf"(?:{WHO}|the contacts)"
MATCH = r"make the (?:near|far) end match it, in no standard order \(contacts [^)]*\)"
OTHER = rf"(?:; or (?:re-terminate the (?:near|far) end(?: as \S+?)?{CHANGES}|{MATCH})(?: or [^.]*)?)?"
INSTRUCTIONS: tuple[tuple[str, str], ...] = (
    ("pass", r"Label it and use it\."),
    ("serves", r"It has all that \S+ wants, and more: it serves\."),
    (
        "look",
        rf"Look at contact (?P<contact>\d) of {THE_END}: its colour decides most "
        r"\(--(?:near|far)-colours \d=COLOUR, or all of them\)\.",
    ),
    ("remake", rf"Re-terminate {THE_END}(?: as (?P<named>\S+?))?{CHANGES}{OTHER}\."),
    ("remake", rf"Make {THE_END} match it, in no standard order \(contacts? [^)]*\){OTHER}\."),
    (
        "find",
        rf"See in which plug (?:(?P<who>{WHO}) (?:is|are) not home and crimped|"
        rf"a strand or an offcut joins (?P<joined>{WHO})|"
        rf"the screen touches (?P<touched>{WHO})|(?P<poor>{WHO}) (?:is|are) dirty or badly crimped|"
        r"the screen is (?P<clamp>not clamped)), and re-terminate that one(?P<card> by its card)?" + PAIRED + r"; "
        r"if neither, replace the cable\.",
    ),
    ("use or replace", r"Use it where (?P<kind>\S+) is wanted, or replace it: it has \d conductors\."),
    (
        "any conductors",
        r"See whether the cable has all (?P<all>\d) conductors; if it has not, replace it, or use it where fewer pairs "
        r"are enough; if it has, re-terminate the plug where they are not home\.",
    ),
    ("remake one", r"Re-terminate one end(?: so that [^,.]*)?, or use it where (?P<kind>\S+) is wanted\."),
    ("remake one", r"The cable is sound but the wrong kind \([^)]*\): re-terminate one end(?: as [^.]*)?\."),
    (
        "home",
        rf"{AT_END}see that (?P<who>{WHO}) is home in the plug and crimped; else re-terminate that plug{PAIRED}\.",
    ),
    ("home in both", rf"See that (?P<who>{WHO}) is home in both plugs; re-terminate where not\."),
    ("replace if home", r"If it is in both, replace the cable\."),
    (
        "strand",
        rf"{AT_END}look for a strand or an offcut between {WHICH}; else re-terminate that plug{PAIRED}\.",
    ),
    (
        "strand in both",
        rf"Look for a strand or an offcut between {WHICH} in both plugs; else re-terminate one, "
        r"and test again\.",
    ),
    (
        "strand",
        rf"{AT_END}cut the screen back so that it cannot touch {WHICH}, then re-terminate that plug{PAIRED}\.",
    ),
    (
        "strand in both",
        rf"Look in both plugs where the screen touches {WHICH}; re-terminate that plug with the "
        r"screen cut back\.",
    ),
    ("clamp", rf"{AT_END}see that the screen is clamped in the plug's shell; else re-terminate that plug\."),
    (
        "clamp in both",
        r"Look in both plugs whether the screen is clamped in the shell; re-terminate the one where it is not\.",
    ),
    ("re-crimp", rf"Clean and re-crimp {WHICH} at {THE_END}\."),
    (
        "re-crimp in both",
        rf"Clean both plugs and test again; if it stays, re-terminate the end where {WHICH} looks "
        r"worse\.",
    ),
    ("re-crimp in both", r"Re-terminate both ends with care for the crimp, then test again\."),
    ("same again", rf"Re-terminate {THE_END} with care for the crimp, then test again\."),
    ("read both", r"Read the colours through both plugs; re-terminate the one that is out of order\."),
    (
        "read both",
        rf"Read the colours through both plugs; re-terminate the end where {WHICH} (?:is|are) out of "
        r"order\.",
    ),
    (
        "read both",
        r"Read the colours through both plugs; re-terminate both ends if both have the same wrong order\.",
    ),
    ("replace", r"Replace the cable(?:: [^.]*|, or cut it at the place and join it there)?\."),
    ("later", r"Test again; if it stays, (?P<then>[^.]*)\."),
    (
        "push home",
        r"Push both plugs home in the tester and test again; if nothing arrives then, every conductor is broken: "
        r"replace the cable\.",
    ),
    ("push home", r"If it is in the tester, push (?:it|both plugs) home\."),
    ("asked", r"Does the far plug hang free\? Say so and test again \(--far open\)\."),
    ("asked", r"A cable that is broken in every conductor reads the same\."),
    ("asked", r"Is an M12 \S+ plug in an adapter\? Only [^.]* \(--[^.()]*\)\."),
    ("asked", r"Is it a bus with M12 \S+ plugs in adapters\? Only [^.]* \(--[^.()]*\)\."),
    ("test", r"Test again\."),
)
IF_NOT = "If not, "
OR_USE_IT = re.compile(r"Use it where \S+ is wanted; else (?P<else>.*)")
COMPILED = tuple((kind, re.compile(regex)) for kind, regex in INSTRUCTIONS)


def understood(sentence: str) -> tuple[str, "re.Match[str]"] | None:
    """Return the kind of an instruction and what it names; None when no expression knows it."""
    if sentence.startswith(IF_NOT):  # no plug is in an adapter that the user did not name
        sentence = sentence[len(IF_NOT) :][:1].upper() + sentence[len(IF_NOT) :][1:]
    other = OR_USE_IT.fullmatch(sentence)
    if other:
        sentence = other["else"][:1].upper() + other["else"][1:]
    for kind, regex in COMPILED:
        found = regex.fullmatch(sentence)
        if found:
            return kind, found
    return None
