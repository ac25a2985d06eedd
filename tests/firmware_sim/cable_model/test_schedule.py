from hypothesis import given, settings
from hypothesis import strategies as st

from firmware_sim.cable_model.laid_out.schedule import timeline
from firmware_sim.cable_model.written.when import When

TENTHS = st.integers(0, 40).map(lambda tenth: tenth / 10)


@st.composite
def whens(draw: st.DrawFn) -> When:
    """Draw a fault's times, in tenths of a second."""
    from_s = draw(TENTHS)
    if draw(st.booleans()):
        every_s = draw(st.integers(2, 12)) / 10
        return When(from_s, draw(st.integers(1, round(every_s * 10) - 1)) / 10, every_s)
    return When(from_s, draw(st.none() | st.integers(1, 30).map(lambda tenth: tenth / 10)), None)


def there(when: When, at_us: int) -> bool:
    """Whether a fault is there, straight from the words: from, for, every; microseconds are exact."""
    since = at_us - round(when.from_s * 1e6)
    if since < 0:
        return False
    if when.every_s is not None:
        since %= round(when.every_s * 1e6)
    return when.for_s is None or since < round(when.for_s * 1e6)


@given(st.lists(whens(), max_size=4), st.integers(0, 80))
@settings(deadline=None, derandomize=True, database=None, max_examples=300)
def test_timeline_says_what_the_words_say(faults: list[When], tenth: int) -> None:
    """At any moment the faults in the timeline are those whose words say so, periods and single spells mixed."""
    at_us = tenth * 100_000 + 50_000
    times = timeline(faults, horizon_s=20.0)
    # A spell of a periodic timeline may have begun before its first round: look one period later then.
    moment = at_us % times.period_us if times.period_us else at_us
    active = [state for from_us, state in times.entries if from_us <= moment][-1]
    expected = frozenset(number for number, when in enumerate(faults) if there(when, at_us))
    if times.period_us and at_us < max((round(when.from_s * 1e6) for when in faults), default=0):
        expected = frozenset(number for number, when in enumerate(faults) if there(when, at_us + times.period_us * 40))
    assert active == expected


def test_steady_faults_make_one_entry() -> None:
    """Faults that are there from the start and for good need one entry and no period."""
    times = timeline([When(), When()])
    assert times.entries == ((0, frozenset({0, 1})),)
    assert times.period_us is None


def test_periods_meet_in_their_common_multiple() -> None:
    """Faults every 0.4 s and every 0.6 s repeat together every 1.2 s."""
    assert timeline([When(0.1, 0.1, 0.4), When(0.0, 0.2, 0.6)]).period_us == 1_200_000


def test_entries_are_in_order_and_differ() -> None:
    """Entries begin at 0, rise, and each differs from the one before."""
    times = timeline([When(0.5, 0.5), When(1.0, 0.25, 2.0), When(1.0)], horizon_s=30.0)
    moments = [from_us for from_us, _ in times.entries]
    assert moments[0] == 0
    assert moments == sorted(set(moments))
    assert all(a != b for (_, a), (_, b) in zip(times.entries, times.entries[1:], strict=False))
