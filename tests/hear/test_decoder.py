"""The decoder against an exhaustive one: every sentence aligned on its own, by the textbook CTC recursion."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.hear.decoder import decode
from benchvoice.hear.sound_network import compile_sounds
from benchvoice.records import WordArc, WordNetwork

BLANK, BOUNDARY, N_SYMBOLS = 4, 3, 5
Floats = npt.NDArray[np.float64]
Variants = dict[str, list[tuple[int, ...]]]
# few symbols, so that equal sounds meet inside words and across them
VARIANTS: Variants = {"a": [(0,)], "b": [(1, 1), (1, 2)], "c": [(2, 0), (0, 0, 1)], "d": [(0, 1, 2)]}


def align(symbols: list[int], optional: list[bool], scores: Floats) -> float:
    """Best alignment of a chain of states, some of which may be left out; equal neighbours may not touch.

    States are the symbols; from state i one may stay or go to j > i when all between are optional and the symbols
    differ. This states the rule directly and shares nothing with the decoder.
    """
    n = len(symbols)
    after: list[list[int]] = []
    for i in range(-1, n):
        reach = []
        for j in range(i + 1, n):
            if i < 0 or symbols[i] != symbols[j]:
                reach.append(j)
            if not optional[j]:
                break
        after.append(reach)
    can_end = [all(optional[i + 1 :]) for i in range(n)]
    state = np.full(n, -np.inf)
    for j in after[0]:
        state[j] = scores[0][symbols[j]]
    for row in scores[1:]:
        following = state.copy()
        for i in range(n):
            for j in after[i + 1]:
                following[j] = max(following[j], state[i])
        state = following + row[symbols]
    return float(max((state[i] for i in range(n) if can_end[i]), default=-np.inf))


def chain(words: list[tuple[int, ...]]) -> tuple[list[int], list[bool]]:
    symbols, optional = [BLANK, BOUNDARY, BLANK], [True] * 3
    for sounds in words:
        for k, sound in enumerate(sounds):
            if k:
                symbols.append(BLANK)
                optional.append(True)
            symbols.append(sound)
            optional.append(False)
        symbols += [BLANK, BOUNDARY, BLANK]
        optional += [True] * 3
    return symbols, optional


def sentences_of(network: WordNetwork) -> list[tuple[str, ...]]:
    found: list[tuple[tuple[str, ...], int]] = [((), 0)]
    whole: list[tuple[str, ...]] = []
    while found:
        words, node = found.pop()
        if node in network.finals:
            whole.append(words)
        found += [((*words, arc.word), arc.target) for arc in network.arcs if arc.source == node]
    return whole


def exhaustive(
    network: WordNetwork, scores: Floats, variants: Variants, word_score: float
) -> dict[tuple[str, ...], float]:
    """Every sentence that fits, with its score, by trying each with each pronunciation."""
    result = {}
    for words in sentences_of(network):
        choices: list[list[tuple[int, ...]]] = [[]]
        for word in words:
            choices = [[*choice, sounds] for choice in choices for sounds in variants[word]]
        best = max(align(*chain(choice), scores) for choice in choices) + word_score * len(words)
        if best > -np.inf:
            result[words] = best
    return result


@st.composite
def networks(draw: st.DrawFn) -> WordNetwork:
    n_nodes = draw(st.integers(2, 5))
    arcs = []
    for source in range(n_nodes - 1):
        for word in sorted(draw(st.sets(st.sampled_from("abcd"), min_size=1, max_size=3))):
            arcs.append(WordArc(source, draw(st.integers(source + 1, n_nodes - 1)), word))
    finals = draw(st.sets(st.integers(1, n_nodes - 1))) | {n_nodes - 1}
    return WordNetwork(n_nodes, frozenset(finals), tuple(arcs))


@st.composite
def log_probs(draw: st.DrawFn) -> Floats:
    seed, frames, sharpness = (
        draw(st.integers(0, 2**32 - 1)),
        draw(st.integers(1, 9)),
        draw(st.sampled_from([0.3, 2, 8])),
    )
    logits = np.random.default_rng(seed).normal(size=(frames, N_SYMBOLS)) * sharpness
    return logits - np.logaddexp.reduce(logits, axis=1, keepdims=True)


@settings(max_examples=300, deadline=None)
@given(networks(), log_probs(), st.sampled_from([0.0, -1.5, 0.7]))
def test_ranks_all_sentences_as_trying_each_does(network: WordNetwork, scores: Floats, word_score: float) -> None:
    expected = exhaustive(network, scores, VARIANTS, word_score)
    result = decode(
        compile_sounds(network, VARIANTS),
        scores,
        blank=BLANK,
        boundary=BOUNDARY,
        word_score=word_score,
        most=10_000,
    )
    found = {sentence.words: sentence.score for sentence in result.sentences}
    assert found.keys() == expected.keys()
    for words, score in found.items():
        assert score == pytest.approx(expected[words], abs=1e-6)
    ranked = [sentence.score for sentence in result.sentences]
    assert ranked == sorted(ranked, reverse=True)
    assert result.free == pytest.approx(scores.max(axis=1).sum())


@settings(max_examples=150, deadline=None)
@given(networks(), log_probs(), st.integers(1, 4), st.sampled_from([0.5, 3.0, 20.0]))
def test_the_first_few_are_the_best_few(network: WordNetwork, scores: Floats, most: int, within: float) -> None:
    expected = sorted(exhaustive(network, scores, VARIANTS, 0.0).values(), reverse=True)
    result = decode(compile_sounds(network, VARIANTS), scores, blank=BLANK, boundary=BOUNDARY, most=most, within=within)
    near = [score for score in expected if score > expected[0] - within + 1e-3][:most]
    found = [sentence.score for sentence in result.sentences]
    assert found[: len(near)] == pytest.approx(near, abs=1e-4)
    assert len(found) <= most
    assert all(score >= expected[0] - within - 1e-3 for score in found)


def certain(symbols: list[int], n_symbols: int = N_SYMBOLS) -> Floats:
    """Log-probabilities of a model that is sure of one symbol a frame."""
    probabilities = np.full((len(symbols), n_symbols), 1e-6)
    probabilities[np.arange(len(symbols)), symbols] = 1.0
    scores: Floats = np.log(probabilities / probabilities.sum(axis=1, keepdims=True))
    return scores


def test_equal_sounds_need_a_blank_between_words() -> None:
    network = WordNetwork(3, frozenset({1, 2}), (WordArc(0, 1, "a"), WordArc(1, 2, "a")))
    sounds = compile_sounds(network, VARIANTS)
    touching = decode(sounds, certain([0, 0, 0]), blank=BLANK, boundary=BOUNDARY)
    assert touching.sentences[0].words == ("a",)
    apart = decode(sounds, certain([0, BLANK, 0]), blank=BLANK, boundary=BOUNDARY)
    assert apart.sentences[0].words == ("a", "a")
    bordered = decode(sounds, certain([0, BOUNDARY, 0]), blank=BLANK, boundary=BOUNDARY)
    assert bordered.sentences[0].words == ("a", "a")


def test_nothing_fits_into_too_few_frames() -> None:
    network = WordNetwork(2, frozenset({1}), (WordArc(0, 1, "d"),))
    result = decode(compile_sounds(network, VARIANTS), certain([0, 1]), blank=BLANK, boundary=BOUNDARY)
    assert result.sentences == ()
    assert result.gap is None


def test_the_gap_is_zero_where_the_grammar_holds_what_was_said() -> None:
    network = WordNetwork(2, frozenset({1}), (WordArc(0, 1, "d"),))
    sounds = compile_sounds(network, VARIANTS)
    assert decode(sounds, certain([0, 1, 2]), blank=BLANK, boundary=BOUNDARY).gap == pytest.approx(0.0)
    other = decode(sounds, certain([2, 1, 2]), blank=BLANK, boundary=BOUNDARY)
    assert other.gap == pytest.approx(-np.log(1e-6) / 3, rel=1e-6)


def test_symbols_of_probability_zero_leave_scores_finite() -> None:
    scores = certain([0, BLANK, 0])
    scores[:, 1] = -np.inf
    network = WordNetwork(3, frozenset({1, 2}), (WordArc(0, 1, "a"), WordArc(1, 2, "a"), WordArc(0, 2, "b")))
    result = decode(compile_sounds(network, VARIANTS), scores, blank=BLANK, boundary=BOUNDARY)
    assert result.sentences[0].words == ("a", "a")
    assert all(np.isfinite(sentence.score) for sentence in result.sentences)


def test_long_sound_keeps_its_precision() -> None:
    rng = np.random.default_rng(5)
    logits = rng.normal(size=(700, N_SYMBOLS)) * 3
    scores = logits - np.logaddexp.reduce(logits, axis=1, keepdims=True)
    arcs = tuple(WordArc(node, node + 1, word) for node in range(4) for word in "abcd")
    network = WordNetwork(5, frozenset({4}), arcs)
    result = decode(compile_sounds(network, VARIANTS), scores, blank=BLANK, boundary=BOUNDARY, most=3)
    for sentence in result.sentences:
        choices: list[list[tuple[int, ...]]] = [[]]
        for word in sentence.words:
            choices = [[*choice, sounds] for choice in choices for sounds in VARIANTS[word]]
        assert sentence.score == pytest.approx(max(align(*chain(choice), scores) for choice in choices), abs=1e-6)


@pytest.mark.parametrize("shape", [(0, 5), (5,), (2, 3, 4)])
def test_refuses_what_is_not_frames_by_symbols(shape: tuple[int, ...]) -> None:
    network = WordNetwork(2, frozenset({1}), (WordArc(0, 1, "a"),))
    with pytest.raises(ValueError, match="frames, symbols"):
        decode(compile_sounds(network, VARIANTS), np.zeros(shape), blank=BLANK, boundary=BOUNDARY)
