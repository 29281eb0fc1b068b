"""What was said before a recording in its session changes what is listened for, and what it means."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import soundfile

from benchvoice.commands.corpus import meant_by, read_corpus
from benchvoice.commands.score_hearing import _taken, read_rooms
from benchvoice.errors import CorpusError
from benchvoice.understand.typed import normalise
from tests.commands.running import demo, run
from tests.hear.sounds import quiet_around, speak

FOLDER = demo("failed_regulator")
ROOMS = read_rooms(FOLDER / "board.yaml", FOLDER / "meter.yaml")
LID_BACK = {"audio": "lid.flac", "text": "lid back on"}


@pytest.fixture
def corpus(tmp_path: Path) -> Path:
    soundfile.write(tmp_path / "lid.flac", quiet_around(speak("lid back on", tmp_path)), 16000, subtype="PCM_16")
    return tmp_path / "corpus.jsonl"


def test_what_may_be_said_follows_from_what_was_said() -> None:
    assert not ROOMS.context_after(()).taken_out
    assert ROOMS.context_after(("lid off",)).taken_out
    assert ROOMS.context_after(("timer 5 min",)).timing


SAID = [
    "timer five minutes", "soak test timer two hours", "time remaining", "out four screws long top edge", "lid off",
    "back two screws", "lid back on", "took off U4", "fitted U4", "value three point three volts", "method hot air",
    "damage lifted pad", "with another supply no change", "with another u four it works", "supply disconnected",
    "unit powered up", "what goes back next", "what is still out", "unit is closed", "what do you suspect",
    "where do i measure", "input reads twenty four point one volts", "on rail five", "note capacitor bulging",
    "stop the soak test timer", "time remaining",
]  # fmt: skip


def test_whatever_is_taken_is_scored_as_what_it_means() -> None:
    """In one session, so that each can be meant; what is refused was heard all the same."""
    bench = ROOMS.bench(None)
    for text in SAID:
        context = bench.context
        meant = meant_by(ROOMS.grammar.parse(normalise(text, ROOMS.grammar.parser.language), context).intents)
        turn = bench.take_text(text, "typed")
        assert [*_taken(turn)] == [*meant], text


STEPS = [
    "where am i", "it is dark", "undo that step", "it is slow blinking", "skip step because it is not needed",
    "because it is not safe", "undo that step", "jump to opening", "unit powered up", "supply disconnected",
    "step is done", "jump to rails",
]  # fmt: skip


def test_of_a_checklist_what_a_sentence_names_counts_too() -> None:
    """Each in turn; without its checklist none of them means anything, and "jump to load" is not "jump to rails"."""
    folder = demo("whole_repair")
    rooms = read_rooms(folder / "board.yaml", folder / "meter.yaml", folder / "board.checklist.yaml")
    bench = rooms.bench(None)
    for text in STEPS:
        meant = meant_by(rooms.grammar.parse(text, bench.context).intents)
        turn = bench.take_text(text, "typed")
        assert [*_taken(turn)] == [*meant], text
        assert meant, text
    rails, load = (
        meant_by(rooms.grammar.parse(f"jump to {part}", bench.context).intents) for part in ("rails", "load")
    )
    assert rails != load
    assert not read_rooms(folder / "board.yaml", None).grammar.parse("jump to rails", bench.context).intents


@pytest.mark.parametrize(
    ("after", "message"),
    [
        (["what a lovely day"], "line 1, after: 'what a lovely day' is ignored"),
        (["lid off", "lid off"], "line 1, after: 'lid off' is ignored: it is out already"),
        (["close the job"], "line 1, after: 'close the job' ends the session"),
    ],
)
@pytest.mark.apt
def test_what_is_not_taken_cannot_have_been_said_before(corpus: Path, after: list[str], message: str) -> None:
    corpus.write_text(json.dumps({**LID_BACK, "after": after}), encoding="utf-8")
    with pytest.raises(CorpusError, match=message):
        read_corpus(corpus, ROOMS.grammar.parser, ROOMS.context_after)


@pytest.mark.apt
def test_a_recording_is_heard_as_the_session_goes_on(corpus: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines: list[dict[str, Any]] = [LID_BACK, {**LID_BACK, "after": ["lid off"]}]
    corpus.write_text("\n".join(map(json.dumps, lines)), encoding="utf-8")
    ran = run(capsys, "score", corpus, "--board", FOLDER / "board.yaml", "--workers", "1", "--json")
    assert ran.status == 0, ran.err
    first, after = json.loads(ran.out)["each"]
    assert first["result"] != "right"
    assert (after["result"], after["heard"], after["kind"]) == ("right", "lid back on", "work")
