"""The live pipeline in this process on the software sound card: so its stages can be timed."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from benchvoice.answer.voice import open_speaker
from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.loading import load_board, load_language, load_meter
from benchvoice.commands.opening import JobOptions, OpenJob, open_job, utc_now
from benchvoice.commands.settings import load_phrasebook
from benchvoice.events import Event
from benchvoice.hear.engines import open_engines
from benchvoice.hear.microphone import Microphone
from benchvoice.hear.segment import Segmenter, SegmentSettings
from benchvoice.hear.speech_detector import open_detector
from benchvoice.live.ahead import HearingThread
from benchvoice.live.mouth import LiveMouth
from benchvoice.live.parts import USUAL, Ear, LiveSettings, Timing
from benchvoice.live.pipeline import Live
from benchvoice.live.watch import DeviceWatch
from benchvoice.loop import Bench, Turn
from benchvoice.records import Reply, Samples
from tests.live.at_the_bench import BOARD, METER
from tests.sound_card import SoundCard

__all__ = ["Rig", "rig"]


class TimedKeeper:
    """The job's own keeper, with how long each of its writes took, in seconds."""

    def __init__(self, job: OpenJob) -> None:
        self._keeper = job.keeper
        self.took_s: list[float] = []

    def append(self, events: tuple[Event, ...]) -> None:
        start_s = time.monotonic()
        self._keeper.append(events)
        self.took_s.append(time.monotonic() - start_s)

    def keep_clip(self, seq: int, samples: Samples) -> str:
        start_s = time.monotonic()
        name = self._keeper.keep_clip(seq, samples)
        self.took_s.append(time.monotonic() - start_s)
        return name


@dataclass
class Rig:
    """A running pipeline.

    Attributes:
        microphone, mouth, live: its parts.
        keeper: with the time of each write.
        folder: the job's folder.
        turns: each turn with its timing, in order.
        ears: the last state of the ears.
    """

    microphone: Microphone
    mouth: LiveMouth
    live: Live
    keeper: TimedKeeper
    folder: Path
    turns: list[tuple[Turn, Timing]] = field(default_factory=list)
    ears: list[Ear] = field(default_factory=list)

    def turn(self, turn: Turn, timing: Timing) -> None:
        self.turns.append((turn, timing))

    def notice(self, reply: Reply) -> None:
        """Nothing is shown."""

    def ear(self, ear: Ear) -> None:
        self.ears[:] = [ear]

    def silent(self, patience_s: float = 30.0) -> None:
        """Wait until nothing is being said or heard, and the echo's tail has passed."""
        until_s = time.monotonic() + patience_s
        quiet_since_s = time.monotonic()
        while time.monotonic() - quiet_since_s < 0.8:
            assert time.monotonic() < until_s, "it does not fall silent"
            if self.mouth.speaking or self.live.segmenter.speaking:
                quiet_since_s = time.monotonic()
            time.sleep(0.02)


@contextmanager
def rig(card: SoundCard, jobs: Path, settings: LiveSettings = USUAL) -> Iterator[Rig]:
    """The pipeline on a thread of its own, listening."""
    os.environ.update({name: value for name, value in card.environment.items() if name.startswith(("PULSE", "XDG"))})
    board, meter = load_board(BOARD), load_meter(METER)
    grammar, phrases = BoardGrammar(board, meter, load_language()), load_phrasebook(board)
    ended = threading.Event()
    with ExitStack() as stack:
        microphone = Microphone()
        stack.callback(microphone.close)
        voice = stack.enter_context(open_speaker())
        ears = stack.enter_context(open_engines(apart=True))
        job = stack.enter_context(open_job(board, meter, JobOptions(jobs, "bench"), engine=ears.name))
        keeper, mouth = TimedKeeper(job), LiveMouth(voice, time.monotonic)
        bench = Bench(
            job.state, understanding=grammar, phrases=phrases, mouth=mouth, keeper=keeper, clock=utc_now, ears=ears
        )
        made = Rig(microphone, mouth, None, keeper, job.folder)  # type: ignore[arg-type]  # set in the next line
        hearing = stack.enter_context(HearingThread(bench, time.monotonic))
        hearing.get_ready()
        made.live = Live(
            bench,
            microphone,
            Segmenter(open_detector(), SegmentSettings(end_wait_s=settings.end_wait_s)),
            mouth,
            notices=phrases.notice,
            watcher=made,
            hearing=hearing,
            monotonic=time.monotonic,
            watch=DeviceWatch(microphone, mouth, time.monotonic, time.time),
            settings=settings,
        )
        thread = threading.Thread(target=made.live.run, args=(ended.is_set,))
        thread.start()
        try:
            yield made
        finally:
            ended.set()
            thread.join()
            bench.close("interrupted")
            voice.stop()
