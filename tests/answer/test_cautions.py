"""Cautions in words: what they say, in words alone, never shortened, and that they promise nothing."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from benchvoice.answer.phrases import read_phrasebook
from benchvoice.errors import GrammarError
from benchvoice.records import CautionTold, Decision, Outcome, Reply, StepTold, Tone
from tests.answer.test_phrases import BOOK, TEXTS, decision, reading

WORDS = re.compile(r"[A-Za-z][A-Za-z ,.]*")

RESERVOIR = CautionTold("capacitor", "C1", Decimal(400), Decimal("37.600000"), Decimal(50), Decimal("9.7733752"))
"""470 uF with 10 kohm across it."""

SAID = [
    (
        RESERVOIR,
        "Caution, C one may be charged to four hundred volts, thirty eight joules. Its bleeder, if whole, takes about "
        "ten seconds to fifty volts. Measure before you touch. Say, discharge timer ten seconds.",
    ),
    (
        CautionTold("capacitor", "C2", Decimal(1500), Decimal("219.375"), Decimal(320), Decimal("0.0150628")),
        "Caution, C two may be charged to one thousand five hundred volts, two hundred and twenty joules. Its bleeder, "
        "if whole, takes about one second to three hundred and twenty volts. Measure before you touch.",
    ),
    (
        CautionTold("capacitor", "C3", Decimal(400), Decimal(80), Decimal(60)),
        "Caution, C three may be charged to four hundred volts, eighty joules. The board file names no bleeder. "
        "Measure before you touch.",
    ),
    (
        CautionTold("mains", "line input"),
        "Caution, mains. Line input. Work by your local rules, and only as far as you are licensed.",
    ),
    (
        CautionTold("high voltage", "bulk rail", Decimal("331")),
        "Caution, high voltage. Bulk rail. Three hundred and thirty one volts. More than sixty volts D C, or thirty "
        "volts A C, is commonly held hazardous. Follow your local rules.",
    ),
    (CautionTold("laser"), "Caution, laser. Do not look into it, and follow your local rules."),
    (CautionTold("moving parts", "fan"), "Caution, moving parts. Fan. Keep clear."),
    (
        CautionTold("live without supply", "bulk rail", Decimal(310)),
        "Caution, bulk rail is live though the supply is said to be disconnected. Three hundred and ten volts. Do not "
        "rely on it.",
    ),
    (CautionTold("static"), "Caution, static. Ground yourself before you touch the board."),
    (CautionTold("hot work"), "Caution, hot work. Mind burns and fire, and draw off the fumes."),
    (CautionTold("battery", "lithium pack"), "Caution, battery. Lithium pack. It is live without the supply."),
    (
        CautionTold("powered measurement", "rail 3.3"),
        "Caution, rail three point three is measured without power. Disconnect the supply, measure before you touch, "
        "and say, supply disconnected.",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("caution", "text"), SAID)
def test_a_caution_in_words(caution: CautionTold, text: str) -> None:
    for terse in (False, True):
        reply = BOOK.reply(decision("cautions", cautions=(caution,)), terse=terse)
        assert (reply.text, reply.tone) == (text, Tone.CAUTION)
        assert WORDS.fullmatch(reply.text)


@pytest.mark.parametrize(("caution", "text"), SAID)
def test_no_caution_says_that_anything_is_safe(caution: CautionTold, text: str) -> None:
    assert not re.search(
        r"\b(safe|safely|harmless|no danger|guarantee)", BOOK.reply(decision("cautions", cautions=(caution,))).text
    )
    assert text


def test_a_long_discharge_is_rounded_up_to_ten_seconds() -> None:
    slow = CautionTold("capacitor", "C1", Decimal(400), Decimal(80), Decimal(60), Decimal("284.6"))
    assert "about four minutes fifty seconds" in BOOK.reply(decision("cautions", cautions=(slow,))).text


@pytest.mark.parametrize(
    ("seconds", "timer"),
    [
        ("3.2", None),
        ("20.1", "twenty one seconds"),
        ("84", "ninety seconds"),
        ("97.7", "two minutes"),  # from ninety seconds on whole minutes are listened for
        ("5000", "eighty four minutes"),
        ("5500", "two hours"),
        ("200000", None),  # longer than any timer
    ],
)
def test_the_timer_that_is_offered_is_one_that_is_listened_for(seconds: str, timer: str | None) -> None:
    slow = CautionTold("capacitor", "C1", Decimal(400), Decimal(80), Decimal(60), Decimal(seconds))
    text = BOOK.reply(decision("cautions", cautions=(slow,))).text
    assert text.partition("Say, discharge timer ")[2] == ("" if timer is None else f"{timer}.")


def test_of_a_small_charge_no_bleeder_is_missed() -> None:
    low = CautionTold("capacitor", "C1", Decimal(35), Decimal("1.3"), Decimal(60))
    assert BOOK.reply(decision("cautions", cautions=(low,))).text == (
        "Caution, C one may be charged to thirty five volts, one point three joules. Measure before you touch."
    )


def test_a_caution_comes_behind_the_verdict_and_leaves_its_tone() -> None:
    told = BOOK.reply(reading("3.3", cautions=(CautionTold("static"),)))
    assert told.tone is Tone.PASS
    assert told.text.startswith("Pass. Three point three.")
    assert told.text.endswith("Caution, static. Ground yourself before you touch the board.")


def test_a_job_that_begins_at_a_hazardous_point_says_so_before_its_step() -> None:
    step = StepTold("measure", point="rail 3.3")
    told = BOOK.begun(Reply("Ready."), step, (CautionTold("mains"),))
    assert told.text == (
        "Ready. Caution, mains. Work by your local rules, and only as far as you are licensed. "
        "Measure rail three point three."
    )


OTHERS: list[tuple[Decision, str, Tone]] = [
    (decision("cautions"), "No caution.", Tone.DONE),
    (decision("power", names=("powered",)), "Unit powered.", Tone.DONE),
    (decision("power", names=("unpowered",)), "Unit without power.", Tone.DONE),
    (decision("acknowledged"), "Acknowledged.", Tone.DONE),
    (
        decision("stopped", Outcome.IGNORED, why="the unit is marked powered", point="rail 3.3"),
        "Not taken. The unit is marked powered.",
        Tone.CAUTION,
    ),
]


@pytest.mark.parametrize(("told", "text", "tone"), OTHERS)
def test_what_else_is_said_of_safety(told: Decision, text: str, tone: Tone) -> None:
    assert (BOOK.reply(told).text, BOOK.reply(told).tone) == (text, tone)


@pytest.mark.parametrize("hazard", ["laser", "no bleeder"])
def test_a_hazard_without_its_caution_is_refused(hazard: str) -> None:
    spoiled = {**TEXTS, "replies.yaml": TEXTS["replies.yaml"].replace(f"  {hazard}:", "  dragon:")}
    with pytest.raises(GrammarError, match=rf"replies\.yaml, cautions\.{hazard}: is missing"):
        read_phrasebook(spoiled)


def test_a_phrasebook_without_cautions_is_refused() -> None:
    spoiled = {**TEXTS, "replies.yaml": TEXTS["replies.yaml"].replace("\ncautions:", "\ncares:")}
    with pytest.raises(GrammarError, match=r"replies\.yaml, cautions: is missing or of the wrong kind"):
        read_phrasebook(spoiled)
