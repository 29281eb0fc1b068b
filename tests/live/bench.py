"""A bench without devices, on a clock of its own: speech is written down with its times, everything else is real.

The sound of a spoken span is a square wave, so the segmenter really cuts it; the ears read the words that were written
for the spans which the utterance holds. Journal, clips, grammar, session and phrasebook are the real ones.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

import numpy as np

from benchvoice.answer.phrases import FILES as REPLY_FILES
from benchvoice.answer.phrases import read_phrasebook
from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.decide import session
from benchvoice.decide.checklist_file import read_checklist
from benchvoice.decide.profile import read_board
from benchvoice.devices.zeros import ZeroWatch
from benchvoice.errors import StorageError
from benchvoice.events import Event, Reading
from benchvoice.files import shipped
from benchvoice.hear.segment import Segmenter, SegmentSettings
from benchvoice.keep.clips import keep_clip
from benchvoice.keep.journal import Journal
from benchvoice.live.ahead import HearingThread
from benchvoice.live.mouth import LiveMouth
from benchvoice.live.parts import USUAL, Ear, LiveSettings, Timing
from benchvoice.live.pipeline import Live
from benchvoice.live.watch import DeviceWatch
from benchvoice.loop import Bench, Turn
from benchvoice.records import (
    RATE_HZ,
    Alternative,
    AudioBlock,
    Reply,
    Samples,
    Transcript,
    Trust,
    Utterance,
    WordNetwork,
)
from tests.decide.builders import BOARD
from tests.understand.boards import english

__all__ = ["LiveBench", "Span"]

START = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
BLOCK_S = 0.02
VOICE, QUIET, ECHO = 8000, 10, 4000
TONE_S, WORD_S = 0.2, 0.1


class Span(NamedTuple):
    """Words spoken from `start_s` to `end_s`, in seconds."""

    start_s: float
    end_s: float
    words: str
    trust: Trust = Trust.AGREED


class Loudness:
    """A detector that takes loud frames for speech."""

    def probability(self, frame: Samples) -> float:
        return 1.0 if np.abs(frame.astype(np.int32)).max() > 1000 else 0.0

    def reset(self) -> None:
        """It remembers nothing."""


class Speaker:
    """A voice whose sound lasts as long as speech does, by the bench's clock."""

    def __init__(self, now: Callable[[], float]) -> None:
        self.now = now
        self.said: list[tuple[float, Reply]] = []
        self.sounds: list[list[float]] = []
        self.paused_s: float | None = None
        self.pauses: list[tuple[float, float]] = []
        self.mute_why = ""

    def say(self, reply: Reply) -> None:
        self.said.append((self.now(), reply))
        start_s = max(self.now() + 0.03, self.sounds[-1][1] if self.sounds else 0.0)
        length_s = (TONE_S if reply.tone else 0.0) + WORD_S * len(reply.text.split())
        self.sounds.append([start_s, start_s + length_s])

    def stop(self) -> None:
        silent_s = self.now() if self.paused_s is None else self.paused_s
        self.paused_s = None
        for sound in self.sounds:
            sound[1] = min(sound[1], max(sound[0], silent_s))

    def pause(self) -> None:
        if self.speaking and self.paused_s is None:
            self.paused_s = self.now()

    def go_on(self) -> None:
        """What was left of the sounds comes later by as long as the pause was."""
        if self.paused_s is None:
            return
        for sound in self.sounds:
            if sound[1] > self.paused_s:
                sound[1] += self.now() - self.paused_s
        self.pauses.append((self.paused_s, self.now()))
        self.paused_s = None

    @property
    def speaking(self) -> bool:
        return bool(self.sounds) and self.now() < self.sounds[-1][1]

    def sounding(self, at_s: float) -> bool:
        return any(start <= at_s < end for start, end in self.sounds)


class Room:
    """The microphone, and the clock that runs while it is read."""

    name = "bench microphone"
    delay_s = 0.04

    def __init__(self, spans: Sequence[Span]) -> None:
        self.spans = list(spans)
        self.now_s = 0.0
        self.next_s = 0.0
        self.why_deaf = ""
        self.dropped_s = 0.0
        self.echo_s: float | None = None  # how late our own voice comes back
        self.speaker: Speaker | None = None
        self.gated = False  # whether it gives zeros where nobody speaks
        self._zeros = ZeroWatch()
        self.voice, self.quiet = VOICE, QUIET  # how loud speech and the rest are

    def monotonic(self) -> float:
        return 100.0 + self.now_s

    def read(self, timeout_s: float) -> AudioBlock | None:
        arrives_s = self.next_s + BLOCK_S + self.delay_s
        if arrives_s > self.now_s + timeout_s:
            self.now_s += timeout_s
            return None
        self.now_s = max(self.now_s, arrives_s)
        start_s, self.next_s = self.next_s, round(self.next_s + BLOCK_S, 6)
        if self.why_deaf and not self.gated:
            return None
        return AudioBlock(self._sound(start_s), start_s)

    def _sound(self, start_s: float) -> Samples:
        n = round(BLOCK_S * RATE_HZ)
        middle_s = start_s + BLOCK_S / 2
        spoken = any(span.start_s <= middle_s < span.end_s for span in self.spans)
        if self.gated:
            self._zeros.take(zeros=not spoken, length_s=BLOCK_S)
            self.why_deaf = "the microphone gives no sound at all" if self._zeros.silent else ""
        level = self.voice if spoken else 0 if self.gated else self.quiet
        if self.echo_s is not None and self.speaker is not None:
            heard = self.speaker.sounding(100.0 + middle_s - self.echo_s)
            level = max(level, ECHO if heard else 0)
        return np.tile([level, -level], n // 2).astype(np.int16)


class Ears:
    """Reads the words of the spans that an utterance holds."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self.heard: list[Utterance] = []

    def hear(
        self,
        utterance: Utterance,
        network: WordNetwork,
        meaning_of: Callable[[str], str | None],
        slips: WordNetwork | None = None,
        uncalled: WordNetwork | None = None,  # noqa: ARG002  nobody is called by a word here
        *,
        number_of: Callable[[str], str | None] | None = None,  # noqa: ARG002  it is never in doubt
    ) -> Transcript:
        held = [span for span in self.room.spans if utterance.start_s < span.end_s and span.start_s < utterance.end_s]
        if not len(utterance.samples) or not held:
            return Transcript("panel", (), Trust.UNRELATED, "nothing was heard")
        self.heard.append(utterance)
        text = " ".join(span.words for span in held)
        if slips is not None and slips.accepts(text):  # the nearest sentence without it is what engines hear
            words = text.split()
            nearest = next(cut for n in range(len(words), 0, -1) if network.accepts(cut := " ".join(words[:n])))
            return Transcript("panel", (Alternative(nearest, -1.0),), Trust.DOUBTFUL, "a slip of the tongue")
        if not network.accepts(text) or meaning_of(text) is None:
            return Transcript("panel", (), Trust.UNRELATED, "not a sentence of the bench")
        trust = Trust.DOUBTFUL if any(span.trust is Trust.DOUBTFUL for span in held) else Trust.AGREED
        return Transcript("panel", (Alternative(text, -1.0),), trust)


UNDERSTANDING = BoardGrammar(read_board(BOARD, "board.yaml"), None, english())


class Folder:
    """The real journal and clips; `full` is a disk without room, `slow_s` what a write takes by the bench's clock."""

    def __init__(self, folder: Path, room: Room) -> None:
        self.room = room
        self.slow_s = 0.0
        self.journal = Journal.open(folder)
        self.folder = folder
        self.full = False
        self.kept: list[Event] = []

    def append(self, events: tuple[Event, ...]) -> None:
        if self.full:
            raise StorageError("the disk is full")
        self.journal.append(events)
        self.room.now_s += self.slow_s
        self.kept += events

    def keep_clip(self, seq: int, samples: Samples) -> str:
        return keep_clip(self.folder, seq, samples)


@dataclass
class Watcher:
    """Remembers what it was shown."""

    turns: list[tuple[Turn, Timing]] = field(default_factory=list)
    notices: list[str] = field(default_factory=list)
    ears: list[Ear] = field(default_factory=list)

    def turn(self, turn: Turn, timing: Timing) -> None:
        self.turns.append((turn, timing))

    def notice(self, reply: Reply) -> None:
        self.notices.append(reply.text)

    def ear(self, ear: Ear) -> None:
        self.ears.append(ear)


class LiveBench:
    """The pipeline with all its rooms, in a folder; `checklist` is the text of one that is gone through."""

    def __init__(
        self, folder: Path, *spans: Span, settings: LiveSettings = USUAL, checklist: str | None = None
    ) -> None:
        self.room = Room(spans)
        self.speaker = Speaker(self.room.monotonic)
        self.room.speaker = self.speaker
        self.keeper = Folder(folder, self.room)
        self.ears = Ears(self.room)
        self.watcher = Watcher()
        self.wall_s = 1_000_000.0
        board = read_board(BOARD, "board.yaml")
        steps = None if checklist is None else read_checklist(checklist, "list.yaml", board)
        state, events = session.open_session(
            board, None, at=START, job="GF-2-0001", engine="panel", version="0", checklist=steps
        )
        self.keeper.append(events)
        texts = {name: (shipped("grammars") / "en" / name).read_text(encoding="utf-8") for name in REPLY_FILES}
        phrases = read_phrasebook(texts)
        mouth = LiveMouth(self.speaker, self.room.monotonic)
        self.bench = Bench(
            state,
            understanding=UNDERSTANDING,
            phrases=phrases,
            mouth=mouth,
            keeper=self.keeper,
            clock=lambda: START + timedelta(seconds=self.room.now_s),
            ears=self.ears,
        )
        self.hearing = HearingThread(self.bench, self.room.monotonic)
        self.live = Live(
            self.bench,
            self.room,
            Segmenter(Loudness(), SegmentSettings(end_wait_s=settings.end_wait_s)),
            mouth,
            notices=phrases.notice,
            watcher=self.watcher,
            hearing=self.hearing,
            monotonic=self.room.monotonic,
            watch=DeviceWatch(self.room, mouth, self.room.monotonic, lambda: self.wall_s + self.room.now_s),
            settings=settings,
        )

    def until(self, now_s: float) -> None:
        """Let it run until then; hearing takes no time of the bench's clock."""
        while self.room.now_s < now_s:
            self.live.step()
            self.hearing.wait()

    @property
    def kinds(self) -> list[str]:
        """The kinds of the events kept since the job was opened."""
        return [event.kind for event in self.keeper.kept[1:]]

    @property
    def readings(self) -> list[tuple[str, str]]:
        """Point and value of the readings that count, in order."""
        return [(reading.point, reading.value) for reading in reversed(list(self.bench.state.readings))]

    @property
    def said(self) -> list[str]:
        """Words and tones as they were handed to the voice."""
        return [reply.text or f"({reply.tone})" for _, reply in self.speaker.said]

    def said_at(self, number: int) -> float:
        """When the voice got what it said as number `number`, in seconds of the bench's clock."""
        return self.speaker.said[number][0] - 100.0

    def all_readings(self) -> list[Reading]:
        """Every reading that was kept, withdrawn ones too."""
        return [event for event in self.keeper.kept if isinstance(event, Reading)]
