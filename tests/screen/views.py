"""Views for the tests of the screen: from a session held by text with every real room, and made by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import count

from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.loading import load_language
from benchvoice.commands.settings import SilentMouth, load_phrasebook
from benchvoice.decide import session
from benchvoice.decide.profile import read_board, read_meter
from benchvoice.events import Event
from benchvoice.loop import Bench
from benchvoice.records import Samples, Statement
from benchvoice.screen.view import Strip, View, after_turn, first_view
from tests.decide.builders import BOARD, METER

START = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
JOURNAL = "jobs/GF-2-0001/journal.jsonl"


class _NoKeeper:
    """Keeps nothing: what the screen shows does not come from the disk."""

    def append(self, events: tuple[Event, ...]) -> None:
        """Forget the events."""

    def keep_clip(self, seq: int, samples: Samples) -> str:
        """Forget the sound."""
        return f"{seq}, {len(samples)} samples"


class Talk:
    """A job spoken by text: every utterance goes through the parser, the session and the phrases; the view follows."""

    def __init__(self) -> None:
        board, meter = read_board(BOARD, "board.yaml"), read_meter(METER, "meter.yaml")
        state, _ = session.open_session(board, meter, at=START, job="GF-2-0001", engine="text", version="0")
        seconds = count()
        self.bench = Bench(
            state,
            understanding=BoardGrammar(board, meter, load_language()),
            phrases=load_phrasebook(board),
            mouth=SilentMouth(),
            keeper=_NoKeeper(),
            clock=lambda: START + timedelta(seconds=next(seconds)),
        )
        self.view = first_view(state, job="GF-2-0001", journal=JOURNAL)

    def say(self, *texts: str) -> View:
        """The view after these utterances."""
        for text in texts:
            turn = self.bench.take_text(text, "text")
            self.view = after_turn(self.view, turn, self.bench.state)
        return self.view


FAIL = View(
    board="GF-2 greenhouse fan controller",
    job="GF-2-0001",
    level_dbfs=-31.2,
    noise_dbfs=-52.0,
    point="rail 3.3",
    now_on="rail 3.3",
    reading=7,
    value_text="4.0",
    unit="V",
    statement=Statement.FAIL,
    direction="high",
    limits_text="3.14 to 3.47 V",
    uncertainty_text="U = 0.08 V",
    strip=Strip(Decimal("3.14"), Decimal("3.47"), Decimal("3.3"), Decimal("4.0"), Decimal("0.08")),
    said="Fail, high. Four point zero. Rail three point three. Limits three point one four to three point four seven.",
    heard="rail three point three reads four point oh",
    left=5,
    journal=JOURNAL,
    turns=3,
)
PASS = replace(
    FAIL,
    point="rail 5",
    now_on="rail 5",
    value_text="5.02",
    statement=Statement.PASS,
    direction=None,
    limits_text="4.75 to 5.25 V",
    uncertainty_text="U = 0.032 V",
    strip=Strip(Decimal("4.75"), Decimal("5.25"), Decimal(5), Decimal("5.02"), Decimal("0.032")),
    said="Pass. Five point zero two. Rail five. Limits four point seven five to five point two five.",
    heard="rail five reads five point oh two",
)
ASKED = replace(
    FAIL, question="Fifteen or fifty?", said="Fifteen or fifty?", offers=("15", "50 V"), asked_about="input"
)
REFUSED = replace(FAIL, refused="Not taken. The point was not said.", said="Not taken. The point was not said.")
READY = View(board="GF-2 greenhouse fan controller", job="GF-2-0001", left=7, journal=JOURNAL)
