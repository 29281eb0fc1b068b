"""Transcripts as people and programs write them. WebVTT rows follow the W3C format (from memory)."""

from __future__ import annotations

import html
import tracemalloc
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import TranscriptError
from benchvoice.understand.transcript import TranscriptLine, is_journal, read_transcript, write_webvtt

FILE = "kiln.vtt"


def read(text: str) -> list[TranscriptLine]:
    return list(read_transcript(text.splitlines(keepends=True), FILE))


WEBVTT = """\
\ufeffWEBVTT - kiln controller, first visit
Kind: captions

STYLE
::cue { color: lime }

NOTE a remark of
two lines

1
00:01.500 --> 00:04.000
rail five reads five point oh two

first fault
01:00:05.250 --> 01:00:07.000 align:start position:10%
<v.loud Bench>rail <c.rail>three point three</c>
reads <01:00:06.000><i>four point oh</i>

REGION
id:left

100:00:00.000 --> 100:00:01.000
board &amp; plug&nbsp;good &lt;all&gt;
"""


def test_webvtt_with_all_its_blocks() -> None:
    lines = read(WEBVTT)
    assert lines == [
        TranscriptLine("rail five reads five point oh two", 1.5, 4.0, 11),
        TranscriptLine("rail three point three reads four point oh", 3605.25, 3607.0, 15),
        TranscriptLine("board & plug good <all>", 360_000.0, 360_001.0, 22),
    ]
    assert read(WEBVTT.replace("\n", "\r\n")) == lines


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("rail five\n\n  reads five  \n", [("rail five", None, 1), ("reads five", None, 3)]),
        ("\ufeffon rail five\r\n", [("on rail five", None, 1)]),
        ("[00:00:01] on rail five\n[01:02:03.250]five\n", [("on rail five", 1.0, 1), ("five", 3723.25, 2)]),
        ("[00:00:05] a\n[00:00:01] b", [("a", 5.0, 1), ("b", 1.0, 2)]),
        ("WEBVTTX is no header", [("WEBVTTX is no header", None, 1)]),
        ("rail 5 reads 5.02 V", [("rail 5 reads 5.02 V", None, 1)]),
    ],
)
def test_plain_lines(text: str, expected: list[tuple[str, float | None, int]]) -> None:
    assert [(line.text, line.start_s, line.line) for line in read(text)] == expected
    assert all(line.end_s is None for line in read(text))


CUE = "WEBVTT\n\n{}\nfive\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", r"kiln\.vtt, line 1: the transcript is empty\."),
        (" \n\n", r"kiln\.vtt, line 1: the transcript holds nothing that was said\."),
        ("WEBVTT\n", r"line 1: the transcript holds nothing that was said"),
        ("WEBVTT\n\nNOTE only a remark\n", r"line 1: the transcript holds nothing that was said"),
        (CUE.format("00:01,500 --> 00:04,000"), r"line 3: '00:01,500' is not a time\. Write mm:ss\.mmm or"),
        (CUE.format("00:01.500 --> "), r"line 3: '' is not a time"),
        (CUE.format("1:01.500 --> 00:04.000"), r"line 3: '1:01\.500' is not a time"),
        (CUE.format("00:60.000 --> 02:00.000"), r"line 3: '00:60\.000' is not a time"),
        (CUE.format("00:01.50 --> 00:02.000"), r"line 3: '00:01\.50' is not a time"),
        (
            CUE.format("00:04.000 --> 00:04.000"),
            r"line 3: the cue ends at 00:04\.000, not after its start at 00:04\.000",
        ),
        ("WEBVTT\n\nrail five reads five\n", r"line 3: 'rail five reads five' has no time\. A cue is a line with its"),
        ("WEBVTT\n\nname\ntext\n\n", r"line 3: 'name' has no time"),
        ("WEBVTT\n00:01.000 --> 00:02.000\nfive\n", r"line 2: there must be an empty line after WEBVTT"),
        (
            CUE.format("00:01.000 --> 00:02.000") + "00:03.000 --> 00:04.000\nsix\n",
            r"line 5: a cue's time stands inside another cue\. Put an empty line before it",
        ),
        ("WEBVTT\n\nNOTE\n00:03.000 --> 00:04.000\nsix\n", r"line 4: a cue's time stands inside another block"),
        (
            "1\n00:00:01,000 --> 00:00:02,000\nfive\n",
            r"line 2: this looks like a cue's time\. Begin a WebVTT file with",
        ),
        ("a\n[00:61:00] five\n", r"line 2: '\[00:61:00\] five' does not begin with a time\. Write \[hh:mm:ss\]"),
        ("[1:02] five\n", r"line 1: '\[1:02\] five' does not begin with a time"),
        ("[laughs] five\n", r"line 1: '\[laughs\] five' does not begin with a time"),
        ("[00:00:01 five\n", r"line 1: '\[00:00:01 five' does not begin with a time"),
        ("[00:00:01]\n", r"line 1: there are no words after the time"),
        ("five\nRIFF\x00\x01WAVEfmt \n", r"line 2: this is not text\. A transcript is WebVTT or plain lines"),
        ("five\ufffd\n", r"line 1: this is not text"),
        ("a" * 20_000, r"line 1: 20000 characters are too many for a line of a transcript"),
    ],
)
def test_refused_with_file_and_line(text: str, message: str) -> None:
    with pytest.raises(TranscriptError, match=message) as caught:
        read(text)
    assert caught.value.file == FILE
    assert caught.value.line is not None


def test_file_in_another_encoding_is_refused(tmp_path: Path) -> None:
    path = tmp_path / FILE
    path.write_bytes("rail f\xfcnf\n".encode("latin-1"))
    with path.open(encoding="utf-8") as file, pytest.raises(TranscriptError, match="line 1: this is not UTF-8 text"):
        list(read_transcript(file, FILE))


def test_what_was_good_comes_before_the_error() -> None:
    found = read_transcript(["five\n", "[bad\n"], FILE)
    assert next(found).text == "five"
    with pytest.raises(TranscriptError, match="line 2"):
        next(found)


def test_long_transcript_is_read_line_by_line() -> None:
    """Memory stays flat, and the first line is there before the last has been written."""

    def lines(n: int) -> Iterator[str]:
        yield "WEBVTT\n"
        for number in range(n):
            yield f"\n{number // 60 % 60:02}:{number % 60:02}.000 --> 59:59.999\n"
            yield f"rail five reads five point zero {['one', 'two', 'three'][number % 3]}\n"
            yield "\n"

    split = (part for line in lines(20_000) for part in line.splitlines(keepends=True))
    found = read_transcript(split, FILE)
    assert next(found).line == 3
    tracemalloc.start()
    try:
        count = sum(1 for _ in found)
        _, peak_bytes = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert count == 19_999
    assert peak_bytes < 200_000


@pytest.mark.parametrize(
    ("line", "journal"),
    [
        ('{"seq": 1, "at": "2024-05-01T10:00:00Z", "kind": "opened", "prev": "00"}\n', True),
        ('\ufeff{"kind":"heard","seq":2}', True),
        ('{"seq": 1}', False),
        ('["seq", "kind"]', False),
        ('{"seq": 1, "kind":', False),
        ("WEBVTT", False),
        ("rail five reads five", False),
        ("", False),
    ],
)
def test_journal_is_told_by_its_first_line(line: str, journal: bool) -> None:
    assert is_journal(line) is journal


# --- round trip -----------------------------------------------------------------------------------------------------
words = st.text(st.characters(exclude_categories=("C", "Z"), exclude_characters="\ufffd"), min_size=1, max_size=8)
texts = st.lists(words, min_size=1, max_size=6).map(" ".join)
times = st.lists(st.integers(0, 500_000_000), min_size=2, max_size=2, unique=True).map(sorted)


@given(st.lists(st.tuples(texts, times), min_size=1, max_size=6))
def test_webvtt_written_then_read_is_the_same(cues: list[tuple[str, list[int]]]) -> None:
    lines = [TranscriptLine(text, start / 1000, end / 1000, 3 + 3 * n) for n, (text, (start, end)) in enumerate(cues)]
    written = "".join(write_webvtt(lines))
    assert list(read_transcript(written.split("\n"), FILE)) == lines


def test_webvtt_text_is_escaped() -> None:
    """The escapes are those of HTML, whose own library undoes them."""
    line = TranscriptLine("a < b & c --> d &amp; <v x>", 0.0, 1.0, 0)
    payload = "".join(write_webvtt([line])).splitlines()[-1]
    assert "<" not in payload
    assert "-->" not in payload
    assert html.unescape(payload) == line.text


@pytest.mark.parametrize(
    "line",
    [
        TranscriptLine("five", None, None, 1),
        TranscriptLine("five", 2.0, 1.0, 1),
        TranscriptLine("five", 1.0, 1.0001, 1),
        TranscriptLine(" ", 0.0, 1.0, 1),
        TranscriptLine("five\nsix", 0.0, 1.0, 1),
    ],
)
def test_webvtt_cannot_hold_everything(line: TranscriptLine) -> None:
    with pytest.raises(ValueError, match="a cue needs"):
        list(write_webvtt([line]))
