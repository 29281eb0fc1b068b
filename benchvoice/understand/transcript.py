"""Transcripts: WebVTT, or lines of plain text with or without their time, read line by line.

Pure: lines in, lines out, one at a time, so that a long transcript takes no more memory than a short one.
WebVTT: The Web Video Text Tracks Format, W3C Candidate Recommendation, 4 April 2019 (from memory).
"""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import NamedTuple

from benchvoice.errors import TranscriptError
from benchvoice.understand.typed import normalise

__all__ = ["TranscriptLine", "checked_line", "is_journal", "normalise", "read_transcript", "write_webvtt"]

_LONGEST = 10_000  # characters in a line; more is not a transcript
_BYTE_ORDER_MARK = "\ufeff"
_HEADER = re.compile(r"WEBVTT(?:[ \t].*)?")
_ARROW = "-->"
_TIME = re.compile(
    r"(?:(?P<hours>[0-9]{2,}):)?(?P<minutes>[0-5][0-9]):(?P<seconds>[0-5][0-9])\.(?P<thousandths>[0-9]{3})"
)
_BLOCK = re.compile(r"(?:NOTE|STYLE|REGION)(?:[ \t].*)?")
_TAG = re.compile(r"<[^>]*>?")  # an unclosed tag reaches to the end of the text
_STAMPED = re.compile(r"\[(?P<stamp>[^\]]*)\]\s*(?P<text>.*)")
_STAMP = re.compile(
    r"(?P<hours>[0-9]{2,}):(?P<minutes>[0-5][0-9]):(?P<seconds>[0-5][0-9])(?:\.(?P<thousandths>[0-9]{3}))?"
)
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffd\ud800-\udfff]")
_NO_TEXT = "this is not text"


class TranscriptLine(NamedTuple):
    """One utterance of a transcript.

    Attributes:
        text: its words as they were typed; `normalise` makes spoken words of them.
        start_s, end_s: seconds from the start; None where the transcript does not say.
        line: where it stands in the file, counted from 1 (for a cue: its time's line).
    """

    text: str
    start_s: float | None
    end_s: float | None
    line: int


def checked_line(line: str) -> str:
    """A line that was typed by itself, without the blanks around it; empty where it holds nothing.

    Raises:
        TranscriptError: it is too long for a sentence, or not text.
    """
    if len(line) > _LONGEST:
        raise TranscriptError(f"{len(line)} characters are too many for a line", cure="Type a sentence a line")
    if _CONTROL.search(line):
        raise TranscriptError(_NO_TEXT, cure="Type the line again; the arrow keys cannot mend it")
    return line.strip()


def is_journal(first_line: str) -> bool:
    """Whether a file that begins with this line is a journal: a JSON object with `seq` and `kind`."""
    line = first_line.strip().lstrip(_BYTE_ORDER_MARK)
    if not line.startswith("{"):
        return False
    try:
        found = json.loads(line)
    except ValueError:
        return False
    return isinstance(found, dict) and "seq" in found and "kind" in found


def read_transcript(lines: Iterable[str], file: str) -> Iterator[TranscriptLine]:
    """The utterances of a transcript, in its order. WebVTT is told by its first line; anything else is plain text.

    Args:
        lines: the lines of the file, with or without their ends; read once, as they are needed.
        file: its name, for messages.

    Raises:
        TranscriptError: it is not text, is empty, or holds a time that cannot be read; names file and line.
    """
    numbered = _Numbered(lines, file)
    first = next(numbered, None)
    if first is None:
        raise numbered.error("the transcript is empty", 1)
    found = _cues(numbered) if _HEADER.fullmatch(first[1]) else _plain(chain([first], numbered), numbered)
    empty = True
    for line in found:
        empty = False
        yield line
    if empty:
        raise numbered.error("the transcript holds nothing that was said", first[0])


def write_webvtt(lines: Iterable[TranscriptLine]) -> Iterator[str]:
    """The lines of a WebVTT file, with their ends, that reads back as `lines`.

    Raises:
        ValueError: a line has no times, ends before it starts, or its text is empty or spans lines.
    """
    yield "WEBVTT\n"
    for line in lines:
        start, end = (None if time_s is None else round(time_s * 1000) for time_s in (line.start_s, line.end_s))
        if start is None or end is None or not 0 <= start < end:
            raise ValueError(f"a cue needs a start and a later end, not {line.start_s} to {line.end_s}")
        text = line.text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
        if not text.strip() or len(text.splitlines()) > 1 or _CONTROL.search(text):
            raise ValueError(f"a cue needs one line of text, not {line.text!r}")
        yield f"\n{_stamp(start)} {_ARROW} {_stamp(end)}\n{text}\n"


class _Numbered(Iterator[tuple[int, str]]):
    """Lines with their numbers, checked to be text."""

    def __init__(self, lines: Iterable[str], file: str) -> None:
        self._lines = iter(lines)
        self._file = file
        self.number = 0

    def __next__(self) -> tuple[int, str]:
        try:
            line = next(self._lines)
        except UnicodeDecodeError as error:  # from a file that is being read as UTF-8
            raise self.error("this is not UTF-8 text", self.number + 1, "Save it as plain UTF-8 text") from error
        self.number += 1
        line = line.rstrip("\r\n")
        if self.number == 1:
            line = line.removeprefix(_BYTE_ORDER_MARK)
        if len(line) > _LONGEST:
            raise self.error(f"{len(line)} characters are too many for a line of a transcript", self.number)
        if _CONTROL.search(line):
            raise self.error(_NO_TEXT, self.number, "A transcript is WebVTT or plain lines of text in UTF-8")
        return self.number, line

    def error(self, what: str, line: int, cure: str | None = None) -> TranscriptError:
        return TranscriptError(what, file=self._file, line=line, cure=cure)


# --- plain lines ----------------------------------------------------------------------------------------------------
def _plain(lines: Iterator[tuple[int, str]], source: _Numbered) -> Iterator[TranscriptLine]:
    for number, line in lines:
        text = line.strip()
        if not text:
            continue
        if _ARROW in text:
            raise source.error("this looks like a cue's time", number, "Begin a WebVTT file with the line WEBVTT")
        start_s = None
        if text.startswith("["):
            stamped = _STAMPED.fullmatch(text)
            stamp = _STAMP.fullmatch(stamped["stamp"].strip()) if stamped else None
            if stamped is None or stamp is None:
                raise source.error(
                    f"'{text[:20]}' does not begin with a time", number, "Write [hh:mm:ss] or [hh:mm:ss.mmm]"
                )
            start_s, text = _seconds(stamp), stamped["text"]
            if not text:
                raise source.error("there are no words after the time", number)
        yield TranscriptLine(text, start_s, None, number)


# --- WebVTT ---------------------------------------------------------------------------------------------------------
def _cues(lines: _Numbered) -> Iterator[TranscriptLine]:
    _, after_header = next(lines, (0, ""))
    if after_header:  # header lines of older drafts and of other tools end at the first empty line
        if _ARROW in after_header:
            raise lines.error("there must be an empty line after WEBVTT", lines.number)
        _skip_block(lines)
    for number, line in lines:
        if not line.strip():
            continue
        if _BLOCK.fullmatch(line):
            _skip_block(lines)
            continue
        timing_at, timing = number, line
        if _ARROW not in line:  # an identifier: any one line
            timing_at, timing = next(lines, (number, ""))
            if _ARROW not in timing:
                raise lines.error(f"'{line[:40]}' has no time", number, "A cue is a line with its times, then its text")
        start_s, end_s = _times(timing, timing_at, lines)
        text = _cue_text(lines)
        if text:
            yield TranscriptLine(text, start_s, end_s, timing_at)


def _skip_block(lines: _Numbered) -> None:
    for number, line in lines:
        if not line:
            return
        if _ARROW in line:
            raise lines.error("a cue's time stands inside another block", number, "Put an empty line before the cue")


def _times(line: str, number: int, lines: _Numbered) -> tuple[float, float]:
    first, _, rest = line.partition(_ARROW)
    second = rest.split()[0] if rest.split() else ""  # settings follow it
    start_s, end_s = _time(first.strip(), number, lines), _time(second, number, lines)
    if end_s <= start_s:
        raise lines.error(f"the cue ends at {second}, not after its start at {first.strip()}", number)
    return start_s, end_s


def _time(written: str, number: int, lines: _Numbered) -> float:
    match = _TIME.fullmatch(written)
    if match is None:
        raise lines.error(f"'{written}' is not a time", number, "Write mm:ss.mmm or hh:mm:ss.mmm")
    return _seconds(match)


def _cue_text(lines: _Numbered) -> str:
    parts = []
    for number, line in lines:
        if not line:
            break
        if _ARROW in line:
            raise lines.error("a cue's time stands inside another cue", number, "Put an empty line before it")
        parts.append(line)
    return " ".join(html.unescape(_TAG.sub("", " ".join(parts))).split())


def _seconds(match: re.Match[str]) -> float:
    whole = int(match["hours"] or 0) * 3600 + int(match["minutes"]) * 60 + int(match["seconds"])
    return (whole * 1000 + int(match["thousandths"] or 0)) / 1000


def _stamp(thousandths: int) -> str:
    seconds, thousandths = divmod(thousandths, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02}:{minutes:02}:{seconds:02}.{thousandths:03}"
