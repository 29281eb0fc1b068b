"""What the panel makes of a spoken prompt, on real sound: said or not, how it fits, who heard what."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.loading import load_board, load_language
from benchvoice.commands.tune import _prompts
from benchvoice.files import shipped
from benchvoice.hear.engines import open_engines
from benchvoice.hear.panel import Panel
from benchvoice.records import Alternative, Context, Transcript, Trust
from benchvoice.tuning.measuring import Sheet, Take, measure, outcome_of, prompts_in, why_not_said
from tests.hear.sounds import speak, utterance

PROMPTS = _prompts()


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    grammar = BoardGrammar(load_board(shipped("grammars") / "en" / "prompts_board.yaml"), None, load_language())
    context = Context()
    return Sheet(
        PROMPTS,
        grammar.network(context),
        grammar.slip_network(context),
        lambda text: grammar.parse(text, context).meaning,
    )


@pytest.fixture(scope="module")
def panel() -> Iterator[Panel]:
    with open_engines() as made:
        yield made


def test_every_prompt_is_a_sentence_with_one_meaning_of_its_own(sheet: Sheet) -> None:
    assert len(PROMPTS) == 10
    assert all(sheet.network.accepts(prompt) for prompt in PROMPTS)
    meanings = [sheet.meaning_of(prompt) for prompt in PROMPTS]
    assert None not in meanings
    assert not any(" / " in str(meaning) for meaning in meanings)
    assert len(set(meanings)) == 10


def test_the_prompts_hold_what_is_easily_misheard() -> None:
    words = {word for prompt in PROMPTS for word in prompt.split()}
    digits = {"zero", "oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "point", "hundred"}
    twins = {"thirteen", "thirty", "fifteen", "fifty", "seventeen", "seventy", "nineteen", "ninety"}
    units = {"volts", "millivolts", "amps", "milliamps", "ohms", "kilohms", "hertz", "degrees"}
    assert digits | twins | units <= words


def take(prompt: str, said: str, folder: Path) -> Take:
    return Take(prompt, utterance(speak(said, folder, "rms"), noise_dbfs=-80.0), 60.0)


@pytest.mark.apt
def test_a_prompt_that_was_said_is_measured(sheet: Sheet, panel: Panel, tmp_path: Path) -> None:
    found = measure(panel, take(PROMPTS[1], PROMPTS[1], tmp_path), sheet)
    assert (found.text, found.outcome, why_not_said(found)) == (PROMPTS[1], "right", "")
    assert 0 < found.gap < 0.25
    assert found.behind == pytest.approx(0.0, abs=0.02)
    assert found.arbiter_gap is not None
    assert {name: heard.right for name, heard in found.heard.items()} == {"network": True, "sphinx": True}
    assert (found.heard["network"].lead or 0) > 3
    assert found.heard["sphinx"].lead is None  # its scores do not rank meanings


@pytest.mark.apt
@pytest.mark.parametrize(
    ("said", "why"),
    [
        (PROMPTS[2], "another sentence"),
        ("the train at nine was late again so we took the one at ten", "another sentence"),
        ("rail five is thirteen point eight four volts", "rail five is thirteen point eight four volts"),
    ],
)
def test_another_sentence_is_not_taken_for_the_prompt(
    said: str, why: str, sheet: Sheet, panel: Panel, tmp_path: Path
) -> None:
    assert why in why_not_said(measure(panel, take(PROMPTS[1], said, tmp_path), sheet))


@pytest.mark.apt
def test_a_twin_in_the_place_of_a_word_is_measured_as_a_confusion(sheet: Sheet, panel: Panel, tmp_path: Path) -> None:
    said = "input is thirty point eight four volts"
    found = measure(panel, take(PROMPTS[1], said, tmp_path), sheet)
    assert (found.text, found.outcome, why_not_said(found)) == (said, "wrong", "")
    assert not found.heard["network"].right
    assert (found.heard["network"].lead or 0) < 0


@pytest.mark.parametrize(
    ("trust", "text", "outcome"),
    [
        (Trust.AGREED, PROMPTS[0], "right"),
        (Trust.AGREED, "rail five is five point zero two", "right"),  # in other words
        (Trust.AGREED, PROMPTS[1], "wrong"),
        (Trust.DOUBTFUL, PROMPTS[0], "asked"),
        (Trust.UNRELATED, PROMPTS[0], "ignored"),
    ],
)
def test_how_a_prompt_ends(trust: Trust, text: str, outcome: str, sheet: Sheet) -> None:
    assert outcome_of(Transcript("panel", (Alternative(text, 0.0),), trust), PROMPTS[0], sheet) == outcome


def test_a_file_of_prompts_may_have_comments() -> None:
    assert prompts_in("# a\n\none two # b\n  three  \n") == ("one two", "three")
