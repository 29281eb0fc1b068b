"""The screen at every size: whole pictures where it matters, and nothing ever beyond the terminal's edge."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from benchvoice.records import Direction, Statement
from benchvoice.screen.large_type import Ink, largest
from benchvoice.screen.layout import layout
from benchvoice.screen.lines import Look
from benchvoice.screen.view import SIGNS, EarState, Strip, View
from tests.screen.views import ASKED, FAIL, PASS, READY, REFUSED

SIZES = [(80, 24), (120, 40), (40, 10), (20, 5), (200, 60)]


def picture(view: View, width: int, height: int, ink: Ink = Ink.BLOCKS) -> str:
    return "\n" + "\n".join(line.text for line in layout(view, width, height, ink))


def looks(view: View) -> set[Look]:
    return {line.look for line in layout(view, 80, 24, Ink.BLOCKS)}


def drawn(text: str, shown: str, width: int = 80) -> int:
    """How many rows high `text` stands in large letters in the picture of that width; 0 where it does not."""
    for rows in range(40, 3, -1):
        letters = largest(text, width - 2, rows, Ink.BLOCKS)
        if letters and "\n" + "\n".join(f" {line}" for line in letters) in shown:
            return len(letters)
    return 0


def test_a_fail_at_80_by_24() -> None:
    assert (
        picture(FAIL, 80, 24)
        == """
 LISTENING                 [███┃███████───────────] -31 dBFS   before the repair
GF-2 greenhouse fan controller, job GF-2-0001                         5 not read
 █▀▀▀▄ ▄▀▀▀▄ ▀█▀ █        ▄▀▀▀▄    ▄▀▀▀▄
 █▄▄▄▀ █▄▄▄█  █  █          ▄▄▀      ▄▄▀
 █ ▀▄  █   █  █  █        ▄   █ ▄▄ ▄   █
 ▀   ▀ ▀   ▀ ▀▀▀ ▀▀▀▀▀     ▀▀▀  ▀▀  ▀▀▀
       ██            ██████          ██      ██
     ████          ██      ██        ██      ██
   ██  ██          ██      ██        ██      ██
 ██    ██          ██      ██        ██      ██
 ██████████        ██      ██        ██      ██
       ██    ████  ██      ██          ██  ██
       ██    ████    ██████              ██
 █▀▀▀▀ ▄▀▀▀▄ ▀█▀ █        █   █ ▀█▀ ▄▀▀▀▄ █   █
 █▄▄▄  █▄▄▄█  █  █        █▄▄▄█  █  █ ▄▄▄ █▄▄▄█
 █     █   █  █  █        █   █  █  █   █ █   █
 ▀     ▀   ▀ ▀▀▀ ▀▀▀▀▀    ▀   ▀ ▀▀▀  ▀▀▀  ▀   ▀
!! fail, high; limits 3.14 to 3.47 V; U = 0.08 V
                                                                 ├─────◆─────┤
····░░░░░┃░░░░░═════════════░░░░░┃░░░░░░········································
      3.14                       3.47
heard  rail three point three reads four point oh
said   Fail, high. Four point zero. Rail three point three. Limits three poin...
kept   jobs/GF-2-0001/journal.jsonl"""
    )


def test_a_pass_at_80_by_24() -> None:
    assert (
        picture(PASS, 80, 24)
        == """
 LISTENING                 [███┃███████───────────] -31 dBFS   before the repair
GF-2 greenhouse fan controller, job GF-2-0001                         5 not read
 █▀▀▀▄ ▄▀▀▀▄ ▀█▀ █        █▀▀▀▀
 █▄▄▄▀ █▄▄▄█  █  █        ▀▀▀▀▄
 █ ▀▄  █   █  █  █        ▄   █
 ▀   ▀ ▀   ▀ ▀▀▀ ▀▀▀▀▀     ▀▀▀
 ██████████          ██████      ██████          ██      ██
 ██                ██      ██  ██      ██        ██      ██
 ████████          ██      ██          ██        ██      ██
         ██        ██      ██        ██          ██      ██
         ██        ██      ██      ██            ██      ██
 ██      ██  ████  ██      ██    ██                ██  ██
   ██████    ████    ██████    ██████████            ██
 █▀▀▀▄ ▄▀▀▀▄ ▄▀▀▀▀ ▄▀▀▀▀
 █▄▄▄▀ █▄▄▄█ ▀▄▄▄  ▀▄▄▄
 █     █   █     █     █
 ▀     ▀   ▀ ▀▀▀▀  ▀▀▀▀
ok pass; limits 4.75 to 5.25 V; U = 0.032 V
                                      ├──◆──┤
···············░░░┃░════════════════════════════════════════░┃░░░···············
               4.75                                          5.25
heard  rail five reads five point oh two
said   Pass. Five point zero two. Rail five. Limits four point seven five to...
kept   jobs/GF-2-0001/journal.jsonl"""
    )


def test_a_fail_at_40_by_10() -> None:
    assert (
        picture(FAIL, 40, 10)
        == """
 LISTENING        [█┃███──────] -31 dBFS
 rail 3.3
   ▄█     ▄▀▀▀▄    █   █
 ▄▀ █     █   █    █   █
 ▀▀▀█▀ ▄▄ █   █    ▀▄ ▄▀
    ▀  ▀▀  ▀▀▀       ▀
 !! FAIL, HIGH
limits 3.14 to 3.47 V; U = 0.08 V
                                ├──◆──┤
··░░░┃░═══════░░┃░░░····················"""
    )


def test_a_fail_in_ascii() -> None:
    assert (
        picture(FAIL, 80, 24, Ink.ASCII)
        == """
 LISTENING                 [###|#######-----------] -31 dBFS   before the repair
GF-2 greenhouse fan controller, job GF-2-0001                         5 not read
 rail 3.3
       ##            ######          ##      ##
     ####          ##      ##        ##      ##
   ##  ##          ##      ##        ##      ##
 ##    ##          ##      ##        ##      ##
 ##########        ##      ##        ##      ##
       ##    ####  ##      ##          ##  ##
       ##    ####    ######              ##
 #####  ###  ### #        #   # ###  ###  #   #
 #     #   #  #  #        #   #  #  #   # #   #
 #     #   #  #  #        #   #  #  #     #   #
 ####  #####  #  #        #####  #  # ### #####
 #     #   #  #  #        #   #  #  #   # #   #
 #     #   #  #  #        #   #  #  #   # #   #
 #     #   # ### #####    #   # ###  ###  #   #
!! fail, high; limits 3.14 to 3.47 V; U = 0.08 V
                                                                 <-----*----->
....:::::|:::::=============:::::|::::::........................................
      3.14                       3.47
heard  rail three point three reads four point oh
said   Fail, high. Four point zero. Rail three point three. Limits three poin...
kept   jobs/GF-2-0001/journal.jsonl"""
    )


def test_a_question_at_40_by_10() -> None:
    assert (
        picture(ASKED, 40, 10)
        == """
 LISTENING        [█┃███──────] -31 dBFS
GF-2 greenhouse fan controller, job G...
 input
 15 OR 50 V?
 ? Fifteen or fifty?
last   !! fail, high: rail 3.3, 4.0 V
heard  rail three point three reads f...
said   Fifteen or fifty?
kept   jobs/GF-2-0001/journal.jsonl"""
    )


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("direction", ["high", "low", None])
@pytest.mark.parametrize("statement", Statement)
def test_every_statement_is_told_by_words_and_sign(
    statement: Statement, direction: Direction | None, size: tuple[int, int]
) -> None:
    shown = picture(replace(FAIL, statement=statement, direction=direction), *size)
    words = f"{statement}, {direction}" if direction else str(statement)
    sign = SIGNS[statement]
    if size == (20, 5):
        assert f"{sign} {statement.upper().replace('CONDITIONAL', 'COND.')}" in shown.replace("CONDITIONAL", "COND.")
    elif f"{sign} {words.upper()}" not in shown:
        large = words.upper().replace(",", "")
        assert drawn(large, shown, size[0]) or drawn(large.replace("CONDITIONAL", "COND."), shown, size[0])
        assert f"\n{sign} {words};" in shown


@pytest.mark.parametrize(
    ("statement", "look"),
    [
        (Statement.PASS, Look.PASS),
        (Statement.CONDITIONAL_PASS, Look.DOUBT),
        (Statement.CONDITIONAL_FAIL, Look.DOUBT),
        (Statement.FAIL, Look.FAIL),
        (Statement.RECORDED, Look.BAND),
    ],
)
def test_every_statement_has_its_band(statement: Statement, look: Look) -> None:
    assert looks(replace(FAIL, statement=statement)) == {Look.PLAIN, Look.STRONG, look}


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("ear", EarState)
def test_every_state_of_the_ears_is_told_in_words(ear: EarState, size: tuple[int, int]) -> None:
    shown = picture(replace(FAIL, ear=ear), *size)
    assert ear.upper() in shown.split("\n")[1]
    reading_is_large = ear not in (EarState.DEAF, EarState.NOT_LISTENING)
    assert ("NOT LISTENING" in shown or drawn("NOT LISTENING", shown, size[0]) > 0) == (ear is EarState.NOT_LISTENING)
    if size == (80, 24):
        assert (drawn("4.0 V", shown) > 0) == reading_is_large
        assert (drawn("DEAF", shown) > 0) == (ear is EarState.DEAF)


def test_why_the_ears_are_deaf_is_told_and_the_last_reading_stays_small() -> None:
    shown = picture(replace(FAIL, ear=EarState.DEAF, why="the microphone was unplugged"), 80, 24)
    assert drawn("DEAF", shown) == 14
    assert "\n deaf: the microphone was unplugged\n" in shown
    assert "\nlast   !! fail, high: rail 3.3, 4.0 V\n" in shown
    assert not drawn("4.0 V", shown)


def test_a_question_takes_the_place_of_the_older_verdict() -> None:
    shown = picture(ASKED, 80, 24)
    assert drawn("15 OR 50 V?", shown) == 7
    assert drawn("INPUT", shown) == 7
    assert "\n ? Fifteen or fifty?\n" in shown
    assert "\nlast   !! fail, high: rail 3.3, 4.0 V\n" in shown
    assert not drawn("FAIL HIGH", shown)
    assert looks(ASKED) == {Look.PLAIN, Look.STRONG, Look.DOUBT}


def test_a_question_about_a_command_is_a_question_mark() -> None:
    shown = picture(replace(ASKED, offers=(), asked_about="", question="Close the job?"), 80, 24)
    assert drawn("?", shown) > 7
    assert "\n ? Close the job?\n" in shown


def test_a_long_question_is_whole_where_there_is_room() -> None:
    words = "Two hundred and forty volts on the input of the second supply, or twenty four? Say it digit by digit."
    lines = layout(replace(ASKED, question=words), 40, 24, Ink.BLOCKS)
    assert " ".join(line.text.strip() for line in lines if line.look is Look.DOUBT) == f"? {words}"


def test_what_was_not_taken_takes_the_place_of_the_older_verdict() -> None:
    shown = picture(REFUSED, 80, 24)
    assert drawn("NOT TAKEN", shown)
    assert "\n Not taken. The point was not said.\n" in shown
    assert not drawn("4.0 V", shown)
    assert "\nlast   !! fail, high: rail 3.3, 4.0 V\n" in shown


@pytest.mark.parametrize(
    ("value", "unit", "sizes"),
    [("over range", "", (7, 14, 0)), ("−12.345", "kΩ", (7, 14, 0)), ("5.0", "µA", (7, 14, 4))],
)
def test_wide_values_are_as_large_as_the_width_allows(value: str, unit: str, sizes: tuple[int, ...]) -> None:
    view = replace(FAIL, value_text=value, unit=unit)
    written = f"{value.upper()} {unit}".rstrip()
    for (width, height), rows in zip(SIZES, sizes, strict=False):
        shown = picture(view, width, height)
        assert drawn(written, shown, width) == rows
        assert rows or f"\n {written}\n" in shown


def test_a_name_too_long_for_large_letters_is_written_small_and_cropped_at_the_edge() -> None:
    name = "supply of the second heating element, measured at the connector of the door switch"
    shown = picture(replace(FAIL, point=name), 80, 24)
    assert f"\n {name[:75].rstrip()}...\n" in shown
    assert drawn("4.0 V", shown)


def test_without_limits_there_is_no_strip() -> None:
    shown = picture(replace(FAIL, statement=Statement.RECORDED, direction=None, limits_text="", strip=None), 80, 24)
    assert "\n-- recorded; no limits; U = 0.08 V\n" in shown
    assert "┃░" not in shown


def test_an_unread_point_shows_its_limits() -> None:
    limits = Strip(Decimal("3.14"), Decimal("3.47"), Decimal("3.3"))
    view = replace(READY, point="rail 3.3", now_on="rail 3.3", limits_text="3.14 to 3.47 V", strip=limits)
    shown = picture(view, 80, 24)
    assert drawn("NOT READ", shown)
    assert "\nlimits 3.14 to 3.47 V\n" in shown
    assert "◆" not in shown


@pytest.mark.parametrize(
    ("now_on", "step", "line"),
    [
        ("rail 3.3", "", None),
        ("rail 5", "", "now    on rail 5"),
        ("", "", "now    on no point: say one first"),
        ("rail 5", "measure rail 5", "step   measure rail 5"),
    ],
)
def test_the_next_value_belongs_where_it_says(now_on: str, step: str, line: str | None) -> None:
    shown = picture(replace(FAIL, now_on=now_on, step=step), 80, 24).split("\n")
    assert [text for text in shown if text.startswith(("now ", "step "))] == ([line] if line else [])


def test_timers_that_run_are_shown_in_a_line() -> None:
    assert "\ntimer  soak test timer 4:10\n" in picture(replace(FAIL, timers="soak test timer 4:10"), 80, 24)
    assert "\ntimer " not in picture(FAIL, 80, 24)


def test_trouble_with_the_sound_is_a_band_with_its_reason() -> None:
    first = layout(replace(FAIL, ear=EarState.TOO_LOUD, why="a fan?"), 80, 24, Ink.BLOCKS)[0]
    assert first.text.startswith(" TOO LOUD: a fan?")
    assert first.look is Look.BAND
    assert layout(FAIL, 80, 24, Ink.BLOCKS)[0].look is Look.STRONG


def test_the_smallest_terminals_get_running_text() -> None:
    assert (
        picture(FAIL, 30, 4)
        == """
!! fail, high: rail 3.3, 4.0
V; limits 3.14 to 3.47 V; U =
0.08 V
listening"""
    )
    assert picture(replace(FAIL, ear=EarState.DEAF, why="unplugged"), 30, 1) == "\ndeaf: unplugged"
    assert picture(ASKED, 30, 1) == "\nFifteen or fifty?"
    assert layout(FAIL, 0, 24, Ink.BLOCKS) == ()


def test_text_from_outside_cannot_draw_over_the_screen() -> None:
    shown = picture(replace(FAIL, point="rail\x1b[2J\r5", said="one\ntwo"), 80, 24)
    assert "\x1b" not in shown
    assert "rail⟨U+001B⟩[2J 5" in shown
    assert "\nsaid   one two\n" in shown


words = st.text(max_size=60)
numbers = st.decimals(-10_000, 10_000, places=3)
limits = st.none() | st.builds(
    lambda ends, value, u: Strip(min(ends), max(ends), None, value, u),
    st.tuples(numbers, numbers),
    st.none() | numbers,
    st.none() | st.decimals(0, 100, places=3),
)
views = st.builds(
    View,
    **dict.fromkeys(("board", "job", "why", "point", "now_on", "unit", "limits_text", "uncertainty_text"), words),
    **dict.fromkeys(
        ("question", "asked_about", "refused", "step", "timers", "said", "heard", "journal"), st.just("") | words
    ),
    ear=st.sampled_from(EarState),
    level_dbfs=st.none() | st.floats(-120, 10),
    noise_dbfs=st.none() | st.floats(-120, 10),
    value_text=st.sampled_from(["over range", "−12.345", "4.0", "0.000001"]) | words,
    statement=st.none() | st.sampled_from(Statement),
    direction=st.sampled_from(["high", "low", None]),
    offers=st.lists(words, max_size=2).map(tuple),
    strip=limits,
    left=st.integers(0, 500),
)


@given(views, st.integers(0, 220), st.integers(0, 80), st.sampled_from(Ink))
def test_nothing_lies_beyond_the_edges(view: View, width: int, height: int, ink: Ink) -> None:
    lines = layout(view, width, height, ink)
    assert len(lines) <= height
    for line in lines:
        assert cell_len(line.text) <= width
        assert line.text.isprintable()
        if ink is Ink.ASCII:
            assert line.text.isascii()


@given(views, st.integers(20, 220), st.integers(5, 80), st.sampled_from(Ink))
def test_the_ears_and_the_headline_are_always_there(view: View, width: int, height: int, ink: Ink) -> None:
    lines = layout(view, width, height, ink)
    assert view.ear.upper() in lines[0].text
    assert len(lines) >= 2
