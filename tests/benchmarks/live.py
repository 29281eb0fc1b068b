"""How long an answer takes, split by stage: `python -m tests.benchmarks.live [ROUNDS] [headset]`.

A demo session is spoken, sentence by sentence, to the live pipeline on the software sound card (needs PulseAudio).
End of speech and first sound of the answer are taken from recordings of the microphone's and the loudspeaker's sinks,
so that everything between is in the figures, the devices' delays and the detector's hesitation too. Times in seconds.
With `headset` an answer may sound while more is said, so that a value that could go on need not wait for its end.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from benchvoice.answer.synthesis import Synthesiser
from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.loading import load_board, load_language, load_meter
from benchvoice.hear.audio import Recording
from benchvoice.hear.engines import open_engines
from benchvoice.live.parts import LiveSettings, Timing
from benchvoice.loop import Turn
from benchvoice.records import RATE_HZ, Context, Outcome, Utterance
from tests.live.at_the_bench import BOARD, METER, in_order, sentences, tones_in
from tests.live.rig import Rig, rig
from tests.sound_card import SoundCard, sound_card

_STAGES = (
    "speech ended → answer sounds",
    "  speech ended → last voiced frame",
    "  end wait (from the last voiced frame)",
    "  hearing outlasts the wait",
    "  decide, clip, journal",
    "    of that clip and journal (fsync)",
    "  other blocks taken meanwhile",
    "  voice and device",
    "work after the end wait",
    "last voiced frame → hearing begins",
    "hearing, first to last (runs in the wait)",
)


def one(bench: Rig, card: SoundCard, sentence: str) -> tuple[Turn, dict[str, float]] | None:
    """Speak one sentence; its turn and the stages, or None where nothing was answered."""
    n, writes = len(bench.turns), len(bench.keeper.took_s)
    with card.recording("vmic.monitor", RATE_HZ) as spoken, card.recording() as answered:
        card.play(sentences()[sentence], RATE_HZ)
        time.sleep(1.5)
        ended_s = spoken.loud_s()[-1]
        tones = tones_in(answered.samples)
        bench.silent()
    if len(bench.turns) == n or not tones:
        return None
    turn, at = bench.turns[n]
    if at.said_s is None or answered.start_s is None:
        return None
    return turn, _split(at, ended_s, answered.start_s + tones[0][0], sum(bench.keeper.took_s[writes : writes + 2]))


def _split(at: Timing, ended_s: float, sounds_s: float, wrote_s: float) -> dict[str, float]:
    assert at.said_s is not None
    voiced_s = at.voiced_until_s
    waited_s = voiced_s + at.wait_s
    stages = (
        sounds_s - ended_s,
        voiced_s - ended_s,
        at.wait_s,
        at.ended_s - waited_s,
        at.kept_s - at.ended_s,
        wrote_s,
        at.said_s - at.kept_s,
        sounds_s - at.said_s,
        sounds_s - waited_s,
        at.hearing_s - voiced_s,
        at.heard_s - at.hearing_s,
    )
    return dict(zip(_STAGES, stages, strict=True))


def bare(folder: Path) -> dict[str, list[float]]:
    """The engines' own decode time of the very same utterances, in this process, one after the other.

    In a second round over all of them: networks are compiled then, and what an engine remembers of the last sound is
    of another one.
    """
    board, meter, context = load_board(BOARD), load_meter(METER), Context()
    grammar = BoardGrammar(board, meter, load_language())
    network = grammar.network(context)
    took: dict[str, list[float]] = {}
    with open_engines() as panel:
        sounds = [
            np.concatenate([block.samples for block in Recording(clip).blocks()])
            for clip in sorted(folder.glob("clips/*.flac"))
        ]
        for timed in (False, True):
            for samples in sounds:
                utterance = Utterance(samples, 0.0, len(samples) / RATE_HZ, -20.0, -60.0)
                for recogniser in panel.recognisers:
                    start_s = time.perf_counter()
                    recogniser.hear(utterance, network)
                    if timed:
                        took.setdefault(recogniser.name, []).append(time.perf_counter() - start_s)
    return took


def _row(name: str, values: list[float], unit: str = "") -> str:
    p50, p95 = np.percentile(values, (50, 95))
    return f"{name:44s}{p50:8.3f}{p95:8.3f}{max(values):8.3f} {unit}".rstrip()


def _sum_s() -> float:
    """Seconds for a piece of work that is always the same, about 4 ms."""
    start_s = time.perf_counter()
    sum(number * number for number in range(60_000))
    return time.perf_counter() - start_s


def main() -> None:
    """Print the table."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 2
    said = [sentence for sentence in in_order() if sentence != "close the job"]
    accepted: list[dict[str, float]] = []
    others: list[dict[str, float]] = []
    missed = 0
    with sound_card() as card, tempfile.TemporaryDirectory() as folder:
        with rig(card, Path(folder), LiveSettings(headset="headset" in sys.argv)) as bench:
            bench.silent()
            for sentence in said * rounds:
                measured = one(bench, card, sentence)
                if measured is None:
                    missed += 1
                    print(f"no tone: {sentence}", flush=True)
                    continue
                turn, stages = measured
                reading = turn.decision.outcome is Outcome.ACCEPTED
                (accepted if reading else others).append(stages)
                figures = " ".join(f"{stages[name]:.3f}" for name in (_STAGES[0], *_STAGES[-2:]))
                print(f"{figures} {turn.decision.outcome} {turn.hearing.transcript.text}", flush=True)
            lost_s = bench.microphone.dropped_s
        decode = bare(bench.folder)
    print(f"\n{len(accepted)} taken, {len(others)} asked, {missed} ignored; sound lost {lost_s:.2f} s")
    for title, rows in (("taken", accepted), ("asked", others)):
        if rows:
            print(f"\n{title:44s}{'p50':>8s}{'p95':>8s}{'most':>8s}")
            for stage in _STAGES:
                print(_row(stage, [row[stage] for row in rows]))
    print(f"\n{'bare decode of the same utterances':44s}{'p50':>8s}{'p95':>8s}{'most':>8s}")
    for name, values in decode.items():
        print(_row(f"  {name}", values))
    synthesiser, took = Synthesiser(), []
    for number in range(10):
        start_s = time.perf_counter()
        synthesiser.speech(f"Fail, high. Four point zero. Take {number}. Limits three point one to three point five.")
        took.append(time.perf_counter() - start_s)
    print(_row("  words synthesised (while the tone sounds)", took))
    # where this is uneven, so is all above: a machine that is shared keeps nobody's p95
    print(_row("one sum, 2000 times: how evenly it computes", [1e3 * _sum_s() for _ in range(2000)], "ms"))


if __name__ == "__main__":
    main()
