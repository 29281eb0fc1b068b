"""`benchvoice score`: how well a labelled corpus is heard, through the same path as `hear`."""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from benchvoice.commands.console import progress, warn
from benchvoice.commands.corpus import CorpusLine, read_corpus, read_labels
from benchvoice.commands.score_hearing import Rooms, Scorer, heard_apart, read_rooms
from benchvoice.commands.score_tables import print_comparison, print_result, print_sweep
from benchvoice.commands.settings import check_output, open_ears
from benchvoice.errors import ModelError
from benchvoice.scoring.comparison import Comparison, compare, read_earlier
from benchvoice.scoring.picture import picture
from benchvoice.scoring.sweep import Point, swept, varies
from benchvoice.scoring.tallies import ReadBack, Scored, Tally, confusions, grouped, real_time_factor

__all__ = ["run"]


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    rooms = read_rooms(arguments.board, arguments.meter, arguments.checklist)
    lines = read_corpus(arguments.corpus, rooms.grammar.parser, rooms.context_after)
    earlier = None
    if arguments.against is not None:
        text = read_labels(arguments.against, cure="Name what 'benchvoice score --json' printed")
        earlier = read_earlier(text, str(arguments.against))
    if arguments.sweep is not None:
        inputs = (arguments.corpus, arguments.board, arguments.meter, arguments.checklist, arguments.against)
        cure = "Name a file that can be written with --sweep, such as sweep.svg"
        check_output(arguments.sweep, *inputs, what="the picture", cure=cure)
    scored = _heard(arguments, rooms, lines)
    for item in scored:
        for remark in item.remarks:
            warn(f"{item.audio}: {remark}")
    points = swept(scored) if arguments.sweep is not None else []
    if arguments.sweep is not None:
        arguments.sweep.write_text(picture(points, len(scored)), encoding="utf-8")
    comparison = None if earlier is None else compare(earlier, scored)
    if arguments.json:
        print(json.dumps(_document(scored, points, comparison)))
        return 0
    print_result(scored)
    if points:
        print_sweep(points, arguments.sweep)
    if comparison is not None:
        print_comparison(comparison, arguments.against)
    return 0


def _heard(arguments: argparse.Namespace, rooms: Rooms, lines: Sequence[CorpusLine]) -> list[Scored]:
    """Every line's result, in order. The ears are opened here first, so that what is wrong with them is said once."""
    workers = min(arguments.workers or _processors(), len(lines))
    ears = open_ears(arguments, rooms.grammar.vocabulary(), arguments.board)
    if arguments.sweep is not None and not varies(ears.voters):
        ears.close()
        cure = "Leave --sweep out, or score with --engine panel or network"
        raise ModelError("what hears has no margin that a sweep could move", cure=cure)
    if workers > 1:
        ears.close()
        return _watched(heard_apart(arguments, lines, workers), arguments.corpus, len(lines))
    scorer = Scorer(arguments, rooms, ears)
    try:
        return _watched(map(scorer.score, lines), arguments.corpus, len(lines))
    finally:
        scorer.close()


def _watched(results: Iterable[Scored], corpus: Path, total: int) -> list[Scored]:
    scored: list[Scored] = []
    with progress(f"scoring {corpus.name}") as show:
        show(0, total)
        for item in results:
            scored.append(item)
            show(len(scored), total)
    return scored


def _processors() -> int:
    """How many this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _document(scored: Sequence[Scored], points: Sequence[Point], comparison: Comparison | None) -> dict[str, Any]:
    """What is printed for --json. `real_time_factor` differs from run to run; the rest see `heard_apart`."""
    total = Tally.of(scored)
    factor = real_time_factor(scored)
    document: dict[str, Any] = {
        "recordings": len(scored),
        **{result: rate.count for result, rate in total.results.items()},
        "overall": total.as_json(),
        "by": {
            group: {name: tally.as_json() for name, tally in tallies.items()}
            for group, tallies in grouped(scored).items()
        },
        "confusions": [confusion.__dict__ for confusion in confusions(scored)],
        "read back": ReadBack.of(scored).as_json(),
        "sound_s": round(sum(item.sound_s for item in scored), 3),
        "real_time_factor": None if factor is None else round(factor, 4),
    }
    if points:
        document["sweep"] = [point.as_json() for point in points]
    if comparison is not None:
        document["against"] = comparison.as_json()
    return {**document, "each": [item.as_json() for item in scored]}
