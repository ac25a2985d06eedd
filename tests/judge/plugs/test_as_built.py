"""Which end is wrong and where it says to look: cases by hand, symmetry, and how honest it is."""

import random
from collections import defaultdict

import pytest
from msgspec.structs import replace

from tests.judge.plugs.as_built_trials import (
    STRAIGHT,
    T568A,
    T568B,
    TIA,
    Drawn,
    Outcome,
    Tally,
    draw,
    draw_wrong,
    follow,
    ill_matched,
    random_cables,
    trial,
)
from tests.judge.plugs.straight_cables import HABITS, built, routes
from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import pattern
from wiremap.errors import UsageError
from wiremap.judge.plugs.as_built import as_built
from wiremap.judge.plugs.evidence import Evidence, Opened, read_off, seen_as
from wiremap.judge.plugs.found import Effort
from wiremap.judge.plugs.orders import (
    normaliser,
)

GOOD_PAIRS = (("1", "2"), ("3", "6"), ("4", "5"), ("7", "8"))


@pytest.mark.parametrize(
    "changed",
    [{4: 5, 5: 4}, {1: 2, 2: 1}, {4: 7, 5: 8, 7: 4, 8: 5}, {1: 3, 3: 1, 2: 6, 6: 2}, {n: 9 - n for n in range(1, 9)}],
)
def test_polarity_and_whole_pairs_are_either_end(changed: dict[int, int]) -> None:
    """A reversed pair or exchanged whole pairs are as likely at one end as at the other, even with pairs measured."""
    for pairs in ((), GOOD_PAIRS):
        found = built(Evidence(routes(changed), pairs=pairs))
        assert found.near_at_fault == pytest.approx(found.far_at_fault, abs=1e-9)
        assert found.wrong_end == "either"


def test_pairs_tell_the_end_of_a_conductor_that_left_its_pair() -> None:
    """With 3 and 4 exchanged the pairs seen from the near end say in which plug; without them nobody knows."""
    changed = routes({3: 4, 4: 3})
    assert built(Evidence(changed)).wrong_end == "either"
    assert built(Evidence(changed, pairs=GOOD_PAIRS)).wrong_end == "far"
    mixed = (("1", "2"), ("4", "6"), ("3", "5"), ("7", "8"))
    assert built(Evidence(changed, pairs=mixed)).wrong_end == "near"
    assert built(Evidence(changed, pairs=mixed, pairs_sure=False)).near_at_fault < 1.0


def test_the_same_habit_at_both_ends() -> None:
    """Straight through with pairs side by side: both plugs are wrong, in sequence the likeliest."""
    found = built(Evidence(routes(), pairs=(("1", "2"), ("3", "4"), ("5", "6"), ("7", "8"))))
    assert found.wrong_end == "both"
    assert {found.near_orders[0].known_as, found.far_orders[0].known_as} == {"in-sequence"}


def test_a_shifted_plug_is_found_with_its_empty_contact() -> None:
    """All moved by one: an order with an empty contact, at the end where the empty contact was found to be."""
    evidence = Evidence(routes({1: 0} | {n: n - 1 for n in range(2, 9)}))
    assert built(evidence).near_at_fault == pytest.approx(built(evidence).far_at_fault, abs=1e-6)
    placed = built(replace(evidence, opened=(Opened("near", "1", "near"),)))
    assert placed.wrong_end == "near"
    assert dict(placed.near_orders[0].conductors)["1"] is None
    assert placed.far_orders[0].known_as == "T568B"
    elsewhere = built(replace(evidence, opened=(Opened("near", "1", "far"),)))
    assert elsewhere.wrong_end == "far"
    assert dict(elsewhere.far_orders[0].conductors)["8"] is None


@pytest.mark.parametrize(("near_up", "far_up"), [(True, True), (True, False), (False, True), (False, False)])
def test_two_plugs_each_shifted_are_believed_possible(near_up: bool, far_up: bool) -> None:
    """Each plug shifted by itself, either way: once both are read it is settled, and two terminations are planned."""
    near, far = ((None, *T568B[:-1]) if up else (*T568B[1:], None) for up in (near_up, far_up))
    drawn = Drawn(T568B, near, far)
    bare = built(drawn.evidence(False))
    if near_up != far_up:  # alike in both, one conductor that is broken explains it better
        assert min(bare.near_at_fault, bare.far_at_fault) > 0.5
    reads = (tuple((c, name or "-") for c, name in zip("12345678", plug, strict=True)) for plug in (near, far))
    near_reads, far_reads = reads
    known = built(replace(drawn.evidence(False), near_reads=near_reads, far_reads=far_reads))
    assert (dict(known.near_now), dict(known.far_now)) == (
        dict(zip("12345678", near, strict=True)),
        dict(zip("12345678", far, strict=True)),
    )
    assert known.settled
    assert known.wrong_end == "both"
    assert known.near_orders[0].probability == pytest.approx(1.0)


def test_swapping_the_ends_mirrors_everything() -> None:
    """What is said of the near end of a cable is said of the far end of the same cable turned round."""
    choose = random.Random(3)
    for _ in range(25):
        drawn, evidence = draw_wrong(choose, HABITS, True)
        if len(evidence.routes) < 8:
            continue
        one, other = built(evidence), built(evidence.swapped())
        assert one.near_at_fault == pytest.approx(other.far_at_fault, abs=1e-9)
        assert one.far_at_fault == pytest.approx(other.near_at_fault, abs=1e-9)
        assert one.near_orders[0].probability == pytest.approx(other.far_orders[0].probability, abs=1e-9)
        assert drawn.near_wrong or drawn.far_wrong


def test_colours_settle_and_contradictions_are_refused() -> None:
    """Eight colours read off one plug settle both; what cannot be is refused with a hint, never believed."""
    evidence = Evidence(routes({4: 5, 5: 4}), near_reads=tuple(zip("12345678", T568B, strict=True)))
    found = built(evidence)
    assert found.settled
    assert found.wrong_end == "far"
    assert found.near_orders[0].known_as == "T568B"
    assert found.far_orders[0].differs == ("4", "5")
    assert found.far_orders[0].probability == pytest.approx(1.0)
    with pytest.raises(UsageError, match="does not fit") as refused:
        built(Evidence(routes({4: 5, 5: 4}), sound=("near", "far")))
    assert "Look again" in refused.value.hint


def test_a_sound_end_leaves_the_other() -> None:
    """An end declared sound is right for certain, and the other has the fault."""
    found = built(Evidence(routes({4: 5, 5: 4}), sound=("near",)))
    assert found.near_at_fault == pytest.approx(0.0, abs=1e-12)
    assert found.far_at_fault == pytest.approx(1.0, abs=1e-12)


def test_a_break_at_an_end_is_that_ends_fault() -> None:
    """An end where an open or a short was placed is at fault whatever its order; one nobody placed is shared out."""
    evidence = Evidence(routes({3: 0}))
    assert built(evidence, breaks=("near",)).near_at_fault == pytest.approx(1.0)
    shared = built(evidence, breaks=(None,))
    assert HABITS.place("near") <= shared.near_at_fault < 1.0
    in_run = built(evidence, breaks=("run",))
    assert in_run.near_at_fault == pytest.approx(built(evidence).near_at_fault)


def test_where_to_look_weighs_the_minutes() -> None:
    """The next look is where most bits are to be had for the time; a closed end is never asked for."""
    evidence = Evidence(routes({4: 5, 5: 4}))
    near = built(evidence).next_look
    assert near is not None
    assert near.end == "near"
    assert near.bits > 0.9
    far = built(evidence, effort=Effort(near_minutes=60.0, far_minutes=2.0)).next_look
    closed = built(evidence, effort=Effort(near_minutes=None)).next_look
    assert far is not None
    assert closed is not None
    assert far.end == closed.end == "far"
    assert built(evidence, effort=Effort(None, None)).next_look is None


def test_bits_are_the_entropy_of_what_is_seen() -> None:
    """A look tells as many bits as its colours are uncertain: never more than three, and none for what was read."""
    choose = random.Random(8)
    for drawn in random_cables(9, 6):
        evidence = drawn.evidence(choose.random() < 0.5)
        found = built(evidence)
        if found.next_look is not None:
            assert 0.0 < found.next_look.bits <= 3.0
            assert follow(drawn, evidence, found, HABITS, nothing()) <= 7


def nothing() -> Outcome:
    """Return an outcome with nothing in it."""
    return Outcome(Tally.empty(), Tally.empty(), defaultdict(int), 0, 0, 0, 0)


def test_any_order_at_all_settles_in_four_looks_or_seven() -> None:
    """However two plugs are wired, four looks settle it with the pairs known and seven without."""
    for drawn in random_cables(2, 12):
        for pairing, most in ((True, 4), (False, 7)):
            evidence = drawn.evidence(pairing)
            assert follow(drawn, evidence, built(evidence), HABITS, nothing()) <= most


def test_chances_are_honest() -> None:
    """Of cables drawn from the prior, of those given a chance p a share p is so, as far as 400 cables can show."""
    outcome = trial(11, 400, HABITS, HABITS)
    for tally in (outcome.ends, outcome.orders):
        for decile, count, said, true, sd in tally.off():
            assert abs(said - true) <= max(0.02, 4 * sd), (decile, count, said, true)
    assert outcome.unsettled == 0
    assert outcome.named_right >= 0.99 * outcome.named > 0
    assert sum(count for looks, count in outcome.looks.items() if looks <= 3) >= 0.985 * 400


def test_the_wrong_end_is_named_whenever_pairs_show_it() -> None:
    """When the near plug keeps its pairs and the far does not, or the other way round, that end is named as wrong."""
    choose = random.Random(21)
    seen = 0
    while seen < 40:
        drawn = draw(choose, HABITS)
        if None in drawn.near or None in drawn.far or drawn.broken:
            continue
        keeps = [keeps_pairs(drawn.near), keeps_pairs(drawn.far)]
        if keeps[0] == keeps[1]:
            continue
        seen += 1
        found = built(drawn.evidence(True))
        at_fault = found.far_at_fault if keeps[0] else found.near_at_fault
        assert at_fault > 0.99
        assert found.wrong_end in ("far" if keeps[0] else "near", "both", "either")
        assert found.wrong_end != "either" or min(found.near_at_fault, found.far_at_fault) >= 0.5


def keeps_pairs(order: tuple[str | None, ...]) -> bool:
    """Whether every contact pair of a plug holds two conductors twisted together."""
    pairs = ((0, 1), (2, 5), (3, 4), (6, 7))
    return all(str(order[a]).removeprefix("white-") == str(order[b]).removeprefix("white-") for a, b in pairs)


def test_an_ill_matched_prior_degrades_gracefully() -> None:
    """Case with another workshop's habits, ends named as wrong are still right, and looking still settles."""
    outcome = trial(12, 100, HABITS, ill_matched(HABITS))
    assert outcome.unsettled == 0
    assert outcome.named_right >= 0.97 * outcome.named > 0
    assert max(outcome.looks) <= 7


def test_whites_that_look_alike_are_not_told_apart() -> None:
    """With plain white mates a look at one says only that it is white, and no look is wasted on telling them apart."""
    plain = colour_set("plain-white")
    assert seen_as(plain, "white", plain.names) == {"white-blue", "white-orange", "white-green", "white-brown"}
    assert seen_as(plain, "white-blue", plain.names) == seen_as(plain, "white", plain.names)
    evidence = Evidence(routes({1: 3, 3: 1}), near_reads=(("1", "white"),))
    found = as_built(STRAIGHT, plain, evidence, 8)
    assert found is not None
    assert found.next_look is None or found.next_look.contact != "1"


def test_words_read_off_a_plug() -> None:
    """Colours are read as contact=colour; a wrong contact, one twice, or an unknown colour is refused by name."""
    plug = STRAIGHT.near_connector
    assert read_off("1=white-orange, 4=blue,8=-", plug) == (("1", "white-orange"), ("4", "blue"), ("8", "-"))
    for text in ("9=blue", "1=blue,1=green", "1", "1="):
        with pytest.raises(UsageError, match="cannot be used"):
            read_off(text, plug)
    with pytest.raises(UsageError, match="no conductor 'pink'"):
        built(Evidence(routes({4: 5, 5: 4}), near_reads=(("1", "pink"),)))


def test_nothing_arrives_and_unknown_cables() -> None:
    """A cable of which nothing arrives still has likely orders; one whose usual orders nobody knows has none."""
    found = built(Evidence(()))
    assert found.near_orders[0].known_as == "T568B"
    assert as_built(pattern("t1-crossover"), TIA, Evidence((("1", "4"),)), 4) is None
    assert as_built(pattern("loopback-100"), TIA, Evidence(()), 8) is None


def test_drawn_cables_are_what_the_prior_says() -> None:
    """Cables drawn for these tests have right plugs as often as the prior says, so the trials test what they claim."""
    choose = random.Random(4)
    drawn = [draw(choose, HABITS) for _ in range(3000)]
    right = sum(cable.near == cable.intended for cable in drawn) / len(drawn)
    at_b = sum(cable.intended == T568B for cable in drawn) / len(drawn)
    expected = (1 - HABITS.habit) * (1 - HABITS.flat) * HABITS.right / normaliser(8, 8, HABITS.theta)
    assert right == pytest.approx(expected, abs=0.03)
    assert at_b == pytest.approx(0.7, abs=0.03)
    assert Drawn(T568A, T568A, T568B).far_wrong
