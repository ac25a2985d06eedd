"""Every rule of who may do what holds, and its check fails when the rule is taken out."""

import inspect
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.phone import rules
from tests.phone.asking import Boat
from wiremap.phone import app, doors, guard, photos, wishes
from wiremap.phone.doors import Doors, Rates

Rule = Callable[[Boat], None]
RULES: dict[str, Rule] = {
    name: found
    for name, found in vars(rules).items()
    if inspect.isfunction(found) and found.__module__ == rules.__name__ and name != "jpeg"
}


@pytest.mark.parametrize("name", sorted(RULES))
def test_the_rule_holds(name: str, tmp_path: Path) -> None:
    """What the check says, is so."""
    RULES[name](Boat(tmp_path))


def _without(text: str, module: object, place: str, change: tuple[str, str]) -> Callable[[pytest.MonkeyPatch], None]:
    """Return what puts a function in the place of another, one piece of its source changed."""

    def patch(monkeypatch: pytest.MonkeyPatch) -> None:
        owner, _, name = place.rpartition(".")
        holder = getattr(module, owner) if owner else module
        import textwrap

        source = textwrap.dedent(inspect.getsource(getattr(holder, name)))
        assert change[0] in source, (text, change[0])
        space = dict(vars(module))
        exec(compile(source.replace(*change), str(text), "exec"), space)
        monkeypatch.setattr(holder, name, space[name])

    return patch


# rule -> the piece that is taken out: module, function, text, what stands in its place
TAKEN_OUT = [
    ("nothing_without_a_cookie", guard, "Guard._allowed", ("if phone is None:", "if False:")),
    ("a_secret_opens_once", doors, "Doors.enter", ('self._secret = ""', "pass")),
    ("a_secret_grows_old", doors, "Doors.enter", ("self._clock() - self._made_s < SECRET_S", "True")),
    ("guessing_is_slow", app, "Served.enter", ("ENTER_EACH, PER_S", "10**6, PER_S")),
    ("guessing_is_slow", app, "Served.enter", ("ENTER_ALL, PER_S", "10**6, PER_S")),
    ("only_hashes_are_kept", doors, "Doors.enter", ("phones[hashed(token)]", "phones[token]")),
    ("only_hashes_are_kept", doors, "Doors.enter", ("mode=0o600", "mode=0o644")),
    ("a_cookie_ends", doors, "Doors.knows", ("> self._clock()", "> 0.0")),
    ("a_cookie_is_kept_from_scripts", doors, "Doors.enter", ("HttpOnly; ", "")),
    ("a_cookie_is_kept_from_scripts", doors, "Doors.enter", ("SameSite=Strict; ", "")),
    ("a_cookie_is_kept_from_scripts", doors, "Doors.enter", ('"; Secure" if self._secure else ""', '""')),
    ("at_most_eight_phones", doors, "Doors.enter", ("while len(phones) >= MOST_PHONES", "while False")),
    ("only_its_own_host", guard, "Guard._allowed", ("_host(heads, self._here)", "pass")),
    (
        "only_its_own_origin",
        guard,
        "_post",
        ('if [value for name, value in heads if name == "origin"] not in', "if [] in"),
    ),
    ("only_the_same_site", guard, "_post", ('value != "same-origin"', "False")),
    ("no_simple_form", guard, "_post", ('if name == "content-type"] != [TYPES[path]]', "] == [TYPES[path]]")),
    ("nonsense_is_refused", wishes, "_read", ("type=kind", "type=kind, strict=False")),
    ("bodies_are_bounded", guard, "_bounded", ("if sum(map(len, parts)) > most:", "if False:")),
    ("bodies_are_bounded", guard, "_post", ("int(value) > LIMITS[path]", "False")),
    ("a_photo_is_a_whole_jpeg", photos, "check_photo", ("not content.endswith(JPEG_END)", "False")),
    ("no_picture_bomb", photos, "check_photo", ("width * height > MOST_PIXELS", "False")),
    ("asking_is_bounded", guard, "Guard._allowed", ("ASKS_MOST, ASKS_PER_S", "10**6, ASKS_PER_S")),
    ("asking_is_bounded", app, "Served.do", ("WISHES, PER_S", "10**6, PER_S")),
    ("asking_is_bounded", app, "Served.photo", ("PHOTOS, PER_S", "10**6, PER_S")),
    ("asking_is_bounded", guard, "Guard._allowed", ('elif method != "GET":', "elif False:")),
]
TAKEN_OUT[-1] = ("no_file_but_the_three", *TAKEN_OUT[-1][1:])


@pytest.mark.parametrize(("number"), range(len(TAKEN_OUT)))
def test_the_check_fails_without_the_rule(number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With its rule taken out, the check says so."""
    name, module, place, change = TAKEN_OUT[number]
    _without(name, module, place, change)(monkeypatch)
    with pytest.raises((AssertionError, TypeError, KeyError, TimeoutError)):
        RULES[name](Boat(tmp_path))


@pytest.mark.parametrize("head", sorted(guard.HEADERS))
def test_no_head_may_be_left_out(head: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each of the headers is looked for."""
    monkeypatch.delitem(guard.HEADERS, head)
    with pytest.raises(AssertionError):
        rules.answers_carry_their_heads(Boat(tmp_path))


def test_every_rule_but_files_is_taken_out_once() -> None:
    """No rule is without its counter-check."""
    assert set(RULES) - {name for name, *_ in TAKEN_OUT} == {"answers_carry_their_heads"}


def test_the_table_of_rates_is_bounded() -> None:
    """Many who ask once do not fill the memory, and who was there before goes on; later there is room again."""
    now = [0.0]
    rates = Rates(lambda: now[0])
    assert rates.allows("any", "phone", 100, 10.0)
    told = [rates.allows("any", f"guest {number}", 100, 10.0) for number in range(2 * doors.MOST_ASKING)]
    assert sum(told) == doors.MOST_ASKING - 1
    assert rates.allows("any", "phone", 100, 10.0)
    now[0] = 61.0
    assert rates.allows("any", "late", 100, 10.0)


def test_doors_that_cannot_be_read_are_refused(tmp_path: Path) -> None:
    """A file of cookies that is none is said, with what to do."""
    (tmp_path / "doors.json").write_text("[1, 2]", encoding="utf-8")
    with pytest.raises(ValueError, match="cannot be read"):
        Doors(tmp_path / "doors.json", 8712, False, lambda: 0.0)
