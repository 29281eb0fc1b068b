"""What sounds nearly like what was heard: asked where it matters, with both values; taken where it does not."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from benchvoice.decide.turn import Step
from benchvoice.events import Reworked
from benchvoice.records import Intent, Outcome, Parse, SpokenValue, Thing, Trust, WorkIntent
from tests.decide.builders import BOARD, answer, command, go_to, hearing, reading, value
from tests.decide.test_session import Bench, offered

ACCEPTED, ASKED = Outcome.ACCEPTED, Outcome.ASKED


@pytest.fixture
def bench() -> Bench:
    return Bench()


def hear(bench: Bench, heard: Any, *twins: Any, unlikely: int = 0) -> Step:
    """One utterance heard beyond doubt, but for its twins, of which the first so many are unlikely on a second look."""
    bench.seconds += 4
    alike = tuple(Parse(f"twin {number}", (twin,)) for number, twin in enumerate(twins))
    utterance = hearing(heard, after_s=bench.seconds)
    texts = tuple(parse.text for parse in alike)
    transcript = replace(utterance.transcript, twins=texts, unlikely=texts[:unlikely])
    return bench.take(replace(utterance, transcript=transcript, twins=alike))


@pytest.mark.parametrize(
    ("heard", "twin", "outcome"),
    [
        # (within limits, twin is not): most readings pass, so what passes was said
        (reading("input", "24.0"), reading("input", "23.80"), ASKED),  # both pass: nothing tells them apart
        (reading("input", "24.0"), reading("input", "40.0"), ACCEPTED),
        (reading("input", "40.0"), reading("input", "24.0"), ASKED),
        (reading("input", "13"), reading("input", "30"), ASKED),  # both fail: the record would hold a wrong value
        (reading("input", "7.0"), reading("input", "7.00"), ACCEPTED),  # the same number, judged the same
        (reading("input", "7.0"), reading("input", "7.000"), ACCEPTED),
        (reading("input", "7.0"), reading("input", "7.01"), ASKED),
        (reading("input", "7.0"), reading("probe", "7.00"), ASKED),
        (reading("rail 5", "5.15"), reading("rail 5", "500"), ACCEPTED),  # absurd: nobody said that
        (reading("probe", "13"), reading("probe", "30"), ASKED),  # no limits to tell by
        (reading("input", "24"), reading("input", "24"), ACCEPTED),  # the same in other words
        (reading("rail 5", "5.0"), reading("input", "5.0"), ASKED),  # two names that sound alike
        (go_to("rail 5"), go_to("input"), ASKED),
        (go_to("rail 5"), reading("rail 5", "5.0"), ACCEPTED),  # no twins: one names a point, the other measures
    ],
)
def test_a_twin_is_asked_where_it_matters(bench: Bench, heard: Intent, twin: Intent, outcome: Outcome) -> None:
    done = hear(bench, heard, twin)
    assert done.decision.outcome is outcome
    assert len(done.decision.candidates) == (2 if outcome is ASKED else 0)


@pytest.mark.parametrize(
    ("heard", "twin", "outcome"),
    [
        # the nominal value of the input is 24 V
        (reading("input", "24.0"), reading("input", "23.80"), ACCEPTED),
        (reading("input", "23.80"), reading("input", "24.0"), ASKED),  # the twin is the more usual value
        (reading("input", "30"), reading("input", "13"), ACCEPTED),
        (reading("input", "13"), reading("input", "30"), ASKED),
        (reading("input", "18"), reading("input", "30"), ASKED),  # as far off
        (reading("input", "24.0"), reading("rail 5", "5.0"), ASKED),  # another point
        (reading("probe", "13"), reading("probe", "30"), ASKED),  # without a nominal value
        (command("correction", of=value("13")), command("correction", of=value("30")), ASKED),
        (go_to("rail 5"), go_to("input"), ASKED),
    ],
)
def test_a_twin_that_is_unlikely_is_asked_only_where_it_is_the_more_usual_value(
    bench: Bench, heard: Intent, twin: Intent, outcome: Outcome
) -> None:
    hear(bench, reading("input", "24.2"))
    assert hear(bench, heard, twin, unlikely=1).decision.outcome is outcome


@pytest.mark.parametrize(
    ("limits", "heard", "twin", "outcome"),
    [
        ("{low: 20 V, high: 80 V}", "17", "70", ASKED),  # farther off, but it passes
        ("{low: 20 V, high: 60 V}", "17", "70", ACCEPTED),
        ("{low: 20 V}", "15", "50", ASKED),
        ("{low: 15 V}", "15.2", "50", ACCEPTED),  # both pass
    ],
)
def test_a_twin_that_passes_is_asked_however_far_off_it_is(
    limits: str, heard: str, twin: str, outcome: Outcome
) -> None:
    bench = Bench(
        BOARD.replace("    nominal: 24 V\n    tolerance: 10 %\n", f"    nominal: 24 V\n    limits: {limits}\n")
    )
    done = hear(bench, reading("input", heard), reading("input", twin), unlikely=1)
    assert done.decision.outcome is outcome


def test_a_twin_beside_one_that_is_unlikely_is_asked(bench: Bench) -> None:
    done = hear(bench, reading("input", "30"), reading("input", "13"), reading("input", "20"), unlikely=1)
    assert offered(done) == ["input: 30 V", "input: 20 V"]


def test_both_are_offered_what_was_heard_first(bench: Bench) -> None:
    done = hear(bench, reading("input", "50"), reading("input", "15"))
    assert offered(done) == ["input: 50 V", "input: 15 V"]
    assert done.decision.why == "sounds like fifteen"
    assert bench.values() == []
    assert hear(bench, answer("second")).decision.outcome is ACCEPTED
    assert bench.values() == [("input", "15")]


def test_the_value_said_once_more_in_the_same_way_settles_nothing(bench: Bench) -> None:
    hear(bench, reading("input", "50"), reading("input", "15"))
    again = hear(bench, reading(None, "50"), reading(None, "15"))
    assert again.decision.outcome is ASKED
    assert offered(again) == ["input: 50 V", "input: 15 V"]
    settled = hear(bench, reading(None, "15"))  # "one five": nothing sounds like that
    assert settled.decision.outcome is ACCEPTED
    assert bench.values() == [("input", "15")]


def test_what_is_absurd_is_offered_after_its_twin(bench: Bench) -> None:
    done = hear(bench, reading("input", "600"), reading("input", "16"))  # the meter's ranges end at 60 V
    assert offered(done) == ["input: 16 V", "input: 600 V"]
    alone = hear(bench, answer("second"))
    assert offered(alone) == ["input: 600 V"]
    assert alone.decision.why.startswith("absurd")


def test_a_correction_has_twins_too(bench: Bench) -> None:
    hear(bench, reading("input", "24.0"))
    done = hear(bench, command("correction", of=value("13")), command("correction", of=value("30")))
    assert done.decision.outcome is ASKED
    assert offered(done) == ["input: 13 V", "input: 30 V"]
    assert bench.values() == [("input", "24.0")]


def test_a_meter_tells_how_near_a_limit_is_too_near() -> None:
    bench = Bench(BOARD)
    assert hear(bench, reading("input", "21.5"), reading("input", "26.5")).decision.outcome is ASKED


NARROW = BOARD.replace("    nominal: 24 V\n    tolerance: 10 %\n", "    limits: {low: 23.97 V, high: 26 V}\n")
"""24.00 is within its limits for certain, 24.0 but for what the digit that was not said leaves open."""


@pytest.mark.parametrize(
    ("text", "digits", "said", "asked"),
    [
        ("input is twenty four volts oh", "24.0", True, True),  # a voice's "oh oh" was heard so
        ("input is twenty four volts oh oh", "24.00", True, False),
        ("input is twenty four point oh", "24.0", False, False),  # the usual way to say it
        ("input is twenty four point oh volts", "24.0", True, False),
        ("input is twenty four volts five", "24.5", True, False),
    ],
)
def test_a_last_nought_behind_the_unit_may_have_been_said_twice(
    text: str, digits: str, said: bool, asked: bool
) -> None:
    bench = Bench(NARROW, meter=None)
    bench.seconds += 4
    done = bench.take(hearing(reading("input", digits, said=said), text=text, after_s=bench.seconds))
    assert done.decision.outcome is (ASKED if asked else ACCEPTED)
    if asked:
        assert offered(done) == ["input: 24.0 V", "input: 24.00 V"]
        bench.seconds += 4
        again = bench.take(
            hearing(reading(None, "24.0", said=True), text="twenty four volts oh", after_s=bench.seconds)
        )
        assert again.decision.outcome is ASKED  # said again it sounds the same again
        assert hear(bench, answer("second")).decision.outcome is ACCEPTED
        assert bench.values() == [("input", "24.00")]


def test_a_last_nought_that_changes_nothing_is_not_asked(bench: Bench) -> None:
    done = bench.take(hearing(reading("input", "24.0", said=True), text="input is twenty four volts oh", after_s=4))
    assert done.decision.outcome is ACCEPTED
    assert bench.values() == [("input", "24.0")]  # not 24.00: a digit that may not have been said is not claimed


@pytest.mark.parametrize(
    ("heard", "others", "taken"),
    [
        ("7.00", ["7.0"], "7.0"),
        ("7.0", ["7.00"], "7.0"),
        ("7.00", ["7.0", "7"], "7"),
        ("24.00", ["24"], "24"),
        ("26.00", ["26.0"], "26.0"),
        ("26.0", ["26"], None),  # "26" leaves so much open that it may lie beyond 26.4: judged otherwise
        ("26", ["26.0"], None),
        ("7.00", ["7.0", "7.01"], None),
    ],
)
def test_of_the_same_number_that_with_fewest_digits_is_taken(
    bench: Bench, heard: str, others: list[str], taken: str | None
) -> None:
    done = hear(bench, reading("input", heard), *(reading("input", other) for other in others))
    assert done.decision.outcome is (ASKED if taken is None else ACCEPTED)
    assert bench.values() == ([] if taken is None else [("input", taken)])


def test_what_is_said_again_is_asked_again_where_its_noughts_make_another_statement() -> None:
    bench = Bench(NARROW, meter=None)
    bench.doubt(reading("input", "24.00"), reading("input", "25.00"))
    done = hear(bench, reading("input", "24.00"), reading("input", "24.0"))
    assert (done.decision.outcome, bench.values()) == (ASKED, [])
    done = hear(bench, reading("input", "25.00"), reading("input", "25.0"))  # judged alike: the fewer digits
    assert (done.decision.outcome, bench.values()) == (ACCEPTED, [("input", "25.0")])


def test_it_says_what_it_was_taken_as(bench: Bench) -> None:
    assert hear(bench, reading("input", "7.00"), reading("input", "7.0")).decision.why == "taken as seven point zero"
    assert hear(bench, reading("input", "7.0"), reading("input", "7.00")).decision.why == ""


def test_a_correction_is_taken_with_fewest_digits_too(bench: Bench) -> None:
    hear(bench, reading("input", "7.1"))
    more, fewer = (command("correction", of=value(digits)) for digits in ("7.00", "7.0"))
    assert hear(bench, more, fewer).decision.outcome is ACCEPTED
    assert bench.values() == [("input", "7.0")]


def test_a_nought_more_than_the_meter_shows_is_not_offered(bench: Bench) -> None:
    done = bench.take(
        hearing(reading("rail 5", "5.100", said=True), text="rail five is five volts one zero oh", after_s=4)
    )
    assert done.decision.outcome is ACCEPTED


def test_typed_words_are_as_they_are(bench: Bench) -> None:
    text = "input is twenty four volts oh"
    done = bench.take(hearing(reading("input", "24.0", said=True), text=text, trust=Trust.TYPED, after_s=4))
    assert done.decision.outcome is ACCEPTED


FITTED = WorkIntent("fitted", Thing("part", "R7"))


def part_value(digits: str) -> WorkIntent:
    return WorkIntent("value", value=SpokenValue(digits, "kohm", unit_said=True))


def of_part(done: Step) -> list[str]:
    return [str(candidate.said_value) for candidate in done.decision.candidates]


def test_the_value_of_a_part_has_twins_too(bench: Bench) -> None:
    hear(bench, FITTED)
    done = hear(bench, part_value("13"), part_value("30"))
    assert (done.decision.outcome, done.decision.why) == (ASKED, "sounds like thirty")
    assert of_part(done) == ["13 kohm", "30 kohm"]
    assert [event.kind for event in bench.journal].count("reworked") == 0
    assert hear(bench, part_value("13"), part_value("30")).decision.outcome is ASKED  # it sounds the same again
    assert hear(bench, answer("second")).decision.outcome is ACCEPTED
    assert [event.value for event in bench.journal if isinstance(event, Reworked)] == ["30"]


def test_the_same_work_in_other_words_is_no_twin(bench: Bench) -> None:
    hear(bench, FITTED)
    assert hear(bench, part_value("13"), part_value("13")).decision.outcome is ACCEPTED


def test_a_last_nought_of_a_part_value_is_asked_too(bench: Bench) -> None:
    hear(bench, FITTED)
    bench.seconds += 4
    done = bench.take(hearing(part_value("2.0"), text="value two kilohm oh", after_s=bench.seconds))
    assert done.decision.outcome is ASKED
    assert of_part(done) == ["2.0 kohm", "2.00 kohm"]
