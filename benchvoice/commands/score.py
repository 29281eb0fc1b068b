"""`benchvoice score`: how well a labelled corpus is heard, through the same path as `hear`."""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass

from benchvoice import __version__
from benchvoice.commands.console import progress
from benchvoice.commands.corpus import CorpusLine, Meant, meant_by, read_corpus
from benchvoice.commands.listening import utterances
from benchvoice.commands.opening import BoardGrammar, load_board, load_language, load_meter, utc_now
from benchvoice.commands.settings import SilentMouth, load_phrasebook, open_ears
from benchvoice.decide import session
from benchvoice.events import Command, Event, Note, Reading
from benchvoice.loop import Bench, Turn
from benchvoice.records import CommandIntent, Outcome, Samples

__all__ = ["Scored", "run"]


@dataclass(frozen=True)
class Scored:
    """One recording's result: what was said, what was heard, and how it ended (one of `RESULTS`)."""

    audio: str
    text: str
    heard: str
    result: str


RESULTS = ("right", "accepted wrong", "asked", "ignored")


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    board = load_board(arguments.board)
    meter = load_meter(arguments.meter)
    grammar = BoardGrammar(board, meter, load_language())
    lines = read_corpus(arguments.corpus, grammar.parser)
    phrases = load_phrasebook(board)
    scored: list[Scored] = []
    with (
        open_ears(arguments, grammar.grammar.vocabulary(), arguments.board) as ears,
        progress(f"scoring {arguments.corpus.name}") as show,
    ):
        for line in lines:
            show(len(scored), len(lines))
            # a session of its own, so that nothing said before changes what this can mean
            state, _ = session.open_session(
                board, meter, at=utc_now(), job="score", engine=ears.name, version=__version__
            )
            bench = Bench(
                state,
                understanding=grammar,
                phrases=phrases,
                mouth=SilentMouth(),
                keeper=_Nowhere(),
                clock=utc_now,
                ears=ears,
                clips=False,
            )
            heard = utterances(line.recording, watched=False)
            scored.append(_judge(line, [bench.take_utterance(utterance, line.audio) for utterance in heard]))
    _print(scored, as_json=arguments.json)
    return 0


class _Nowhere:
    """Keeps nothing: scoring leaves no job behind."""

    def append(self, events: tuple[Event, ...]) -> None:
        pass

    def keep_clip(self, seq: int, samples: Samples) -> str:  # noqa: ARG002
        raise ValueError("scoring keeps no clips")


def _judge(line: CorpusLine, turns: list[Turn]) -> Scored:
    heard = " / ".join(turn.hearing.transcript.text for turn in turns if turn.hearing.transcript.text)
    taken = [meant for turn in turns for meant in _taken(turn)]
    if taken:
        result = "right" if len(taken) == 1 and taken[0] in line.meant else "accepted wrong"
    elif any(turn.decision.outcome is Outcome.ASKED for turn in turns):
        result = "asked"
    else:
        result = "ignored" if line.meant else "right"
    return Scored(line.audio, line.text, heard, result)


def _taken(turn: Turn) -> Iterator[Meant]:
    """What one utterance was taken for without asking."""
    for event in turn.events:
        match event:
            case Reading():
                yield Meant(point=event.point, value=event.value, unit=event.unit)
            case Command():
                yield Meant(point=event.point or "", command=event.name)
            case Note():
                yield Meant(note=event.text)
    if turn.decision.outcome is Outcome.IGNORED and turn.decision.about == "refused":
        # a command that cannot be carried out in an empty session ("strike that") was heard all the same
        yield from meant_by(intent for intent in turn.hearing.parses[0].intents if isinstance(intent, CommandIntent))


def _print(scored: list[Scored], *, as_json: bool) -> None:
    counts = Counter(item.result for item in scored)
    if as_json:
        totals = {result: counts[result] for result in RESULTS}
        print(json.dumps({"recordings": len(scored), **totals, "each": [asdict(item) for item in scored]}))
        return
    for result in RESULTS:
        print(f"{result:>15}  {counts[result]:6}  {100 * counts[result] / len(scored):5.1f} %")
    for item in scored:
        if item.result != "right":
            print(f"{item.result}: {item.audio}: said '{item.text}', heard '{item.heard}'")
