"""A recogniser in another process offers what it offers here, and outlives its process."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from benchvoice.errors import ModelError, VocabularyError
from benchvoice.hear.apart import Apart
from benchvoice.hear.recogniser import Unheard
from benchvoice.hear.sphinx_engine import SphinxEngine
from benchvoice.records import Alternative, Transcript, Utterance, WordArc, WordNetwork
from tests.hear.networks import readings
from tests.hear.sounds import speak, utterance

NETWORK = WordNetwork(2, frozenset({1}), (WordArc(0, 1, "five"),))
SILENCE = Utterance(np.zeros(1600, dtype=np.int16), 0.0, 0.1, -90.0)


class Told:
    """A recogniser that says in which process it is, and what it was asked."""

    name = "told"

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        return tuple(Unheard(word, self.name, "too long") for word in words if len(word) > 6)

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        if "flood" in network.words:
            raise VocabularyError(("flood",), self.name)
        if "end" in network.words:
            os._exit(3)
        text = f"{os.getpid()} {len(utterance.samples)} {' '.join(network.words)}"
        return Transcript(self.name, (Alternative(text, 0.0),))

    def hear_briefly(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        return Transcript(self.name, (Alternative(f"briefly {' '.join(network.words)}", utterance.start_s),))

    def best(self, utterance: Utterance, network: WordNetwork) -> Alternative | None:
        return None if "none" in network.words else Alternative(f"best {' '.join(network.words)}", utterance.start_s)

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        return tuple(float(len(text) + len(utterance.samples)) for text in texts)

    def get_ready(self, utterance: Utterance) -> None:
        self.ready = len(utterance.samples)

    def review(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        assert self.ready == len(utterance.samples)
        return tuple(float(len(text) + self.ready) for text in texts)

    def free(self, utterance: Utterance) -> Alternative:
        return Alternative("whatever", -float(len(utterance.samples)))


def broken() -> Told:
    raise ModelError("the model is damaged", cure="Add it again")


def gone() -> Told:
    os._exit(4)


@pytest.fixture
def told() -> Iterator[Apart]:
    made = Apart(Told)
    yield made
    made.close()


def one_word(word: str) -> WordNetwork:
    return WordNetwork(2, frozenset({1}), (WordArc(0, 1, word),))


def process_of(heard: Transcript) -> int:
    return int(heard.text.split()[0])


def test_it_hears_in_another_process(told: Apart) -> None:
    heard = told.hear(SILENCE, NETWORK)
    assert process_of(heard) != os.getpid()
    assert heard.text.split()[1:] == ["1600", "five"]
    assert told.name == "told"
    assert told.unheard(["five", "thirteen"]) == (Unheard("thirteen", "told", "too long"),)
    assert told.weigh(SILENCE, ["five", "six"]) == (1604.0, 1603.0)
    assert told.free(SILENCE) == Alternative("whatever", -1600.0)
    told.get_ready(SILENCE)
    assert told.review(SILENCE, ["five", "six"]) == (1604.0, 1603.0)


def test_many_networks_are_each_heard_as_themselves(told: Apart) -> None:
    words = [f"w{number}" for number in range(20)]  # more than are kept
    for word in (*words, *words):
        assert told.hear(SILENCE, one_word(word)).text.endswith(f" {word}")
        assert told.hear_briefly(SILENCE, one_word(word)).text == f"briefly {word}"
        assert told.best(SILENCE, one_word(word)) == Alternative(f"best {word}", 0.0)
    assert told.best(SILENCE, one_word("none")) is None


def test_errors_come_across_with_their_fields(told: Apart) -> None:
    with pytest.raises(VocabularyError, match="told cannot hear: flood") as caught:
        told.hear(SILENCE, one_word("flood"))
    assert caught.value.words == ("flood",)
    assert told.hear(SILENCE, NETWORK).text


def test_a_process_that_was_killed_is_started_again(told: Apart) -> None:
    first = process_of(told.hear(SILENCE, NETWORK))
    os.kill(first, signal.SIGKILL)
    assert process_of(told.hear(SILENCE, NETWORK)) != first


def test_a_process_that_always_ends_is_given_up(told: Apart) -> None:
    with pytest.raises(ModelError, match=r"ended by itself \(exit status 3\), and again"):
        told.hear(SILENCE, one_word("end"))


def test_closed_it_is_gone() -> None:
    made = Apart(Told)
    process = process_of(made.hear(SILENCE, NETWORK))
    made.close()
    made.close()
    with pytest.raises(ProcessLookupError, match="No such process"):
        os.kill(process, 0)


def test_what_cannot_be_opened_says_why() -> None:
    with pytest.raises(ModelError, match=r"the model is damaged. Add it again"):
        Apart(broken)
    with pytest.raises(ModelError, match=r"could not be opened \(exit status 4\)"):
        Apart(gone)


def test_a_real_engine_hears_the_same_there_as_here(tmp_path: Path) -> None:
    network = readings(("rail five",), ("volts",))
    said = utterance(speak("rail five reads four point two volts", tmp_path), noise_dbfs=-70.0)
    here = SphinxEngine()
    there = Apart(partial(SphinxEngine))
    try:
        assert there.hear(said, network) == here.hear(said, network)
    finally:
        there.close()
