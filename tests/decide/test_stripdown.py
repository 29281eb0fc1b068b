"""What came out and goes back: the order, the counts, what is struck, and what a journal brings back."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.decide.stripdown import Refit, StripDown, WorkEvent, WorkLog, strip_down, written_thing
from benchvoice.events import EVENTS, Careful, LeftOut, Refitted, Removed, Replaced, Undone, UnitClosed
from benchvoice.records import Thing

AT = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
LID = Thing("cover", "lid")
CABLE = Thing("cable", "lamp cable", place="left")
U4 = Thing("part", "U4", what="3.3 V regulator")
LONG = Thing("fastener", "screw", 4, "M3 by 8", "long", "top edge")
SHORT = Thing("fastener", "screw", 2, "M3 by 6", "short", "left edge")


def screws(count: int, **fields: str) -> Thing:
    return Thing("fastener", "screw", count, **fields)


class Unit:
    """A unit in work: its events, numbered, one utterance each."""

    def __init__(self) -> None:
        self.log = WorkLog()
        self.journal: list[Any] = []

    @property
    def state(self) -> StripDown:
        return self.log.stripped

    def _next(self) -> dict[str, Any]:
        seq = len(self.journal) + 1
        return {"seq": seq, "at": AT, "heard": seq}

    def take(self, event: Any) -> int:
        self.journal.append(event)
        self.log = self.log.after(event)
        return int(event.seq)

    def out(self, *things: Thing) -> None:
        for thing in things:
            self.take(Removed(**self._next(), thing=written_thing(thing)))

    def back(self, thing: Thing) -> Refit:
        refit = self.state.refit(thing)
        heard = len(self.journal) + 1
        for seq, count in refit.parts:
            self.take(Refitted(**self._next() | {"heard": heard}, removed=seq, count=count))
        return refit

    def careful(self, text: str, name: str = "") -> None:
        self.take(Careful(**self._next(), text=text, name=name))

    def leave(self, why: str) -> None:
        self.take(LeftOut(**self._next(), removed=tuple(item.seq for item in self.state.to_go_back), why=why))

    def strike(self) -> None:
        self.take(Undone(**self._next(), undoes=tuple(event.seq for event in self.log.latest)))


def names(state: StripDown) -> list[tuple[str, int]]:
    return [(item.thing.name, item.out) for item in state.still_out]


def test_what_came_out_last_goes_back_first() -> None:
    unit = Unit()
    unit.out(LONG, SHORT, LID, CABLE)
    assert names(unit.state) == [("lamp cable", 1), ("lid", 1), ("screw", 2), ("screw", 4)]
    assert unit.state.next is not None
    assert unit.state.next.thing == CABLE
    assert unit.state.pieces == 8


def test_some_of_a_lot_go_back_and_the_rest_stays_out() -> None:
    unit = Unit()
    unit.out(LONG, LID)
    assert unit.back(screws(2)).parts == ((1, 2),)
    assert names(unit.state) == [("lid", 1), ("screw", 2)]
    behind = unit.state.behind(1)
    assert behind is not None
    assert behind.thing == LID  # it came out after them


REFITS = [
    # what is out, what is said, what it means
    ((LONG,), screws(5), Refit(why="only 4 of them are out")),
    ((screws(1),), screws(2), Refit(why="only 1 of them is out")),
    ((LID,), screws(1), Refit(why="it is not out")),
    ((LONG, SHORT), screws(2), Refit(((2, 2),))),
    ((LONG, SHORT), screws(2, length="long"), Refit(((1, 2),))),
    ((LONG, SHORT), screws(4), Refit(ask=LONG, why="say where they go")),  # four of the two short ones cannot be
    ((LONG, SHORT), screws(4, size="M3"), Refit(ask=LONG, why="say where they go")),
    ((LONG, SHORT), screws(4, size="M4"), Refit(why="it is not out")),
    ((LONG, SHORT), screws(6), Refit(((2, 2), (1, 4)))),
    ((LONG, SHORT), screws(5), Refit(why="say where they go")),  # one would be left, and nobody said which
    ((LONG, LONG, SHORT), screws(4), Refit(why="say where they go")),  # of two lots that hold so many neither is meant
    ((screws(2), screws(4)), screws(3), Refit(((2, 3),))),
    ((screws(4), screws(2)), screws(3), Refit(((2, 2), (1, 1)))),  # alike: nobody can tell them apart
    ((CABLE,), Thing("cable", "lamp cable"), Refit(((1, 1),))),
    ((CABLE,), Thing("cable", "lamp cable", place="right"), Refit(why="it is not out")),
    ((U4,), Thing("part", "u4"), Refit(((1, 1),))),
]


@pytest.mark.parametrize(("out", "said", "meant"), REFITS)
def test_what_a_sentence_puts_back(out: Sequence[Thing], said: Thing, meant: Refit) -> None:
    unit = Unit()
    unit.out(*out)
    assert unit.state.refit(said) == meant


def test_a_thing_of_which_there_is_one_is_out_or_not() -> None:
    unit = Unit()
    unit.out(LID, CABLE, LONG)
    assert unit.state.is_out(LID) is not None
    assert unit.state.is_out(Thing("cable", "lamp cable", place="right")) is None
    assert unit.state.is_out(LONG) is None  # there may be four more


def test_a_remark_is_kept_with_what_it_names() -> None:
    unit = Unit()
    unit.careful("cable under the lid", "lid")  # before the lid is off
    unit.out(LONG)
    unit.careful("thread is worn")
    unit.out(LID, CABLE)
    unit.careful("ribbon behind the lid", "lid")  # once it is
    lid = unit.state.item(4)
    assert lid is not None
    assert lid.careful == ("cable under the lid", "ribbon behind the lid")
    lot = unit.state.item(2)
    assert lot is not None
    assert lot.careful == ("thread is worn",)


def test_a_remark_before_anything_is_out_waits_for_what_comes_next() -> None:
    unit = Unit()
    unit.careful("glass")
    assert len(unit.state.waiting) == 1
    unit.out(LID)
    assert [item.careful for item in unit.state.items] == [("glass",)]
    assert not unit.state.waiting


def test_what_stays_out_for_a_reason_no_longer_waits() -> None:
    unit = Unit()
    unit.out(LONG, LID)
    unit.back(LID)
    unit.leave("stripped")
    assert unit.state.next is None
    assert [(item.thing.name, item.out, item.why) for item in unit.state.still_out] == [("screw", 4, "stripped")]
    unit.out(SHORT)  # taken out later: the reason was not about these
    assert unit.state.pieces == 2


def test_a_part_that_is_replaced_is_no_longer_out() -> None:
    unit = Unit()
    unit.out(U4)
    unit.take(Replaced(**unit._next(), ref="U4", removed=1))
    assert unit.state.still_out == ()


def test_a_closed_unit_is_open_again_once_something_comes_out() -> None:
    unit = Unit()
    unit.out(LID)
    unit.back(LID)
    unit.take(UnitClosed(**unit._next()))
    assert (unit.state.closed, unit.state.opened) == (True, False)
    unit.out(LID)
    assert (unit.state.closed, unit.state.opened) == (False, True)


def test_what_refers_to_nothing_changes_nothing() -> None:
    events: list[WorkEvent] = [
        Refitted(seq=1, at=AT, heard=1, removed=9),
        LeftOut(seq=2, at=AT, heard=2, removed=(9,), why="lost"),
        Removed(seq=3, at=AT, heard=3, thing=written_thing(LONG)),
        Refitted(seq=4, at=AT, heard=4, removed=3, count=99),
    ]
    assert [item.out for item in strip_down(events).items] == [0]


# --- whatever is done --------------------------------------------------------------------------------------------
_THINGS = st.one_of(
    st.builds(Thing, st.just("fastener"), st.sampled_from(["screw", "nut"]), st.integers(1, 12),
              st.sampled_from(["", "M3", "M3 by 8"]), st.sampled_from(["", "long"]),
              st.sampled_from(["", "top edge", "left"])),
    st.builds(Thing, st.just("cable"), st.sampled_from(["lamp cable", "fan cable"]),
              place=st.sampled_from(["", "left"])),
    st.just(LID),
    st.just(U4),
)  # fmt: skip
_ACTS = st.one_of(
    st.tuples(st.just("out"), _THINGS),
    st.tuples(st.just("back"), _THINGS),
    st.tuples(st.just("next"), st.none()),
    st.tuples(st.just("careful"), st.sampled_from(["", "lid"])),
    st.tuples(st.just("leave"), st.none()),
    st.tuples(st.just("strike"), st.none()),
)


def work(acts: Sequence[tuple[str, Any]]) -> Iterator[Unit]:
    """The unit after each act."""
    unit = Unit()
    for act, about in acts:
        match act:
            case "out":
                unit.out(about)
            case "back":
                unit.back(about)
            case "next" if unit.state.next is not None:
                unit.back(unit.state.next.still)
            case "careful":
                unit.careful("glass", about)
            case "leave":
                unit.leave("lost")
            case "strike":
                unit.strike()
        yield unit


@given(st.lists(_THINGS, max_size=12))
def test_removed_and_refitted_in_reverse_leaves_nothing(things: list[Thing]) -> None:
    unit = Unit()
    unit.out(*things)
    order = []
    while unit.state.next is not None:
        item = unit.state.next
        order.append(item.seq)
        unit.take(Refitted(**unit._next(), removed=item.seq, count=item.out))
    assert order == list(range(len(things), 0, -1))
    assert unit.state.still_out == ()
    assert unit.state.pieces == 0


@given(st.lists(_ACTS, max_size=25))
def test_counts_are_never_negative_and_never_grow(acts: list[Any]) -> None:
    for unit in work(acts):
        assert all(0 <= item.out <= item.thing.count for item in unit.state.items)
        assert unit.state.pieces == sum(item.out for item in unit.state.items if not item.why)
        order = [item.seq for item in unit.state.still_out]
        assert order == sorted(order, reverse=True)


@given(st.lists(_ACTS, max_size=25))
def test_no_more_goes_back_than_was_said_and_than_is_out(acts: list[Any]) -> None:
    for unit in work(acts):
        for said in (screws(3), screws(1, place="left"), LID, CABLE):
            refit = unit.state.refit(said)
            assert bool(refit.parts) != bool(refit.why)
            assert sum(count for _, count in refit.parts) == (said.count if refit.parts else 0)
            for seq, count in refit.parts:
                item = unit.state.item(seq)
                assert item is not None
                assert 0 < count <= item.out


@given(st.lists(_ACTS, max_size=25))
def test_the_journal_alone_gives_the_state_after_every_event(acts: list[Any]) -> None:
    states = []
    unit = Unit()
    for unit in work(acts):
        states.append((len(unit.journal), unit.state))
    on_disk = [EVENTS.validate_json(EVENTS.dump_json(event)) for event in unit.journal]
    for count, state in states:
        log = WorkLog()
        for event in on_disk[:count]:
            log = log.after(event)
        assert log.stripped == state


@given(st.lists(_ACTS, max_size=15), _ACTS.filter(lambda act: act[0] != "strike"))
def test_a_strike_gives_back_what_was_there_before(acts: list[Any], last: Any) -> None:
    unit = deque(work(acts), maxlen=1).pop() if acts else Unit()
    before, count = unit.log, len(unit.journal)
    match last:
        case ("out", thing):
            unit.out(thing)
        case ("back", thing):
            unit.back(thing)
        case ("careful", name):
            unit.careful("glass", name)
        case _:
            unit.leave("lost")
    if len(unit.journal) > count:
        unit.strike()
    assert unit.log.events == before.events
    assert unit.state == before.stripped


def test_a_lot_that_was_asked_for_is_the_one_that_goes_back() -> None:
    unit = Unit()
    unit.out(screws(4), screws(2, length="long"))
    assert unit.state.refit(screws(4)) == Refit(ask=screws(4), why="say where they go")
    assert unit.state.refit(screws(4), confirmed=True) == Refit(((1, 4),))
    assert unit.state.refit(screws(2), confirmed=True) == Refit(((2, 2),))  # asked for another reason


@given(st.lists(st.tuples(st.integers(1, 6), st.sampled_from(["", "long", "short"])), min_size=1, max_size=5),
       st.integers(1, 12))  # fmt: skip
def test_one_question_is_enough(lots: list[tuple[int, str]], count: int) -> None:
    """A yes puts back all that was asked about."""
    unit = Unit()
    unit.out(*(screws(each, length=length) for each, length in lots))
    refit = unit.state.refit(screws(count))
    if refit.ask is not None:
        confirmed = unit.state.refit(refit.ask, confirmed=True)
        assert sum(each for _, each in confirmed.parts) == count


def test_what_is_still_out_is_so_on_the_next_visit_too() -> None:
    unit = Unit()
    unit.out(LID, screws(4))
    unit.back(screws(1))
    unit.leave("lost")
    unit.out(CABLE)
    unit.back(CABLE)
    later = unit.log.carried_over
    assert names(later.stripped) == names(unit.state)
    assert [item.why for item in later.stripped.still_out] == [item.why for item in unit.state.still_out]
    assert {event.kind for event in later.events} <= {"removed", "refitted", "left out"}
    assert WorkLog().carried_over == WorkLog()
