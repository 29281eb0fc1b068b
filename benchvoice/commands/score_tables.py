"""What `benchvoice score` prints: the tallies, the confusions, the sweep, and what changed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich import box
from rich.markup import escape
from rich.table import Table

from benchvoice.commands.console import print_table
from benchvoice.scoring.bounds import Rate
from benchvoice.scoring.comparison import Comparison
from benchvoice.scoring.sweep import Point
from benchvoice.scoring.tallies import (
    GROUPS,
    RESULTS,
    SERIAL,
    ReadBack,
    Scored,
    Tally,
    confusions,
    grouped,
    real_time_factor,
)

__all__ = ["print_comparison", "print_result", "print_sweep"]

_WIDTH = 130
_MOST = 30
"""Confusions, changes and the like that are printed; all are in the JSON."""


def print_result(scored: Sequence[Scored]) -> None:
    """The tallies over all and by label, then what was not heard right."""
    table = _table(f"{len(scored)} recordings; in brackets the 95 % bounds", "", "recordings", "words wrong", *RESULTS)
    _add(table, "all", Tally.of(scored))
    for group in GROUPS:
        for name, tally in grouped(scored)[group].items():
            _add(table, f"{group} {name}", tally)
    print_table(table, _WIDTH)
    _print_read_back(scored)
    _print_confusions(scored)
    factor = real_time_factor(scored)
    if factor is not None:
        print(f"One process needed {factor:.2f} s for each second of sound.")
    lines = [f"{item.result}: {item.audio}: said '{item.text}', heard '{item.heard}'" for item in scored
             if item.result != "right"]  # fmt: skip
    for line in lines:
        print(line)


def print_sweep(points: Sequence[Point], file: Path) -> None:
    """How the corpus ends under each setting, and where the picture lies."""
    table = _table("Thresholds moved, each alone", "threshold", "by", "accepted wrong", "asked", "ignored")
    for point in points:
        setting = point.setting
        rates = (point.accepted_wrong, point.asked, point.ignored)
        table.add_row(setting.threshold, f"{setting.shift:+g}", *map(_rate, rates))
    print_table(table, _WIDTH)
    print(file)


def print_comparison(comparison: Comparison, file: Path) -> None:
    """Sums before and after, and every change."""
    table = _table(f"Against {file}, recordings in both", "", "before", "after")
    for result in RESULTS:
        table.add_row(result, _rate(comparison.before[result]), _rate(comparison.after[result]))
    print_table(table, _WIDTH)
    lines = [
        f"{change.before} → {change.after}: {change.audio}: '{change.text}'"
        + (f" (taken for {change.taken_before or 'nothing'}, now {change.taken_after or 'nothing'})"
           if change.taken_before != change.taken_after else "")
        for change in comparison.changes
    ]  # fmt: skip
    _list(f"{len(lines)} changed", lines)
    _list(f"{len(comparison.added)} only in this run", comparison.added)
    _list(f"{len(comparison.gone)} only in the earlier run", comparison.gone)
    _list(f"{len(comparison.relabelled)} labelled otherwise", comparison.relabelled)


def _print_read_back(scored: Sequence[Scored]) -> None:
    """Serial numbers, which are never taken without a "yes" to what is read back."""
    serials = [item for item in scored if item.kind == SERIAL]
    if not serials:
        return
    heading = "Serial numbers, each read back and none kept without a yes"
    table = _table(heading, "", "recordings", "read back right", "otherwise", "not understood")
    speakers = dict.fromkeys(sorted(item.speaker for item in serials if item.speaker))
    for name, mine in [
        ("all", serials),
        *((f"speaker {who}", [each for each in serials if each.speaker == who]) for who in speakers),
    ]:
        found = ReadBack.of(mine)
        table.add_row(escape(name), str(len(mine)), *map(_rate, (found.right, found.otherwise, found.not_understood)))
    print_table(table, _WIDTH)


def _print_confusions(scored: Sequence[Scored]) -> None:
    found = confusions(scored)
    if not found:
        return
    table = _table("Confusions, worst first", "times", "", "said", "taken for, or offered first")
    for confusion in found[:_MOST]:
        table.add_row(str(confusion.count), confusion.result, escape(confusion.said), escape(confusion.heard))
    print_table(table, _WIDTH)
    if len(found) > _MOST:
        print(f"{len(found) - _MOST} more confusions are in the output of --json.")


def _list(heading: str, lines: Sequence[str]) -> None:
    print(f"{heading}{':' if lines else ''}")
    for line in lines[:_MOST]:
        print(f"  {line}")
    if len(lines) > _MOST:
        print(f"  {len(lines) - _MOST} more are in the output of --json.")


def _add(table: Table, name: str, tally: Tally) -> None:
    rates = (tally.words, *(tally.results[result] for result in RESULTS))
    table.add_row(escape(name), str(tally.recordings), *map(_rate, rates))


def _rate(rate: Rate) -> str:
    """The count, its share and the share's bounds: "3  2.0 % (0.7–5.7)"; blank of none."""
    if rate.rate is None:
        return ""
    text = f"{rate.count}  {100 * rate.rate:.1f} %"
    if rate.low is None or rate.high is None:
        return text
    return escape(f"{text} ({100 * rate.low:.1f}–{100 * rate.high:.1f})")


def _table(title: str, *headings: str) -> Table:
    table = Table(box=box.SIMPLE_HEAD, title=escape(title), title_justify="left")
    for heading in headings:
        table.add_column(heading)
    return table
