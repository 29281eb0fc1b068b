"""Sentences are of the kind they say, in the proportions written down, and labelled as the parser reads them."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from benchvoice.commands.corpus import meant_by
from benchvoice.commands.score_hearing import read_rooms
from benchvoice.records import Context
from tests.corpus.people import digit_string
from tests.corpus.planned import speaker_of
from tests.corpus.sentences import BOARDS, FORMS, PROPORTIONS, STEPS, Sentence, Speaker


def _many(kind: str, n: int = 40) -> list[Sentence]:
    rng = random.Random(kind)
    return [speaker_of().of_kind(kind, rng) for _ in range(n)]


@pytest.mark.long
def test_the_proportions_are_of_a_hundred_and_are_kept() -> None:
    assert sum(PROPORTIONS.values()) == 100
    rng = random.Random(1)
    counts = Counter(speaker_of().bench_talk(rng).kind for _ in range(600))
    for kind, share in PROPORTIONS.items():
        # five standard deviations of a share in 600 draws
        assert counts[kind] / 600 == pytest.approx(share / 100, abs=5 * (share / 100 * (1 - share / 100) / 600) ** 0.5)


@pytest.mark.parametrize("kind", [kind for kind in PROPORTIONS if kind.endswith("reading")])
def test_readings_by_how_many_meanings_they_have_and_their_size(kind: str) -> None:
    speaker = speaker_of()
    for sentence in _many(kind):
        intents = speaker.understood.parse(sentence.text, Context()).intents
        meanings = meant_by(intents)
        assert (len(meanings) > 1) == (kind == "unclear reading"), sentence
        if kind != "unclear reading":
            assert speaker.plausible(intents[0]) == (kind == "reading"), sentence
        assert (meanings[0].value, meanings[0].unit) == (sentence.label["value"], sentence.label.get("unit", ""))


@pytest.mark.parametrize(
    ("text", "is_plausible"),
    [
        ("rail twelve reads twelve point oh five", True),
        ("rail twelve reads five point one", False),  # half of what is expected, and less
        ("rail twelve reads minus twelve", False),
        ("rail twelve reads twelve point oh five six seven", False),  # the meter shows two decimals there
        ("rail twelve reads twelve millivolts", False),
        ("correction rail twelve reads twelve point oh five", True),
        ("on rail twelve", False),
    ],
)
def test_what_is_plausible(text: str, is_plausible: bool) -> None:
    intents = speaker_of().understood.parse(text, Context()).intents
    assert speaker_of().plausible(intents[0]) == is_plausible


@pytest.mark.long
def test_every_point_is_read_alike_and_values_are_said_as_people_say_them() -> None:
    many = _many("reading", 360)
    counts = Counter(sentence.label["point"] for sentence in many)
    assert set(counts) == set(speaker_of().grammar.by_name)
    assert max(counts.values()) < 60  # 20 each on average
    assert sum(FORMS.values()) == 100
    forms = Counter(sentence.form for sentence in many)
    # some points have no decimals to say, so that the others gain
    assert forms["point"] > 120
    assert all(forms[form] > 20 for form in FORMS)
    for sentence in many:
        assert speaker_of().grammar.network(Context()).accepts(sentence.text)
        assert ("point" in sentence.text.split()) >= (sentence.form in ("point", "by digits"))


@pytest.mark.parametrize("kind", ["talk", "slip", "misfit"])
def test_what_is_not_to_be_taken_means_nothing(kind: str) -> None:
    many = _many(kind, 100)
    assert all(not speaker_of().understood.parse(sentence.text, Context()).intents for sentence in many)
    assert {tuple(sentence.label) for sentence in many} == {()}
    assert len({sentence.text for sentence in many}) > 60


def test_talk_is_mostly_full_of_numbers() -> None:
    numbers = {"one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "twenty", "hundred"}
    assert sum(bool(numbers & set(sentence.text.split())) for sentence in _many("talk", 100)) > 50


def test_commands_corrections_and_points() -> None:
    assert {sentence.label["command"] for sentence in _many("correction")} == {"correction"}
    commands = {sentence.label["command"] for sentence in _many("command", 200)}
    assert {"repeat", "strike", "left", "close"} <= commands
    assert "correction" not in commands
    assert {sentence.label["command"] for sentence in _many("go to")} == {"go to"}


def test_over_range_is_rare() -> None:
    assert sum(sentence.label["value"] == "over range" for sentence in _many("odd reading", 200)) < 40


def test_a_reading_without_its_unit() -> None:
    speaker = speaker_of()
    said = Sentence("thermocouple reads eleven point five millivolts", "reading")
    assert speaker.without_unit(said) == "thermocouple reads eleven point five"
    assert speaker.without_unit(Sentence("thermocouple reads eleven point five", "reading")) is None
    assert speaker.value_at(said) == 2
    sentence = speaker.with_unit(random.Random(1))
    assert (speaker.without_unit(sentence) or "").split() == sentence.text.split()[:-1]


def test_digit_strings_are_what_the_board_hears() -> None:
    rng = random.Random(1)
    for _ in range(50):
        sentence = digit_string(rng)
        intents = speaker_of(of_digits=True).understood.parse(sentence.text, Context()).intents
        assert [(meant.point, meant.value) for meant in meant_by(intents)] == [("fault code", sentence.label["value"])]


def test_the_same_seed_says_the_same() -> None:
    once, again = ([speaker_of().bench_talk(rng) for _ in range(30)] for rng in (random.Random(3), random.Random(3)))
    assert once == again


def test_timers_and_power_are_among_the_sentences() -> None:
    said = {sentence.text.split(" timer ")[0].split()[0] for sentence in _many("timer")}
    assert said == {"timer", "discharge", "soak", "cool"}
    assert {sentence.text for sentence in _many("power")} == {"unit powered up", "supply disconnected"}
    assert all(sentence.label["command"] in ("powered", "unpowered") for sentence in _many("power"))


def test_continuity_is_said_of_the_board_that_has_it() -> None:
    speaker, rng = Speaker(BOARDS / "dimmer.yaml"), random.Random(4)
    said = {sentence.text: sentence.label for sentence in (speaker.of_kind("continuity", rng) for _ in range(60))}
    assert {label["value"] for label in said.values()} == {"continuity", "open circuit"}
    assert {label["point"] for label in said.values()} == {"line fuse", "standby switch"}
    assert any(text.endswith("has no continuity") for text in said)


def test_serial_numbers_are_spelled_and_labelled() -> None:
    for sentence in _many("serial"):
        spelled = sentence.label["serial"]
        assert 5 <= len(spelled) <= 12
        assert speaker_of().grammar.network(Context(intake=True)).accepts(sentence.text)
        (meant,) = meant_by(speaker_of().understood.parse(sentence.text, Context()).intents)
        assert meant.serial == spelled


def test_the_intake_is_among_the_sentences() -> None:
    said = {sentence.text.split()[0] for sentence in _many("intake")}
    assert said >= {"complaint", "came", "arrived", "front", "beeper"}


@pytest.mark.parametrize(("kind", "afters"), [("job", 4), ("steps", 3)])
def test_sentences_of_the_job_are_said_where_they_can_be_meant(kind: str, afters: int) -> None:
    rooms = read_rooms(BOARDS / "oven.yaml", BOARDS / "meter.yaml", STEPS if kind == "steps" else None)
    said = _many(kind)
    assert len({sentence.after for sentence in said}) >= afters
    for sentence in said:
        context = rooms.context_after(sentence.after)
        assert rooms.grammar.network(context).accepts(sentence.text)
        assert meant_by(rooms.grammar.parser.parse(sentence.text, context).intents)
    begins = {sentence.text.split()[0] for sentence in said}
    assert kind == "job" or begins >= {"jump", "it", "because", "skip", "step", "undo"}


def test_work_on_the_unit_needs_no_label() -> None:
    for sentence in _many("work"):
        (meant,) = meant_by(speaker_of().understood.parse(sentence.text, Context()).intents)
        assert meant.work
        assert sentence.label == {}
