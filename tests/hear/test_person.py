"""A panel tuned to one person: what of it may differ from everybody's, and that it only ever asks more."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.hear.arbiter import Arbiter
from benchvoice.hear.choices import network_of
from benchvoice.hear.engines import open_engines
from benchvoice.hear.lexicon import Lexicon
from benchvoice.hear.panel import Panel, Voter
from benchvoice.hear.person import (
    NETWORK_GAP,
    STRANGER_GAP,
    Alike,
    Pair,
    Person,
    PersonalPanel,
    engine_versions,
    panel_like,
)
from benchvoice.hear.remembering import remembering
from benchvoice.records import Trust
from tests.hear.test_panel import SOUND, meaning_of, plain, ranks
from tests.hear.test_panel_arbiter import Scribe

WORDS = ("five", "nine", "fifteen", "fifty", "oh two", "thirty")

gaps = st.none() | st.floats(*NETWORK_GAP)
strange = st.none() | st.floats(*STRANGER_GAP)
pairs = st.lists(st.builds(Pair, st.sampled_from(WORDS), st.sampled_from(WORDS), st.sampled_from(Alike))).map(tuple)
people = st.builds(Person, st.just("anna"), gaps, strange, pairs=pairs)


@pytest.fixture(scope="module")
def usual() -> Iterator[Panel]:
    """Everybody's panel as it is installed here."""
    with open_engines() as panel:
        yield panel


# --- what may differ ----------------------------------------------------------------------------------------------
@given(person=people)
def test_no_lead_and_no_margin_is_ever_lower_than_everybodys(usual: Panel, person: Person) -> None:
    """Nothing but the two gaps differs, and these only within their bounds: every lead and margin is as it was."""
    tuned = PersonalPanel(usual, person)
    assert len(tuned.voters) == len(usual.voters)
    for old, new in zip(usual.voters, tuned.voters, strict=True):
        differing = {field.name for field in fields(Voter) if getattr(old, field.name) != getattr(new, field.name)}
        assert differing <= ({"gap_most"} if old.recogniser.name == "network" else set())
        if differing:
            assert new.gap_most is not None
            assert NETWORK_GAP.least <= new.gap_most <= NETWORK_GAP.most
    if usual.arbiter is None:
        assert tuned.arbiter is None
        return
    assert tuned.arbiter is not None
    for each in fields(Arbiter):
        if each.name != "gap_stranger":
            assert getattr(tuned.arbiter, each.name) == getattr(usual.arbiter, each.name)
    assert STRANGER_GAP.least <= tuned.arbiter.gap_stranger <= STRANGER_GAP.most


def test_the_usual_gaps_lie_within_the_bounds(usual: Panel) -> None:
    """Else tuning could not leave them as they are."""
    network = next(voter for voter in usual.voters if voter.recogniser.name == "network")
    assert network.gap_most is not None
    assert NETWORK_GAP.least <= network.gap_most <= NETWORK_GAP.most
    assert usual.arbiter is not None
    assert usual.arbiter.gap_stranger == STRANGER_GAP.least
    assert usual.arbiter.gap_most >= STRANGER_GAP.most  # what is no longer ignored is asked, not taken


@given(gap=st.floats(*NETWORK_GAP))
def test_without_an_arbiter_no_gap_is_wider(gap: float) -> None:
    tuned = PersonalPanel(Panel([ranks(("five", -1.0)), plain()]), Person("anna", gap))
    assert tuned.voters[0].gap_most == min(0.3, gap)
    assert tuned.voters[1].gap_most == -8.0


@given(
    st.floats().filter(lambda gap: not NETWORK_GAP.least <= gap <= NETWORK_GAP.most),
    st.floats().filter(lambda gap: not STRANGER_GAP.least <= gap <= STRANGER_GAP.most),
)
def test_a_gap_out_of_bounds_is_refused(network: float, stranger: float) -> None:
    with pytest.raises(ValueError, match="is not within"):
        Person("anna", network)
    with pytest.raises(ValueError, match="is not within"):
        Person("anna", stranger_gap=stranger)


def test_each_engine_hears_with_its_own_additions() -> None:
    more = Lexicon({"five": (("F", "AY", "F"),), "amps": (("AE", "M", "P", "S"),)})
    lexicons = Person("anna", pronunciations={"sphinx": more, "network": Lexicon({})}).lexicons
    assert set(lexicons) == {"sphinx"}
    assert lexicons["sphinx"].variants("five") == (("F", "AY", "F"),)
    assert lexicons["sphinx"].variants("amps") == Lexicon.shipped().variants("amps")  # known already: once
    assert lexicons["sphinx"].variants("kilohms") == Lexicon.shipped().variants("kilohms")


@pytest.mark.parametrize("engine", ["network", "sphinx"])
def test_an_engine_opened_with_a_lexicon_hears_a_word_that_nobody_else_can(engine: str) -> None:
    word = "5q"  # in no dictionary, and not to be guessed from its letters
    with open_engines(engine) as usual:
        assert [item.word for item in usual.recognisers[0].unheard([word])] == [word]
    known = Lexicon.shipped().plus(Lexicon({word: (("F", "AY", "F"),)}))
    with open_engines(engine, lexicons={engine: known}) as tuned:
        assert tuned.recognisers[0].unheard([word]) == ()


# --- what is asked ------------------------------------------------------------------------------------------------
heards = st.lists(
    st.tuples(st.sampled_from(WORDS), st.floats(-20, 0)), min_size=1, max_size=4, unique_by=lambda item: item[0]
).map(lambda items: sorted(items, key=lambda item: -item[1]))
CHOICES = network_of(WORDS)


@given(
    ranked=heards,
    other=heards,
    gap=st.floats(0, 0.6),
    alike=pairs,
    weights=st.dictionaries(st.sampled_from(WORDS), st.floats(-20, 0)),
    arbitrated=st.booleans(),
)
def test_what_a_tuned_panel_takes_everybodys_takes_too(
    *,
    ranked: list[tuple[str, float]],
    other: list[tuple[str, float]],
    gap: float,
    alike: tuple[Pair, ...],
    weights: dict[str, float],
    arbitrated: bool,
) -> None:
    """With the same gaps: pairs turn nothing into another value, and doubt nothing that was not taken."""
    voters = [ranks(*ranked, gap=gap), plain(*other)]
    scribe = Scribe({word: weights.get(word, -10.0) for word in WORDS})
    arbiter = Arbiter(scribe, 4.0, 8.0, 6.0, gap_most=3.0, gap_stranger=2.5, gap_strange=6.5) if arbitrated else None
    with Panel(voters, arbiter) as panel:
        before = panel.hear(SOUND, CHOICES, meaning_of)
        with PersonalPanel(panel, Person("anna", pairs=alike)) as tuned:
            after = tuned.hear(SOUND, CHOICES, meaning_of)
    assert after.text == before.text
    assert after.trust is before.trust or (before.trust, after.trust) == (Trust.AGREED, Trust.DOUBTFUL)
    for pair in alike if after.trust is Trust.AGREED else ():
        if pair.alike is Alike.ASK and pair.one != pair.other:
            assert after.text not in pair[:2]


def tuned_to(*alike: Pair, lead: float = 6.0) -> Panel:
    heard = [("rail reads fifteen volts", -1.0), ("rail reads five volts", -1.0 - lead)]
    voters = [ranks(*heard), plain(("rail reads fifteen volts", 3))]
    return PersonalPanel(Panel(voters), Person("anna", pairs=alike))


SENTENCES = network_of(
    f"rail reads {value} volts" for value in ("fifteen", "fifty", "five", "sixteen", "hm", "one five")
)


@pytest.mark.parametrize(
    ("pair", "lead", "offered"),
    [
        (Pair("fifty", "fifteen", Alike.ASK), 30.0, "fifty"),  # however clear
        (Pair("fifteen", "five", Alike.ASK), 30.0, "five"),
        (Pair("fifteen", "one five", Alike.ASK), 30.0, "one five"),
        (Pair("fifteen", "fifty", Alike.LEAD), 4.9, "fifty"),
        (Pair("fifteen", "fifty", Alike.LEAD), 5.0, None),  # what the network needs alone
        (Pair("sixty", "sixteen", Alike.ASK), 30.0, None),  # was not said
        (Pair("fifteen", "ninety", Alike.ASK), 30.0, None),  # cannot be said here
        (Pair("fifteen", "hm", Alike.ASK), 30.0, None),  # means nothing
        (Pair("fifteen", "fifteen", Alike.ASK), 30.0, None),
    ],
)
def test_a_pair_is_asked_with_both(pair: Pair, lead: float, offered: str | None) -> None:
    def means(text: str) -> str | None:
        return None if "hm" in text else text

    with tuned_to(pair, lead=lead) as panel:
        heard = panel.hear(SOUND, SENTENCES, means)
    assert heard.text == "rail reads fifteen volts"
    assert heard.trust is (Trust.AGREED if offered is None else Trust.DOUBTFUL)
    if offered is not None:
        assert heard.alternatives[1].text == f"rail reads {offered} volts"
        assert heard.why == f"this voice says {pair.one} and {pair.other} alike"
        assert len({offer.text for offer in heard.alternatives}) == len(heard.alternatives)


def test_a_pair_that_means_the_same_is_not_asked() -> None:
    with tuned_to(Pair("fifteen", "fifty", Alike.ASK)) as panel:
        assert panel.hear(SOUND, SENTENCES, lambda _: "the same").trust is Trust.AGREED


@pytest.mark.parametrize(("margin", "trust"), [(8.4, Trust.DOUBTFUL), (9.1, Trust.AGREED)])
def test_with_an_arbiter_a_pair_needs_the_lead_of_what_nobody_backs(margin: float, trust: Trust) -> None:
    scribe = Scribe({"fifteen": -3.0, "fifty": -3.0})
    arbiter = Arbiter(scribe, 3.0, 9.0, 6.0, gap_most=3.0, gap_stranger=2.5, gap_strange=6.5)
    backed = [ranks(("fifteen", 0.0), ("fifty", -margin)), plain(("fifteen", 3))]
    words = network_of(["fifteen", "fifty"])
    with Panel(backed, arbiter) as panel:
        assert panel.hear(SOUND, words, meaning_of).trust is Trust.AGREED
    with PersonalPanel(Panel(backed, arbiter), Person("a", pairs=(Pair("fifteen", "fifty", Alike.LEAD),))) as panel:
        assert panel.hear(SOUND, words, meaning_of).trust is trust


def test_where_nothing_ranks_a_pair_is_always_asked() -> None:
    voters = [plain(("five", 3)), plain(("five", 3), name="vosk")]
    person = Person("anna", pairs=(Pair("five", "nine", Alike.LEAD),))
    with PersonalPanel(Panel(voters), person) as panel:
        assert panel.hear(SOUND, network_of(["five", "nine"]), meaning_of).trust is Trust.DOUBTFUL


# --- panels made of it --------------------------------------------------------------------------------------------
@pytest.mark.parametrize("how", ["without", "remembering"])
def test_a_panel_made_of_a_tuned_one_is_tuned_too(how: str) -> None:
    person = Person("anna", 0.25, pairs=(Pair("five", "nine", Alike.ASK),))
    voters = [ranks(("five", -1.0)), plain(("five", 3)), plain(("five", 3), name="vosk")]
    tuned = PersonalPanel(Panel(voters), person)
    if how == "without":
        made = tuned.without("vosk")
    else:
        _, remembered, arbiter = remembering(tuned.voters, tuned.arbiter)
        made = panel_like(tuned, remembered, arbiter)
    with made:
        assert made.voters[0].gap_most == 0.25
        assert made.name == "panel, tuned to anna"
        assert made.hear(SOUND, network_of(["five", "nine"]), meaning_of).trust is Trust.DOUBTFUL


def test_a_panel_made_of_everybodys_is_everybodys() -> None:
    panel = Panel([ranks(("five", -1.0))])
    assert type(panel_like(panel, panel.voters, None)) is Panel


def test_the_versions_are_those_of_the_packages_that_are_installed() -> None:
    found = engine_versions()
    assert set(found) <= {"hama", "pocketsphinx", "moonshine-voice"}
    assert all(version[0].isdigit() for version in found.values())
