"""What follows from an arbiter's weights: each way to be accepted, asked or ignored; with real ears in test_engines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchvoice.hear.arbiter import Arbiter, arbitrate, texts_to_weigh
from benchvoice.hear.votes import Vote, Voter
from benchvoice.records import Alternative, Transcript, Trust


@dataclass
class Named:
    """What arbitrate knows of an engine or a scribe: its name."""

    name: str

    def length(self, text: str) -> float:
        return len(text.split())


NETWORK: Any = Named("network")
SPHINX: Any = Named("sphinx")
SCRIBE: Any = Named("scribe")

ARBITER = Arbiter(
    SCRIBE, lead_backed=4.0, lead_unbacked=8.0, lead_near=6.0, gap_most=3.0, gap_stranger=2.5, gap_strange=6.5
)
RANKING = Voter(NETWORK, gap_most=0.28, margin_least=3.0)
PLAIN = Voter(SPHINX, hearings=2)


def meaning_of(text: str) -> str | None:
    """`five` and `five volts` mean the same; what begins with `hm` means nothing."""
    return None if text.startswith("hm") else text.removesuffix(" volts")


def vote(voter: Voter, *heard: tuple[str, float], gap: float | None = None, slip: Alternative | None = None) -> Vote:
    alternatives = tuple(Alternative(*item) for item in heard)
    transcript = Transcript(voter.recogniser.name, alternatives, margin=12.0 if heard else None, gap=gap)
    return Vote(voter, transcript, tuple(meaning_of(text) for text, _ in heard), slip)


def ranks(*heard: tuple[str, float], gap: float = 0.1, slip: tuple[str, float] | None = None) -> Vote:
    return vote(RANKING, *heard, gap=gap, slip=None if slip is None else Alternative(*slip))


def plain(*heard: str) -> Vote:
    return vote(PLAIN, *((text, 0.0) for text in heard))


def settled(votes: Sequence[Vote], weights: Mapping[str, float], free: float = -5.0) -> Transcript:
    assert set(weights) == set(texts_to_weigh(votes))
    found = arbitrate(ARBITER, votes, weights, Alternative("Five.", free), meaning_of)
    assert found is not None
    return found


@dataclass(frozen=True)
class Case:
    """Two neighbours: what is accepted (or not), and what lies just beyond the threshold."""

    votes: Sequence[Vote]
    weights: Mapping[str, float]
    trust: Trust
    why: str
    free: float = -5.0
    offers: tuple[str, ...] = field(default=("five", "nine"))


TWO = ranks(("five", -10), ("nine", -12))
CALLED_STRANGE = ranks(("five", -10), ("nine", -12), gap=0.3)
AGREE = "network, sphinx and scribe agree"
CLEAR = "network and scribe together are clear"

CASES = {
    # the sum of both logarithms leads by 2 + what the weights differ by
    "backed, lead enough": Case([TWO, plain("five")], {"five": -5, "nine": -7}, Trust.AGREED, AGREE),
    "backed, lead short": Case(
        [TWO, plain("five")], {"five": -5, "nine": -6.9}, Trust.DOUBTFUL, "nine is nearly as likely: lead 3.9"
    ),
    "unbacked, lead enough": Case([TWO, plain("nine")], {"five": -5, "nine": -11}, Trust.AGREED, CLEAR),
    "unbacked, lead short": Case(
        [TWO, plain("nine")], {"five": -5, "nine": -10.9}, Trust.DOUBTFUL, "nine is nearly as likely: lead 7.9"
    ),
    "heard once of twice is no backing": Case(
        [TWO, plain("five", "nine")], {"five": -5, "nine": -10.9}, Trust.DOUBTFUL, "nine is nearly as likely: lead 7.9"
    ),
    "heard twice in other words is": Case(
        [TWO, plain("five", "five volts")], {"five": -5, "five volts": -9, "nine": -7}, Trust.AGREED, AGREE
    ),
    "who hears nothing backs nothing": Case([TWO, plain()], {"five": -5, "nine": -7}, Trust.DOUBTFUL,
                                            "nine is nearly as likely: lead 4.0"),
    "nobody else listens": Case([TWO], {"five": -5, "nine": -11}, Trust.AGREED, CLEAR),
    "the weights overrule the ranking": Case(
        [TWO, plain("nine")], {"five": -15, "nine": -5}, Trust.AGREED, AGREE, offers=("nine", "five")
    ),
    "two wordings of a meaning are one": Case(
        [ranks(("five", -10), ("five volts", -10.1), ("nine", -12)), plain("five")],
        {"five": -5, "five volts": -5, "nine": -7}, Trust.AGREED, AGREE,
    ),
    "the better wording counts": Case(
        [ranks(("five", -10), ("five volts", -11), ("nine", -12)), plain("five")],
        {"five": -9, "five volts": -5, "nine": -6}, Trust.DOUBTFUL, "nine is nearly as likely: lead 2.0",
        offers=("five volts", "nine"),
    ),
    # a text that the ranking voter does not offer stands 12 below its best
    "heard by the other alone, likely": Case(
        [ranks(("five", -10)), plain("six")], {"five": -20, "six": -4}, Trust.AGREED, AGREE, offers=("six", "five")
    ),
    "heard by the other alone, less so": Case(
        [ranks(("five", -10)), plain("six")], {"five": -20, "six": -4.1}, Trust.DOUBTFUL,
        "five is nearly as likely: lead 3.9", offers=("six", "five"),
    ),
    "no lower than what the ranking voter offers": Case(
        [ranks(("five", -10), ("nine", -30)), plain("six")], {"five": -15, "nine": -40, "six": -5}, Trust.AGREED, CLEAR,
        free=-12.0, offers=("five", "six", "nine"),
    ),
    "no rival offered": Case([ranks(("five", -10)), plain()], {"five": -5}, Trust.AGREED, CLEAR, offers=("five",)),
    # slips
    "a slip is likelier": Case(
        [ranks(("five", -10), ("nine", -30), slip=("hm wait", -9)), plain("five")],
        {"five": -5, "nine": -5, "hm wait": -5}, Trust.DOUBTFUL, "it may have been hm wait",
    ),
    "a slip is nearly as likely": Case(
        [ranks(("five", -10), ("nine", -30), slip=("hm wait", -9)), plain("five")],
        {"five": -5, "nine": -5, "hm wait": -9.9}, Trust.DOUBTFUL, "hm wait is nearly as likely: lead 3.9",
    ),
    "a slip is far from likely": Case(
        [ranks(("five", -10), ("nine", -30), slip=("hm wait", -9)), plain("five")],
        {"five": -5, "nine": -5, "hm wait": -10}, Trust.AGREED, AGREE,
    ),
    "a slip of the same meaning is no objection": Case(
        [ranks(("five", -10), ("nine", -30), slip=("five volts", -2)), plain("five")],
        {"five": -5, "nine": -5, "five volts": -1}, Trust.AGREED, AGREE,
    ),
    "a slip of a rival's meaning is": Case(
        [ranks(("five", -10), ("nine", -30), slip=("nine volts", -9)), plain("five")],
        {"five": -5, "nine": -5, "nine volts": -5}, Trust.DOUBTFUL, "it may have been nine volts",
    ),
    "what another voter hears is no slip": Case(
        [ranks(("five", -10), slip=("nine", -9)), plain("nine")],
        {"five": -9, "nine": -5}, Trust.AGREED, AGREE, offers=("nine", "five"),
    ),
    # without a meaning
    "the best means nothing": Case(
        [ranks(("hm", -10), ("five", -20)), plain("hm")],
        {"hm": -5, "five": -5}, Trust.DOUBTFUL, "what was heard means nothing", offers=("five",),
    ),
    "nothing means anything": Case(
        [ranks(("hm", -10), ("hm hm", -20)), plain()],
        {"hm": -5, "hm hm": -5}, Trust.DOUBTFUL, "what was heard means nothing", offers=("hm",),
    ),
    "what means nothing is a rival": Case(
        [ranks(("five", -10), ("hm", -12)), plain("five")],
        {"five": -5, "hm": -5}, Trust.DOUBTFUL, "hm is nearly as likely: lead 2.0", offers=("five",),
    ),
    # the scribe's gap is the free text's log minus the best one's (-20 here), per word
    "gap within": Case([TWO, plain("five")], {"five": -20, "nine": -40}, Trust.AGREED, AGREE, -17.0),
    "gap beyond": Case([TWO, plain("five")], {"five": -20, "nine": -40}, Trust.DOUBTFUL,
                       "hardly a sentence of the bench to scribe", -16.9),
    "gap up to strange": Case([TWO, plain("five")], {"five": -20, "nine": -40}, Trust.DOUBTFUL,
                              "hardly a sentence of the bench to scribe", -13.5),
    "gap strange": Case([TWO, plain("five")], {"five": -20, "nine": -40}, Trust.UNRELATED,
                        "not a sentence of the bench to scribe", -13.4),
    "gap per word": Case([ranks(("five volts", -10)), plain("five")], {"five volts": -20, "five": -40}, Trust.AGREED,
                         AGREE, -14.0, offers=("five volts",)),
    "strange to the ranking voter alone": Case([CALLED_STRANGE, plain("five")], {"five": -20, "nine": -40},
                                               Trust.DOUBTFUL, "hardly a sentence of the bench to network", -17.5),
    "strange to both": Case([CALLED_STRANGE, plain("five")], {"five": -20, "nine": -40}, Trust.UNRELATED,
                            "not a sentence of the bench to network and scribe", -17.4),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_what_follows(case: Case) -> None:
    found = settled(case.votes, case.weights, case.free)
    assert (found.engine, found.trust, found.why) == ("panel", case.trust, case.why)
    assert tuple(item.text for item in found.alternatives) == case.offers


def test_figures_are_given() -> None:
    found = settled([TWO, plain("five")], {"five": -5, "nine": -8}, free=-4.0)
    assert (found.margin, found.gap) == (5.0, 1.0)
    assert found.alternatives == (Alternative("five", -15), Alternative("nine", -20))


def test_where_one_meaning_fills_the_list_the_lead_is_no_more_than_was_looked() -> None:
    near = replace(ranks(("five", -10)), transcript=replace(ranks(("five", -10)).transcript, margin=3.5))
    found = settled([near, plain("five")], {"five": -5})
    assert (found.trust, found.why) == (Trust.DOUBTFUL, "something else may be as likely: lead 3.5")


def test_silence_is_not_divided_by() -> None:
    assert settled([ranks(("", -10)), plain("five")], {"": -5, "five": -40}, free=-4.0).gap == 1.0


@pytest.mark.parametrize("votes", [[], [plain("five")], [ranks(), plain("five")]])
def test_without_what_ranks_nothing_is_settled(votes: list[Vote]) -> None:
    assert arbitrate(ARBITER, votes, {"five": -5.0}, Alternative("Five.", -4.0), meaning_of) is None


def test_a_ranking_voter_that_hears_nothing_leaves_it_to_the_next() -> None:
    found = settled([ranks(), plain("five"), TWO], {"five": -5, "nine": -9})
    assert (found.text, found.trust) == ("five", Trust.AGREED)


def test_what_is_weighed() -> None:
    ways = [(f"five{' volts' * number}", -10.0 - number) for number in range(20)]
    few = ranks(*ways[:2], ("nine", -30), slip=("hm wait", -9))
    assert texts_to_weigh([few, plain("six", "five", "hm", "seven")]) == (
        "five", "five volts", "nine", "hm wait", "six", "hm", "seven"
    )  # fmt: skip
    many = vote(RANKING, *((f"{number}", -10.0 - number) for number in range(20)))
    assert texts_to_weigh([many]) == tuple(f"{number}" for number in range(14))
    every = tuple(f"{number}" for number in range(20))
    assert texts_to_weigh([plain(*every)]) == every
    assert texts_to_weigh([ranks(), plain()]) == ()
    assert texts_to_weigh([plain("five", "six")], ["six", "sixty"]) == ("five", "six", "sixty")


def test_the_best_rival_is_weighed_however_many_ways_there_are_to_say_the_first() -> None:
    heard = [(f"five, way {number}", -10.0 - number / 10) for number in range(20)]
    alternatives = tuple(Alternative(*item) for item in (*heard, ("nine", -12.1), ("six", -12.2)))
    meanings = (*("five",) * 20, "nine", "six")
    asked = Vote(RANKING, Transcript("network", alternatives, margin=12.0, gap=0.1), meanings)
    assert texts_to_weigh([asked]) == (*(text for text, _ in heard[:14]), "nine")
    weights = dict.fromkeys(texts_to_weigh([asked]), -5.0)
    found = arbitrate(ARBITER, [asked], weights, Alternative("", -4.0), lambda text: text.split(",")[0])
    assert found is not None
    assert (found.trust, found.why) == (Trust.DOUBTFUL, "nine is nearly as likely: lead 2.1")


@pytest.mark.parametrize(
    ("lead", "lead_twin", "named"), [(7.0, 12.0, True), (11.9, 12.0, True), (12.1, 12.0, False), (7.0, 0.0, False)]
)
def test_a_twin_that_is_not_far_behind_is_named_beside_what_was_heard(
    lead: float, lead_twin: float, named: bool
) -> None:
    heard = [ranks(("thirty", -10), ("five", -19), ("thirteen", -20)), plain("thirty")]
    weights = {"thirty": -5.0, "five": -5.0, "thirteen": 5.0 - lead}
    arbiter = replace(ARBITER, lead_twin=lead_twin)
    found = arbitrate(arbiter, heard, weights, Alternative("Thirty.", -5.0), meaning_of)
    assert found is not None
    assert (found.text, found.trust) == ("thirty", Trust.AGREED)
    assert found.twins == (("thirteen",) if named else ())


@pytest.mark.parametrize(
    ("heard", "other", "lead", "named"),
    [
        ("eighty", "eighteen", 11.9, True),  # as many syllables: 12
        ("eighty", "eighteen", 12.1, False),
        ("eighty", "eight", 7.9, True),  # one more or less: 8
        ("eighty", "eight", 8.1, False),
        ("eight", "eighty", 8.1, False),
        ("eight", "eighteen", 8.1, False),
        ("three milliamps", "three microamps", 11.9, True),  # units have as many syllables: 12
        ("point oh five", "point oh oh five", 11.9, True),  # said twice: 12
        ("point oh five", "point oh oh five", 12.1, False),
    ],
)
def test_a_syllable_more_or_less_is_heard_better(heard: str, other: str, lead: float, named: bool) -> None:
    votes = [ranks((heard, -10), ("five", -39), (other, -10 - lead)), plain(heard)]
    arbiter = replace(ARBITER, lead_twin=12.0, lead_syllable=8.0)
    weights = dict.fromkeys((heard, "five", other), -5.0)
    found = arbitrate(arbiter, votes, weights, Alternative("Eighty.", -5.0), meaning_of)
    assert found is not None
    assert found.text == heard
    assert found.twins == ((other,) if named else ())


@pytest.mark.parametrize(
    ("heard", "fuller", "lead", "asked"),
    [
        # the word more comes last, or is said twice: 14
        ("six oh", "six oh oh", 13.9, True),
        ("six oh", "six oh oh", 14.1, False),
        ("six seven", "six seven eight", 13.9, True),
        ("six oh five", "six oh oh five", 13.9, True),
        # it comes elsewhere: 9
        ("six five", "six seven five", 8.9, True),
        ("six five", "six seven five", 9.1, False),
        # another word, two words more, one word less: nothing was swallowed
        ("six five", "six nine", 8.9, False),
        ("six", "six oh oh", 8.9, False),
        ("six oh oh", "six oh", 8.9, False),
        # it means the same, or nothing
        ("six", "six volts", 5.0, False),
        ("six", "hm six", 5.0, False),
    ],
)
def test_a_word_that_may_have_been_swallowed_is_asked(heard: str, fuller: str, lead: float, asked: bool) -> None:
    votes = [ranks((heard, -10), ("five", -19), (fuller, -10 - lead)), plain(heard)]
    weights = {heard: -5.0, "five": -15.0, fuller: -5.0}
    arbiter = replace(ARBITER, lead_fuller=9.0, lead_swallowed=14.0, lead_near=0.0)
    found = arbitrate(arbiter, votes, weights, Alternative("Six.", -5.0), meaning_of)
    assert found is not None
    assert found.text == heard
    if asked:
        assert (found.trust, found.why) == (Trust.DOUBTFUL, f"it may have been {fuller}")
        assert [item.text for item in found.alternatives[:2]] == [heard, fuller]
    else:
        assert found.trust is Trust.AGREED


@pytest.mark.parametrize(
    ("lead", "again", "trust", "unlikely"),
    [
        (3.1, None, Trust.DOUBTFUL, False),
        # a second opinion adds as much as there was, so half of the lead wanted (6) is enough where it agrees
        (3.1, 12.0, Trust.AGREED, False),
        (2.9, 12.0, Trust.DOUBTFUL, False),
        (3.1, 2.8, Trust.DOUBTFUL, False),
        # and half of that (12) up to which it is a twin
        (6.1, None, Trust.AGREED, False),
        (6.1, 6.0, Trust.AGREED, True),
        (6.1, 5.8, Trust.AGREED, False),
        (5.9, 12.0, Trust.AGREED, False),
        # it takes from a lead too, and never turns it
        (11.0, -4.9, Trust.AGREED, False),
        (11.0, -5.1, Trust.DOUBTFUL, False),
        (4.1, -12.0, Trust.DOUBTFUL, False),
    ],
)
def test_a_second_opinion_confirms_what_was_heard_or_does_not(
    lead: float, again: float | None, trust: Trust, unlikely: bool
) -> None:
    votes = [ranks(("forty", -10.0), ("fourteen", -10.0 - lead)), plain("forty")]
    weights = {"forty": -5.0, "fourteen": -5.0}
    second = {} if again is None else {"forty": -70.0, "fourteen": -70.0 - again}
    arbiter = replace(ARBITER, lead_twin=12.0)
    found = arbitrate(arbiter, votes, weights, Alternative("40.", -5.0), meaning_of, again=second)
    assert found is not None
    assert (found.text, found.trust, found.twins) == ("forty", trust, ("fourteen",))
    assert found.unlikely == (("fourteen",) if unlikely else ())


@pytest.mark.parametrize("first", ["five", "nine"])
@pytest.mark.parametrize("besides", [0.0, -6.0])
def test_nothing_is_accepted_for_a_second_opinion_that_was_not_heard_first(first: str, besides: float) -> None:
    """Whichever stands first in the list, and though an ear besides and another voter prefer it too."""
    votes = [ranks(("five", -10.0), ("nine", -18.0)), plain("nine")]
    weights = dict.fromkeys([first, "five", "nine"], -5.0)
    again = {"five": -80.0, "nine": -70.0}
    found = arbitrate(
        ARBITER, votes, weights, Alternative("5.", -5.0), meaning_of, again=again, besides={"five": besides}
    )
    assert found is not None
    assert found.trust is Trust.DOUBTFUL
    assert {offer.text for offer in found.alternatives[:2]} == {"five", "nine"}


def test_a_second_opinion_that_tells_nothing_undoes_nothing_that_an_ear_besides_has_settled() -> None:
    """ "Four point oh" and "four point two" are one to the network, however often it hears them."""
    votes = [ranks(("two", -10.0), ("oh", -10.1)), plain("oh")]
    weights = {"two": -5.0, "oh": -6.0}
    for again in ({}, {"two": -70.0, "oh": -70.1}):
        found = arbitrate(
            ARBITER, votes, weights, Alternative("0.", -5.0), meaning_of, again=again, besides={"two": -11.0}
        )
        assert found is not None
        assert (found.text, found.trust) == ("oh", Trust.AGREED)


def test_the_margin_is_no_greater_for_a_second_opinion() -> None:
    votes = [ranks(("five", -10.0), ("nine", -15.0)), plain("five")]
    weights = {"five": -5.0, "nine": -5.0}
    for again, margin in ((9.0, 5.0), (-2.0, 3.0)):
        second = {"five": -70.0, "nine": -70.0 - again}
        found = arbitrate(ARBITER, votes, weights, Alternative("5.", -5.0), meaning_of, again=second)
        assert found is not None
        assert found.margin == margin


@pytest.mark.parametrize("again", [-3.0, 0.0, 3.0])
def test_a_second_opinion_takes_nothing_from_the_lead_over_a_slip(again: float) -> None:
    votes = [ranks(("six oh", -10.0), ("nine", -30.0), slip=("six uh", -14.1)), plain("six oh")]
    weights = {"six oh": -5.0, "nine": -5.0, "six uh": -5.0}
    second = {"six oh": -70.0, "nine": -90.0, "six uh": -70.0 - again}
    found = arbitrate(ARBITER, votes, weights, Alternative("6.0.", -5.0), meaning_of, again=second)
    assert found is not None
    assert (found.text, found.trust) == ("six oh", Trust.AGREED)


def test_a_second_opinion_helps_to_tell_a_slip() -> None:
    votes = [ranks(("six oh", -10.0), ("nine", -30.0), slip=("six uh", -12.1)), plain("six oh")]
    weights = {"six oh": -5.0, "nine": -5.0, "six uh": -5.0}
    for again, trust in ((0.0, Trust.DOUBTFUL), (2.1, Trust.AGREED), (-2.1, Trust.DOUBTFUL)):
        second = {"six oh": -70.0, "nine": -90.0, "six uh": -70.0 - again}
        found = arbitrate(ARBITER, votes, weights, Alternative("6.0.", -5.0), meaning_of, again=second)
        assert found is not None
        assert found.trust is trust


def test_a_word_that_was_said_twice_is_never_unlikely() -> None:
    votes = [ranks(("six oh", -10.0), ("six oh oh", -17.0)), plain("six oh")]
    weights = {"six oh": -5.0, "six oh oh": -5.0}
    second = {"six oh": -70.0, "six oh oh": -82.0}
    arbiter = replace(ARBITER, lead_twin=12.0)
    found = arbitrate(arbiter, votes, weights, Alternative("6.0.", -5.0), meaning_of, again=second)
    assert found is not None
    assert (found.twins, found.unlikely) == (("six oh oh",), ())


def test_a_second_opinion_does_not_exclude_a_word_that_was_swallowed() -> None:
    """The same ear swallows it twice."""
    votes = [ranks(("six oh", -10.0), ("six oh oh", -22.0)), plain("six oh")]
    found = arbitrate(
        replace(ARBITER, lead_swallowed=14.0),
        votes,
        {"six oh": -5.0, "six oh oh": -5.0},
        Alternative("Six.", -5.0),
        meaning_of,
        again={"six oh": -10.0, "six oh oh": -22.0},
    )
    assert found is not None
    assert (found.trust, found.why) == (Trust.DOUBTFUL, "it may have been six oh oh")


def test_what_says_one_word_more_is_weighed_however_far_behind_it_is() -> None:
    heard = [(f"{number}", -10.0 - number) for number in range(20)]
    fuller = vote(RANKING, *heard, ("0 0", -40.0), ("1 1", -41.0))
    assert texts_to_weigh([fuller]) == (*(f"{number}" for number in range(14)), "0 0")


@pytest.mark.parametrize(("lead", "trust"), [(5.9, Trust.DOUBTFUL), (6.1, Trust.AGREED)])
def test_an_ear_besides_does_not_dispel_what_sounds_alike(lead: float, trust: Trust) -> None:
    heard = [ranks(("reads forty", -10), ("is fourteen", -24), ("reads fourteen", -10 - lead)), plain("reads forty")]
    weights = {"reads forty": -5.0, "is fourteen": -5.0, "reads fourteen": -5.0}

    def means(text: str) -> str:
        return text.rsplit(maxsplit=1)[-1]

    besides = {"reads fourteen": -12.0}  # it is misled by the same sound
    found = arbitrate(
        replace(ARBITER, lead_twin=12.0), heard, weights, Alternative("Forty.", -5.0), means, besides=besides
    )
    assert found is not None
    assert (found.text, found.trust) == ("reads forty", trust)
    assert found.twins == ("reads fourteen",)


@pytest.mark.parametrize(("free", "trust"), [(-19.0, Trust.AGREED), (-18.9, Trust.DOUBTFUL)])
def test_what_the_scribe_would_write_by_itself_is_no_stranger(free: float, trust: Trust) -> None:
    heard, weights = [CALLED_STRANGE, plain("five")], {"five": -20.0, "nine": -40.0}
    found = arbitrate(replace(ARBITER, gap_sure=1.0), heard, weights, Alternative("Five.", free), meaning_of)
    assert found is not None
    assert found.trust is trust


@pytest.mark.parametrize(
    ("heard", "other", "named"),
    [
        ("eighty one", "eighteen one", False),  # hardly anybody says that
        ("eighteen one", "eighty one", True),
        ("eighty", "eighteen", True),
        ("eighty volts", "eighteen volts", True),
        ("point oh oh one", "point oh one", False),  # ears swallow words, they do not make them
        ("point oh one", "point oh oh one", True),
    ],
)
def test_only_what_is_usually_said_is_a_twin(heard: str, other: str, named: bool) -> None:
    votes = [ranks((heard, -10), (other, -19)), plain(heard)]
    weights = {heard: -5.0, other: -5.0}
    arbiter = replace(ARBITER, lead_twin=12.0)
    found = arbitrate(arbiter, votes, weights, Alternative("", -5.0), lambda text: text.removesuffix(" volts"))
    assert found is not None
    assert (found.text, found.trust) == (heard, Trust.AGREED)
    assert found.twins == ((other,) if named else ())


def test_what_means_the_same_is_no_twin() -> None:
    same = [ranks(("five", -10), ("nine", -30), ("five volts", -11)), plain("five")]
    weights = {"five": -5.0, "nine": -5.0, "five volts": -5.0}
    found = arbitrate(replace(ARBITER, lead_twin=12.0), same, weights, Alternative("Five.", -5.0), lambda _: "five")
    assert found is not None
    assert found.twins == ()


@pytest.mark.parametrize(
    ("in_words", "in_any_way", "trust"),
    [
        (-22.9, -22.9, Trust.AGREED),  # gaps up to 3 are of what was said
        (-23.1, -23.1, Trust.DOUBTFUL),
        (-40.0, -22.9, Trust.AGREED),  # it wrote figures
        (-40.0, -23.1, Trust.DOUBTFUL),
        (-22.9, -40.0, Trust.AGREED),  # less than in words it cannot be
    ],
)
def test_the_gap_is_that_of_a_sentence_however_it_is_written(in_words: float, in_any_way: float, trust: Trust) -> None:
    heard, weights = [ranks(("five", -10), ("nine", -30)), plain("five")], {"five": in_words, "nine": -60.0}
    found = arbitrate(
        replace(ARBITER, fewest_words=6),
        heard,
        weights,
        Alternative("5.", -5.0),
        meaning_of,
        however_written={"five": in_any_way}.__getitem__,
    )
    assert found is not None
    assert (found.text, found.trust) == ("five", trust)


@pytest.mark.parametrize(
    ("lead", "named"),
    [
        (13.9, ("six oh oh",)),  # as near as a swallowed word may be
        (14.1, ()),
        (-0.5, ("six oh",)),
    ],
)
def test_other_meanings_of_the_same_number_are_named(lead: float, named: tuple[str, ...]) -> None:
    votes = [ranks(("six oh", -10), ("five", -39), ("six oh oh", -10 - lead)), plain("six oh")]
    weights = {"six oh": -5.0, "five": -15.0, "six oh oh": -5.0}
    found = arbitrate(
        replace(ARBITER, lead_swallowed=14.0),
        [
            replace(vote, meanings=tuple(text.split()[0] for text in map(_text, vote.transcript.alternatives)))
            for vote in votes
        ],
        weights,
        Alternative("Six.", -5.0),
        lambda text: text.split()[0],
        exactly=meaning_of,
    )
    assert found is not None
    assert found.trust is Trust.AGREED
    heard = "six oh" if lead > 0 else "six oh oh"
    assert (found.text, found.twins) == (heard, named)


def test_a_word_may_have_been_swallowed_behind_any_way_to_say_the_number() -> None:
    """ "Six" is heard, "six oh" is as likely, and behind that "six oh eight" says one word more."""
    votes = [ranks(("six", -10), ("six oh", -10.5), ("six oh eight", -16)), plain("six")]
    weights = dict.fromkeys(("six", "six oh", "six oh eight"), -5.0)
    arbiter = replace(ARBITER, lead_near=0.0, lead_fuller=9.0, lead_swallowed=14.0)

    def number(text: str) -> str:
        return text.removesuffix(" oh")

    found = arbitrate(
        arbiter,
        [
            replace(vote, meanings=tuple(number(text) for text in map(_text, vote.transcript.alternatives)))
            for vote in votes
        ],
        weights,
        Alternative("Six.", -5.0),
        number,
        exactly=meaning_of,
    )
    assert found is not None
    assert (found.trust, found.why) == (Trust.DOUBTFUL, "it may have been six oh eight")


def _text(alternative: Alternative) -> str:
    return alternative.text


# --- whatever is heard ----------------------------------------------------------------------------------------------
TEXTS = ("five", "five volts", "nine", "nine volts", "six", "hm", "hm hm", "seven", "ten", "two", "one")
texts = st.sampled_from(TEXTS)
rows = st.lists(st.tuples(texts, st.floats(-30, 0)), min_size=1, max_size=8, unique_by=lambda item: item[0]).map(
    lambda row: sorted(row, key=lambda item: -item[1])
)
slips = st.none() | st.tuples(texts, st.floats(-30, 0))
weighings = st.fixed_dictionaries({text: st.floats(-40, -1) for text in TEXTS})


@st.composite
def hearings(draw: st.DrawFn) -> tuple[list[Vote], dict[str, float], float]:
    votes = [
        ranks(*draw(rows), gap=draw(st.sampled_from((0.1, 0.3))), slip=draw(slips)),
        plain(*draw(st.lists(texts, max_size=3, unique=True))),
    ]
    weights = draw(weighings)
    return votes, {text: weights[text] for text in texts_to_weigh(votes)}, draw(st.floats(-20, 0))


@given(hearings())
def test_alternatives_are_unique_by_meaning_and_best_first(heard: tuple[list[Vote], dict[str, float], float]) -> None:
    votes, weights, free = heard
    found = settled(votes, weights, free)
    meanings = [meaning_of(item.text) for item in found.alternatives]
    scores = [item.score for item in found.alternatives]
    spoken = {item.text for each in votes for item in each.transcript.alternatives}
    assert 1 <= len(meanings) <= 5
    assert len(set(meanings)) == len(meanings)
    assert None not in meanings or len(meanings) == 1
    assert scores == sorted(scores, reverse=True)
    assert all(item.text in spoken for item in found.alternatives)  # nobody is asked whether it was a slip


@given(hearings())
def test_what_is_accepted_has_a_meaning_and_leads_every_other(
    heard: tuple[list[Vote], dict[str, float], float],
) -> None:
    votes, weights, free = heard
    found = settled(votes, weights, free)
    if found.trust is Trust.AGREED:
        meaning = meaning_of(found.text)
        assert meaning is not None
        ranked = dict(votes[0].transcript.alternatives)
        rivals = [score + weights[text] for text, score in ranked.items() if meaning_of(text) != meaning]
        backed = {*votes[1].voices} == {meaning}
        assert all(found.alternatives[0].score - rival >= (4.0 if backed else 8.0) for rival in rivals)
        assert not votes[0].unrelated


@given(hearings(), st.data(), st.floats(0, 40))
def test_a_likelier_rival_never_makes_what_was_doubtful_accepted(
    heard: tuple[list[Vote], dict[str, float], float], data: st.DataObject, more: float
) -> None:
    votes, weights, free = heard
    before = settled(votes, weights, free)
    old = meaning_of(before.text)
    rivals = [text for text in weights if meaning_of(text) != old or meaning_of(text) is None]
    assume(rivals and before.trust is not Trust.AGREED)
    rival = data.draw(st.sampled_from(rivals))
    after = settled(votes, {**weights, rival: weights[rival] + more}, free)
    assert after.trust is not Trust.AGREED or meaning_of(after.text) != old


def test_a_rival_that_sounds_alike_has_to_be_led_by_more() -> None:
    votes = [ranks(("fifteen", -10), ("fifty", -12)), plain("fifteen")]
    assert settled(votes, {"fifteen": -5, "fifty": -8.5}).trust is Trust.DOUBTFUL
    assert settled(votes, {"fifteen": -5, "fifty": -9.5}).trust is Trust.AGREED
