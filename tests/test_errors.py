"""Messages, word for word: what, where, what to do."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice import errors
from benchvoice.errors import BenchvoiceError, BoardError, VocabularyError

UPSIDE_DOWN = "low limit 3.47 V lies above high limit 3.14 V"


@pytest.mark.parametrize(
    ("error", "message"),
    [
        (BoardError(UPSIDE_DOWN), f"{UPSIDE_DOWN}."),
        (BoardError(UPSIDE_DOWN, file="kiln.yaml"), f"kiln.yaml: {UPSIDE_DOWN}."),
        (BoardError(UPSIDE_DOWN, line=7), f"line 7: {UPSIDE_DOWN}."),
        (BoardError(UPSIDE_DOWN, field="points[2].limits"), f"points[2].limits: {UPSIDE_DOWN}."),
        (
            BoardError(UPSIDE_DOWN, file=Path("boards") / "kiln.yaml", line=7, field="points[2].limits.low"),
            f"{Path('boards') / 'kiln.yaml'}, line 7, points[2].limits.low: {UPSIDE_DOWN}.",
        ),
        (
            BoardError(UPSIDE_DOWN, file="kiln.yaml", cure="Exchange them"),
            f"kiln.yaml: {UPSIDE_DOWN}. Exchange them.",
        ),
        (BoardError("is that a board?", cure="Look again!"), "is that a board? Look again!"),
        (BoardError("ends with a stop.", line=0), "line 0: ends with a stop."),
        (VocabularyError(("fower", "xray"), "sphinx"), "sphinx cannot hear: fower, xray."),
        (
            VocabularyError(("zener",), "vosk", cure="Say breakdown diode"),
            "vosk cannot hear: zener. Say breakdown diode.",
        ),
    ],
)
def test_message(error: BenchvoiceError, message: str) -> None:
    assert str(error) == message


def test_parts_stay_on_the_error() -> None:
    error = BoardError("no points", file=Path("kiln.yaml"), line=3, field="points", cure="List at least one")
    assert (error.what, error.file, error.line, error.field, error.cure) == (
        "no points",
        "kiln.yaml",
        3,
        "points",
        "List at least one",
    )
    assert VocabularyError(("a", "b"), "vosk").words == ("a", "b")
    assert VocabularyError(("a", "b"), "vosk").engine == "vosk"


@pytest.mark.parametrize("name", errors.__all__)
def test_every_error_has_the_common_base_and_a_name_that_says_so(name: str) -> None:
    kind = getattr(errors, name)
    assert issubclass(kind, BenchvoiceError)
    assert name.endswith("Error")
    assert kind.__doc__


def test_every_error_is_listed() -> None:
    defined = {
        name for name, kind in vars(errors).items() if isinstance(kind, type) and kind.__module__ == errors.__name__
    }
    assert defined == set(errors.__all__)


parts = st.text(st.characters(categories=("L", "N", "P")), min_size=1, max_size=20)


@given(parts, st.none() | parts, st.none() | st.integers(1, 10**6), st.none() | parts, st.none() | parts)
def test_no_part_is_lost(what: str, file: str | None, line: int | None, field: str | None, cure: str | None) -> None:
    message = str(BenchvoiceError(what, file=file, line=line, field=field, cure=cure))
    for part in (what, file, field, cure):
        assert part is None or part in message
    assert line is None or f"line {line}" in message
    assert message.endswith((".", "?", "!"))


@pytest.mark.parametrize(
    "error",
    [
        BenchvoiceError("is missing", file="board.yaml", line=3, field="points[2]", cure="Check the name"),
        VocabularyError(("flood", "flux"), "sphinx", cure="Say it in other words"),
    ],
)
def test_an_error_survives_the_way_between_processes(error: BenchvoiceError) -> None:
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert str(again) == str(error)
    assert vars(again) == vars(error)
