"""What was read off the plugs and cannot be: refused with the two things that contradict each other."""

import pytest

from tests.judge.plugs.as_built_trials import CONTACTS, STRAIGHT, T568A, T568B, TIA
from wiremap.cable.mistakes import EMPTY
from wiremap.cable.terminations import termination
from wiremap.errors import UsageError
from wiremap.judge.plugs.as_built import as_built
from wiremap.judge.plugs.evidence import Evidence, Reads, as_ordered

Groups = tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]
WHOLE = tuple((contact, contact) for contact in CONTACTS)
EXCHANGED = tuple((a, {"4": "5", "5": "4"}.get(a, a)) for a in CONTACTS)


@pytest.mark.parametrize(
    ("evidence", "said"),
    [
        (Evidence(EXCHANGED, near_reads=(("4", EMPTY),)), "near 4 was seen as empty, yet near 4 is joined to far 5"),
        (
            Evidence(WHOLE[2:], ((("1", "2"), ("1", "2")),), near_reads=(("1", EMPTY), ("2", EMPTY))),
            "near 1 was seen as empty, yet it is joined to far 1, 2",
        ),
        (
            Evidence(EXCHANGED, near_reads=(("1", "blue"), ("4", "blue"))),
            "near 1 and near 4 were both seen as blue, of which the cable has one",
        ),
        (
            Evidence(EXCHANGED, near_reads=(("4", "blue"),), far_reads=(("5", "brown"),)),
            "near 4 was seen as blue and far 5 as brown, yet one conductor joins them",
        ),
        (
            Evidence(EXCHANGED, near_reads=(("4", "blue"),), far_reads=(("4", "blue"),)),
            "near 4 was seen as blue and far 4 as blue, yet near 4 is joined to far 5",
        ),
        (Evidence(EXCHANGED, sound=("near", "far")), "with the near and far plug as intended no order"),
    ],
    ids=["joined", "shorted", "twice", "one-conductor", "two-conductors", "sound"],
)
def test_what_contradicts_is_said(evidence: Evidence, said: str) -> None:
    """An answer that cannot be is refused with the two things that cannot both be so."""
    with pytest.raises(UsageError) as refused:
        as_built(STRAIGHT, TIA, evidence, 8)
    assert said in refused.value.what


def test_a_colour_other_than_the_stated_order_is_refused_with_both() -> None:
    """A near order that was stated and a colour read off that plug must agree; else both are named."""
    order = termination("T568B")
    with pytest.raises(UsageError) as refused:
        as_ordered(order, (("1", "white-green"),), TIA)
    assert refused.value.what == "contact 1 was seen as white-green, where T568B has white-orange"
    agreeing: Reads = (("1", "white-orange"), ("4", "blue"))
    assert as_ordered(order, agreeing, TIA) == order.conductors


def test_an_empty_contact_does_not_contradict_the_stated_order() -> None:
    """A plug made as T568B of which a contact is seen to be empty is that order with an empty contact."""
    found = dict(as_ordered(termination("T568B"), (("5", EMPTY),), TIA))
    assert found.pop("5") == EMPTY
    assert found == {contact: name for contact, name in zip(CONTACTS, T568B, strict=True) if contact != "5"}


@pytest.mark.parametrize(
    ("groups", "reads"),
    [
        (((("4", "5"), ("4",)),), (("5", EMPTY),)),
        (((("4", "5"), ("4", "5")),), (("5", EMPTY),)),
        (((("4", "5"), ()),), (("4", EMPTY), ("5", EMPTY))),
        (((("4", "5"), ("4",)),), (("5", EMPTY), ("4", "blue"))),
    ],
    ids=["strand-to-empty", "both-plugs", "offcut-between-empty", "and-a-colour"],
)
def test_an_empty_contact_in_a_short_is_believed(groups: Groups, reads: Reads) -> None:
    """A strand may join an empty contact to its neighbour: that plug is then at fault, and holds nothing there."""
    routes = tuple((contact, contact) for contact in CONTACTS if contact not in ("4", "5"))
    found = as_built(STRAIGHT, TIA, Evidence(routes, groups, near_reads=reads), 8)
    assert found is not None
    assert found.near_at_fault == 1.0
    assert dict(found.near_now)["5"] is None
    assert all(dict(order.conductors)["5"] is None for order in found.near_orders)


@pytest.mark.parametrize("order", [T568A, T568B], ids=["T568A", "T568B"])
def test_no_truthful_answer_contradicts(order: tuple[str, ...]) -> None:
    """Both plugs read in full as they are, whichever standard they are, are never refused."""
    reads = tuple(zip(CONTACTS, order, strict=True))
    turned = tuple((contact, order[8 - int(contact)]) for contact in CONTACTS)
    evidence = Evidence(tuple((a, str(9 - int(a))) for a in CONTACTS), near_reads=reads, far_reads=turned)
    found = as_built(STRAIGHT, TIA, evidence, 8)
    assert found is not None
    assert found.wrong_end == "far"
