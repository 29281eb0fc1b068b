"""Times as they are said, and sentences about timers: what they mean, and when they are listened for."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.hear.alike import twins
from benchvoice.records import Context, SpokenValue, WorkIntent
from benchvoice.spelling import spell_number
from benchvoice.understand.durations import LONGEST_S, duration_said, read_duration
from benchvoice.understand.templates import sample
from benchvoice.understand.typed import WrittenNames, normalise
from tests.understand.boards import POINTS, english, grammar, parser

TIMES = [
    ("ninety seconds", 90),
    ("one second", 1),
    ("fifteen minutes", 900),
    ("fifty minutes", 3000),
    ("one minute thirty seconds", 90),
    ("two hours", 7200),
    ("one hour thirty minutes five seconds", 5405),
    ("twenty four hours", LONGEST_S),
]


@pytest.mark.parametrize(("text", "seconds"), TIMES)
def test_a_time(text: str, seconds: int) -> None:
    assert read_duration(tuple(text.split()), english()) == (seconds, "")


NONE = [
    ("", "hours, minutes or seconds were not said"),
    ("five", "hours, minutes or seconds were not said"),
    ("one minute thirty", "hours, minutes or seconds were not said"),
    ("minutes", "the number was not said"),
    ("banana minutes", "'banana' is no whole number"),
    ("one point five hours", "'one point five' is no whole number"),
    ("minus five minutes", "'minus five' is no whole number"),
    ("three three minutes", "'three three' is no whole number"),
    ("two thirty minutes", "'two thirty' is no whole number"),  # 2:30, or 230?
    ("thirty seconds one minute", "the larger unit comes first"),
    ("one minute one minute", "the larger unit comes first"),
    ("zero minutes", "a timer runs from one second to one day"),
    ("twenty five hours", "a timer runs from one second to one day"),
]


@pytest.mark.parametrize(("text", "why"), NONE)
def test_no_time(text: str, why: str) -> None:
    assert read_duration(tuple(text.split()), english()) == (0, why)


@given(st.integers(0, 23), st.integers(0, 59), st.integers(0, 59))
def test_every_time_is_read_as_it_is_spelled(hours: int, minutes: int, seconds: int) -> None:
    parts = ((hours, "hour"), (minutes, "minute"), (seconds, "second"))
    said = [f"{spell_number(str(n))} {unit}{'' if n == 1 else 's'}" for n, unit in parts if n]
    total = hours * 3600 + minutes * 60 + seconds
    assert read_duration(tuple(" ".join(said).split()), english()).seconds == total


@given(st.integers(0, 2**32))
def test_what_is_listened_for_is_read(seed: int) -> None:
    said = sample(duration_said(english()), random.Random(seed))
    tags = {tag.kind: tag.text for tag in said.tags}
    wanted = int(tags["digits"]) * {"h": 3600, "min": 60, "s": 1}[tags["unit"]]
    assert read_duration(tuple(said.text.split()), english()).seconds == wanted


@given(st.text(max_size=40))
def test_any_words_are_a_time_or_refused_with_a_reason(text: str) -> None:
    found = read_duration(tuple(text.split()), english())
    assert bool(found.seconds) != bool(found.why)


def timer(name: str, seconds: int) -> WorkIntent:
    return WorkIntent("timer", text=name, value=SpokenValue(str(seconds), "s", unit_said=True))


UNDERSTOOD = [
    ("timer five minutes", timer("", 300)),
    ("discharge timer ten seconds", timer("discharge timer", 10)),
    ("soak test timer two hours", timer("soak test timer", 7200)),
    ("Soak timer for 1 hour 30 minutes.", timer("soak test timer", 5400)),
    ("set a cool down timer for 90 seconds", timer("cool down timer", 90)),
    ("timer 5 min", timer("", 300)),
    ("stop the timer", WorkIntent("timer stop")),
    ("cancel the soak timer", WorkIntent("timer stop", text="soak test timer")),
    ("stop the discharge timer", WorkIntent("timer stop", text="discharge timer")),
    ("time remaining", WorkIntent("timers")),
    ("How long is left?", WorkIntent("timers")),
]


@pytest.mark.parametrize(("text", "intent"), UNDERSTOOD)
def test_understood(text: str, intent: WorkIntent) -> None:
    words = normalise(text.rstrip("?"), english(), WrittenNames(POINTS))
    assert parser().parse(words, Context()).intents == (intent,)


def test_a_time_that_is_none_is_refused_with_the_reason() -> None:
    parse = parser().parse("timer five", Context())
    assert (parse.intents, parse.why, parse.tried) == ((), "hours, minutes or seconds were not said", True)


HEARD = [
    (Context(), "timer five minutes", True),
    (Context(), "timer one minute", True),
    (Context(), "timer one minutes", False),
    (Context(), "timer ninety one seconds", False),
    (Context(), "soak timer five minutes", False),  # too near to "timer five minutes": typed alone
    (Context(), "timer five", False),
    (Context(), "stop the timer", False),  # while none runs it would be a rival for nothing
    (Context(), "time remaining", False),
    (Context(timing=True), "stop the timer", True),
    (Context(timing=True), "stop the cool down timer", True),
    (Context(timing=True), "time remaining", True),
    (Context(listening=False), "timer five minutes", False),
]


@pytest.mark.parametrize(("context", "text", "can"), HEARD)
def test_what_is_listened_for(context: Context, text: str, can: bool) -> None:
    assert grammar().network(context).accepts(text) is can


def test_a_teen_has_its_ten_for_a_twin() -> None:
    """So that it is asked about as a value would be."""
    assert twins(grammar().network(Context()), "timer fifteen minutes") == ("timer fifty minutes",)
