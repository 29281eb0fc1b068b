"""`benchvoice check`: a board file, and every name on it that cannot be heard."""

from __future__ import annotations

import argparse
import json
from collections import Counter

from rich import box
from rich.markup import escape
from rich.table import Table

from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.console import limits_text, print_table
from benchvoice.commands.loading import load_board, load_language, load_meter, read_text
from benchvoice.commands.settings import open_checklist, open_ears
from benchvoice.decide.checklist_file import checklist_schema
from benchvoice.decide.coverage import not_covered
from benchvoice.decide.meter import meter_schema
from benchvoice.decide.profile import Board, json_schema, unlisted_parts
from benchvoice.errors import BoardError

__all__ = ["run"]


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    if arguments.schema:
        print(json.dumps(json_schema(), indent=2, ensure_ascii=False))
        return 0
    if arguments.meter_schema:
        print(json.dumps(meter_schema(), indent=2, ensure_ascii=False))
        return 0
    if arguments.checklist_schema:
        print(json.dumps(checklist_schema(), indent=2, ensure_ascii=False))
        return 0
    if arguments.board is None:
        raise BoardError(
            "no board file was named", cure="Name one, or give --schema, --meter-schema or --checklist-schema"
        )
    board = load_board(arguments.board)
    meter = load_meter(arguments.meter)
    checklist = open_checklist(arguments, arguments.checklist, arguments.board, board)
    grammar = BoardGrammar(board, meter, load_language(), checklist=checklist).grammar
    _print_board(board)
    for remark in () if meter is None else not_covered(board, meter):
        print(f"Not covered: {remark}.")
    for remark in unlisted_parts(read_text(arguments.board, BoardError), str(arguments.board)):
        print(remark)
    words = grammar.vocabulary()
    with open_ears(arguments, words, arguments.board) as ears:
        engines = " and ".join(recogniser.name for recogniser in ears.recognisers)
    if checklist is not None:
        parts = f" Parts: {', '.join(checklist.named)}." if checklist.named else ""
        print(f"Checklist '{checklist.name}': {checklist.end} steps, every one can be reached, every way ends.{parts}")
        proof = Counter(proof for _, proof in checklist.checks)
        if proof:
            print(f"They count as proof: {', '.join(f'{count} {name}s' for name, count in proof.items())}.")
    print(f"All {len(words)} words of this board and the grammar can be heard by {engines}.")
    return 0


def _print_board(board: Board) -> None:
    revision = f" revision {board.revision}" if board.revision else ""
    table = Table(box=box.SIMPLE_HEAD, title=escape(f"{board.name}{revision}"), title_justify="left")
    for heading in ("point", "quantity", "nominal", "limits", "say"):
        table.add_column(heading)
    for point in board.points:
        low, high = (None if limit is None else f"{limit:f}" for limit in (point.low, point.high))
        nominal = "" if point.nominal is None else f"{point.nominal:f} {point.unit}"
        table.add_row(
            escape(point.name),
            point.quantity if point.computed is None else f"{point.quantity}, computed",
            nominal,
            point.right or limits_text(low, high, point.unit),
            escape(", ".join(point.say)),
        )
    print_table(table)
