"""One run against another: nothing is lost or made up, and what is no earlier run is told."""

from __future__ import annotations

import json
from collections import Counter

import pytest
from hypothesis import given

from benchvoice.errors import CorpusError
from benchvoice.scoring.bounds import Rate
from benchvoice.scoring.comparison import Change, Earlier, compare, read_earlier
from benchvoice.scoring.tallies import Scored
from tests.scoring.results import results, scored


def earlier(items: list[Scored]) -> list[Earlier]:
    return read_earlier(json.dumps({"each": [item.as_json() for item in items]}), "old.json")


def test_what_changed_and_where_the_corpora_differ() -> None:
    before = [
        scored("right", text="same"),
        scored("right", text="worse"),
        scored("accepted wrong", text="other", taken="1 V"),
        scored("asked", text="gone"),
        scored("right", text="label", meant="5 V"),
    ]
    after = [
        scored("asked", text="added"),
        scored("right", text="same"),
        scored("accepted wrong", text="worse", taken="9 V"),
        scored("accepted wrong", text="other", taken="2 V"),
        scored("right", text="label", meant="6 V"),
    ]
    found = compare(earlier(before), after)
    assert found.changes == (
        Change("a.wav", "worse", "right", "accepted wrong", "", "9 V"),
        Change("a.wav", "other", "accepted wrong", "accepted wrong", "1 V", "2 V"),
    )
    assert (found.added, found.gone) == (("a.wav: 'added'",), ("a.wav: 'gone'",))
    assert found.relabelled == ("a.wav: 'label'",)
    assert (found.before["right"], found.after["right"]) == (Rate(3, 4), Rate(2, 4))


@given(results())
def test_a_run_against_itself_changes_nothing(items: list[Scored]) -> None:
    found = compare(earlier(items), items)
    assert (found.changes, found.added, found.gone, found.relabelled) == ((), (), (), ())
    assert found.before == found.after


@given(results(), results())
def test_every_recording_is_in_both_or_in_one(old: list[Scored], new: list[Scored]) -> None:
    found = compare(earlier(old), new)
    common = found.before["right"].of
    assert (common + len(found.gone), common + len(found.added)) == (len(old), len(new))
    both = Counter((item.audio, item.text) for item in old) & Counter((item.audio, item.text) for item in new)
    assert common == both.total()
    assert len(found.changes) <= common


GOOD = scored().as_json()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{", r"^old.json: is not JSON\. Name what 'benchvoice score --json' printed\.$"),
        ("[]", r"^old.json, each: is no result of benchvoice score\."),
        ("{}", r"^old.json, each: is no result of benchvoice score\."),
        (json.dumps({"each": [GOOD, 1]}), r"^old.json, each\[1\].audio: is missing or not text\."),
        (json.dumps({"each": [{**GOOD, "meant": 5}]}), r"^old.json, each\[0\].meant: is missing or not text\."),
        (json.dumps({"each": [{**GOOD, "result": "good"}]}), r"^old.json, each\[0\].result: 'good' is no result\."),
    ],
)
def test_what_is_no_earlier_run(text: str, message: str) -> None:
    with pytest.raises(CorpusError, match=message):
        read_earlier(text, "old.json")
