"""Labels of a corpus: what is taken, and every kind of line that cannot be right, told before anything is heard."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.commands.corpus import GO_TO, CorpusLine, Meant, read_corpus
from benchvoice.decide.profile import read_board
from benchvoice.errors import CorpusError
from benchvoice.records import Thing, WorkIntent
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.parse import Parser
from tests.understand.boards import english

BOARD = """\
board: KC-4 kiln controller
points:
  - {name: input, say: [input], nominal: 24 V, tolerance: 10 %}
  - {name: rail 5, nominal: 5 V}
  - {name: element, say: [heating element], quantity: resistance, limits: {low: 18 ohm}}
  - {name: counter, say: [counter], quantity: digits, alone: true}
"""
PARSER = Parser(Grammar(english(), read_board(BOARD, "board.yaml").spoken_points()))
FOUR = WorkIntent("out", Thing("fastener", "screw", 4, place="left"))
READING = {"audio": "a.wav", "text": "input reads twenty four point one volts", "value": "24.1", "unit": "V"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    soundfile.write(tmp_path / "a.wav", np.zeros(1600, np.int16), 16000)
    return tmp_path


def read(folder: Path, *lines: dict[str, Any] | str) -> list[CorpusLine]:
    corpus = folder / "corpus.jsonl"
    texts = (line if isinstance(line, str) else json.dumps(line, ensure_ascii=False) for line in lines)
    corpus.write_text("\n".join(texts), encoding="utf-8")
    return read_corpus(corpus, PARSER)


@pytest.mark.parametrize(
    ("label", "meant"),
    [
        ({"text": READING["text"], "value": "24.1", "unit": "V"}, Meant("input", "24.1", "V")),
        ({"text": READING["text"], "point": "input", "value": "24.1", "unit": "V"}, Meant("input", "24.1", "V")),
        ({"text": "Input reads 24.1 V", "value": "24.1", "unit": "V"}, Meant("input", "24.1", "V")),
        ({"text": "heating element is twenty", "value": "20", "unit": "\u2126"}, Meant("element", "20", "ohm")),
        ({"text": "rail five reads overload", "value": "over range", "unit": "V"}, Meant("rail 5", "over range", "V")),
        ({"text": "zero one eight", "point": "counter", "value": "018"}, Meant("counter", "018")),
        ({"text": "zero one eight", "value": "018", "unit": ""}, Meant("counter", "018")),
        ({"text": "on rail five", "point": "rail 5"}, Meant("rail 5", command=GO_TO)),
        ({"text": "on rail five", "point": "rail 5", "command": "go to"}, Meant("rail 5", command=GO_TO)),
        ({"text": "strike that", "command": "strike"}, Meant(command="strike")),
        ({"text": "read back rail five", "command": "read back"}, Meant("rail 5", command="read back")),
        ({"text": "take a note", "command": "note"}, Meant(command="note")),
        ({"text": "note capacitor bulging"}, Meant(note="capacitor bulging")),
        ({"text": "serial number alpha one", "serial": "A1"}, Meant(serial="A1")),
        ({"text": "Serial number: A1", "serial": "A1"}, Meant(serial="A1")),
        ({"text": "out four screws left"}, Meant(work=FOUR.meaning)),
        ({"text": "what is still out"}, Meant(work=WorkIntent("still out").meaning)),
    ],
)
def test_what_a_label_means(folder: Path, label: dict[str, str], meant: Meant) -> None:
    (line,) = read(folder, {"audio": "a.wav", **label})
    assert line.meant == (meant,)
    assert (line.audio, line.text, line.recording.path) == ("a.wav", label["text"], folder / "a.wav")


@pytest.mark.parametrize("text", ["", "the kettle is on in the kitchen", "yes"])
def test_talk_means_nothing(folder: Path, text: str) -> None:
    (line,) = read(folder, {"audio": "a.wav", "text": text, "value": None, "point": None})
    assert line.meant == ()


def test_of_two_meanings_the_label_says_which(folder: Path) -> None:
    text = "input reads three thirty"
    (line,) = read(folder, {"audio": "a.wav", "text": text, "value": "330", "unit": "V"})
    assert line.meant == (Meant("input", "330", "V"),)


BAD = [
    ({"colour": "red"}, "colour", r"there is no field 'colour'\. A line has: audio, text, point, value, unit, comm"),
    ({"vaule": "24.1"}, "vaule", r"there is no field 'vaule'\. Did you mean 'value'\?"),
    ({"value": 24.1}, "value", r"is a bare number\. Write it in quotes, so that its digits are kept"),
    ({"value": ["24.1"]}, "value", r"is not text"),
    ({"after": "lid off"}, "after", r'is no list of sentences\. Write \["lid off", "took off U4"\]'),
    ({"after": ["lid off", 4]}, "after", r"is no list of sentences"),
    ({"after": ["lid off"]}, "after", r"nothing can be said before a sentence here"),
    ({"audio": None}, "audio", r"is missing"),
    ({"text": None}, "text", r"is missing"),
    ({"text": ""}, "text", r"is empty though something was meant"),
    ({"point": "inptu"}, "point", r"'inptu' is no point on this board\. Did you mean 'input'\?"),
    ({"point": "zzz"}, "point", r"'zzz' is no point on this board\. Write one of: input, rail 5, element, counter"),
    ({"point": "rail 5"}, "point", r"means 24\.1 V at 'input'; the label says 'rail 5'"),
    ({"value": "42.1"}, "value", r"means 24\.1 V at 'input'; the label says '42\.1'"),
    ({"value": "24.10"}, "value", r"means 24\.1 V at 'input'; the label says '24\.10'"),
    ({"value": None}, "value", r"is missing, though the text means 24\.1 V at 'input'"),
    ({"unit": None}, "unit", r"is missing, though the text means 24\.1 V at 'input'"),
    ({"unit": "volt"}, "unit", r"'volt' is not a unit benchvoice knows\. Write one of: V, "),
    ({"unit": "ohm"}, "unit", r"means 24\.1 V at 'input'; the label says 'ohm'"),
    ({"command": "strike"}, "command", r"means 24\.1 V at 'input'; the label says 'strike'"),
    ({"command": "strke"}, "command", r"'strke' is no command\. Did you mean 'strike'\?"),
    (
        {"text": "serial number alpha one", "value": None, "unit": None},
        "serial",
        r"is missing, though the text means the serial number A1",
    ),
    (
        {"text": "serial number alpha one", "value": None, "unit": None, "serial": "A2"},
        "serial",
        r"means the serial number A1; the label says 'A2'",
    ),
    ({"text": "rail nine reads five volts"}, "text", r"cannot mean that, heard on its own: .*rail nine"),
    ({"text": "input reads twenty four ohms"}, "text", r"cannot mean that, heard on its own: .*ohm"),
    ({"text": "input reads minus"}, "text", r"cannot mean that, heard on its own"),
    ({"text": "twenty four point one"}, "text", r"cannot mean that, heard on its own: the point was not said"),
    ({"text": "correction four", "command": "correction"}, "text", r"heard on its own: there is no reading to correct"),
    ({"text": "strike that"}, "command", r"is missing, though the text means the command 'strike'"),
    ({"text": "on rail five"}, "point", r"is missing, though the text means the command 'go to' rail 5"),
    ({"text": "note capacitor bulging"}, "value", r"means the note 'capacitor bulging'; the label says '24\.1'"),
    ({"audio": "b.wav"}, "audio", r"b\.wav: there is no such recording\. Check the name"),
    ({"audio": "corpus.jsonl"}, "audio", r"corpus\.jsonl: this is not a recording"),
]


@pytest.mark.parametrize(("change", "field", "message"), BAD)
def test_a_line_that_cannot_be_right_is_told_with_file_line_and_field(
    folder: Path, change: dict[str, Any], field: str, message: str
) -> None:
    wrong = {**READING, **change}
    with pytest.raises(CorpusError, match=message) as caught:
        read(folder, READING, "", wrong)
    assert (caught.value.file, caught.value.line, caught.value.field) == (str(folder / "corpus.jsonl"), 3, field)
    assert caught.value.cure
    assert not re.search(r"pydantic|Traceback|Field required", str(caught.value))


def test_talk_that_is_a_sentence_of_the_bench_must_be_labelled(folder: Path) -> None:
    with pytest.raises(CorpusError, match=r"line 1, value: is missing, though the text means 24\.1 V at 'input'"):
        read(folder, {"audio": "a.wav", "text": READING["text"]})


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("{", r"line 1: this is not JSON: .* at column \d+\. Write one object a line"),
        ("[" * 100_000, r"line 1: this is not JSON"),
        ("[]", r"line 1: this is not an object"),
        ('{"audio": "a.wav", "audio": "b.wav", "text": ""}', r"line 1, audio: is given twice"),
        ("\n\n", r"holds no lines"),
    ],
)
def test_what_is_no_corpus_is_told(folder: Path, line: str, message: str) -> None:
    with pytest.raises(CorpusError, match=message):
        read(folder, line)


def test_a_corpus_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    with pytest.raises(CorpusError, match=r"cannot be read \(No such file"):
        read_corpus(tmp_path / "missing.jsonl", PARSER)
    (tmp_path / "a.jsonl").write_bytes(b"\xff\xfe")
    with pytest.raises(CorpusError, match="is not UTF-8 text"):
        read_corpus(tmp_path / "a.jsonl", PARSER)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=5), inner, max_size=2),
    max_leaves=5,
)
KEYS = st.sampled_from(["audio", "text", "point", "value", "unit", "command", "x"])


@given(line=st.text() | JSON.map(json.dumps) | st.dictionaries(KEYS, JSON).map(json.dumps))
def test_any_line_is_taken_or_told(tmp_path_factory: pytest.TempPathFactory, line: str) -> None:
    corpus = tmp_path_factory.mktemp("any") / "corpus.jsonl"
    corpus.write_text(line, encoding="utf-8", errors="replace")
    with pytest.raises(CorpusError, match=r"corpus\.jsonl"):  # there is no sound, so none can be right
        read_corpus(corpus, PARSER)


def test_labels_to_group_by_are_free_text(folder: Path) -> None:
    labels = {"speaker": "voice 3", "noise": "hum 10 dB", "kind": "value alone", "talk": "first"}
    (line,) = read(folder, {**READING, **labels})
    assert (line.speaker, line.noise, line.kind, line.talk) == tuple(labels.values())
    assert line.number == 1


@pytest.mark.parametrize(
    ("label", "kind"),
    [
        (READING, "reading"),
        ({"text": "strike that", "command": "strike"}, "command"),
        ({"text": "on rail five", "point": "rail 5"}, "go to"),
        ({"text": "note capacitor bulging"}, "note"),
        ({"text": "take a note", "command": "note"}, "note"),
        ({"text": "serial number alpha one", "serial": "A1"}, "serial"),
        ({"text": "arrived wet"}, "work"),
        ({"text": "the kettle is on in the kitchen"}, "talk"),
        ({"text": ""}, "talk"),
    ],
)
def test_a_kind_that_is_not_labelled_is_that_of_what_was_meant(folder: Path, label: dict[str, str], kind: str) -> None:
    (line,) = read(folder, {"audio": "a.wav", **label})
    assert (line.kind, line.speaker, line.noise, line.talk) == (kind, "", "", "")
