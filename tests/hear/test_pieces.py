"""The pieces of words, by the real model's own list and by small ones."""

from __future__ import annotations

import importlib.util
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import ModelError
from benchvoice.hear.moonshine_engine import MoonshineEngine, why_unavailable
from benchvoice.hear.pieces import Pieces
from benchvoice.records import RATE_HZ
from tests.hear.sounds import load, utterance

SESSION = Path(__file__).parents[2] / "demo_sessions" / "failed_regulator" / "session.flac"

real = pytest.mark.skipif(why_unavailable() is not None, reason=str(why_unavailable()))


@cache
def data() -> bytes:
    spec = importlib.util.find_spec("moonshine_voice")
    assert spec is not None
    assert spec.origin is not None
    return (Path(spec.origin).parent / "assets" / "tiny-en" / "tokenizer.bin").read_bytes()


@cache
def pieces() -> Pieces:
    return Pieces(data())


def written(*texts: bytes) -> bytes:
    """A list of pieces: three that write nothing, every byte, and these."""
    everything = [b"<unk>", b"<s>", b"</s>", *(bytes([byte]) for byte in range(256)), *texts]
    return b"".join(
        bytes([len(text)] if len(text) < 128 else [128 + len(text) % 128, len(text) // 128]) + text
        for text in everything
    )


FIRST = 259  # the number of the first piece after the bytes

# letters of any script, the trade's signs, and what the pieces treat in a way of its own; no space of any kind
words = st.text(
    st.sampled_from("abcdefghijklmnopqrstuvwxyz0123456789'-.,µΩ°<>/") | st.characters(categories=("Ll", "Lo")),
    min_size=1,
    max_size=12,
)


@real
@given(st.lists(words, min_size=1, max_size=8).map(" ".join))
def test_what_is_written_is_read_again(text: str) -> None:
    """With the capital letter and the full stop that a sentence has."""
    assert pieces().text(pieces().of_sentence(text)) == text[0].upper() + text[1:] + "."


@real
@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("input reads twenty four", ["Input", "reads", "twenty", "four", "."]),
        ("twelve volts", ["Tw", "elve", "vol", "ts", "."]),
        ("rail five is zero", ["Rail", "five", "is", "zero", "."]),
    ],
)
def test_words_of_the_bench_in_few_pieces(text: str, parts: list[str]) -> None:
    assert [pieces().text([piece]) for piece in pieces().of_sentence(text)] == parts


@real
def test_they_are_the_pieces_that_the_model_itself_writes(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the real model wrote, number by number, against what we make of the same text."""
    engine = MoonshineEngine()
    ours, given = engine._pieces, []

    def text(numbers: Iterable[int]) -> str:
        given.append(tuple(numbers))
        return ours.text(given[-1])

    monkeypatch.setattr(engine, "_pieces", SimpleNamespace(text=text))
    sound = load(SESSION)
    for start_s, end_s in ((0.1, 4.1), (12.7, 16.3), (61.5, 64.5)):
        written = engine.free(utterance(sound[int(start_s * RATE_HZ) : int(end_s * RATE_HZ)])).text
        assert len(written.split()) >= 3
        ended = written.removesuffix(".")
        assert ours.of_sentence(ended)[: -len(ours.stop)] == given[-1][: len(given[-1]) - (ended != written)]


@real
def test_letters_that_no_piece_has_are_written_byte_by_byte() -> None:
    (space, *found) = pieces().of_word("\U00010348")  # a Gothic letter
    assert pieces().text([space]) == ""
    assert found == [3 + byte for byte in "\U00010348".encode()]
    assert pieces().text([space, *found]) == "\U00010348"
    assert pieces().text(found[:2]) == "\ufffd"  # half a letter is none


def test_the_joint_with_the_lowest_number_is_joined_first() -> None:
    a, c = 3 + ord("a"), 3 + ord("c")
    assert Pieces(written(b"bc", b"ab"))._encoded("abc") == (a, FIRST)
    assert Pieces(written(b"ab", b"bc"))._encoded("abc") == (FIRST, c)
    assert Pieces(written(b"ab", b"bc", b"abc"))._encoded("abcab") == (FIRST + 2, FIRST)
    assert Pieces(written(b"aa"))._encoded("aaa") == (FIRST, 3 + ord("a"))  # of equals the first


def test_a_letter_with_a_piece_of_its_own_is_not_a_byte() -> None:
    assert Pieces(written(b"a"))._encoded("ab") == (FIRST, 3 + ord("b"))


@pytest.mark.parametrize("length", [127, 128, 129, 255, 256, 300, 5000])
def test_long_pieces_are_read(length: int) -> None:
    assert Pieces(written(b"x" * length)).text([FIRST]) == "x" * length


@pytest.mark.parametrize("end", [b"\x05abcd", b"\x80", b"\xff", b"\x81\x01", b"\x85\x00abcd", b"\x01"])
def test_a_list_that_is_cut_short_is_refused(end: bytes) -> None:
    with pytest.raises(ModelError, match=r"ends in the middle of one.*Install the model again"):
        Pieces(written(b"ab") + end)


@pytest.mark.parametrize("few", [b"", b"\x00", written()[:-2], b"\x01a" * 258])
def test_a_list_that_is_too_short_is_refused(few: bytes) -> None:
    with pytest.raises(ModelError, match=r"too short to be one.*Install the model again"):
        Pieces(few)


@real
@given(st.integers(0, 300_000))
def test_a_real_list_that_is_cut_is_refused_or_shorter(length: int) -> None:
    """Where it is cut between two pieces only their number tells, which the engine knows."""
    whole = data()
    try:
        short = Pieces(whole[:length])
    except ModelError:
        return
    assert len(short) < len(pieces()) or length >= len(whole)
    assert [short.text([number]) for number in range(len(short))] == [
        pieces().text([number]) for number in range(len(short))
    ]
