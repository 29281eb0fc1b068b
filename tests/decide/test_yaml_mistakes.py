"""Mistakes in YAML that people make, told at their own line and in plain words (common practice, no source)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.decide.yaml_text import load_document
from benchvoice.errors import BoardError

MISTAKES = [
    # text, the line where the mistake is, what is told, the cure
    ("board: X\npoints:\n  - {name: a, nominal: 5 V\n  - {name: b}\n", 3, "the bracket '{' is not closed", "Write '}'"),
    ("board: {x\n\n", 1, "the bracket '{' is not closed", "Write '}'"),
    ("a: x\nlimits: [4 V, 5 V\nstate: x\n", 2, "the bracket '[' is not closed", "Write ']'"),
    ("a: x\nb: {name: rail: 5, c: d}\n", 2, "a second colon between two commas", "quotation marks"),
    ("a:\n  - name: b\n   nominal: 5 V\n", 3, "indented otherwise", "Indent it like them"),
    ("a:\n  - name: b\n  nominal: 5 V\n", 3, "indented otherwise", "Indent it like them"),
    ("a:\n  - name: b\n     nominal: 5 V\n", 3, "as if it belonged to the line above", "like its neighbours"),
    ("a:\n  limits 4 to 6\n  # what follows is right\n  name: b\n", 2, "no colon and space", "a colon, a space"),
    ("a:\n  b: c\n  low:4\n  high: 6\n", 3, "no colon and space", "a space after the colon"),
    ("board:X\n\n# points\npoints: y\n", 1, "no colon and space", "a space after the colon"),
    ("a: b\nname: rail: 5\n", 2, "a second colon in the line", "quotation marks"),
    ('a: "X\nb: c\n', 1, "the quotation mark is not closed", "at the end of the text"),
    ("a: b\nlimit: %5\n", 2, "no text begins with % here", "quotation marks"),
    ("a: b\nlimit: @5\n", 2, "no text begins with @ here", "quotation marks"),
    ("a: b\n\tc: d\n", 2, "a tab", "spaces, not with tabs"),
]


@pytest.mark.parametrize(("text", "line", "what", "cure"), MISTAKES)
def test_a_mistake_is_told_where_it_is(text: str, line: int, what: str, cure: str) -> None:
    with pytest.raises(BoardError, match=r"^board\.yaml, line \d+: this is not YAML: ") as caught:
        load_document(text, "board.yaml")
    error = caught.value
    assert (error.line, what in error.what) == (line, True), error
    assert cure in (error.cure or "")


@given(st.text(alphabet="ab:{}[]-\"'%,# \n\t", max_size=60))
def test_any_text_is_read_or_refused_at_one_of_its_lines(text: str) -> None:
    refused = refusal(text)
    if refused is not None:
        assert refused.what
        assert refused.line is None or 1 <= refused.line <= text.count("\n") + 1


def refusal(text: str) -> BoardError | None:
    try:
        load_document(text, "board.yaml")
    except BoardError as error:
        return error
    return None
