"""What readings say of supplies: consequences, loads, what lies too high, contradictions."""

from __future__ import annotations

import pytest

from benchvoice.suspect.evidence import Evidence
from benchvoice.suspect.supply import Place, Seen
from benchvoice.suspect.weighing import weigh
from benchvoice.suspicion import Cause, Reason
from tests.suspect.hunting import RIGHT, WRONG, chain, network, part

LIFTED = Seen("wrong", lifted=True)
LOADED = network(
    *(Place(f"p{at}", f"p{at - 1}" if at else None, (part(f"U{at}"),), (Cause("load", f"p{at}"),)) for at in range(3)),
    load_tests={"p2 to ground": "p2"},
)


def load(at: int) -> Cause:
    return Cause("load", f"p{at}")


def test_what_a_failing_feed_feeds_is_a_consequence() -> None:
    evidence = Evidence(chain(4), {"p0": RIGHT, "p1": WRONG, "p2": WRONG, "p3": WRONG})
    assert list(evidence.tops()) == [1]
    assert list(evidence.reasons()) == [
        Reason("feed right", "p1", "p0"),
        Reason("consequence", "p2", "p1"),
        Reason("consequence", "p3", "p1"),
    ]


def test_a_right_place_clears_all_that_feeds_it() -> None:
    evidence = Evidence(chain(4), {"p2": RIGHT, "p3": WRONG})
    assert evidence.right == [True, True, True, False]
    assert evidence.causes == [(), (), (), (part("U3"),)]


def test_an_open_feed_and_one_from_outside() -> None:
    assert list(Evidence(chain(3), {"p2": WRONG}).reasons()) == [Reason("feed open", "p2", "p1")]
    assert list(Evidence(chain(3), {"p0": WRONG}).reasons()) == [Reason("fed from outside", "p0")]


def test_a_rail_is_pulled_down_by_its_loads_or_those_before_it() -> None:
    assert set(weigh(Evidence(LOADED, {"p0": RIGHT, "p2": WRONG})).shares) == {part("U1"), load(1), part("U2"), load(2)}


def test_no_load_lifts_a_rail() -> None:
    assert set(weigh(Evidence(LOADED, {"p0": RIGHT, "p2": LIFTED})).shares) == {part("U1"), part("U2")}


def test_a_feed_that_is_too_low_lifts_nothing() -> None:
    evidence = Evidence(LOADED, {"p0": WRONG, "p2": LIFTED})
    assert {frozenset(causes) for causes, _ in weigh(evidence).sets} == {
        frozenset({first, second}) for first in (part("U0"), load(0)) for second in (part("U1"), part("U2"))
    }
    assert list(evidence.reasons()) == [Reason("fed from outside", "p0"), Reason("feed open", "p2", "p1")]
    beside = Evidence(LOADED, {"p1": WRONG, "p2": LIFTED})
    assert list(beside.reasons()) == [Reason("feed open", "p1", "p0"), Reason("lifted", "p2", "p1")]


def test_a_feed_that_is_too_high_too_explains_it() -> None:
    evidence = Evidence(LOADED, {"p0": LIFTED, "p2": LIFTED})
    assert set(weigh(evidence).shares) == {part("U0")}
    assert Reason("consequence", "p2", "p0") in evidence.reasons()


def test_a_right_reading_behind_a_wrong_one_stands_and_is_told() -> None:
    evidence = Evidence(chain(4), {"p0": RIGHT, "p1": WRONG, "p2": RIGHT, "p3": WRONG})
    assert set(weigh(evidence).shares) == {part("U1"), part("U3")}
    assert Reason("contrary", "p2", "p1") in evidence.reasons()


def test_a_failed_test_of_the_loads_convicts_them() -> None:
    evidence = Evidence(LOADED, {"p2 to ground": WRONG})
    assert weigh(evidence).shares == {load(2): 1}
    assert list(evidence.reasons()) == [Reason("load", "p2 to ground", "p2")]
    with_rail = Evidence(LOADED, {"p2 to ground": WRONG, "p2": WRONG})
    assert weigh(with_rail).shares == {load(2): 1}


def test_a_passed_test_of_the_loads_clears_them() -> None:
    evidence = Evidence(LOADED, {"p2 to ground": RIGHT, "p1": RIGHT, "p2": WRONG})
    assert weigh(evidence).shares == {part("U2"): 1}


def test_the_test_of_the_loads_tells_where_they_and_the_part_are_left() -> None:
    weighed = weigh(Evidence(LOADED, {"p1": RIGHT, "p2": WRONG}))
    assert not any(weighed.bits.values())
    assert weighed.load_bits == {2: pytest.approx(1)}


@pytest.mark.parametrize("rail", [RIGHT, LIFTED])
def test_a_failed_test_of_the_loads_of_a_rail_that_is_not_down_is_told(rail: Seen) -> None:
    evidence = Evidence(LOADED, {"p2 to ground": WRONG, "p2": rail})
    assert load(2) not in weigh(evidence).shares
    assert Reason("contrary load", "p2 to ground", "p2") in evidence.reasons()


def test_a_doubtful_reading_makes_nothing_certain() -> None:
    evidence = Evidence(chain(2), {"p1": Seen("doubtful")})
    assert not evidence.certain
    assert list(evidence.reasons()) == [Reason("doubtful", "p1")]
    assert not evidence.unread(1)


def test_a_place_without_limits_is_never_next() -> None:
    supplies = network(Place("p0", None, (part("U0"),), judged=False), Place("p1", "p0", (part("U1"),)))
    assert set(weigh(Evidence(supplies, {})).bits) == {1}


def test_loops_and_unknown_feeds_are_refused() -> None:
    with pytest.raises(ValueError, match="p1 would feed itself"):
        network(Place("p0"), Place("p1", "p2"), Place("p2", "p1"))
    with pytest.raises(ValueError, match="p1 is fed by no known place: p9"):
        network(Place("p1", "p9"))
    with pytest.raises(ValueError, match="to ground shows the loads of no known place: p9"):
        network(Place("p1"), load_tests={"to ground": "p9"})
