"""The panel's rules, with voters whose hearing is written down; with real engines in test_engines.py."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import ModelError, VocabularyError
from benchvoice.hear.choices import network_of
from benchvoice.hear.panel import Panel, Voter, check_vocabulary
from benchvoice.hear.recogniser import Unheard
from benchvoice.records import Alternative, Transcript, Trust, Utterance, WordArc, WordNetwork

SOUND = Utterance(np.zeros(16000, dtype=np.int16), 0.0, 1.0, -90.0)
NETWORK = WordNetwork(2, frozenset({1}), (WordArc(0, 1, "five"),))


def meaning_of(text: str) -> str | None:
    """`five` and `five volts` mean the same; what begins with `hm` means nothing."""
    return None if text.startswith("hm") else text.removesuffix(" volts")


@dataclass
class Written:
    """A recogniser that hears what is written down for it."""

    name: str
    heard: list[tuple[str, float]] = field(default_factory=list)
    gap: float | None = None
    margin: float | None = None
    deaf_to: tuple[str, ...] = ()
    heard_again: list[tuple[str, float]] | None = None
    asked_again: list[WordNetwork] = field(default_factory=list)

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        return tuple(
            Unheard(word, self.name, "never heard of it", "say five") for word in words if word in self.deaf_to
        )

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        assert utterance.samples is SOUND.samples
        if self.deaf_to:
            raise VocabularyError(self.deaf_to, self.name)
        if network is not NETWORK:
            self.asked_again.append(network)
            again = self.heard if self.heard_again is None else self.heard_again
            return Transcript(self.name, tuple(Alternative(*item) for item in again), gap=self.gap)
        return Transcript(self.name, tuple(Alternative(*item) for item in self.heard), margin=self.margin, gap=self.gap)


def ranks(*heard: tuple[str, float], gap: float = 0.1) -> Voter:
    """A voter whose scores rank meanings."""
    return Voter(
        Written("network", list(heard), gap),
        gap_most=0.3,
        margin_least=2.5,
        margin_split=4.0,
        alone_gap=0.2,
        alone_margin=5.0,
    )


def plain(*heard: tuple[str, float], gap: float = -20.0, name: str = "sphinx") -> Voter:
    """A voter with a gap whose scores do not rank meanings."""
    return Voter(Written(name, list(heard), gap), gap_most=-8.0, alone_gap=-14.0)


def hear(*voters: Voter) -> Transcript:
    with Panel(voters) as panel:
        return panel.hear(SOUND, NETWORK, meaning_of)


def test_agreement_with_a_clear_margin_is_trusted() -> None:
    heard = hear(ranks(("five", -10), ("five volts", -11), ("nine", -14)), plain(("five volts", 3)))
    assert (heard.trust, heard.why) == (Trust.AGREED, "network and sphinx agree")
    assert heard.text == "five"
    assert heard.margin == pytest.approx(4.0)
    assert heard.gap == 0.1
    assert [item.text for item in heard.alternatives] == ["five", "nine"]


def test_agreement_that_is_hardly_preferred_is_asked() -> None:
    heard = hear(ranks(("five", -10), ("nine", -12.4)), plain(("five", 3)))
    assert (heard.trust, heard.why) == (Trust.DOUBTFUL, "network hardly prefers it: margin 2.4")
    assert [item.text for item in heard.alternatives] == ["five", "nine"]


def test_disagreement_is_asked_with_both() -> None:
    heard = hear(ranks(("fifteen", -10), ("sixteen", -13), ("fifty", -17)), plain(("fifty", 3), ("sixty", 1)))
    assert (heard.trust, heard.why) == (Trust.DOUBTFUL, "sphinx hears fifty")
    assert [item.text for item in heard.alternatives] == ["fifteen", "fifty", "sixteen", "sixty"]


@pytest.mark.parametrize(
    ("network_gap", "sphinx_gap", "who"),
    [(0.31, -20, "network"), (0.1, -7.9, "sphinx"), (0.5, 0, "network and sphinx")],
)
def test_a_gap_says_that_it_was_not_for_us(network_gap: float, sphinx_gap: float, who: str) -> None:
    heard = hear(ranks(("five", -1), gap=network_gap), plain(("five", 3), gap=sphinx_gap))
    assert (heard.trust, heard.why) == (Trust.UNRELATED, f"not a sentence of the bench to {who}")


def test_silence_is_not_for_us() -> None:
    heard = hear(ranks(), plain())
    assert (heard.trust, heard.alternatives, heard.why) == (Trust.UNRELATED, (), "nothing was heard")


def test_words_that_mean_nothing_are_never_trusted() -> None:
    heard = hear(ranks(("hm five", -1)), plain(("hm five", 3)))
    assert (heard.trust, heard.why) == (Trust.DOUBTFUL, "what was heard means nothing")
    assert heard.text == "hm five"
    heard = hear(ranks(("hm five", -1), ("five", -9)), plain(("five", 3)))
    assert heard.trust == Trust.DOUBTFUL
    assert [item.text for item in heard.alternatives] == ["five"]


def test_two_of_three_are_enough_unless_the_third_is_sure() -> None:
    vosk = plain(("five", 1), name="vosk")
    unsure = hear(ranks(("nine", -10), ("five", -11)), plain(("five", 3)), vosk)
    assert (unsure.trust, unsure.why, unsure.text) == (Trust.AGREED, "sphinx and vosk agree", "five")
    sure = hear(ranks(("nine", -10), ("five", -13)), plain(("five", 3)), vosk)
    assert (sure.trust, sure.why, sure.text) == (Trust.DOUBTFUL, "network clearly hears nine", "five")
    never = hear(ranks(("nine", -10)), plain(("five", 3)), vosk)
    assert never.trust == Trust.DOUBTFUL
    with_network = hear(ranks(("five", -10), ("nine", -13)), plain(("nine", 3)), vosk)
    assert (with_network.trust, with_network.why) == (Trust.AGREED, "network and vosk agree")


def test_a_third_that_offers_nothing_abstains() -> None:
    silent = Voter(Written("vosk"))
    heard = hear(ranks(("five", -10), ("nine", -20)), plain(("five", 3)), silent)
    assert (heard.trust, heard.why) == (Trust.AGREED, "network and sphinx agree")
    assert hear(ranks(("five", -10)), silent).trust == Trust.UNRELATED  # of two, one is not enough


def test_where_no_other_meaning_is_offered_the_margin_is_at_least_the_range_searched() -> None:
    heard = hear(ranks(("five", -10), ("five volts", -22)), plain(("five", 3)))
    assert heard.trust == Trust.AGREED
    assert heard.margin == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("voter", "trust", "why"),
    [
        (ranks(("five", -10), ("nine", -16)), Trust.AGREED, "only network hears, margin 6.0"),
        (ranks(("five", -10), ("nine", -14)), Trust.DOUBTFUL, "only network hears, margin 4.0"),
        (ranks(("five", -10), ("nine", -16), gap=0.25), Trust.DOUBTFUL, "only network hears, and not clearly enough"),
        (ranks(("five", -10), ("nine", -16), gap=0.35), Trust.UNRELATED, "not a sentence of the bench to network"),
        (plain(("five", 3), ("five volts", 2)), Trust.AGREED, "only sphinx hears, each time the same"),
        (plain(("five", 3), ("nine", 2)), Trust.DOUBTFUL, "only sphinx hears, in two ways"),
        (plain(("five", 3), gap=-13), Trust.DOUBTFUL, "only sphinx hears, and not clearly enough"),
        (plain(("hm", 3)), Trust.DOUBTFUL, "sphinx hears what means nothing"),
        (Voter(Written("vosk", [("five", 1.0)])), Trust.DOUBTFUL, "only vosk hears, and not clearly enough"),
    ],
)
def test_one_voter_alone(voter: Voter, trust: Trust, why: str) -> None:
    heard = hear(voter)
    assert (heard.trust, heard.why) == (trust, why)


@pytest.mark.parametrize(
    ("voters", "expected"),
    [
        ([plain(("thirteen", 3))], ("thirty",)),  # nothing tells how far behind the other is
        ([ranks(("thirteen", -10), ("nine", -20))], ()),  # it looked, and did not find it
        ([ranks(("thirteen", -10), ("nine", -20), ("thirty", -21))], ("thirty",)),
        ([ranks(("thirteen", -10), ("thirty", -21)), plain(("thirteen", 3))], ("thirty",)),
        ([ranks(("thirteen", -10), ("nine", -20)), plain(("thirteen", 3))], ()),
        ([ranks(("nine", -10), ("thirteen", -20))], ()),
    ],
)
def test_twins_are_named_unless_they_are_excluded(voters: list[Voter], expected: tuple[str, ...]) -> None:
    with Panel(voters) as panel:
        heard = panel.hear(SOUND, network_of(["thirteen", "thirty", "nine"]), meaning_of)
    assert heard.twins == expected


def test_says_when_it_is_alone() -> None:
    with Panel([plain(("five", 3))]) as alone, Panel([plain(), ranks()]) as pair:
        assert alone.caution == "Only sphinx is listening, with nobody to agree with: it will ask more often"
        assert pair.caution == ""


def test_a_voter_that_cannot_hear_a_word_stops_the_hearing() -> None:
    with Panel([ranks(("five", -1)), Voter(Written("sphinx", deaf_to=("zq",)))]) as panel:
        with pytest.raises(VocabularyError, match="sphinx cannot hear: zq"):
            panel.hear(SOUND, NETWORK, meaning_of)
        missing = check_vocabulary(panel.recognisers, ["five", "zq", "zq"])
    assert [str(item) for item in missing] == ["sphinx cannot hear 'zq': never heard of it; say five"]


@dataclass
class Breaks(Written):
    """A recogniser that breaks on the first sounds that it hears."""

    times: int = 1

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        self.times -= 1
        if self.times >= 0:
            raise RuntimeError("axes do\nnot match")
        return super().hear(utterance, network)


@pytest.mark.parametrize("arranged", [[0, 1], [1, 0]])
def test_an_engine_that_breaks_on_one_sound_hears_the_next(arranged: list[int]) -> None:
    voters = [ranks(("five", -10), ("nine", -16)), Voter(Breaks("sphinx", [("five", 3)], -20), gap_most=-8.0)]
    with Panel([voters[at] for at in arranged]) as panel:
        broken = panel.hear(SOUND, NETWORK, meaning_of)
        heard = panel.hear(SOUND, NETWORK, meaning_of)
    assert broken == Transcript(
        "panel", (), Trust.FAILED, "an engine broke on it: RuntimeError: axes do not match"
    )  # fmt: skip
    assert (heard.trust, heard.text) == (Trust.AGREED, "five")


def test_an_engine_that_breaks_time_after_time_ends_the_hearing() -> None:
    with Panel([Voter(Breaks("sphinx", [("five", 3)], -20, times=99), gap_most=-8.0)]) as panel:
        for _ in range(4):
            assert panel.hear(SOUND, NETWORK, meaning_of).trust is Trust.FAILED
        with pytest.raises(ModelError, match=r"5 times one after the other .* Choose another recogniser"):
            panel.hear(SOUND, NETWORK, meaning_of)


def test_breaks_that_are_not_one_after_the_other_end_nothing() -> None:
    engine = Breaks("sphinx", [("five", 3)], -20)
    with Panel([Voter(engine, gap_most=-8.0)]) as panel:
        for _ in range(8):
            engine.times = 1
            assert panel.hear(SOUND, NETWORK, meaning_of).trust is Trust.FAILED
            assert panel.hear(SOUND, NETWORK, meaning_of).text == "five"


def test_needs_a_voter() -> None:
    with pytest.raises(ValueError, match="at least one voter"):
        Panel([])


def twice(*heard: tuple[str, float]) -> Voter:
    """A voter that hears the sound in two ways."""
    return Voter(Written("sphinx", list(heard), -20), gap_most=-8.0, hearings=2)


def test_agreement_with_one_of_two_hearings_needs_a_wider_margin() -> None:
    near = hear(ranks(("five", -10), ("nine", -13.9)), twice(("nine", 3), ("five", 2)))
    assert (near.trust, near.why) == (Trust.DOUBTFUL, "network hardly prefers it: margin 3.9")
    wide = hear(ranks(("five", -10), ("nine", -14.1)), twice(("nine", 3), ("five", 2)))
    assert (wide.trust, wide.why) == (Trust.AGREED, "network and sphinx agree in part")
    alike = hear(ranks(("five", -10), ("nine", -13)), twice(("five", 3), ("five volts", 2)))
    assert (alike.trust, alike.why) == (Trust.AGREED, "network and sphinx agree")


def test_who_lost_the_way_is_asked_again_among_what_was_offered() -> None:
    lost = Written("sphinx", [("sixty", 3)], -20, heard_again=[("five", 2)])
    heard = hear(ranks(("five", -10), ("nine", -15)), Voter(lost, gap_most=-8.0))
    assert (heard.trust, heard.why) == (Trust.AGREED, "network and sphinx agree when asked again")
    (choices,) = lost.asked_again
    assert [text for text in ("five", "nine", "sixty", "fifty") if choices.accepts(text)] == ["five", "nine", "sixty"]
    assert [item.text for item in heard.alternatives] == ["five", "sixty", "nine"]


@pytest.mark.parametrize(("rival", "again", "asked"), [(-13.5, "five", 0), (-15, "nine", 1), (-15, "sixty", 1)])
def test_asking_again_does_not_force_agreement(rival: float, again: str, asked: int) -> None:
    lost = Written("sphinx", [("sixty", 3)], -20, heard_again=[(again, 2)])
    heard = hear(ranks(("five", -10), ("nine", rival)), Voter(lost, gap_most=-8.0))
    assert (heard.trust, heard.why, len(lost.asked_again)) == (Trust.DOUBTFUL, "sphinx hears sixty", asked)


# --- gaps that are left out -----------------------------------------------------------------------------------------
@dataclass
class Briefly(Written):
    """A recogniser that leaves its gap out at first; counts how often it was asked for it."""

    asked_for_gap: int = 0

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        self.asked_for_gap += 1
        return super().hear(utterance, network)

    def hear_briefly(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        heard = super().hear(utterance, network)
        return replace(heard, gap=None, alternatives=tuple(Alternative(item.text, 0.0) for item in heard.alternatives))


def pair(
    network: list[tuple[str, float]], gap: float, sphinx: list[tuple[str, float]], sphinx_gap: float, sure: float | None
) -> tuple[Transcript, int]:
    """What the two hear, and how often sphinx was asked for its gap."""
    engine = Briefly("sphinx", sphinx, sphinx_gap)
    with Panel([replace(ranks(*network, gap=gap), gap_sure=sure), Voter(engine, gap_most=-8.0, brief=engine)]) as panel:
        return panel.hear(SOUND, NETWORK, meaning_of), engine.asked_for_gap


@pytest.mark.parametrize(
    ("gap", "sphinx", "sphinx_gap", "trust", "asked"),
    [
        (0.1, "five", -20, Trust.AGREED, 0),
        (0.1, "five", -7, Trust.AGREED, 0),  # the network is sure of itself
        (0.1, "nine", -7, Trust.DOUBTFUL, 0),
        (0.11, "five", -20, Trust.AGREED, 1),
        (0.11, "five", -7, Trust.UNRELATED, 1),
        (0.11, "nine", -7, Trust.UNRELATED, 1),
        (0.31, "five", -20, Trust.UNRELATED, 0),  # whatever sphinx says
    ],
)
def test_a_gap_is_asked_for_only_where_it_matters(
    gap: float, sphinx: str, sphinx_gap: float, trust: Trust, asked: int
) -> None:
    heard, asked_for_gap = pair([("five", -10), ("seven", -13)], gap, [(sphinx, 3)], sphinx_gap, 0.1)
    assert (heard.trust, asked_for_gap) == (trust, asked)
    assert heard.gap == gap


def test_where_nobody_is_sure_every_gap_is_had_at_once() -> None:
    heard, asked = pair([("five", -10)], 0.0, [("five", 3)], -7, None)
    assert (heard.trust, asked) == (Trust.UNRELATED, 1)
    lone = Briefly("sphinx", [("five", 3)], -20)
    alone = Voter(lone, gap_most=-8.0, alone_gap=-14.0, brief=lone)
    assert (hear(alone).trust, lone.asked_for_gap) == (Trust.AGREED, 1)


@pytest.mark.parametrize(("gap", "asked"), [(0.1, 0), (0.2, 2)])
def test_who_is_asked_again_gives_its_gap_only_where_it_matters(gap: float, asked: int) -> None:
    lost = Briefly("sphinx", [("sixty", 3)], -20, heard_again=[("five", 2)])
    ranking = replace(ranks(("five", -10), ("nine", -15), gap=gap), gap_sure=0.1)
    heard = hear(ranking, Voter(lost, gap_most=-8.0, brief=lost))
    assert (heard.trust, heard.why) == (Trust.AGREED, "network and sphinx agree when asked again")
    assert lost.asked_for_gap == asked


texts = st.sampled_from(["five", "five volts", "nine", "fifteen", "hm", "hm hm"])
rows = st.lists(st.tuples(texts, st.floats(-40, 0)), max_size=6).map(lambda row: sorted(row, key=lambda item: -item[1]))


@given(rows, rows, st.floats(0, 0.6), st.floats(-30, 10))
def test_never_trusts_what_two_do_not_share(
    one: list[tuple[str, float]], two: list[tuple[str, float]], gap: float, other_gap: float
) -> None:
    heard = hear(ranks(*one, gap=gap), plain(*two, gap=other_gap))
    meanings = [meaning_of(item.text) for item in heard.alternatives]
    assert len(set(meanings)) == len(meanings)
    if heard.trust == Trust.AGREED:
        assert meanings[0] is not None
        assert meaning_of(one[0][0]) == meaning_of(two[0][0]) == meanings[0]
        assert gap <= 0.3
        assert other_gap <= -8
        rivals = [score for text, score in one if meaning_of(text) != meanings[0]]
        assert all(one[0][1] - score >= 2.5 for score in rivals)
    if not one or not two:
        assert heard.trust == Trust.UNRELATED


@given(rows, rows, st.floats(0, 0.6), st.floats(-30, 10), st.floats(0, 0.3))
def test_a_gap_left_out_changes_nothing_unless_the_other_is_sure(
    one: list[tuple[str, float]], two: list[tuple[str, float]], gap: float, other_gap: float, sure: float
) -> None:
    at_once, _ = pair(one, gap, two, other_gap, None)
    later, _ = pair(one, gap, two, other_gap, sure)
    if gap > sure or other_gap <= -8:
        assert (later.trust, later.margin) == (at_once.trust, at_once.margin)
        assert [item.text for item in later.alternatives] == [item.text for item in at_once.alternatives]
    elif later.trust is Trust.AGREED:
        assert at_once.trust in (Trust.AGREED, Trust.UNRELATED)


# --- slips ----------------------------------------------------------------------------------------------------------
SLIPS = WordNetwork(2, frozenset({1}), (WordArc(0, 1, "hm"),))


@dataclass
class Weighs(Written):
    """A recogniser that also weighs texts as is written down for it."""

    fits: dict[str, float] = field(default_factory=dict)

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        assert utterance.samples is SOUND.samples
        return tuple(self.fits.get(text) for text in texts)


@dataclass
class Finds(Written):
    """A recogniser that finds the best alone, which is all that it may be asked of slips."""

    best_slip: Alternative | None = None

    def best(self, utterance: Utterance, network: WordNetwork) -> Alternative | None:
        assert utterance.samples is SOUND.samples
        assert network is SLIPS
        return self.best_slip


@pytest.mark.parametrize(
    ("slip", "trust"), [(Alternative("hm wait", -9.0), Trust.DOUBTFUL), (None, Trust.AGREED)], ids=["slip", "none"]
)
def test_the_best_slip_is_all_that_is_asked_of_one_who_finds_it_alone(slip: Alternative | None, trust: Trust) -> None:
    finds = Finds("network", [("five", -10), ("nine", -20)], 0.1, best_slip=slip)
    ranking = Voter(finds, gap_most=0.3, margin_least=2.5, slip_lead=-3.0, finder=finds)
    with Panel([ranking, plain(("five", 3))]) as panel:
        assert panel.hear(SOUND, NETWORK, meaning_of, SLIPS).trust is trust
    assert not finds.asked_again


@pytest.mark.parametrize(
    ("slip", "score", "fits", "trust"),
    [
        ("hm wait", -12.0, {"five": -400.0, "hm wait": -399.0}, Trust.DOUBTFUL),
        ("hm wait", -14.0, {"five": -400.0, "hm wait": -399.0}, Trust.AGREED),  # scored too low
        ("hm wait", -12.0, {"five": -400.0, "hm wait": -420.0}, Trust.AGREED),  # outweighed
        ("hm wait", -12.0, {"five": -400.0}, Trust.AGREED),  # does not fit at all
        ("hm wait", -12.0, {"hm wait": -400.0}, Trust.DOUBTFUL),
        ("five volts", -9.0, {"five": -400.0, "five volts": -400.0}, Trust.AGREED),  # means something: no slip
    ],
)
def test_a_slip_that_explains_the_sound_makes_it_doubtful(
    slip: str, score: float, fits: dict[str, float], trust: Trust
) -> None:
    ranking = replace(ranks(("five", -10), ("nine", -20)), slip_lead=-3.0)
    assert isinstance(ranking.recogniser, Written)
    ranking.recogniser.heard_again = [(slip, score)]
    weighs = Weighs("sphinx", [("five", 3)], -20.0, fits=fits)
    weighing = Voter(weighs, gap_most=-8.0, weigher=weighs, slip_weight=12.0)
    with Panel([ranking, weighing]) as panel:
        heard = panel.hear(SOUND, NETWORK, meaning_of, SLIPS)
    assert (heard.text, heard.trust) == ("five", trust)
    if trust is Trust.DOUBTFUL:
        assert heard.why == f"it may have been {slip}"


def test_a_slip_that_means_something_is_offered_too() -> None:
    ranking = replace(ranks(("five", -10), ("nine", -20)), slip_lead=-3.0)
    assert isinstance(ranking.recogniser, Written)
    ranking.recogniser.heard_again = [("five six", -9.0)]
    with Panel([ranking, plain(("five", 3))]) as panel:
        heard = panel.hear(SOUND, NETWORK, meaning_of, SLIPS)
    assert heard.trust is Trust.DOUBTFUL
    assert [alternative.text for alternative in heard.alternatives[:2]] == ["five", "five six"]
