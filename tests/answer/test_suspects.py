"""What is said of suspects, word for word."""

from __future__ import annotations

from decimal import Decimal

import pytest

from benchvoice.records import Decision, Outcome
from benchvoice.suspicion import Cause, Reason, ReasonKind, Suspect, SuspectSet, Suspicion
from tests.answer.test_phrases import BOOK

U4, U2, LOAD = Cause("part", "U4"), Cause("part", "U2"), Cause("load", "rail 3.3")
HALF = Decimal("0.5")


def suspicion(*sets: tuple[Cause, ...], why: ReasonKind = "feed right", n_sets: int | None = None) -> Suspicion:
    return Suspicion(
        certain=True,
        suspects=(Suspect(U4, "regulator", HALF),),
        sets=tuple(SuspectSet(causes, HALF) for causes in sets),
        n_sets=len(sets) if n_sets is None else n_sets,
        reasons=(Reason("consequence", "rail 1.8", "rail 3.3"), Reason(why, "rail 3.3", "rail 5")),
    )


def said(about: str, found: Suspicion | None, point: str | None = None, *, terse: bool = False) -> str:
    return BOOK.reply(Decision(Outcome.ACCEPTED, about, point=point, suspicion=found), terse=terse).text


def test_one_suspect_with_its_reason_and_the_next_point() -> None:
    assert said("suspects", suspicion((U4,)), "rail 5") == (
        "Suspect U four, regulator. Rail three point three fails and its feed passes. Next: measure rail five."
    )
    assert said("suspects", suspicion((U4,)), "rail 5", terse=True) == "Suspect U four, regulator."


def test_several_and_those_that_fail_together() -> None:
    found = suspicion((U4,), (LOAD,), (Cause("way", "rail 5"), U2), (Cause("feed", "input"),), n_sets=12)
    assert said("suspects", found) == (
        "Suspect U four, regulator, or a load on rail three point three, or the way to rail five together with U two. "
        "Nine more. Rail three point three fails and its feed passes."
    )
    assert said("suspects", suspicion((Cause("feed", "input"),))).startswith("Suspect what feeds input.")


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("feed open", "Rail three point three fails, its feed is not proven."),
        ("fed from outside", "Rail three point three fails."),
        ("lifted", "Rail three point three fails high though its feed fails low."),
        ("load", "Rail three point three fails."),
        ("doubtful", "Rail three point three is in doubt."),
    ],
)
def test_reasons(kind: ReasonKind, words: str) -> None:
    assert said("suspects", suspicion((U2,), why=kind)) == f"Suspect U two. {words}"


def test_nothing_to_suspect() -> None:
    nothing = Suspicion(certain=False)
    assert said("suspects", nothing, "rail 5") == "No suspect. Nothing fails. Next: measure rail five."
    assert said("suspects", nothing, "rail 5", terse=True) == "No suspect."
    assert said("suspects", Suspicion(certain=False, supplied=False)) == "The board does not say what feeds what."
    assert said("suspects", None) == "The board does not say what feeds what."


def test_what_next() -> None:
    found = suspicion((U4,), (LOAD,))
    assert said("measure next", found, "rail 9") == "No point tells the suspects apart. Not read yet: rail nine."
    assert said("measure next", found) == "No point is left."
    assert said("measure next", Suspicion(certain=False, supplied=False), "rail 9") == "Measure rail nine."
    telling = Suspicion(certain=True, sets=found.sets, next_point="rail 5")
    assert said("measure next", telling, "rail 5") == "Measure rail five."
