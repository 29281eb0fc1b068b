"""The customer's page: plain words, one page, and never more than was measured."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings

from benchvoice.events import Event, Opened, OpenedPoint, OpenedSupply
from benchvoice.keep.integrity import Integrity, TornLine
from benchvoice.keep.record import JobRecord, fold, with_integrity
from benchvoice.keep.record_checks import CheckFold
from benchvoice.keep.record_customer import MOST_LINE, CustomerPage, customer_page, cut
from benchvoice.keep.record_handover import CheckRecord
from tests.keep.builders import POINTS, kiln_job
from tests.keep.test_record_compare import Repair, last_change, repairs
from tests.keep.test_record_visits import came_back

SUPPLIES = (OpenedSupply(point="rail 3.3", fed_by="rail 5", through=("U4",)),)


def repair(**opened: Any) -> Repair:
    """The regulator's repair: found, replaced, and read again."""
    s = Repair()
    s.opened(supplies=SUPPLIES, serial="KC4-00112", **opened)
    s.reading("input", "24.1")
    s.reading("rail 3.3", "4.0", "fail", direction="high")
    s.told("damage", "lifted pad")
    s.told("mended", "jumper wire")
    s.fitted("U4", what="3.3 V regulator", again=("rail 3.3",))
    s.told("part number", "LM1117-33")
    return s


def lines(events: list[Event], title: str, **more: Any) -> list[str]:
    page = customer_page(fold(events), **more)
    (section,) = [section for section in page.sections if section.title == title]
    assert section.more == 0
    return [line.replace("\u00a0", " ") for line in section.lines]


def with_checks(record: JobRecord, *checks: CheckRecord) -> CustomerPage:
    return customer_page(record.model_copy(update={"checks": checks}))


def check(step: str, status: Any, proof: Any = "function test", **more: Any) -> CheckRecord:
    return CheckRecord(proof=proof, part="run", step=step, status=status, **more)


def test_a_whole_repair_in_plain_words() -> None:
    s = repair()
    s.reading("rail 3.3", "3.31", stage="after")
    s.reading("input", "24.0", stage="after")
    notes = [("before", "regulator is burnt"), ("after", "fan runs")]
    assert lines(s.events, "What was found", notes=notes) == [
        "The 3.3 V supply (rail 3.3) was too high: 4.0 V instead of 3.14 to 3.47 V.",
        "The other value measured before the repair was within limits.",
        "Damage: lifted pad at U4.",
        "Noted: regulator is burnt.",
    ]
    assert lines(s.events, "What was done", notes=notes) == [
        "Fitted: U4, 3.3 V regulator, LM1117-33.",
        "Mended: jumper wire (U4).",
        "Noted: fan runs.",
    ]
    assert lines(s.events, "Proof after the repair") == [
        "The 3.3 V supply (rail 3.3): 3.31 V, within limits (3.14 to 3.47 V; before: 4.0 V).",
        "Also within limits after the repair, as before: input.",
    ]
    assert lines(s.events, "Still open") == ["Not measured: rail 5, rail 3.3 to ground, thermocouple."]


def test_without_a_value_after_the_repair_it_says_so() -> None:
    s = repair()
    assert lines(s.events, "Proof after the repair") == [
        "No value within limits was measured after the repair: nothing measured shows that it works."
    ]
    assert lines(s.events, "Still open")[:2] == [
        "The 3.3 V supply (rail 3.3): not measured after the repair.",
        "The 3.3 V supply (rail 3.3): to measure again, since U4 feeds it.",
    ]


def test_a_value_of_before_the_last_part_is_no_proof() -> None:
    s = repair()
    s.reading("rail 3.3", "3.31", stage="after")
    s.fitted("C7")
    assert lines(s.events, "Proof after the repair")[0].startswith("No value within limits was measured")
    assert "Read before C7 was fitted: rail 3.3." in lines(s.events, "Still open")


@pytest.mark.parametrize(
    ("statement", "direction", "line"),
    [
        ("fail", "low", "The 3.3 V supply (rail 3.3) is too low: 3.1 V instead of 3.14 to 3.47 V."),
        (
            "conditional fail",
            "low",
            "The 3.3 V supply (rail 3.3) is just outside its limits, closer than the meter can tell: 3.1 V; limits "
            "3.14 to 3.47 V.",
        ),
    ],
)
def test_what_still_fails_is_open(statement: Any, direction: Any, line: str) -> None:
    s = repair()
    s.reading("rail 3.3", "3.1", statement, stage="after", direction=direction)
    assert lines(s.events, "Still open")[0] == line
    assert lines(s.events, "Proof after the repair")[0].startswith("No value within limits")


def test_a_struck_value_is_open() -> None:
    s = repair()
    s.withdrawn(s.reading("rail 3.3", "3.31", stage="after"))
    assert "The 3.3 V supply (rail 3.3): the reading after the repair was struck." in lines(s.events, "Still open")


def test_a_unit_that_was_only_measured() -> None:
    s = Repair()
    s.opened()
    s.reading("input", "24.1")
    s.reading("rail 5", "5.2", "conditional pass")
    assert lines(s.events, "What was found") == ["Both values measured were within limits, 1 of them close to a limit."]
    assert lines(s.events, "What was done") == ["No repair work was recorded."]
    assert lines(s.events, "Proof after the repair") == ["No repair was recorded, so there is nothing to prove."]
    assert lines(s.events, "Still open") == ["Not measured: rail 3.3, rail 3.3 to ground, thermocouple."]
    s.reading("rail 3.3", "4.0", "fail", direction="high")
    assert lines(s.events, "Still open")[0] == "The voltage at rail 3.3: no repair was recorded."


def test_nothing_at_all() -> None:
    assert lines([], "What was found") == ["Nothing was measured."]
    s = Repair()
    s.opened(points=())
    assert lines(s.events, "Still open") == ["Nothing that this record knows of."]


def test_how_points_are_called() -> None:
    points = (
        OpenedPoint(name="fan current", quantity="current", unit="mA", low="280", high="380"),
        OpenedPoint(name="regulator body", quantity="temperature", unit="degC", high="70"),
        OpenedPoint(name="code", quantity="digits", unit=""),
        OpenedPoint(name="bus", quantity="voltage", unit="V", nominal="-12", low="-13", high="-11"),
    )
    s = Repair()
    s.opened(points=points, supplies=(OpenedSupply(point="x", fed_by="bus"),))
    told: dict[str, Any] = {"direction": "high"}
    s.reading("fan current", "1.20", "fail", quantity="current", unit="A", low="0.28", high="0.38", **told)
    s.reading("regulator body", "81", "fail", quantity="temperature", unit="degC", high="70", **told)
    s.reading("code", "0103", "recorded", quantity="digits", unit="")
    s.reading("bus", "-10.5", "fail", low="-13", high="-11", **told)
    assert lines(s.events, "What was found") == [
        "Fan current was too high: 1.20 A instead of 0.28 to 0.38 A.",
        "The temperature at regulator body was too high: 81 °C instead of at most 70 °C.",
        "The \u221212 V supply (bus) was too high: \u221210.5 V instead of \u221213 to \u221211 V.",
        "Code showed 0103.",
    ]


# --- checks, parts left out, and what else has to be known --------------------------------------------------------
def test_checks_are_counted_and_what_was_not_passed_is_open() -> None:
    record = fold(repair().events)
    page = with_checks(
        record,
        check("Fan turns", "passed", outcome="yes"),
        check("Lamp", "failed", outcome="dark"),
        check("Hums", "noted", outcome="no"),
        check("Soak", "not done", reason="the wait was cut short"),
        check("Aerial", "does not apply"),
        check("Earth lead", "passed", proof="safety check", outdated="done before the last work on the unit"),
        check("Lid", "skipped", proof="safety check", reason="it is not fitted"),
    )
    proof, still_open = page.sections[2].lines, page.sections[3].lines
    assert "Function tests passed, 1 of 3: Fan turns." in proof
    assert not any("Hums" in line for line in proof)
    assert "Function test, Hums: no (the list does not say which answer is right)." in still_open
    assert "Final safety checks passed, 0 of 2." in proof
    for line in (
        "Function test, Lamp: failed (dark).",
        "Function test, Soak: not done (the wait was cut short).",
        "Safety check, Earth lead: done before the last work on the unit.",
        "Safety check, Lid: skipped (it is not fitted).",
    ):
        assert line in still_open
    assert not any("Aerial" in line for section in page.sections for line in section.lines)


def test_a_list_that_was_never_begun_has_no_checks() -> None:
    assert CheckFold().records((), (), repaired=False) == ()


def test_what_the_job_is() -> None:
    page = customer_page(fold(kiln_job()))
    assert dict(page.facts) == {
        "Job": "kiln-0007",
        "Serial number": "KC4-00112",
        "Date": "2 March 2026",
        "Technician": "bench 2",
    }
    assert (page.board, page.complaint) == ("KC-4 kiln controller, revision B", "kiln stays cold, lamp flickers")
    assert page.warning == ""
    assert "no certificate of safety" in page.ending[-1]


@pytest.mark.parametrize(
    ("utc_offset_min", "date", "before"),
    [
        (None, "2 March 2026", "2 March 2026"),
        (0, "2 March 2026", "2 March 2026"),
        (-8 * 60, "2 March 2026", "2 March 2026"),
        (-10 * 60, "1 March 2026", "1 March 2026"),
        (13 * 60, "2 March 2026", "2 March 2026"),
        (15 * 60, "3 March 2026", "3 March 2026"),  # opened at 9:15 UTC
    ],
)
def test_the_day_is_the_one_on_the_wall_of_the_bench(utc_offset_min: int | None, date: str, before: str) -> None:
    def there(events: list[Event]) -> list[Event]:
        told = {"utc_offset_min": utc_offset_min}
        return [event.model_copy(update=told) if isinstance(event, Opened) else event for event in events]

    assert dict(customer_page(fold(there(kiln_job()))).facts)["Date"] == date
    assert f"closed on {before};" in customer_page(fold(there(came_back().events))).ending[0]


def test_a_job_of_two_days_tells_both() -> None:
    """The clock of each session counts: the bench moved from UTC to where it is already tomorrow."""
    events = kiln_job()
    last = max(at for at, event in enumerate(events) if isinstance(event, Opened))
    assert last > 0
    events[last] = events[last].model_copy(update={"utc_offset_min": 15 * 60})
    assert dict(customer_page(fold(events)).facts)["Date"] == "2 March 2026 to 3 March 2026"


def test_a_unit_that_came_back_says_so_and_counts_nothing_of_then() -> None:
    page = customer_page(fold(came_back().events))
    assert dict(page.facts)["Job"] == "kiln-0007, visit 2"
    assert page.complaint == "smells burnt"
    assert page.ending[0] == (
        "The unit was here before (visit 1, closed on 2 March 2026; then fitted: U4). Nothing measured then is counted "
        "here."
    )
    assert page.sections[1].lines == ("No repair work was recorded.",)
    assert not any("3.31" in line for section in page.sections for line in section.lines)


def test_what_makes_the_page_doubtful_stands_on_top() -> None:
    whole = fold(kiln_job())
    torn = Integrity(torn=TornLine(line=9, n_bytes=3))
    vanished = Integrity(set_aside=(TornLine(line=3, n_bytes=0, missing=2),))
    for integrity in (torn, vanished, Integrity(incomplete=(4,))):
        assert customer_page(with_integrity(whole, integrity)).warning.startswith(
            "The journal of this job is not whole"
        )
    assert customer_page(with_integrity(whole, Integrity(set_aside=(TornLine(line=3, n_bytes=9),)))).warning == ""
    assert customer_page(fold(kiln_job()[:-1])).warning.startswith("This job was not closed")
    s = Repair()
    s.opened(meter=None)
    assert "Which meter was used is not recorded" in customer_page(fold(s.events)).ending[0]


def test_long_lists_are_cut_and_say_how_much_is_missing() -> None:
    points = tuple(POINTS[0].model_copy(update={"name": f"point {n}"}) for n in range(40))
    s = Repair()
    s.opened(points=points, complaint="c " * 500)
    for point in points:
        s.reading(point.name, "99", "fail", quantity="voltage", unit="V", low="21.6", high="26.4", direction="high")
    page = customer_page(fold(s.events))
    found, still_open = page.sections[0], page.sections[3]
    assert (len(found.lines) + found.more, len(still_open.lines) + still_open.more) == (40, 40)
    assert all(len(line) <= MOST_LINE for section in page.sections for line in section.lines)
    assert len(page.complaint) <= MOST_LINE * 3 // 2


@pytest.mark.parametrize(
    ("text", "short"),
    [
        ("a b", "a b"),
        (" a\n\t b ", "a b"),
        ("abcdefghij", "abcdefghij"),
        ("abcdefghijk", "abcdefgh …"),
        ("a\u00a0b", "a\u00a0b"),
    ],
)
def test_cut(text: str, short: str) -> None:
    assert cut(text, 10) == short


@settings(max_examples=250, deadline=None)
@given(repairs())
def test_no_point_is_called_proven_that_is_not(events: list[Event]) -> None:
    """Told another way: proven is what passes and was read after the repair, since a part was last changed."""
    record = fold(events)
    page = customer_page(record)
    changed = last_change(events)
    proof, still_open = " ".join(page.sections[2].lines), " ".join(page.sections[3].lines)
    for point in record.points:
        after = point.after
        passes = after is not None and after.statement in ("pass", "conditional pass")
        good = after is not None and passes and after.seq > changed and point.name not in record.measure_again
        assert (point.name in proof) == good
        if after is not None and not good:
            assert point.name in still_open
        if point.before is not None and after is None and any(p.after for p in record.points):
            assert point.name in still_open
