"""What is said to each decision: the sentences word for word, and what must hold for every one of them."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from benchvoice.answer.phrases import ABSURD, ALIKE, FILES, TAKEN, read_phrasebook
from benchvoice.answer.wording import sounds_like_another
from benchvoice.errors import GrammarError
from benchvoice.files import shipped
from benchvoice.records import (
    WITHOUT_POWER,
    Candidate,
    CommandIntent,
    Decision,
    Direction,
    Outcome,
    Reply,
    SpokenValue,
    Statement,
    Tone,
    Verdict,
)
from benchvoice.spelling import spell_digits, spell_number
from benchvoice.units import QUANTITIES, UNITS

TEXTS = {file: (shipped("grammars") / "en" / file).read_text(encoding="utf-8") for file in FILES}
BOOK = read_phrasebook(TEXTS)
HEARD_AS_WORDS = re.compile(r"[A-Za-z][A-Za-z ,.?']*")


def decision(about: str, outcome: Outcome = Outcome.ACCEPTED, **fields: object) -> Decision:
    return Decision(outcome, about, **fields)  # type: ignore[arg-type]


def reading(
    digits: str,
    unit: str = "V",
    statement: Statement = Statement.PASS,
    direction: Direction | None = None,
    limits: tuple[str | None, str | None] = ("3.14", "3.47"),
    **fields: object,
) -> Decision:
    low, high = (None if limit is None else Decimal(limit) for limit in limits)
    unit_said = bool(fields.pop("unit_said", False))
    fields.setdefault("point", "rail 3.3")
    value = SpokenValue(digits, unit, unit_said)
    verdict = Verdict(statement, direction, low, high)
    return Decision(Outcome.ACCEPTED, "reading", value=value, verdict=verdict, **fields)  # type: ignore[arg-type]


def ask(*candidates: tuple[Any, ...], **fields: object) -> Decision:
    """A question about (point, digits, unit[, AC or DC])."""
    offered = tuple(
        Candidate(point, SpokenValue(digits, unit, waveform=more[0] if more else None))
        for point, digits, unit, *more in candidates
    )
    points = {candidate.point for candidate in offered}
    about = points.pop() if len(points) == 1 else None
    return decision("question", Outcome.ASKED, candidates=offered, point=about, **fields)


STRIKE = Candidate(None, None, CommandIntent("strike"))
CLOSE = Candidate(None, None, CommandIntent("close"))
TO_FOUR = Candidate(None, None, CommandIntent("correction", value=SpokenValue("4.0", "V")))
LIMITS = "Limits three point one four to three point four seven volts."
FAIL, COND_FAIL, COND_PASS = Statement.FAIL, Statement.CONDITIONAL_FAIL, Statement.CONDITIONAL_PASS

# decision, full, terse. Wording is our own; the first row is the example of the design.
SAID = [
    (
        reading("4.0", statement=FAIL, direction="high"),
        f"Fail, high. Four point zero. Rail three point three. {LIMITS}",
        "Fail high, four point zero.",
    ),
    (
        reading("3.298"),
        f"Pass. Three point two nine eight. Rail three point three. {LIMITS}",
        "Pass, three point two nine eight.",
    ),
    (
        reading("3.30", unit_said=True),
        f"Pass. Three point three zero volts. Rail three point three. {LIMITS}",
        "Pass, three point three zero volts.",
    ),
    (
        reading("24.66", point="input", limits=("21.6", "26.4")),
        "Pass. Twenty four point six six. Input. Limits twenty one point six to twenty six point four volts.",
        "Pass, twenty four point six six.",
    ),
    (
        reading("-0.5", statement=COND_FAIL, direction="low", limits=("-13.20", "-10.80"), point="rail -12"),
        "Conditional fail, low. Minus zero point five. Rail minus twelve. "
        "Limits minus thirteen point two zero to minus ten point eight zero volts.",
        "Conditional fail low, minus zero point five.",
    ),
    (
        reading("5.23", statement=COND_PASS, direction="high", limits=("4.75", "5.25"), point="rail 5"),
        "Conditional pass, high. Five point two three. Rail five. "
        "Limits four point seven five to five point two five volts.",
        "Conditional pass high, five point two three.",
    ),
    (
        reading("over range", "ohm", limits=("200", None), point="rail 3.3 to ground"),
        "Pass. Over range. Rail three point three to ground. At least two hundred ohms.",
        "Pass, over range.",
    ),
    (
        reading("1", "V", Statement.RECORDED, limits=(None, None), unit_said=True, point="U4 pin 3"),
        "Recorded. One volt. U four pin three. No limits.",
        "Recorded, one volt.",
    ),
    (
        reading("45", "mV", limits=(None, "50"), point="ripple"),
        "Pass. Forty five millivolts. Ripple. At most fifty millivolts.",
        "Pass, forty five millivolts.",
    ),
    # a limit that would be a long row of digits in the spoken unit is said in a handier one
    (
        reading("900", "uV", FAIL, "low", limits=("4750000", "5250000"), point="rail 5"),
        "Fail, low. Nine hundred microvolts. Rail five. Limits four point seven five to five point two five volts.",
        "Fail low, nine hundred microvolts.",
    ),
    # a teen and a ten are told apart once more, digit by digit
    (
        reading("15.0", limits=(None, "16"), point="rail 15"),
        "Pass. Fifteen point zero, one five point zero. Rail fifteen. At most sixteen volts.",
        "Pass, fifteen point zero.",
    ),
    # which of ohms and kilohms was taken is always heard
    (
        reading("4.7", "ohm", limits=("4", "5"), point="shunt"),
        "Pass. Four point seven ohms. Shunt. Limits four to five ohms.",
        "Pass, four point seven ohms.",
    ),
    (
        reading("01803", "", Statement.RECORDED, limits=(None, None), point="fault code"),
        "Recorded. Zero one eight zero three. Fault code. No limits.",
        "Recorded, zero one eight zero three.",
    ),
    (
        reading("3.3", why=f"{TAKEN} three point three"),
        f"Pass. Taken as three point three. Rail three point three. {LIMITS}",
        "Pass, taken as three point three.",
    ),
    (
        decision(
            "reading",
            point="bridge in",
            value=SpokenValue("4", "mV", True, "AC"),
            verdict=Verdict(Statement.RECORDED),
        ),
        "Recorded. Four millivolts A C. Bridge in. No limits.",
        "Recorded, four millivolts A C.",
    ),
    (
        decision("correction", point="rail 5", value=SpokenValue("5.02", "V"), verdict=Verdict(Statement.PASS)),
        "Pass. Corrected, five point zero two. Rail five. No limits.",
        "Pass, five point zero two.",
    ),
    (decision("go to", point="rail 5"), "On rail five.", "On rail five."),
    (
        decision("strike", point="rail 3.3", value=SpokenValue("4.0", "V")),
        "Struck. Four point zero at rail three point three.",
        "Struck. Four point zero at rail three point three.",
    ),
    (
        decision(
            "correction",
            point="rail 5",
            value=SpokenValue("5.02", "V"),
            verdict=Verdict(Statement.PASS),
            struck=Candidate("rail 3.3", SpokenValue("5.02", "V")),
        ),
        "Pass. Corrected, five point zero two. Rail five. No limits. "
        "Struck, five point zero two volts at rail three point three.",
        "Pass, five point zero two. Struck, five point zero two volts at rail three point three.",
    ),
    (  # the same point: the correction says all of it
        decision(
            "correction",
            point="rail 5",
            value=SpokenValue("5.02", "V"),
            verdict=Verdict(Statement.PASS),
            struck=Candidate("rail 5", SpokenValue("5.03", "V")),
        ),
        "Pass. Corrected, five point zero two. Rail five. No limits.",
        "Pass, five point zero two.",
    ),
    (
        decision("read back", point="rail 5", value=SpokenValue("5.02", "V"), verdict=Verdict(Statement.PASS)),
        "Rail five. Five point zero two. Pass.",
        "Five point zero two. Pass.",
    ),
    (decision("read back", point="rail 5"), "Rail five. No reading.", "Rail five. No reading."),
    (decision("left", names=("input", "rail 5")), "Two left. Input, rail five.", "Two left."),
    (
        decision("left", names=tuple(f"rail {n}" for n in range(1, 9))),
        "Eight left. Rail one, rail two, rail three, rail four, rail five, rail six, and two more.",
        "Eight left.",
    ),
    (decision("left"), "Nothing left.", "Nothing left."),
    (
        decision("left", names=("input",), again=("rail 3.3", "rail 5")),
        "One left. Input. Measure again after the repair: rail three point three, rail five.",
        "One left. Measure again: rail three point three, rail five.",
    ),
    (decision("left", again=("rail 5",)), *("Measure again after the repair: rail five.",) * 2),
    (decision("stage", names=("before",)), "Before the repair.", "Before the repair."),
    (decision("stage", names=("after",)), "After the repair.", "After the repair."),
    (decision("note", names=("capacitor C12 bulging",)), "Noted. Capacitor C twelve bulging.", "Noted."),
    (decision("note"), "Noted.", "Noted."),
    (decision("note opened"), "Say the note.", "Say the note."),
    (decision("listening stopped"), "Not listening.", "Not listening."),
    (decision("listening started"), "Listening.", "Listening."),
    (decision("closed"), "Job closed.", "Job closed."),
    (decision("repeat", names=("Fail, high. Four point zero.",)),) + ("Fail, high. Four point zero.",) * 2,
    (decision("repeat"), "Nothing said yet.", "Nothing said yet."),
    (decision("refused", why="nothing to strike"), "Not taken. Nothing to strike.", "Not taken. Nothing to strike."),
    (decision("refused"), "Not taken.", "Not taken."),
    (decision("strike"),) + ("Not taken. No reading is struck.",) * 2,
    (decision("strike", point="rail 5", value=SpokenValue("4.99", "V"), counts_again=SpokenValue("5.08", "V")),)
    + ("Struck. Four point nine nine at rail five. Five point zero eight counts again.",) * 2,
    (decision("strike", note="LM7805 warm"),)
    + ("Struck. The note, LM seven thousand eight hundred and five warm.",) * 2,
    (
        decision("noted without power", point="rail 5", value=SpokenValue("0.12", "V")),
        "Noted, without power. Zero point one two volts. Rail five. Not judged.",
        "Noted, zero point one two volts. Not judged.",
    ),
    (decision("nothing", Outcome.IGNORED, why="other talk"), "", ""),
]

# decision, question. The forms are our own.
ASKED = [
    (ask(("rail 15", "15", "V"), ("rail 15", "50", "V")), "Rail fifteen. Fifteen or fifty volts?"),
    (
        ask(("rail 15", "15", "V"), ("rail 15", "50", "V"), tries=1),
        "Rail fifteen. Fifteen, one five, or fifty volts, five zero?",
    ),
    (
        ask(("rail 15", "15", "V"), ("rail 15", "50", "V"), tries=2),
        "Rail fifteen. Fifteen or fifty volts? Say it digit by digit: one five, or five zero.",
    ),
    (ask(("rail 3.3", "4.0", "V")), "Four point zero volts at rail three point three?"),
    (
        ask(("rail 15", "15.0", "V"), tries=2),
        "Fifteen point zero volts at rail fifteen? Say it digit by digit: one five point zero.",
    ),
    (
        ask(("rail 5", "50", "V"), why=f"{ABSURD}: over ten times nominal"),
        "Fifty volts on rail five? Say yes, or the value again.",
    ),
    (ask(("rail 5", "5.0", "V"), ("rail 15", "5.0", "V")), "Rail five or rail fifteen?"),
    (
        ask(("rail 5", "5.0", "V"), ("rail 15", "9.0", "V")),
        "Five point zero volts at rail five or nine point zero volts at rail fifteen?",
    ),
    (ask(("drop", "0.462", "V"), ("drop", "462", "mV")), None),
    (ask(("gnd", "over range", "ohm"), ("gnd", "15", "ohm")), "Gnd. Over range or fifteen ohms?"),
    (ask(("rail 5", "33", "V"), ("rail 5", "3.3", "V"), ("rail 5", "303", "V")), None),
    (ask((None, "33", "V"), (None, "3.3", "V")), "Thirty three or three point three volts?"),
    (ask(("rail 5", "5.0", "V"), ("rail 5", "5.0", "V")), "Five point zero volts at rail five?"),
    (decision("question", Outcome.ASKED, candidates=(STRIKE,)), "Strike the last reading?"),
    (decision("question", Outcome.ASKED, candidates=(STRIKE, CLOSE)), "Strike the last reading or close the job?"),
    (decision("question", Outcome.ASKED, candidates=(TO_FOUR,)), "Correct to four point zero volts?"),
    (
        decision("question", Outcome.ASKED, candidates=(STRIKE,), struck=Candidate("rail 5", SpokenValue("5.02", "V"))),
        "Strike five point zero two volts at rail five?",
    ),
    (
        decision(
            "question",
            Outcome.ASKED,
            candidates=(TO_FOUR,),
            point="rail 5",
            value=SpokenValue("4.0", "V"),
            struck=Candidate("rail 5", SpokenValue("5.02", "V")),
        ),
        "Correct five point zero two volts at rail five to four point zero volts?",
    ),
    (
        decision(
            "question",
            Outcome.ASKED,
            candidates=(TO_FOUR,),
            point="rail 3.3",
            value=SpokenValue("4.0", "V"),
            struck=Candidate("rail 5", SpokenValue("5.02", "V")),
        ),
        "Correct five point zero two volts at rail five to four point zero volts at rail three point three?",
    ),
    (decision("question", Outcome.ASKED, candidates=(CLOSE,)), "Close the job?"),
    (decision("question", Outcome.ASKED, candidates=(CLOSE,), names=("rail 5", "gnd")), "Two left. Close the job?"),
    (replace(ask(("rail 15", "15", "V"), ("rail 15", "50", "V")), at_hand=True), "Fifteen or fifty volts?"),
    (ask(("rail 15", "15", "V", "AC"), ("rail 15", "15", "V")), "Rail fifteen. Fifteen volts A C or fifteen volts?"),
    (ask(), "Please say that again."),
    (ask(tries=2), "Say it digit by digit."),
    # what could hardly be told apart by ear is not said in words alone
    (
        ask(("rail 15", "15", "V"), ("rail 15", "50", "V"), why=f"{ALIKE} fifty"),
        "Rail fifteen. Fifteen, one five, or fifty volts, five zero?",
    ),
    (decision("question", Outcome.ASKED, candidates=(STRIKE,), note="C7 bulged"), "Strike the note, C seven bulged?"),
    (
        ask(("rail 5", "0.12", "V"), why=WITHOUT_POWER),
        "Zero point one two volts on rail five. Marked without power: is the unit powered now?",
    ),
    (
        ask(("rail 5", "15", "A"), remark="the unit was not said"),
        "The unit was not said. Fifteen amps at rail five?",
    ),
]
SPELLED_OUT = {
    8: "Drop. Zero point four six two volts or four hundred and sixty two millivolts?",
    10: "Rail five. Thirty three or three point three or three hundred and three volts?",
}


@pytest.mark.parametrize(("decided", "full", "terse"), SAID)
def test_sentence(decided: Decision, full: str, terse: str) -> None:
    assert BOOK.reply(decided).text == full
    assert BOOK.reply(decided, terse=True).text == terse


@pytest.mark.parametrize(
    ("decided", "question"), [(row[0], row[1] or SPELLED_OUT[number]) for number, row in enumerate(ASKED)]
)
def test_question(decided: Decision, question: str) -> None:
    assert BOOK.question(decided) == question
    assert BOOK.reply(decided) == Reply(question, Tone.ASK)


@pytest.mark.parametrize(
    ("statement", "tone"),
    [
        (Statement.PASS, Tone.PASS),
        (COND_PASS, Tone.CONDITIONAL),
        (COND_FAIL, Tone.CONDITIONAL_FAIL),
        (FAIL, Tone.FAIL),
        (Statement.RECORDED, Tone.RECORDED),
    ],
)
def test_every_statement_has_a_tone_of_its_own(statement: Statement, tone: Tone) -> None:
    assert BOOK.reply(reading("3.3", statement=statement)).tone is tone


def test_points_are_called_as_the_board_file_says() -> None:
    book = read_phrasebook(TEXTS, {"TP7": "test point seven"})
    assert book.reply(decision("go to", point="TP7")).text == "On test point seven."


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("+3.3V rail", "plus three point three volts rail"),
        ("VEE-5", "VEE five"),
        ("rail (-12 V)", "rail minus twelve volts"),
        ("U4 pin 3", "U four pin three"),
        ("feed_forward/2", "feed forward two"),
        ("R12 10 kΩ", "R twelve ten kilohms"),
        ("100 %", "one hundred per cent"),
        ("1 V", "one volt"),
        ("5 wires", "five wires"),
    ],
)
def test_written_names_become_words(written: str, said: str) -> None:
    assert BOOK.reply(decision("note", names=(written,))).text.lower() == f"noted. {said.lower()}."


def test_teen_or_ten_twins() -> None:
    """13 to 19 and 30 to 90 are the pairs that recognisers and people confuse (hearing.md; common practice)."""
    twins = {n for n in range(100) if sounds_like_another(str(n))}
    assert twins == {13, 14, 15, 16, 17, 18, 19, 30, 40, 50, 60, 70, 80, 90}
    assert sounds_like_another("113")
    assert sounds_like_another("15000")
    assert not sounds_like_another("0.15")
    assert not sounds_like_another("over range")


# --- what must hold for every decision ------------------------------------------------------------------------------
units = st.sampled_from([symbol for symbol in UNITS if symbol])
numbers = st.from_regex(r"-?(0|[1-9][0-9]{0,5})(\.[0-9]{1,6})?", fullmatch=True)
limits = st.none() | st.decimals(-1_000_000, 1_000_000, places=3)
spoken_values = st.builds(
    SpokenValue,
    st.just("over range") | numbers,
    units,
    st.booleans(),
    st.sampled_from(["AC", "DC", None]),
)
verdicts = st.builds(
    Verdict, st.sampled_from(Statement), st.sampled_from(["high", "low", None]), limits, limits, limits
)
names = st.text(max_size=20)


@given(spoken_values, verdicts, names, st.sampled_from(["reading", "correction", "read back", "strike"]), names)
def test_reply_is_all_words_and_holds_every_digit(
    value: SpokenValue, verdict: Verdict, name: str, about: str, why: str
) -> None:
    decided = decision(about, value=value, verdict=verdict, point=f"rail {name}", why=why)
    full, terse = BOOK.reply(decided), BOOK.reply(decided, terse=True)
    said = "over range" if value.over_range else spell_number(value.digits)
    ascii_only = full.text.isascii() and terse.text.isascii()
    for reply in (full, terse):
        assert reply.text
        assert not ascii_only or HEARD_AS_WORDS.fullmatch(reply.text), reply.text
        assert not any(letter.isdigit() for letter in reply.text)
    assert said in full.text.lower()
    assert about == "strike" or said in terse.text.lower()
    assert len(terse.text) <= len(full.text)


@given(
    st.lists(st.tuples(st.sampled_from(["rail 5", "rail 15", "input", None]), spoken_values), min_size=2, max_size=3),
    st.integers(0, 3),
)
def test_question_tells_its_candidates_apart(offered: list[tuple[str | None, SpokenValue]], tries: int) -> None:
    candidates = tuple(Candidate(point, value) for point, value in offered)
    question = BOOK.question(decision("question", Outcome.ASKED, candidates=candidates, tries=tries))
    assert HEARD_AS_WORDS.fullmatch(question.replace(":", "")), question
    for point in {point for point, _ in offered if point}:
        alone = {point for point, _ in offered} == {point}
        differs = len({(value.digits, value.unit, value.waveform) for _, value in offered}) > 1
        if not (alone and differs):
            assert spell_name(point) in question.lower()
    different = {spell_number(value.digits) for _, value in offered if not value.over_range}
    if len(different) > 1:
        assert all(said in question.lower() for said in different)


def spell_name(point: str) -> str:
    return point.replace("15", "fifteen").replace("5", "five")


@given(st.integers(-999_999, 999_999), st.integers(0, 6), st.data())
def test_read_back_agrees_with_num2words(whole: int, places: int, data: st.DataObject) -> None:
    """num2words is an independent speller of numbers; it drops trailing zeros, so decimals are checked one by one."""
    decimals = data.draw(st.text("0123456789", min_size=places, max_size=places))
    digits = f"{whole}.{decimals}" if decimals else str(whole)
    said = BOOK.reply(decision("reading", value=SpokenValue(digits, "V"), verdict=Verdict(Statement.PASS)), terse=True)
    expected = num2words(whole).replace("-", " ").replace(",", "")
    tail = f" point {spell_digits(decimals)}" if decimals else ""
    assert said.text.lower() == f"pass, {expected}{tail}."


@pytest.mark.parametrize("kind", QUANTITIES.values(), ids=lambda kind: kind.name)
def test_every_unit_has_a_plural_and_a_singular(kind: object) -> None:
    for symbol in kind.units:  # type: ignore[attr-defined]
        for digits in ("1", "2"):
            decided = decision("reading", value=SpokenValue(digits, symbol, True), verdict=Verdict(Statement.PASS))
            assert re.fullmatch(r"Pass, (one|two) [a-z]{3,}\.", BOOK.reply(decided, terse=True).text)


# --- refused --------------------------------------------------------------------------------------------------------
def test_unknown_decision_is_named() -> None:
    with pytest.raises(GrammarError, match=r"replies\.yaml, sentences: has no reply for 'dance'\."):
        BOOK.reply(decision("dance"))


def test_reading_without_value_is_refused() -> None:
    with pytest.raises(GrammarError, match="a decision about a reading needs a value"):
        BOOK.reply(decision("reading"))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"replies.yaml": None},
            r"replies\.yaml: is missing\. A language folder holds replies\.yaml, units\.yaml, fast",
        ),
        ({"replies.yaml": "a: [b"}, r"replies\.yaml, line 1: is not YAML"),
        ({"replies.yaml": "- a"}, r"replies\.yaml: holds no table of sentences"),
        ({"units.yaml": "units: 3"}, r"units\.yaml, units: is missing or not a table"),
        (
            {"units.yaml": TEXTS["units.yaml"].replace("  W: [", "  x: [")},
            r"units\.yaml, units: has no name for W\. Every",
        ),
        (
            {"replies.yaml": TEXTS["replies.yaml"].replace(" mW: milliwatt,", "")},
            r"replies\.yaml, one unit: has no name for mW\. Every unit needs a plural",
        ),
        ({"fasteners.yaml": "fasteners: [screw]"}, r"fasteners\.yaml, fasteners: is missing or not a table"),
        ({"replies.yaml": "verdicts: {pass: Pass}"}, r"replies\.yaml, one unit: is missing or of the wrong kind"),
    ],
)
def test_faulty_data_is_refused_by_file_and_field(change: dict[str, str | None], message: str) -> None:
    texts = {file: text for file, text in {**TEXTS, **change}.items() if text is not None}
    with pytest.raises(GrammarError, match=message):
        read_phrasebook(texts)


# --- on our own account -------------------------------------------------------------------------------------------
def test_a_job_that_is_taken_up_again_says_where_it_is() -> None:
    assert BOOK.resumed(readings=11, next_point="rail 5") == Reply("Resumed. Eleven readings. Next: rail five.")
    assert BOOK.resumed(readings=1, next_point=None) == Reply("Resumed. One reading.")
    left = BOOK.resumed(readings=0, next_point="rail 5", question_left=True, cut=True)
    assert left.text == (
        "Resumed. No readings. A question was left open. The last thing said was not kept. Next: rail five."
    )
    about = BOOK.resumed(readings=0, next_point="rail 5", question_left=True, asked_about="rail 5")
    assert about.text == "Resumed. No readings. A question about rail five was left open. Next: rail five."


def test_a_unit_that_came_back_is_told_with_its_last_visit() -> None:
    told: dict[str, Any] = {"visit": 2, "days": 42, "readings": 9, "next_point": "rail 5"}
    assert BOOK.returned(replaced=["U4"], **told).text == (
        "Visit two. Closed forty two days ago. Nine readings then. Replaced: U four. First: rail five."
    )
    assert BOOK.returned(replaced=["U4", "C7", "R1", "R2", "F1"], **told | {"days": 0}).text == (
        "Visit two. Closed today. Nine readings then. Replaced: U four, C seven, R one and two more. First: rail five."
    )
    nothing = BOOK.returned(visit=3, days=None, readings=0, replaced=[], next_point=None, cut=True)
    assert nothing.text == "Visit three. No readings then. The last thing said was not kept."


@pytest.mark.parametrize(
    ("name", "slots", "said"),
    [
        ("ready", {"point": "rail 3.3"}, "Ready. First: rail three point three."),
        ("microphone lost", {}, "I lost the microphone."),
        ("microphone back again", {}, "I hear you again. Say it again."),
        ("speaker back", {"text": "Pass. Five."}, "I can speak again. Pass. Five."),
        ("speaker back", {}, "I can speak again."),
        ("not kept", {"why": "the disk is full"}, "Not kept. The disk is full."),
    ],
)
def test_notices(name: str, slots: dict[str, str], said: str) -> None:
    assert BOOK.notice(name, **slots).text == said
    assert HEARD_AS_WORDS.fullmatch(said.replace(":", ""))


def test_a_notice_that_the_language_lacks() -> None:
    with pytest.raises(GrammarError, match=r"replies\.yaml, notices: has no notice 'goodbye'"):
        BOOK.notice("goodbye")
