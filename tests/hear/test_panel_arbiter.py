"""A panel with an arbiter: who is asked what, and when, with voters and a scribe whose hearing is written down."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import Any

import pytest

from benchvoice.errors import ModelError, VocabularyError
from benchvoice.hear.arbiter import Arbiter
from benchvoice.hear.choices import network_of
from benchvoice.hear.panel import Panel, Voter
from benchvoice.records import Alternative, Transcript, Trust, Utterance, WordNetwork
from tests.hear.test_panel import NETWORK, SLIPS, SOUND, Written, hear, meaning_of, plain, ranks

WAIT_S = 20.0  # for what comes at once; only where it never comes it is waited for


@dataclass
class Scribe:
    """Writes and weighs what is written down for it; notes what is asked of it, and refuses to be asked two at once."""

    weights: dict[str, float | None]
    wrote: Alternative = field(default_factory=lambda: Alternative("Five.", -2.0))
    name: str = "scribe"
    meanwhile: Callable[[], object] = lambda: None
    asked: list[str] = field(default_factory=list)
    finished: list[str] = field(default_factory=list)
    closed: bool = False
    preferred: dict[str, float] = field(default_factory=dict)
    in_figures: float = 0.0  # how much more probable a text is in figures
    figures: dict[str, float] = field(default_factory=dict)  # the same of some texts
    sound: Utterance = SOUND
    busy: threading.Lock = field(default_factory=threading.Lock)

    def free(self, utterance: Utterance) -> Alternative:
        assert utterance is self.sound
        assert self.busy.acquire(blocking=False), "asked while it was still at work"
        self.asked.append("free")
        try:
            self.meanwhile()
        finally:
            self.finished.append("free")
            self.busy.release()
        return self.wrote

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        assert utterance is self.sound
        assert self.busy.acquire(blocking=False), "asked while it was still at work"
        self.asked.append(f"weigh {', '.join(texts)}")
        self.busy.release()
        return tuple(self.weights[text] for text in texts)

    def probability(self, utterance: Utterance, text: str) -> float:
        assert utterance is self.sound
        self.asked.append(f"however {text} is written")
        weight = self.weights[text]
        assert weight is not None
        return weight + self.figures.get(text, self.in_figures)

    def length(self, text: str) -> float:
        return len(text.split())

    def prefer(self, utterance: Utterance, text: str, others: Sequence[str]) -> tuple[float, ...]:
        assert utterance is self.sound
        self.asked.append(f"prefer {text}")
        return tuple(self.preferred.get(other, 1.0) for other in others)

    def close(self) -> None:
        self.closed = True


def with_scribe(scribe: Scribe, *voters: Voter) -> Panel:
    return Panel(
        voters,
        Arbiter(
            scribe, 4.0, 8.0, 6.0, gap_most=3.0, gap_stranger=2.5, gap_strange=6.5, gap_sure=1.0, lead_swallowed=14.0
        ),
    )


def test_what_nobody_backs_is_held_against_its_neighbours() -> None:
    scribe = Scribe({"five": -3.0, "nine": -20.0, "sixty": -30.0})
    words = network_of(["five", "eight"])  # nobody offers "eight"
    ears = ranks(("five", -10), ("nine", -12)), plain(("sixty", 3))
    with with_scribe(scribe, *ears) as panel:
        assert panel.hear(SOUND, words, meaning_of).trust is Trust.AGREED
        scribe.preferred["eight"] = -0.5
        asked = panel.hear(SOUND, words, meaning_of)
        assert (asked.trust, asked.why) == (Trust.DOUBTFUL, "it may have been eight")
        assert [offer.text for offer in asked.alternatives][:2] == ["five", "eight"]
    assert scribe.asked.count("prefer five") == 2
    scribe = Scribe({"five": -3.0, "nine": -20.0}, preferred={"eight": -0.5})
    with with_scribe(scribe, ears[0], plain(("five", 3))) as panel:  # two ears and the scribe: no need
        assert panel.hear(SOUND, words, meaning_of).trust is Trust.AGREED
    assert "prefer five" not in scribe.asked


@dataclass
class Reviewer:
    """Gives a second opinion that is written down for it; notes on what."""

    fits: dict[str, float]
    asked: list[tuple[str, ...]] = field(default_factory=list)
    ready: int = 0
    takes_s: float = 0.0
    broken: bool = False
    at_work: bool = False

    def get_ready(self, utterance: Utterance) -> None:
        assert utterance.samples is SOUND.samples
        if self.broken:
            raise ModelError("the model is damaged", cure="Install it again")
        self.at_work = True
        time.sleep(self.takes_s)
        self.at_work = False
        self.ready += 1

    def review(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        assert utterance.samples is SOUND.samples
        assert not self.at_work, "asked while it was still at work"
        self.asked.append(tuple(texts))
        return tuple(self.fits.get(text) for text in texts)


IN_QUIET = replace(SOUND, level_dbfs=-20.0, noise_dbfs=-60.0)
IN_NOISE = replace(IN_QUIET, noise_dbfs=-40.0)


@pytest.mark.parametrize(
    ("lead", "fits", "sound", "other", "trust", "asked"),
    [
        (5.0, {"five": -30.0, "nine": -39.0}, IN_QUIET, "sixty", Trust.AGREED, 1),
        (5.0, {"five": -30.0}, IN_QUIET, "sixty", Trust.AGREED, 1),  # the other does not fit at all
        (5.0, {"five": -30.0, "nine": -31.0}, IN_QUIET, "sixty", Trust.DOUBTFUL, 1),
        (5.0, {"nine": -30.0}, IN_QUIET, "sixty", Trust.DOUBTFUL, 1),
        (5.0, {}, IN_QUIET, "sixty", Trust.DOUBTFUL, 1),
        (3.9, {"five": -30.0, "nine": -39.0}, IN_QUIET, "sixty", Trust.DOUBTFUL, 1),
        # half of its sound is lost
        (5.0, {"five": -30.0, "nine": -39.0}, replace(IN_QUIET, narrow=True), "sixty", Trust.DOUBTFUL, 0),
        (9.0, {"nine": -30.0}, IN_QUIET, "sixty", Trust.AGREED, 0),  # clear anyhow
        # in noise it counts only where another ear heard the same
        (5.0, {"five": -30.0, "nine": -39.0}, IN_NOISE, "sixty", Trust.DOUBTFUL, 0),
        (5.0, {"five": -30.0, "nine": -39.0}, SOUND, "sixty", Trust.DOUBTFUL, 0),  # nobody knows how loud the noise is
        (3.9, {"five": -30.0, "nine": -39.0}, IN_NOISE, "five", Trust.AGREED, 1),
    ],
)
def test_where_it_is_in_doubt_a_voter_gives_a_second_opinion(
    lead: float, fits: dict[str, float], sound: Utterance, other: str, *, trust: Trust, asked: int
) -> None:
    reviewer = Reviewer(fits)
    ears = replace(ranks(("five", -10), ("nine", -10 - lead)), reviewer=reviewer), plain((other, 3))
    scribe = Scribe({"five": -3.0, "nine": -3.0, "sixty": -30.0})
    with with_scribe(scribe, *ears) as panel:
        scribe.sound = sound
        assert panel.hear(sound, NETWORK, meaning_of).trust is trust
    assert reviewer.asked == [tuple(dict.fromkeys(["five", "nine", other]))] * asked
    # in time where it will likely be asked; never where nobody will ask
    assert reviewer.ready == (not sound.narrow and lead < 4)


@pytest.mark.parametrize(
    ("said", "lead", "ready"), [("five", 3.9, 1), ("five", 4.0, 0), ("rail is fifteen", 4.0, 1), ("five", None, 1)]
)
def test_a_voter_gets_ready_for_a_second_opinion_where_it_will_likely_be_asked(
    said: str, lead: float | None, ready: int
) -> None:
    """Fifteen and fifty are so much alike that it is asked however clear its own hearing was."""
    other = "nine" if lead is not None else said
    reviewer, offers = Reviewer({}), [(said, -10.0), (other, -10.0 - (lead or 0.0))]
    ears = replace(ranks(*dict(offers).items()), reviewer=reviewer, margin_least=None if lead is None else 3.0)
    scribe = Scribe({"five": -3.0, "nine": -30.0, "rail is fifteen": -3.0, "rail is fifty": -30.0})
    words = network_of(["five", "nine", "rail is fifteen", "rail is fifty"])
    with with_scribe(scribe, ears, plain((said, 3))) as panel:
        panel.hear(SOUND, words, meaning_of)
    assert reviewer.ready == ready


@pytest.mark.parametrize(
    ("sound", "other", "nine", "trust", "why"),
    [
        (IN_NOISE, "five", -3.0, Trust.AGREED, "network, sphinx and scribe agree"),
        (IN_NOISE, "five", -2.9, Trust.DOUBTFUL, "it may have been nine"),
        (IN_NOISE, "sixty", -2.9, Trust.DOUBTFUL, "it may have been nine"),
        (IN_QUIET, "five", -2.9, Trust.AGREED, "network, sphinx and scribe agree"),
    ],
)
def test_in_noise_what_the_scribe_finds_less_probable_than_another_meaning_is_asked(
    sound: Utterance, other: str, nine: float, trust: Trust, why: str
) -> None:
    scribe = Scribe({"five": -3.0, "five volts": -9.0, "nine": nine, "sixty": -30.0}, sound=sound)
    ears = ranks(("five", -10), ("five volts", -11), ("nine", -20)), plain((other, 3))
    with with_scribe(scribe, *ears) as panel:
        found = panel.hear(sound, NETWORK, meaning_of)
    assert (found.trust, found.why, found.text) == (trust, why, "five")


def test_where_nobody_asks_no_voter_gets_ready() -> None:
    reviewer = Reviewer({})
    with Panel([replace(ranks(("five", -10), ("nine", -14)), reviewer=reviewer), plain(("five", 3))]) as panel:
        assert panel.hear(SOUND, NETWORK, meaning_of).trust is Trust.AGREED
    assert reviewer.ready == 0


def test_a_hearing_that_could_not_be_begun_does_not_wait_for_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """No more threads, or interrupted between two of them."""
    begun = 0

    def submit(self: ThreadPoolExecutor, *work: Any) -> Future[Any]:
        nonlocal begun
        begun += 1
        if begun == 2:
            raise RuntimeError("can't start new thread")
        return real(self, *work)

    real = ThreadPoolExecutor.submit
    with Panel([ranks(("five", -10), ("nine", -14)), plain(("five", 3))]) as panel:
        monkeypatch.setattr(ThreadPoolExecutor, "submit", submit)
        broken = panel.hear(SOUND, NETWORK, meaning_of)
        assert (broken.trust, broken.why) == (
            Trust.FAILED,
            "an engine broke on it: RuntimeError: can't start new thread",
        )
        assert panel.hear(SOUND, NETWORK, meaning_of).trust is Trust.AGREED


def test_what_goes_wrong_in_getting_ready_is_told() -> None:
    reviewer = Reviewer({}, broken=True)
    ears = replace(ranks(("five", -10), ("nine", -13)), reviewer=reviewer), plain(("sixty", 3))
    scribe = Scribe({"five": -3.0, "nine": -3.0, "sixty": -30.0})
    with with_scribe(scribe, *ears) as panel, pytest.raises(ModelError, match="the model is damaged"):
        panel.hear(SOUND, NETWORK, meaning_of)


def test_a_second_opinion_is_asked_for_when_the_voter_is_ready() -> None:
    reviewer = Reviewer({"five": -30.0, "nine": -39.0}, takes_s=0.2)
    ears = replace(ranks(("five", -10), ("nine", -13.9)), reviewer=reviewer), plain(("five", 3))
    with with_scribe(Scribe({"five": -3.0, "nine": -3.0}, sound=IN_QUIET), *ears) as panel:
        assert panel.hear(IN_QUIET, NETWORK, meaning_of).trust is Trust.AGREED
    assert (reviewer.ready, len(reviewer.asked)) == (1, 1)


@pytest.mark.parametrize(("in_figures", "backed", "trust"), [(1.9, 0, Trust.AGREED), (2.1, 0, Trust.DOUBTFUL),
                                                             (2.1, 1, Trust.AGREED)])  # fmt: skip
def test_what_nobody_backs_is_held_against_its_rivals_in_figures(in_figures: float, backed: int, trust: Trust) -> None:
    """ "5.09" is written more readily than "five point oh nine"."""
    scribe = Scribe({"five": -3.0, "nine": -5.0, "sixty": -30.0}, figures={"nine": in_figures})
    ears = ranks(("five", -10), ("nine", -18)), plain(("five" if backed else "sixty", 3))
    with with_scribe(scribe, *ears) as panel:
        found = panel.hear(SOUND, network_of(["five"]), meaning_of)
    assert (found.text, found.trust) == ("five", trust)
    assert [offer.text for offer in found.alternatives][:2] == ["five", "nine"]
    assert trust is Trust.AGREED or found.why == "it may have been nine"


def test_an_arbiter_settles_what_the_voters_offer() -> None:
    scribe = Scribe({"five": -3.0, "nine": -8.0, "sixty": -30.0})
    ears = ranks(("five", -10), ("nine", -10.5)), plain(("sixty", 3))
    assert hear(*ears).trust is Trust.DOUBTFUL
    with with_scribe(scribe, *ears) as panel:
        unsure = panel.hear(SOUND, NETWORK, meaning_of)
        # ahead what one ear offers, then all: what is weighed together comes out otherwise than alone
        assert sorted(scribe.asked) == ["free", "weigh five, nine", "weigh five, nine, sixty"]
        scribe.weights["nine"] = -12.0
        sure = panel.hear(SOUND, NETWORK, meaning_of)
    assert (unsure.trust, unsure.why) == (Trust.DOUBTFUL, "nine is nearly as likely: lead 5.5")
    assert (sure.trust, sure.text, sure.why) == (Trust.AGREED, "five", "network and scribe together are clear")
    assert (sure.margin, sure.gap) == (9.5, 1.0)


@pytest.mark.parametrize(
    ("ears", "weights"),
    [
        ((plain(("five", 3)), plain(("five", 1), name="vosk")), {"five": -3.0}),  # none ranks
        ((ranks(("five", -10)), plain(("five", 3))), {"five": None}),  # too little sound to weigh
        ((ranks(), plain(("five", 3))), {"five": -3.0}),  # what ranks heard nothing
        ((ranks(), plain()), {}),
    ],
)
def test_where_an_arbiter_has_nothing_to_say_the_voters_settle_it(
    ears: tuple[Voter, ...], weights: dict[str, float | None]
) -> None:
    with with_scribe(Scribe(weights), *ears) as panel:
        heard = panel.hear(SOUND, NETWORK, meaning_of)
    assert heard == replace(hear(*ears), free="Five.")


def test_what_will_be_asked_is_weighed_while_another_still_hears() -> None:
    """The same list, so that it is weighed once."""
    weighed = threading.Event()

    class Noting(Scribe):
        def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
            weighed.set()
            return super().weigh(utterance, texts)

    class Slow(Written):
        def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
            assert weighed.wait(WAIT_S)
            return super().hear(utterance, network)

    scribe = Noting({"five": -3.0, "nine": -12.0})
    slow = replace(plain(), recogniser=Slow("sphinx", [("five", 3)]))
    with with_scribe(scribe, ranks(("five", -10), ("nine", -10.5)), slow) as panel:
        assert panel.hear(SOUND, NETWORK, meaning_of).trust is Trust.AGREED
    assert sorted(scribe.asked) == ["free", "weigh five, nine"]


@dataclass
class Weigher(Written):
    """Weighs one sentence at a time, and notes each."""

    weighed: list[str] = field(default_factory=list)
    hearing: bool = False
    begun: threading.Event = field(default_factory=threading.Event)
    go_on: threading.Event = field(default_factory=threading.Event)

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        self.hearing = True
        heard = super().hear(utterance, network)
        self.hearing = False
        return heard

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:  # noqa: ARG002
        assert not self.hearing, "asked while it still heard"
        self.weighed += texts
        self.begun.set()
        assert self.go_on.wait(WAIT_S)
        return tuple(-1.0 for _ in texts)


@pytest.mark.parametrize(
    ("sound", "lead", "ahead"),
    [
        (IN_QUIET, 1.0, ["five"]),
        (IN_QUIET, 4.0, []),  # nobody will ask
        (IN_NOISE, 1.0, []),  # in noise it is never asked
    ],
)
def test_a_third_ear_weighs_ahead_until_nobody_needs_it(sound: Utterance, lead: float, ahead: list[str]) -> None:
    """It weighs a sentence whole: the arbiter meanwhile comes to its end, so that the next is not begun."""
    third = Weigher("sphinx", [("five", 3.0)])

    class Last(Scribe):
        def length(self, text: str) -> float:
            if ahead:
                assert third.begun.wait(WAIT_S)
            threading.Timer(0.1, third.go_on.set).start()
            return super().length(text)

    scribe = Last({"five": -3.0, "nine": -30.0}, sound=sound)
    ears = ranks(("five", -10), ("nine", -10 - lead)), replace(plain(), recogniser=third, weigher=third)
    with with_scribe(scribe, *ears) as panel:
        assert panel.hear(sound, NETWORK, meaning_of).trust is Trust.AGREED
    assert third.weighed == ahead


def test_what_was_not_called_is_not_weighed() -> None:
    """The attention word: the best without it is far better, so nobody asks what it was."""
    ranking = replace(ranks(("bench five", -30)), call_lead=0.0)
    assert isinstance(ranking.recogniser, Written)
    ranking.recogniser.heard_again = [("five", -10.0)]
    scribe = Scribe({})
    with with_scribe(scribe, ranking, plain(("bench five", 3))) as panel:
        heard = panel.hear(SOUND, NETWORK, meaning_of, None, SLIPS)
    assert heard.trust is Trust.UNRELATED
    assert scribe.asked == scribe.finished == ["free"]


def test_an_arbiter_writes_while_the_voters_hear() -> None:
    """Neither ends before the other began: one after the other they would wait for ever."""
    both = threading.Barrier(3)

    class Meets(Written):
        def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
            both.wait(WAIT_S)
            return super().hear(utterance, network)

    scribe = Scribe({"five": -3.0}, meanwhile=lambda: both.wait(WAIT_S))
    ears = (replace(ranks(), recogniser=Meets("network", [("five", -10)], 0.1, 12.0)),
            replace(plain(), recogniser=Meets("sphinx", [("five", 3)])))  # fmt: skip
    with with_scribe(scribe, *ears) as panel:
        assert panel.hear(SOUND, NETWORK, meaning_of).why == "network, sphinx and scribe agree"


def test_nobody_is_still_at_work_when_hearing_fails() -> None:
    failed = threading.Event()
    finished: list[str] = []

    class Fails(Written):
        def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
            try:
                return super().hear(utterance, network)
            finally:
                failed.set()

    class Slow(Written):
        def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
            failed.wait(WAIT_S)
            threading.Event().wait(0.2)  # the failure has gone up by then, where nobody waits for this
            finished.append(self.name)
            return super().hear(utterance, network)

    def after_failure() -> None:
        failed.wait(WAIT_S)
        threading.Event().wait(0.3)

    scribe = Scribe({}, meanwhile=after_failure)
    ears = Voter(Fails("network", deaf_to=("zq",)), margin_least=3.0), Voter(Slow("sphinx", [("five", 3)]))
    with with_scribe(scribe, *ears) as panel:
        with pytest.raises(VocabularyError, match="network cannot hear: zq"):
            panel.hear(SOUND, NETWORK, meaning_of)
        assert (finished, scribe.finished) == (["sphinx"], ["free"])


def test_closing_a_panel_closes_its_scribe_and_leaving_one_out_keeps_it() -> None:
    scribe = Scribe({"five": -3.0, "nine": -30.0})
    whole = with_scribe(scribe, ranks(("five", -10), ("nine", -20)), plain(("five", 3)), plain(name="vosk"))
    left = whole.without("vosk")
    assert left.arbiter is whole.arbiter
    assert not scribe.closed
    assert left.hear(SOUND, NETWORK, meaning_of).why == "network, sphinx and scribe agree"
    left.close()
    assert scribe.closed


def number_of(text: str) -> str | None:
    """What `meaning_of` tells apart by noughts is the same here: `five oh oh`, `five oh`, `five`."""
    meant = meaning_of(text)
    return None if meant is None else meant.replace(" oh", "")


def test_what_differs_in_noughts_alone_is_the_same_number() -> None:
    scribe = Scribe({"five oh": -3.0, "five oh oh": -4.0, "nine": -20.0})
    ears = ranks(("five oh", -10), ("five oh oh", -10.5), ("nine", -14)), plain(("five oh oh", 3))
    words = network_of(["five oh", "five oh oh", "nine"])
    with with_scribe(scribe, *ears) as panel:
        exactly = panel.hear(SOUND, words, meaning_of)
        assert (exactly.trust, exactly.twins) == (Trust.DOUBTFUL, ())
        found = panel.hear(SOUND, words, meaning_of, number_of=number_of)
    assert (found.trust, found.text) == (Trust.AGREED, "five oh")
    assert found.twins == ("five oh oh",)  # for the session, which takes what claims less
    assert [offer.text for offer in found.alternatives] == ["five oh", "nine"]


def test_a_twin_of_another_way_to_say_the_number_is_weighed_and_named() -> None:
    """Nobody offers "eighty", which sounds like "eighteen" and not like "eighteen oh"."""
    words = network_of(["eighteen", "eighteen oh", "eighty", "eighty oh"])
    ears = ranks(("eighteen", -10), ("eighteen oh", -10.5)), plain(("eighteen", 3))
    weights = {"eighteen": -4.0, "eighteen oh": -3.0, "eighty oh": -30.0}
    for eighty, trust, twins in ((5.0, Trust.DOUBTFUL, ()), (-4.0, Trust.AGREED, ("eighteen", "eighty"))):
        scribe = Scribe({**weights, "eighty": eighty})
        with with_scribe(scribe, *ears) as panel:
            arbiter = replace(panel.arbiter, lead_twin=14.0) if panel.arbiter else None
            panel.arbiter = arbiter
            found = panel.hear(SOUND, words, meaning_of, number_of=number_of)
        assert found.trust is trust
        assert trust is Trust.DOUBTFUL or (found.text, found.twins) == ("eighteen oh", twins)


def test_what_is_clear_keeps_its_noughts() -> None:
    scribe = Scribe({"five oh": -20.0, "five oh oh": -4.0, "nine": -20.0})
    ears = ranks(("five oh", -20), ("five oh oh", -10.5), ("nine", -14)), plain(("five oh oh", 3))
    with with_scribe(scribe, *ears) as panel:
        found = panel.hear(SOUND, network_of(["five oh", "five oh oh"]), meaning_of, number_of=number_of)
    assert (found.trust, found.text, found.twins) == (Trust.AGREED, "five oh oh", ())


def test_another_number_is_still_asked() -> None:
    scribe = Scribe({"five oh": -3.0, "five oh oh": -4.0, "five oh two": -4.0})
    ears = ranks(("five oh", -10), ("five oh oh", -10.5), ("five oh two", -11)), plain(("five oh", 3))
    words = network_of(["five oh", "five oh oh", "five oh two"])
    with with_scribe(scribe, *ears) as panel:
        found = panel.hear(SOUND, words, meaning_of, number_of=number_of)
    assert (found.trust, found.why) == (Trust.DOUBTFUL, "five oh oh is nearly as likely: lead 1.5")


def test_the_scribe_writes_in_words_or_in_figures() -> None:
    """The gap is asked for once more only where it is not small anyhow."""
    ears = ranks(("five", -10), ("nine", -30)), plain(("five", 3))
    for weight, in_figures, trust in (
        (-3.0, 0.0, Trust.AGREED),
        (-40.0, 0.0, Trust.UNRELATED),
        (-40.0, 36.0, Trust.AGREED),
    ):
        scribe = Scribe({"five": weight, "nine": -60.0}, in_figures=in_figures)
        with with_scribe(scribe, *ears) as panel:
            assert panel.hear(SOUND, network_of(["five", "nine"]), meaning_of).trust is trust
        assert ("however five is written" in scribe.asked) is (weight < -3.0)
