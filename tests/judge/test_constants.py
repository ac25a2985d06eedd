"""Thresholds of judging are data with a reason; of each number that still stands in its code a list says what it is."""

import ast
from collections.abc import Iterator
from pathlib import Path

import wiremap.judge

ROOM = Path(wiremap.judge.__file__).parent
IN_CODE = {
    # the grids and tables that results are worked out on; a finer one says the same
    "CURVE_LENGTHS_M": "grid",
    "SHAPE_LENGTHS_M": "grid",
    "BREAK_SHARES": "grid",
    "FINE": "grid",
    "JITTERS": "grid",
    "STEP_S": "grid",
    "SAMPLE_COUNT": "grid",
    "QUANTILE_POINTS": "grid",
    "FAINT": "all hypotheses below it together move no shown digit of a quantile",
    "REACH": "grid",
    "BEFORE_S": "grid",
    "DAMPING": "grid",
    "FRACTION_TERMS": "grid",
    "LEAST_OHM_PER_M": "so far echoes are worked out",
    "MOST_OHM_PER_M": "so far echoes are worked out",
    "MOST_SMALL_ORDERS": "work done at most",
    "MOST_SHIFT_CHOICES": "work done at most",
    "MOST_ARRANGED": "how many orders are written out, bounds time",
    "MOST_CONDUCTORS": "work done at most",
    "LARGEST_SET": "work done at most",
    "LARGEST_STEP": "of an echo: no passive end makes a larger one",
    "LEAST_CONTACTS": "of the smallest cable whose set-up is guessed, one with two pairs",
    "FULL": "contacts of the largest plug whose every order is tabled",
    "NEGLIGIBLE": "all chances below it together change no shown digit",
    "TIE_PF": "rounding",
    "TINY_PF": "rounding",
    "ORDERS_LISTED": "length of a list that is shown",
    "ADDED_UP": "how many rows are added up, bounds time",
    # mathematics, physics, units, versions
    "LOGISTIC": "mathematics",
    "QUANTITY_ROWS": "mathematics",
    "FLAT_MEAN": "of a length before anything is measured: so wide that it does not matter",
    "FLAT_U": "of a length before anything is measured: so wide that it does not matter",
    "TO_95": "mathematics",
    "TAIL": "all chances below it together change no shown digit",
    "MOST_CHANCE": "length of a list that is shown",
    "USUAL_C": "where resistances are stated",
    "MU_0": "physics",
    "SECONDS_PER_YEAR": "unit",
    "COVERED": "the 95 % interval that is named everywhere",
    "NONE": "index of nothing",
    "LOOP": "conductors of a loop",
    "END_SIGNS": "what sign an end's echo has",
    "FORMAT": "version",
    "JUDGING": "version",
    # the tester's own step and what follows from it: the shape that an echo is compared with
    "RISE_S": "the tester's step",
    "FALL_SPREAD": "how widely a trace is looked at, so far that loss rounds a step",
    "SIGMA_S": "the tester's step",
    "RISE_PS": "the tester's step",
    "WINDOW_PS": "the tester's step",
    "REFERENCE_HZ": "where a velocity factor is stated",
    "PLATEAU_S": "reading a trace",
    "PLATEAU_PART": "reading a trace",
    # making a calibration, which a reading then carries
    "MOST_EMPTY_PF": "calibrating",
    "SHORTEST_M": "calibrating",
    "MOST_RESISTANCE_U": "calibrating",
    "GAIN_LEFT_U": "calibrating",
    "MOST_SIGMAS": "teaching a kind, whose figures the rules then carry",
    "TEMPERATURE_U_K": "teaching a kind, whose figures the rules then carry",
    "MOST_LENGTH_U": "teaching a kind, whose figures the rules then carry",
    "LEAST_TAUGHT_M": "teaching a kind, whose figures the rules then carry",
    "LEAST_WEIGHT": "teaching a kind, whose figures the rules then carry",
    # advice, which no verdict depends on
    "MINUTES": "advice",
    "COLD_C": "where resistances are stated",
    "MOST_LOOK_MINUTES": "advice",
    "CLOSED_MINUTES": "advice",
    "PLUG_MINUTES": "advice",
    "RIGHT_PLUG_MINUTES": "advice",
    "WITHIN_M": "advice",
    "WITHIN_RATIO": "advice",
}


def is_number(node: ast.AST) -> bool:
    """Whether a node of a syntax tree is a number as it is written."""
    return isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool)


def named_numbers(tree: ast.Module) -> Iterator[str]:
    """Give the names that a module gives to numbers, or to what numbers are in."""
    for statement in tree.body:
        if isinstance(statement, ast.Assign):
            targets, value = statement.targets, statement.value
        elif isinstance(statement, ast.AnnAssign) and statement.value is not None:
            targets, value = [statement.target], statement.value
        else:
            continue
        if any(is_number(node) for node in ast.walk(value)):
            yield from (node.id for target in targets for node in ast.walk(target) if isinstance(node, ast.Name))


def compared_fractions(tree: ast.Module) -> Iterator[float]:
    """Give the fractions that something is compared with outright; a half is the middle, whole numbers are bounds."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            for side in (node.left, *node.comparators):
                if (
                    isinstance(side, ast.Constant)
                    and isinstance(side.value, float)
                    and not (2 * side.value).is_integer()
                ):
                    yield side.value


def test_every_number_in_the_code_is_accounted_for() -> None:
    """Every number that judging names is in limits.toml or habits.toml, or in the list above; none there is gone."""
    found = {name for path in ROOM.rglob("*.py") for name in named_numbers(ast.parse(path.read_text(encoding="utf-8")))}
    assert found - set(IN_CODE) == set()
    assert set(IN_CODE) - found == set()


def test_judging_takes_materials_and_remotes_from_its_limits() -> None:
    """What a record carries is what is judged by: the sets that ship are named only where advice is made."""
    shipped = {"materials", "remote_set", "limits"}
    for path in [*(ROOM / "wiring").rglob("*.py"), *(ROOM / "run").rglob("*.py")]:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        called = {
            node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert called & shipped == set(), path.name


def test_nothing_is_compared_with_a_fraction_that_has_no_name() -> None:
    """A threshold written into a comparison has neither name nor reason."""
    for path in ROOM.rglob("*.py"):
        assert list(compared_fractions(ast.parse(path.read_text(encoding="utf-8")))) == [], path.name


def test_a_threshold_in_code_is_seen() -> None:
    """A new threshold is found, whether it has a name or none."""
    tree = ast.parse("A_LIMIT: float = 3.0\nB, C = 1.0, (2, 3)\nD = 'x'\ndef f(x):\n    return x > 0.7 or x > 0.5\n")
    assert list(named_numbers(tree)) == ["A_LIMIT", "B", "C"]
    assert list(compared_fractions(tree)) == [0.7]
