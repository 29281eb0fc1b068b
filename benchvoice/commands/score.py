"""`benchvoice score`: how well a labelled corpus is heard, through the same path as `hear`.

The corpus is JSON lines: `audio` (a path relative to the corpus file) and `text`, and what was meant: `point`, `value`
and `unit` of a reading, or `command`, or neither for talk that is not meant for the bench.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from dataclasses import asdict, dataclass
from pathlib import Path

from pydantic import BaseModel, ConfigDict, ValidationError

from benchvoice import __version__
from benchvoice.commands.console import progress
from benchvoice.commands.listening import utterances
from benchvoice.commands.opening import BoardGrammar, load_board, load_language, load_meter, utc_now
from benchvoice.commands.settings import SilentMouth, load_phrasebook, open_ears
from benchvoice.decide import session
from benchvoice.errors import CorpusError
from benchvoice.events import Command, Event, Heard, Reading
from benchvoice.hear.audio import Recording
from benchvoice.loop import Bench
from benchvoice.records import Samples

__all__ = ["CorpusLine", "Scored", "read_corpus", "run"]


class CorpusLine(BaseModel):
    """One labelled recording."""

    model_config = ConfigDict(extra="allow", frozen=True)

    audio: str
    text: str = ""
    point: str | None = None
    value: str | None = None
    unit: str | None = None
    command: str | None = None


@dataclass(frozen=True)
class Scored:
    """One recording's result: what was said, what was heard, and how it ended ("right", "accepted wrong", …)."""

    audio: str
    text: str
    heard: str
    result: str


RESULTS = ("right", "accepted wrong", "asked", "ignored")


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    lines = read_corpus(arguments.corpus)
    board = load_board(arguments.board)
    meter = load_meter(arguments.meter)
    grammar = BoardGrammar(board, meter, load_language())
    ears = open_ears(arguments, grammar.grammar.vocabulary(), arguments.board)
    phrases = load_phrasebook(board)
    scored: list[Scored] = []
    with progress(f"scoring {arguments.corpus.name}") as show:
        for line in lines:
            show(len(scored), len(lines))
            state, _ = session.open_session(
                board, meter, at=utc_now(), job="score", engine=ears.name, version=__version__
            )
            memory = _Memory()
            bench = Bench(
                state,
                understanding=grammar,
                phrases=phrases,
                mouth=SilentMouth(),
                keeper=memory,
                clock=utc_now,
                ears=ears,
                clips=False,
            )
            for utterance in utterances(Recording(arguments.corpus.parent / line.audio), watched=False):
                bench.take_utterance(utterance, line.audio)
            scored.append(_judge(line, memory.events))
    _print(scored, as_json=arguments.json)
    return 0


def read_corpus(path: Path) -> list[CorpusLine]:
    """The lines of a corpus.

    Raises:
        CorpusError: missing, empty, or a line that is not an object with `audio`; names the line and field.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as cause:
        raise CorpusError(f"cannot be read ({cause.strerror})", file=path, cure="Check the name") from None
    except UnicodeDecodeError:
        raise CorpusError("is not UTF-8 text", file=path, cure="Name a file of JSON lines") from None
    lines = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        try:
            lines.append(CorpusLine.model_validate_json(line))
        except ValidationError as error:
            first = error.errors()[0]
            field = ".".join(str(part) for part in first["loc"])
            raise CorpusError(first["msg"], file=path, line=number, field=field or None) from None
    if not lines:
        raise CorpusError(
            "holds no lines", file=path, cure='Write one object a line: {"audio": "a.wav", "text": "..."}'
        )
    return lines


class _Memory:
    """Keeps events for as long as one recording is scored; scoring leaves no job behind."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def append(self, events: tuple[Event, ...]) -> None:
        self.events.extend(events)

    def keep_clip(self, seq: int, samples: Samples) -> str:  # noqa: ARG002
        raise ValueError("scoring keeps no clips")


def _judge(line: CorpusLine, events: list[Event]) -> Scored:
    heard = " / ".join(event.text for event in events if isinstance(event, Heard) and event.text)
    readings = [event for event in events if isinstance(event, Reading)]
    commands = [event for event in events if isinstance(event, Command)]
    asked = any(isinstance(event, Heard) and event.outcome == "asked" for event in events)
    wanted = (line.point, line.value, line.unit)
    if readings or commands:
        fits = [(event.point, event.value, event.unit) == wanted for event in readings]
        fits += [event.name == line.command for event in commands]
        result = "right" if fits == [True] else "accepted wrong"
    elif asked:
        result = "asked"
    else:
        nothing_meant = line.value is None and line.command is None
        result = "right" if nothing_meant else "ignored"
    return Scored(line.audio, line.text, heard, result)


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
