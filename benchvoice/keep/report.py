"""The job record as a page to print, a table and JSON."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from benchvoice.keep import wording
from benchvoice.keep.disk import write_whole
from benchvoice.keep.record_models import STATEMENTS, JobRecord, PointRecord, ReadingRecord
from benchvoice.keep.report_csv import render_csv
from benchvoice.keep.strip import PATTERNS, tolerance_strip

if TYPE_CHECKING:
    import jinja2

__all__ = ["render_csv", "render_html", "render_json", "write_reports"]

MARKS = {"pass": "✓", "conditional pass": "(✓)", "conditional fail": "(✗)", "fail": "✗", "recorded": "•"}
"""A sign per statement, so that colour is never the only one."""


@cache
def _template() -> jinja2.Template:
    import jinja2
    from markupsafe import Markup

    def shown(content: object) -> object:
        # every string of the record passes here before it is escaped; only our own markup is left as it is
        return wording.visible(content) if isinstance(content, str) and not isinstance(content, Markup) else content

    environment = jinja2.Environment(
        autoescape=True, finalize=shown, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters |= {
        "clip_link": wording.clip_link,
        "clock": wording.clock,
        "day_and_clock": wording.day_and_clock,
        "limits": wording.limits_text,
        "rounded": wording.rounded_uncertainty,
        "probability": wording.probability_text,
        "verdict": wording.verdict_text,
        "strip": lambda reading: Markup(tolerance_strip(reading)),
    }
    environment.globals |= {
        "amount": wording.amount,
        "signed": wording.signed,
        "marks": MARKS,
        "statements": STATEMENTS,
        "patterns": Markup(PATTERNS),
    }
    return environment.from_string(Path(__file__).with_name("report.html.j2").read_text(encoding="utf-8"))


def _in_board_order(record: JobRecord, stage: str) -> list[ReadingRecord]:
    found = (point.before if stage == "before" else point.after for point in record.points)
    return [reading for reading in found if reading is not None]


_OUTSIDE = ("fail", "conditional fail")


def _mended(point: PointRecord) -> bool:
    before, after = point.before, point.after
    judged = before is not None and after is not None and after.statement in ("pass", "conditional pass")
    return judged and before is not None and before.statement in _OUTSIDE


def render_html(record: JobRecord) -> str:
    """The record as one page of HTML: nothing is loaded from elsewhere, nothing in it runs, and it prints well."""
    current = [reading for reading in record.readings if reading.status == "current"]
    return _template().render(
        record=record,
        by_stage=[(stage, _in_board_order(record, stage)) for stage in record.stages],
        ended=[reading for reading in record.readings if reading.status != "current"],
        failed=[reading for reading in current if reading.statement in _OUTSIDE],
        mended=[point.name for point in record.points if _mended(point)],
        sources={point.name: point.source for point in record.points if point.source},
        bases=sorted({reading.basis for reading in current if reading.basis}),
    )


def render_json(record: JobRecord) -> str:
    """The record as JSON; `record_schema` describes it."""
    return record.model_dump_json(indent=2) + "\n"


def write_reports(record: JobRecord, folder: Path, kinds: Iterable[str] = ("html", "csv", "json")) -> tuple[Path, ...]:
    """Writes `record.html`, `record.csv` and `record.json` into a job's folder, each whole or not at all.

    Returns:
        The files, in the order of `kinds`.

    Raises:
        StorageError: no permission, or the disk is full.
        ValueError: a kind other than "html", "csv" and "json".
    """
    render = {"html": render_html, "csv": render_csv, "json": render_json}
    written = []
    for kind in kinds:
        if kind not in render:
            raise ValueError(f"a record is written as {', '.join(render)}, not as {kind!r}")
        path = folder / f"record.{kind}"
        write_whole(path, render[kind](record).encode("utf-8"))
        written.append(path)
    return tuple(written)
