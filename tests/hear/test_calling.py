"""Whether the attention word was said: the rules with written voters, and a few utterances through the real panel."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.decide.profile import read_board
from benchvoice.hear.engines import open_engines
from benchvoice.hear.network_engine import why_unavailable
from benchvoice.hear.panel import Panel, Voter
from benchvoice.hear.recogniser import Unheard
from benchvoice.records import Alternative, Context, Transcript, Trust, Utterance, WordNetwork
from tests.decide.builders import BOARD
from tests.hear.networks import readings
from tests.hear.sounds import speak, utterance, with_noise
from tests.understand.boards import english

SOUND = Utterance(np.zeros(16000, dtype=np.int16), 0.0, 1.0, -20.0, -90.0)
CALLED = readings(("gadget rail five",), ("volts",))
PLAIN = readings(("rail five",), ("volts",))
HEARD, REST = "gadget rail five reads five volts", "rail five reads five volts"
MISSED = "{} does not hear the attention word"


@dataclass
class Written:
    """A recogniser that hears, and weighs, what is written down for it: with the attention word, and without."""

    name: str
    called: list[tuple[str, float]]
    uncalled: list[tuple[str, float]] = field(default_factory=list)
    fits: dict[str, float] = field(default_factory=dict)

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:  # noqa: ARG002
        return ()

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        assert utterance is SOUND
        heard = self.called if network is CALLED else self.uncalled
        return Transcript(self.name, tuple(Alternative(*item) for item in heard), margin=12.0, gap=0.0)

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        assert utterance is SOUND
        return tuple(self.fits.get(text) for text in texts)


def ranking(without: float | None) -> Voter:
    """Hears it with the word at -10; `without` is the best sentence without it."""
    uncalled = [] if without is None else [("so " + REST, without)]
    engine = Written("network", [(HEARD, -10.0)], uncalled)
    return Voter(engine, gap_most=0.3, margin_least=2.5, call_lead=0.0, call_lead_least=-6.0)


def weighing(fits: dict[str, float], uncalled: Sequence[tuple[str, float]] = ()) -> Voter:
    engine = Written("sphinx", [(HEARD, 3.0)], list(uncalled), fits)
    return Voter(engine, gap_most=1.0, hearings=2, weigher=engine, call_weight=30.0, call_weight_clear=90.0)


def hear(*voters: Voter, uncalled: WordNetwork | None = PLAIN) -> Transcript:
    with Panel(voters) as panel:
        return panel.hear(SOUND, CALLED, lambda text: text, None, uncalled)


def test_both_hear_it() -> None:
    heard = hear(ranking(-10.0), weighing({HEARD: -400.0, REST: -430.0, f"so {REST}": -431.0}))
    assert (heard.trust, heard.text) == (Trust.AGREED, HEARD)


@pytest.mark.parametrize(
    ("without", "fits", "who"),
    [
        (-9.9, {HEARD: -400.0, REST: -489.0}, "network"),
        (-3.9, {HEARD: -400.0, REST: -900.0}, "network"),  # too far behind to be overruled
        (-20.0, {HEARD: -400.0, REST: -429.0}, "sphinx"),
        (-20.0, {HEARD: -400.0, REST: -500.0, f"so {REST}": -429.0}, "sphinx"),  # as the other voter heard it
        (-20.0, {REST: -500.0}, "sphinx"),  # with the word it does not fit at all
    ],
)
def test_one_does_not_hear_it(without: float, fits: dict[str, float], who: str) -> None:
    heard = hear(ranking(without), weighing(fits))
    assert (heard.trust, heard.why) == (Trust.UNRELATED, MISSED.format(who))


def test_who_weighs_clearly_overrules_who_hardly_hears_it() -> None:
    heard = hear(ranking(-4.0), weighing({HEARD: -400.0, REST: -490.0}))
    assert (heard.trust, heard.text) == (Trust.AGREED, HEARD)


def test_without_it_nothing_fits() -> None:
    assert hear(ranking(None), weighing({HEARD: -400.0})).trust is Trust.AGREED


def test_who_weighs_alone_looks_for_what_was_said_without_it_by_itself() -> None:
    other = "rail five reads nine volts"
    fits = {HEARD: -400.0, REST: -500.0, other: -410.0}
    assert hear(weighing(fits, [(other, 1.0)])).why == MISSED.format("sphinx")
    assert hear(weighing(fits)).trust is Trust.DOUBTFUL


def test_where_no_word_is_needed_nothing_is_weighed_against_it() -> None:
    heard = hear(ranking(-1.0), weighing({REST: -1.0}), uncalled=None)
    assert (heard.trust, heard.text) == (Trust.AGREED, HEARD)


def test_a_voter_that_cannot_tell_is_not_asked() -> None:
    plain = replace(weighing({HEARD: -400.0, REST: -1.0}), call_weight=None)
    assert hear(ranking(-20.0), plain).trust is Trust.AGREED


# --- on real sound --------------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def panel() -> Iterator[Panel]:
    if why_unavailable() is not None:
        pytest.skip(str(why_unavailable()))
    with open_engines() as opened:
        yield opened


@cache
def attentive(word: str) -> BoardGrammar:
    return BoardGrammar(read_board(BOARD, "board.yaml"), None, english(), word)


def heard_as(panel: Panel, said: str, word: str, folder: Path, voice: str, *, noise: bool = False) -> Transcript:
    grammar, context = attentive(word), Context()
    sound = speak(said, folder, voice)
    return panel.hear(
        utterance(with_noise(sound, 20) if noise else sound, noise_dbfs=-45.0 if noise else -90.0),
        grammar.network(context),
        lambda text: grammar.parse(text, context).meaning,
        grammar.slip_network(context),
        grammar.uncalled_network(context),
    )


@pytest.mark.apt
@pytest.mark.parametrize("voice", ["rms", "awb"])
@pytest.mark.parametrize("word", ["gadget", "computer"])
def test_only_what_was_called_is_for_us(panel: Panel, word: str, voice: str, tmp_path: Path) -> None:
    """Both voices had readings without "gadget" taken before there were rivals."""
    said = "rail five reads five point one volts"
    called = heard_as(panel, f"{word} {said}", word, tmp_path, voice)
    assert called.text == f"{word} {said}"
    assert called.trust is not Trust.UNRELATED  # whether it is asked is settled by the panel's other rules
    for other in (said, f"so {said}", "input is twenty four volts", "strike that"):
        heard = heard_as(panel, other, word, tmp_path, voice)
        assert heard.trust is Trust.UNRELATED, (other, heard)
    assert heard_as(panel, said, word, tmp_path, voice, noise=True).trust is Trust.UNRELATED
