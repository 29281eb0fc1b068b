"""The loop: nothing is said before it is kept, and what is said is kept too."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from benchvoice.answer.phrases import FILES as REPLY_FILES
from benchvoice.answer.phrases import read_phrasebook
from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.decide import session
from benchvoice.decide.profile import read_board
from benchvoice.errors import StorageError
from benchvoice.events import Event, Heard, Reading, Said
from benchvoice.files import shipped
from benchvoice.keep.clips import keep_clip
from benchvoice.keep.journal import Journal
from benchvoice.loop import Bench, Speech
from benchvoice.records import (
    Alternative,
    Outcome,
    Reply,
    Samples,
    Transcript,
    Trust,
    Utterance,
    WordNetwork,
)
from tests.decide.builders import BOARD
from tests.understand.boards import english

NOW = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


class Folder:
    """A real journal and real clips, with a note of what happened when."""

    def __init__(self, folder: Path, order: list[str]) -> None:
        self.journal = Journal.open(folder)
        self.folder = folder
        self.order = order
        self.full = False

    def append(self, events: tuple[Event, ...]) -> None:
        if self.full:
            raise StorageError("the disk is full")
        self.journal.append(events)
        self.order += [event.kind for event in events]

    def keep_clip(self, seq: int, samples: Samples) -> str:
        self.order.append("clip")
        return keep_clip(self.folder, seq, samples)


class Mouth:
    def __init__(self, order: list[str]) -> None:
        self.order = order

    def say(self, reply: Reply) -> None:
        self.order.append(f"says {reply.text}")


class Ears:
    """Hears what it is told: the rooms behind it are the real ones."""

    def __init__(self, text: str, trust: Trust, *, meant: bool = True) -> None:
        self.transcript = Transcript("panel", (Alternative(text, -1.0),), trust)
        self.meant = meant
        self.number_of: Callable[[str], str | None] | None = None

    def hear(
        self,
        utterance: Utterance,
        network: WordNetwork,
        meaning_of: Callable[[str], str | None],
        slips: WordNetwork | None = None,
        uncalled: WordNetwork | None = None,
        *,
        number_of: Callable[[str], str | None] | None = None,
    ) -> Transcript:
        assert utterance.samples.dtype == np.int16
        assert network.accepts(self.transcript.text)
        assert (meaning_of(self.transcript.text) is not None) is self.meant
        assert slips is not None
        assert not slips.accepts(self.transcript.text)
        assert uncalled is None
        self.number_of = number_of
        return self.transcript


def bench(folder: Path, text: str = "rail five reads five point oh", trust: Trust = Trust.AGREED) -> Bench:
    order: list[str] = []
    keeper = Folder(folder, order)
    state, events = session.open_session(
        read_board(BOARD, "board.yaml"), None, at=NOW, job="GF-2-0001", engine="panel", version="0"
    )
    keeper.append(events)
    texts = {name: (shipped("grammars") / "en" / name).read_text(encoding="utf-8") for name in REPLY_FILES}
    return Bench(
        state,
        understanding=BoardGrammar(read_board(BOARD, "board.yaml"), None, english()),
        phrases=read_phrasebook(texts),
        mouth=Mouth(order),
        keeper=keeper,
        clock=lambda: NOW,
        ears=Ears(text, trust),
    )


def order_of(made: Bench) -> list[str]:
    assert isinstance(made.mouth, Mouth)
    return made.mouth.order


UTTERANCE = Utterance(np.zeros(16000, np.int16), 1.0, 2.0, -30.0, clipped=True)


def test_a_reading_is_on_the_disk_before_it_is_spoken(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    turn = made.take_utterance(UTTERANCE, "session.flac")
    assert order_of(made) == ["opened", "clip", "heard", "reading", f"says {turn.reply.text}", "said"]
    heard, reading, said = turn.events
    assert isinstance(heard, Heard)
    assert (heard.clip, heard.start_s, heard.remarks) == ("clips/000002.flac", 1.0, ("clipped",))
    assert isinstance(reading, Reading)
    assert (reading.point, reading.value, reading.heard) == ("rail 5", "5.0", heard.seq)
    assert isinstance(said, Said)
    assert turn.reply.text.startswith("Pass")
    assert (tmp_path / "job" / "clips" / "000002.flac").is_file()


def test_what_cannot_be_kept_is_not_spoken_and_not_believed(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    before = made.state
    assert isinstance(made.keeper, Folder)
    made.keeper.full = True
    with pytest.raises(StorageError, match="the disk is full"):
        made.take_text("rail five reads five point oh", "text")
    assert made.state == before
    assert not any(entry.startswith("says") for entry in order_of(made))


def test_a_cut_utterance_is_asked_however_clear_it_was(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    turn = made.take_utterance(replace(UTTERANCE, cut=True), "session.flac")
    assert [event.kind for event in turn.events] == ["heard", "asked", "said"]


@pytest.mark.parametrize("private", [False, True])
def test_the_sound_that_an_engine_broke_on_is_kept_unless_it_may_be_talk(tmp_path: Path, *, private: bool) -> None:
    made = bench(tmp_path / "job")
    made.private = private
    context = made.context_of(UTTERANCE, "session.flac")
    broken = Transcript("panel", (), Trust.FAILED, "an engine broke on it: RuntimeError: axes")
    turn = made.answer(made.decide(Speech(UTTERANCE, context, broken, ()), "session.flac"))
    assert turn.reply.text == "Not taken. Say that again."
    heard, said = turn.events
    assert isinstance(heard, Heard)
    assert (heard.text, heard.why, heard.clip) == ("", broken.why, None if private else "clips/000002.flac")
    assert isinstance(said, Said)


def test_a_value_that_belongs_to_no_point_is_answered(tmp_path: Path) -> None:
    """Free text as a transformer writes it beside what the grammar made of the sound."""
    made = bench(tmp_path / "job", text="rail five is five", trust=Trust.UNRELATED)
    assert isinstance(made.ears, Ears)
    made.ears.transcript = replace(made.ears.transcript, free="Twenty-four point one volts.")
    turn = made.take_utterance(UTTERANCE, "session.flac")
    assert turn.reply.text == "Not taken. The point was not said."
    heard, _ = turn.events
    assert isinstance(heard, Heard)
    assert (heard.text, heard.outcome) == ("twenty four point one volts", "ignored")
    made.ears.transcript = replace(made.ears.transcript, free="Good morning.")
    assert made.take_utterance(UTTERANCE, "session.flac").reply == Reply("")


def test_unrelated_talk_is_not_answered(tmp_path: Path) -> None:
    made = bench(tmp_path / "job", trust=Trust.UNRELATED)
    turn = made.take_utterance(UTTERANCE, "session.flac")
    assert turn.reply == Reply("")
    assert [event.kind for event in turn.events] == ["heard"]


@pytest.mark.parametrize(
    ("text", "outcome"), [("strike that", Outcome.IGNORED), ("gadget strike that", Outcome.ACCEPTED)]
)
def test_right_after_a_reading_a_sentence_of_its_own_needs_the_attention_word(
    text: str, outcome: Outcome, tmp_path: Path
) -> None:
    """There the networks hold sentences without it, for the rest of a value."""
    made = bench(tmp_path / "job")
    made.understanding = BoardGrammar(read_board(BOARD, "board.yaml"), None, english(), "gadget")
    made.private = True
    made.take_text("gadget rail five reads five point oh", "session.flac", start_s=0.0, end_s=0.5)
    assert made.context_of(UTTERANCE, "session.flac").follows
    called = outcome is Outcome.ACCEPTED
    made.ears = Ears(text, Trust.AGREED if called else Trust.DOUBTFUL, meant=called)
    turn = made.take_utterance(UTTERANCE, "session.flac")
    assert turn.decision.outcome is outcome
    assert (turn.hearing.transcript.text, turn.hearing.clip is None) == (text if called else "", not called)
    assert len(tuple(made.state.readings)) == (0 if called else 1)


def test_closing_twice_is_kept_once(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    assert [event.kind for event in made.close("end of the recording")] == ["closed"]
    assert made.close("end of the recording") == ()


def test_a_bench_without_ears_takes_text_only(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    made.ears = None
    with pytest.raises(ValueError, match="takes text only"):
        made.take_utterance(UTTERANCE, "session.flac")


def test_hearing_ahead_changes_nothing_and_is_decided_only_in_its_own_context(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    speech = made.hear(UTTERANCE, made.context)
    assert [event.kind for event in made.foresee(speech, "microphone")] == ["heard", "reading"]
    assert order_of(made) == ["opened"]
    assert not speech.complete  # "volts" might follow
    made.decide(speech, "microphone")
    assert order_of(made) == ["opened", "clip", "heard", "reading"]
    with pytest.raises(ValueError, match="another context than the present one"):
        made.decide(speech, "microphone")
    again = replace(UTTERANCE, start_s=30.0, end_s=31.0)
    context = made.context_of(again, "microphone")
    assert (context.last, context.follows) == ("rail 5", "")
    assert made.decide(made.hear(again, context), "microphone").decision.outcome is Outcome.ACCEPTED


def test_what_comes_right_after_a_reading_is_heard_as_what_may_be_its_rest(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    made.decide(made.hear(UTTERANCE, made.context), "microphone")
    soon = replace(UTTERANCE, start_s=UTTERANCE.end_s + 0.5, end_s=UTTERANCE.end_s + 1.5)
    assert made.context_of(soon, "microphone").follows
    with pytest.raises(ValueError, match="another context than the present one"):
        made.decide(made.hear(soon, made.context), "microphone")


def test_a_turn_that_was_taken_back_is_kept_as_such(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    turn = made.decide(made.hear(UTTERANCE, made.context), "microphone")
    assert [event.kind for event in made.take_back(turn, "speech went on")] == ["withdrawn"]
    assert made.state.readings.top is None
    made.note_device("bench microphone", "lost", "it was unplugged")
    made.tell(Reply("I lost the microphone."))
    assert order_of(made)[-3:] == ["device", "says I lost the microphone.", "said"]


def test_a_sentence_ends_where_nothing_longer_begins_with_it(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    network = made.understanding.network(made.context)
    assert network.ends("rail five reads five point oh volts")
    assert not network.ends("rail five reads five")
    assert not network.ends("rail five reads five point")
    assert not network.ends("the kettle is on")


SAME_NUMBER = [
    ("rail five reads five point oh", "rail five reads five point oh oh volts", True),
    ("rail five reads five point oh", "rail five reads five volts", True),
    ("rail five reads five point two", "rail five reads five point twenty", True),
    ("rail five reads five point oh", "rail five reads five point one", False),
    ("rail five reads five point oh", "input reads five point oh", False),
    ("rail five reads four point nine", "rail five reads forty nine", False),
    # what was left unsaid can be nothing else here, so it would be kept as the same
    ("rail five reads five two", "rail five reads five point two", True),
    ("rail five reads five point one", "rail five reads five two", False),
    # absurd, so it would be asked: nothing is the same but what means the same
    ("rail five reads five hundred point oh", "rail five reads five hundred point oh oh", False),
    ("rail five reads five hundred point oh", "rail five reads five hundred point zero", True),
    ("strike that", "strike that", True),
    ("strike that", "what is left", False),
]


def test_the_ears_are_told_what_would_be_kept_as_the_same_number(tmp_path: Path) -> None:
    made = bench(tmp_path / "job")
    kept = list(order_of(made))
    made.hear(UTTERANCE, made.context_of(UTTERANCE, "mic"))
    assert isinstance(made.ears, Ears)
    number_of = made.ears.number_of
    assert number_of is not None
    for one, other, same in SAME_NUMBER:
        assert (number_of(one) == number_of(other)) is same, (one, other)
    assert number_of("the kettle is on") is None
    assert order_of(made) == kept  # nothing is kept by asking


@pytest.mark.parametrize(("after_s", "lapses"), [(119, False), (121, True)])
def test_a_question_of_a_source_without_times_lapses_by_the_clock(after_s: int, lapses: bool, tmp_path: Path) -> None:
    made = bench(tmp_path / "job", "rail five reads fifty volts")
    made.take_text("rail five reads fifty volts", "keyboard")
    assert made.state.question is not None
    made.clock = lambda: NOW + timedelta(seconds=after_s)
    assert made.lapse("keyboard", None) is lapses
    assert (made.state.question is None) is lapses
