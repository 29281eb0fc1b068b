"""The file of a voice profile: nothing is lost on the way, and what is damaged is named with file and field."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import ProfileError
from benchvoice.hear.lexicon import Lexicon
from benchvoice.hear.person import NETWORK_GAP, STRANGER_GAP, Alike, Pair, Person
from benchvoice.tuning.profile import StoredPair, VoiceProfile, read_profile, variants
from tests.tuning.profiles import profile

KNOWN = [(word, " ".join(phones)) for word, ways in variants().entries.items() for phones in ways]

words = st.from_regex(r"[a-z]{1,9}( [a-z]{1,9})?", fullmatch=True)
profiles = st.builds(
    profile,
    st.text(min_size=1),
    network_gap=st.none() | st.floats(*NETWORK_GAP),
    stranger_gap=st.none() | st.floats(*STRANGER_GAP),
    pronunciations=st.dictionaries(
        st.sampled_from(["network", "sphinx"]),
        st.lists(st.sampled_from(KNOWN), max_size=4, unique_by=lambda item: item[0]).map(
            lambda items: {word: (way,) for word, way in items}
        ),
    ),
    pairs=st.lists(st.builds(StoredPair, one=words, other=words, alike=st.sampled_from(["ask", "lead"]))).map(tuple),
)


@given(profiles)
def test_what_is_written_is_read_again(written: VoiceProfile) -> None:
    read = read_profile(written.model_dump_json(), file="anna.json")
    assert read == written
    assert read.person == written.person


def test_the_person_is_what_the_profile_says() -> None:
    assert profile().person == Person(
        "anna",
        0.26,
        2.7,
        {"sphinx": Lexicon({"ninety": (("N", "AY", "N", "D", "IY"),)})},
        (Pair("thirteen", "thirty", Alike.ASK),),
    )
    nobody = profile(network_gap=None, stranger_gap=None, pronunciations={}, pairs=())
    assert nobody.changes_nothing
    assert not profile().changes_nothing


def damaged(**fields: Any) -> str:
    return json.dumps({**json.loads(profile().model_dump_json()), **fields})


@pytest.mark.parametrize(
    ("text", "field", "complaint"),
    [
        ("", None, "invalid JSON"),
        ("{", None, "invalid JSON"),
        ("[]", None, "object"),
        ("{}", "name", "field required"),
        (damaged(format=2), "format", "input should be 1"),
        (damaged(name=""), "name", "at least 1 character"),
        (damaged(made="yesterday"), "made", "valid datetime"),
        (damaged(made="2026-11-26T04:00:00"), "made", "timezone"),
        (damaged(engines=[]), "engines", "should be an object"),
        (damaged(network_gap=0.5), "network_gap", "less than or equal to 0.32"),
        (damaged(network_gap="0.26"), "network_gap", "valid number"),
        (damaged(network_gap=float("nan")), "network_gap", "finite number|invalid JSON"),
        (damaged(stranger_gap=9), "stranger_gap", "less than or equal to 3"),
        (damaged(stranger_gap=0.1), "stranger_gap", "greater than or equal to 2.5"),
        (damaged(lead_backed=0.1), "lead_backed", "extra inputs are not permitted"),
        (damaged(margin_least=0.0), "margin_least", "extra inputs are not permitted"),
        (damaged(pairs=[{"one": "a", "other": "b"}]), "pairs[0].alike", "field required"),
        (damaged(pairs=[{"one": "a", "other": "b", "alike": "take"}]), "pairs[0].alike", "'ask' or 'lead'"),
        (damaged(pairs=[{"one": "a", "other": "b", "alike": "ask", "lead": 0}]), "pairs[0].lead", "not permitted"),
        (damaged(pronunciations={"moonshine": {}}), "pronunciations.moonshine", "'network' or 'sphinx'"),
        (
            damaged(pronunciations={"sphinx": {"five": ["F AY F", "N AY N"]}}),
            r"pronunciations.sphinx.five[1]",
            "'N AY N' is no known way to say 'five'",
        ),
        (damaged(pronunciations={"sphinx": {"input": ["IH N"]}}), r"pronunciations.sphinx.input[0]", "no known way"),
        (damaged(takes=[{}]), "takes[0].prompt", "field required"),
    ],
)
def test_damage_is_named_with_file_and_field(text: str, field: str | None, complaint: str) -> None:
    with pytest.raises(ProfileError, match=f"the voice profile is damaged: .*({complaint})") as caught:
        read_profile(text, file="voices/anna.json")
    assert caught.value.file == "voices/anna.json"
    assert caught.value.cure == "Mend it, or remove it with benchvoice tune --reset NAME"
    if "NaN" not in text:  # as JSON has no such number, that is damage to the whole
        assert (caught.value.field or "").startswith(field or "")
        assert bool(caught.value.field) == bool(field)


@given(st.text())
def test_any_other_text_is_refused_as_damaged(text: str) -> None:
    with pytest.raises(ProfileError, match="the voice profile is damaged"):
        read_profile(text, file="anna.json")
