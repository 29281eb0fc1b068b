"""The customer's page: what was found, done and proven, in plain words, and never more than was measured.

What is not proven stands under "Still open": a value that fails or was not read again, one that was read before a
part was last changed, a check that was skipped. Lists are cut to fit one page, and then say how much more there is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from unicodedata import east_asian_width

from benchvoice.keep.record_compare import BEFORE_ONLY
from benchvoice.keep.record_handover import CheckRecord, PartUsed, Stage
from benchvoice.keep.record_intake import accessories_text
from benchvoice.keep.record_models import (
    IntakeRecord,
    JobSummary,
    PointRecord,
    ReadingRecord,
    Session,
    TakenOut,
    VisitRecord,
)
from benchvoice.keep.wording import amount, limits_of, part_text

__all__ = ["CustomerPage", "CustomerSection", "customer_page", "cut"]

MOST_LINE = 150
"""Characters of a line, and of the complaint half as many again."""

_ROWS = {"Still open": 10, "Proof after the repair": 7, "What was found": 7, "What was done": 5}
"""Printed rows that each section may take; what one leaves goes to the others, in this order."""
_ROW_WIDTH = 88
"""Characters of a printed row, of usual width."""
_OUTSIDE = ("fail", "conditional fail")
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


@dataclass(frozen=True)
class CustomerSection:
    """A heading and its lines; `more` is how many lines were left out."""

    title: str
    lines: tuple[str, ...]
    more: int = 0


@dataclass(frozen=True)
class CustomerPage:
    """The page. `facts` are what unit and job are, each with its name; `received` says in which state the
    unit came, and with what; that and `warning` are empty where there is none."""

    job: str
    board: str
    facts: tuple[tuple[str, str], ...]
    complaint: str
    received: str
    warning: str
    sections: tuple[CustomerSection, ...]
    ending: tuple[str, ...]


def customer_page(record: JobSummary, notes: Sequence[tuple[Stage, str]] = ()) -> CustomerPage:
    """The page of the latest visit.

    Args:
        record: the job.
        notes: observations of that visit that were heard beyond doubt, each with its stage.
    """
    repaired = any(point.lacks for point in record.points) or "after" in record.stages or bool(record.parts_used)
    still_open = _open(record, repaired)
    sections = [
        ("What was found", _found(record, repaired) + _noted(notes, "before")),
        ("What was done", _done(record) + _noted(notes, "after")),
        ("Proof after the repair", _proof(record, repaired)),
        ("Still open", still_open or ["Nothing that this record knows of."]),
    ]
    return CustomerPage(
        job=cut(record.job, 60),
        board=cut(record.board + (f", revision {record.revision}" if record.revision else ""), 80),
        facts=_facts(record),
        complaint=cut(record.complaint or "", MOST_LINE * 3 // 2),
        received=cut(_received(record), MOST_LINE * 3 // 2),
        warning=_warning(record),
        sections=_fitted({title: [cut(line, MOST_LINE) for line in lines] for title, lines in sections}),
        ending=_ending(record),
    )


def cut(text: str, most: int) -> str:
    """The text in one line, and its beginning alone where it is too long for the page."""
    line = " ".join(re.split(r"[ \t\r\n]+", text.strip()))  # what belongs together stays so
    return line if len(line) <= most else line[: most - 2].rstrip() + " …"


def _fitted(sections: Mapping[str, Sequence[str]]) -> tuple[CustomerSection, ...]:
    """The sections, each with as many lines as there are rows for."""
    needs = {title: sum(map(_rows, lines)) for title, lines in sections.items()}
    spare = sum(max(0, most - needs[title]) for title, most in _ROWS.items())
    found = {}
    for title, most in _ROWS.items():
        lacks = min(spare, max(0, needs[title] - most))
        spare -= lacks
        found[title] = _section(title, sections[title], most + lacks)
    return tuple(found[title] for title in sections)


def _section(title: str, lines: Sequence[str], most: int) -> CustomerSection:
    if sum(map(_rows, lines)) <= most:
        return CustomerSection(title, tuple(lines))
    shown, left = 0, most - 1  # a row says how many more there are
    for line in lines:
        left -= _rows(line)
        if left < 0:
            break
        shown += 1
    return CustomerSection(title, tuple(lines[:shown]), len(lines) - shown)


def _rows(line: str) -> int:
    """How many rows a line takes in print: capitals are wider than other letters, and ideographs twice as wide."""
    twice = sum(east_asian_width(character) in ("W", "F") for character in line)
    width = len(line) + twice + sum(map(str.isupper, line)) // 2
    return 1 + max(0, width - 1) // _ROW_WIDTH


# --- what the job is ----------------------------------------------------------------------------------------------
def _facts(record: JobSummary) -> tuple[tuple[str, str], ...]:
    facts = [
        ("Job", cut(record.job or "–", 30) + (f", visit {record.visit}" if record.visit > 1 else "")),
        ("Serial number", record.serial or "not given"),
        ("Date", _days(_sessions_of(record, record.visit))),
        ("Technician", record.technician or "not given"),
    ]
    return tuple((name, cut(text, 40)) for name, text in facts)


def _sessions_of(record: JobSummary, visit: int) -> list[Session]:
    return [session for session in record.sessions if session.visit == visit]


def _days(sessions: Sequence[Session]) -> str:
    if not sessions:
        return "–"
    first, last = _day(sessions[0].opened_at, sessions[0]), _last_day(sessions)
    return first if last in (None, first) else f"{first} to {last}"


def _last_day(sessions: Sequence[Session]) -> str | None:
    """The day on which the last session was closed; None where it was cut off."""
    if not sessions or sessions[-1].closed_at is None:
        return None
    return _day(sessions[-1].closed_at, sessions[-1])


def _day(at: datetime, session: Session) -> str:
    """The day on the wall where that session was; in UTC where its clock is not known."""
    day = at.astimezone(timezone(timedelta(minutes=session.utc_offset_min or 0)))
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def _received(record: JobSummary) -> str:
    """How the unit came in and what goes back with it, in sentences."""
    states = _names([row.text for row in record.intake if row.what == "arrived"])
    came_with = accessories_text(record.intake)
    told = [_sentence(f"arrived {states}")] if states else []
    told += (
        [_sentence(f"came with {came_with}" + (", to go back with it" if came_with != "nothing" else ""))]
        if came_with
        else []
    )
    return " ".join(told)


def _warning(record: JobSummary) -> str:
    """What a reader has to know before anything else."""
    kept = record.integrity
    if kept is not None and (kept.torn or kept.incomplete or any(torn.missing for torn in kept.set_aside)):
        return "The journal of this job is not whole: see the technician's record before relying on this page."
    sessions = [session for session in record.sessions if session.visit == record.visit]
    if sessions and sessions[-1].closed_at is None:
        return "This job was not closed when the page was made: more may follow."
    return ""


def _ending(record: JobSummary) -> tuple[str, ...]:
    found = []
    if record.earlier:
        last = record.earlier[-1]
        found.append(_before(last, _sessions_of(record, last.visit)))
    if record.meter is None:
        found.append("Which meter was used is not recorded: a value near a limit is less certain than it looks.")
    found.append(
        "This page says what was measured and done at the bench, and nothing beyond that; the technician's record has "
        "every reading. It is no certificate of safety: what the law and local rules ask for stands beside it."
    )
    return tuple(found)


def _before(last: VisitRecord, sessions: Sequence[Session]) -> str:
    day = _last_day(sessions)
    closed = "" if day is None else f", closed on {day}"
    fitted = f"; then fitted: {_names([part.ref for part in last.parts_used])}" if last.parts_used else ""
    return f"The unit was here before (visit {last.visit}{closed}{fitted}). Nothing measured then is counted here."


# --- what was found -----------------------------------------------------------------------------------------------
def _found(record: JobSummary, repaired: bool) -> list[str]:
    read = [(point, point.before) for point in record.points if point.before is not None]
    outside = [(point, reading) for point, reading in read if reading.statement in _OUTSIDE]
    outside.sort(key=lambda each: each[1].statement != "fail")
    lines = [_sentence(f"{_called(point)} {_outside(reading, 'was')}") for point, reading in outside]
    lines += [
        _sentence(f"{point.name} showed {reading.value}") for point, reading in read if reading.quantity == "digits"
    ]
    when = " before the repair" if repaired else ""
    for how, computed in (("measured", False), ("computed", True)):
        of_these = [reading for _, reading in read if bool(reading.follows_from) is computed]
        passed = sum(reading.statement in ("pass", "conditional pass") for reading in of_these)
        near = sum(reading.statement == "conditional pass" for reading in of_these)
        if passed:
            which = _which(passed, "other " if any(reading in of_these for _, reading in outside) else "")
            close = (
                f", {near} of them close to a limit" if near and passed > 1 else ", close to a limit" if near else ""
            )
            lines.append(f"{which} {how}{when} {'was' if passed == 1 else 'were'} within limits{close}.")
    if not read:
        lines.append(f"Nothing was measured{when}.")
    lines += [_seen(row) for row in record.intake if row.what == "indicator"]
    damage = [row for row in record.rework if row.act == "damage"]
    lines += [_sentence(f"damage: {row.text}" + (f" at {row.ref}" if row.ref else "")) for row in damage]
    return lines


def _seen(row: IntakeRecord) -> str:
    """What a lamp or a beeper did, in plain words."""
    means = f", which means: {row.means}" if row.means else ""
    means = ", which is not in the maker's table" if row.unlisted else means
    return _sentence(f"{row.name}: {row.text}{means}")


def _which(number: int, other: str) -> str:
    """ "The other 4 values", "Both values", "The value"."""
    if number == 1:
        return f"The {other}value"
    if other:
        return f"The {other}{number} values"
    return "Both values" if number == 2 else f"All {number} values"


def _noted(notes: Iterable[tuple[Stage, str]], stage: Stage) -> list[str]:
    mine = dict.fromkeys(text for when, text in notes if when == stage)
    return [_sentence(f"noted: {'; '.join(mine)}")] if mine else []


def _called(point: PointRecord) -> str:
    """A point in plain words: "the 3.3 V supply (rail 3.3)", "the temperature at regulator body", "fan current"."""
    if point.supply and point.nominal is not None:
        return f"the {amount(point.nominal, point.unit)} supply ({point.name})"
    if not point.quantity or point.quantity in point.name.casefold():
        return point.name
    return f"the {point.quantity} at {point.name}"


def _outside(reading: ReadingRecord, verb: str) -> str:
    limits, value = limits_of(reading), _value(reading)
    if reading.expected:
        return f"{verb} {value} instead of {reading.expected}"
    if reading.statement == "conditional fail":
        return f"{verb} just outside its limits, closer than the meter can tell: {value}; limits {limits}"
    how = f"too {reading.direction}" if reading.direction else "outside its limits"
    return f"{verb} {how}: {value} instead of {limits}"


def _value(reading: ReadingRecord) -> str:
    return amount(reading.value, reading.unit) + (f" {reading.waveform}" if reading.waveform else "")


# --- what was done ------------------------------------------------------------------------------------------------
def _done(record: JobSummary) -> list[str]:
    lines = [f"Fitted: {part_text(part)}." for part in _latest(record.parts_used)]
    more = [row for row in record.rework if row.act in ("mended", "cleaned")]
    lines += [_sentence(f"{row.act}: {row.text}" + (f" ({row.ref})" if row.ref else "")) for row in more]
    return lines or ["No repair work was recorded."]


def _latest(parts: Iterable[PartUsed]) -> list[PartUsed]:
    """Of two parts that were fitted in one place the last one, which is in the unit."""
    return list({part.ref: part for part in parts}.values())


# --- proof --------------------------------------------------------------------------------------------------------
def _proven(point: PointRecord) -> bool:
    """Whether its reading after the repair can be shown as proof."""
    passes = point.after is not None and point.after.statement in ("pass", "conditional pass")
    return passes and set(point.lacks) <= set(BEFORE_ONLY)


def _proof(record: JobSummary, repaired: bool) -> list[str]:
    proven = [(point, point.after) for point in record.points if point.after is not None and _proven(point)]
    lines: list[str] = []
    others: list[str] = []
    for point, after in proven:
        before = point.before
        if before is not None and before.statement not in _OUTSIDE and after.statement == "pass":
            others.append(point.name)
            continue
        was = f"; before: {_value(before)}" if before is not None and before.statement in _OUTSIDE else ""
        how = "within limits" if after.statement == "pass" else "within limits, but close to one"
        limits = limits_of(after)
        lines.append(_sentence(f"{_called(point)}: {_value(after)}, {how} ({limits}{was})"))
    if others:
        also = "Also within limits" if lines else "Within limits"
        lines.append(f"{also} after the repair, as before: {_names(others)}.")
    if repaired and not proven:
        lines.append("No value within limits was measured after the repair: nothing measured shows that it works.")
    lines += _checked(record.checks)
    return lines or ["No repair was recorded, so there is nothing to prove."]


def _checked(checks: Sequence[CheckRecord]) -> list[str]:
    lines = []
    for proof, several in (("function test", "Function tests"), ("safety check", "Final safety checks")):
        mine = [check for check in checks if check.proof == proof and check.status != "does not apply"]
        passed = [check.step for check in mine if check.status == "passed" and check.proven]
        noted = [check for check in mine if check.status == "noted" and check.proven]
        if len(mine) > len(noted):
            told = f": {_names(passed, joint='; ')}" if passed else ""
            lines.append(f"{several} passed, {len(passed)} of {len(mine) - len(noted)}{told}.")
        lines += [_sentence(f"{check.step}: {check.outcome}") for check in noted if not _unjudged(check)]
    return lines


# --- what is open -------------------------------------------------------------------------------------------------
def _open(record: JobSummary, repaired: bool) -> list[str]:
    lines: list[str] = []
    unread: dict[str, list[str]] = {}
    for point in record.points:
        after, before = point.after, point.before
        failed = before is not None and before.statement in _OUTSIDE
        if after is not None and after.statement in _OUTSIDE:
            lines.append(_sentence(f"{_called(point)} {_outside(after, 'is')}"))
        elif failed and not repaired:
            lines.append(_sentence(f"{_called(point)}: no repair was recorded"))
        for lack in point.lacks:
            if lack in BEFORE_ONLY:
                continue
            if failed and after is None:
                lines.append(_sentence(f"{_called(point)}: {lack}"))
            else:
                unread.setdefault(lack, []).append(point.name)
    lines += [_sentence(f"{lack}: {_names(names)}") for lack, names in unread.items()]
    for how, computed in (("Measured", False), ("Computed", True)):
        readings = [(p.name, p.after) for p in record.points if p.after is not None and p.after.statement == "recorded"]
        unjudged = [name for name, reading in readings if bool(reading.follows_from) is computed]
        if unjudged:
            lines.append(f"{how} after the repair, but there are no limits to judge it by: {_names(unjudged)}.")
    read = {point.name for point in record.points if point.before is not None or point.after is not None}
    missing = [point.name for point in record.points if point.name not in read and not point.computed]
    if missing and not repaired:
        lines.append(f"Not measured: {_names(missing)}.")
    lines += [_sentence(_left_out(row)) for row in record.strip_down if row.status in ("still out", "left out")]
    if record.strip_down and record.unit_closed_at is None:
        lines.append("The unit was opened, and it is not recorded that it was closed.")
    lines += [_sentence(_unchecked(check)) for check in record.checks if _is_open(check)]
    return lines


def _unjudged(check: CheckRecord) -> bool:
    """Whether it was answered and the list does not say which answer is right: nothing is proven by that."""
    return check.status == "noted" and check.reading is None and check.outcome != "done"


def _is_open(check: CheckRecord) -> bool:
    if _unjudged(check):
        return True
    return check.status != "does not apply" and not check.proven


def _unchecked(check: CheckRecord) -> str:
    told = check.outdated if check.status in ("passed", "noted") else check.status
    if not told:
        told = f"{check.outcome} (the list does not say which answer is right)"
    why = f" ({check.reason})" if check.reason else f" ({check.outcome})" if check.status == "failed" else ""
    return f"{check.proof}, {check.step}: {told}{why}"


def _left_out(row: TakenOut) -> str:
    out = row.count - row.back
    name = f"{out} × {row.name}" if row.kind == "fastener" else row.name
    told = ", ".join(filter(None, (name, row.size, row.length, row.place)))
    return f"left out of the unit: {told} ({row.why})" if row.why else f"still out of the unit: {told}"


# --- words --------------------------------------------------------------------------------------------------------
def _names(names: Sequence[str], most: int = 6, joint: str = ", ") -> str:
    if len(names) <= most:
        return joint.join(names)
    return f"{joint.join(names[: most - 1])} and {len(names) - most + 1} more"


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}{'' if text[-1:] in '.?!' else '.'}"
