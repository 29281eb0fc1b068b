"""How well the attention word tells what is meant for the bench: readings with it, without it, and after other words.

    python -m tests.corpus.measure_attention [--split tune|held-out] [--readings N] [--word WORD …] [--seed S]
        [--condition clean|20dB …] [--cache DIR]

For each word N readings of the oven board are said clean with the word before them and without it. Every third is said
with something else before it too ("so", "he said"), and heard by a bench that needs no word, to show what the panel
would have done with it. Every third is said at 20 dB too, with the word, without it, and with something else. Each goes
through segmenter, panel and session as in `hear --attention WORD`. It ends with status 1 where one that was not called
is taken, or a called one taken wrong.
Voices and noises are those of the split (`voices.py`, `noises.py`), rates and pitches as `planned.py` draws them.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

from benchvoice.answer.phrases import Phrasebook
from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.loading import load_language
from benchvoice.commands.score_hearing import Rooms
from benchvoice.commands.settings import load_phrasebook
from benchvoice.hear.engines import open_engines
from benchvoice.hear.panel import Panel
from benchvoice.hear.segment import Segmenter
from benchvoice.hear.speech_detector import open_detector
from benchvoice.records import AudioBlock, Context, Outcome, Samples, Utterance
from tests.corpus.noises import TALKER, noises_of
from tests.corpus.planned import Cast, plan, sound_of, speaker_of
from tests.corpus.voices import voices_of

WORDS = ("gadget", "computer", "workbench", "falcon")
"""Of five to eight sounds; "computer" begins like "compressor", "gadget" is hardly voiced at its end."""

CONDITIONS = ("clean", "20dB")
BEFORE = {
    "tune": ("so", "and", "okay", "well now", "the", "then", "but", "look"),
    "held-out": ("listen", "actually", "he said", "maybe", "again", "my budget", "what about", "i guess", "now"),
}
"""What else people say before a reading that they do not mean for the bench (our choice, no source)."""

_HOW = ("called", "uncalled", "other words", "no word")
_THIRD = 3
_RESULTS = ("right", "wrong", "asked", "ignored")


@cache
def rooms_with(word: str | None) -> Rooms:
    """The oven board's rooms, with the attention word where there is one."""
    speaker = speaker_of()
    phrases: Phrasebook = load_phrasebook(speaker.board)
    return Rooms(
        speaker.board, speaker.meter, BoardGrammar(speaker.board, speaker.meter, load_language(), word), phrases
    )


def utterances_in(samples: Samples) -> Iterator[Utterance]:
    """As a recording of these samples would be cut."""
    segmenter = Segmenter(open_detector())
    yield from segmenter.feed(AudioBlock(samples, 0.0))
    yield from segmenter.finish()


def result_of(rooms: Rooms, ears: Panel, samples: Samples, meant: str) -> str:
    """How a sound ends in a session of its own: one of `_RESULTS`, or several at once where it fell apart."""
    bench = rooms.bench(ears)
    wanted = rooms.grammar.parse(meant, Context()).meaning
    turns = [bench.take_utterance(utterance, "sound") for utterance in utterances_in(samples)]
    taken = [turn for turn in turns if turn.decision.outcome is Outcome.ACCEPTED]
    if taken:
        right = len(taken) == 1 and wanted is not None and taken[0].hearing.parses[0].meaning == wanted
        return "right" if right else "wrong"
    return "asked" if any(turn.decision.outcome is Outcome.ASKED for turn in turns) else "ignored"


def measure(word: str, which: str, numbers: range, ears: Panel, chosen: argparse.Namespace) -> Counter[str]:
    """Count how each of those readings ends, by how it was said; print those that ought not to be taken."""
    split = chosen.split
    cast = Cast(voices_of(split), tuple(name for name in noises_of(split) if name != TALKER))
    count = Counter[str]()
    for number in numbers:
        planned = plan(split, which, number, chosen.seed, cast, only="reading")
        text = planned.sentence.text
        pause = "," if number % 2 else ""
        ways = [("called", f"{word}{pause} {text}"), ("uncalled", text)]
        third = number // len(cast.voices) % _THIRD == 0  # each voice in its turn
        if which != "clean" and not third:
            continue
        if third:
            before = BEFORE[split][number % len(BEFORE[split])]
            ways.append(("other words", f"{before} {text}"))
        if third and which == "clean":
            ways.append(("no word", text))
        for how, said in ways:
            sound = sound_of(replace(planned, sentence=replace(planned.sentence, text=said)), chosen.cache)
            meant = said.replace(",", "") if how in ("called", "no word") else ""
            result = result_of(rooms_with(None if how == "no word" else word), ears, sound, meant)
            count[f"{how} {result}"] += 1
            if result == "wrong" or (result == "asked" and not meant):
                print(f"  {result}, {planned.voice}, {planned.noise_label}: {said!r}", flush=True)
    return count


def main() -> int:
    """Measure as the arguments say."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--split", default="held-out", choices=tuple(BEFORE))
    parser.add_argument("--readings", type=int, default=75)
    parser.add_argument("--word", nargs="+", default=WORDS)
    parser.add_argument("--condition", nargs="+", default=CONDITIONS, choices=CONDITIONS)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cache", type=Path, default=Path(tempfile.gettempdir()) / "benchvoice-corpus-speech")
    chosen = parser.parse_args()
    print(f"{chosen.split}, voices {', '.join(voices_of(chosen.split))}: {chosen.readings} readings a row and way")
    print(f"each {', '.join(_RESULTS)}")
    print(f"{'':18s}", *(f"{how:>24s}" for how in _HOW))
    totals: Counter[str] = Counter()
    with open_engines() as ears:
        for which in chosen.condition:
            for place, word in enumerate(chosen.word):
                numbers = range(place * chosen.readings, (place + 1) * chosen.readings)
                count = measure(word, which, numbers, ears, chosen)
                totals += count
                _row(f"{word} {which}", count)
    _row("all", totals)
    return 1 if any(totals[f"{how} wrong"] for how in _HOW if how != "no word") else 0


def _row(name: str, count: Counter[str]) -> None:
    cells = ("".join(f"{count[f'{how} {result}']:5d}" for result in _RESULTS) for how in _HOW)
    print(f"{name:18s}", *(f"{cell:>24s}" for cell in cells), flush=True)


if __name__ == "__main__":
    sys.exit(main())
