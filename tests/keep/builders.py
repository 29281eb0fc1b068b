"""Events of an invented job on a kiln controller, for the tests of this room."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any, Literal

from benchvoice.events import (
    Asked,
    Closed,
    Command,
    Device,
    DeviceChange,
    Event,
    Heard,
    HeardAlternative,
    Lapsed,
    MeterInUse,
    Note,
    Opened,
    OpenedPoint,
    Reading,
    ReadingCandidate,
    Said,
    Withdrawn,
)
from benchvoice.keep.record_models import StatementName

START = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)

POINTS = (
    OpenedPoint(name="input", quantity="voltage", unit="V", nominal="24", low="21.6", high="26.4"),
    OpenedPoint(name="rail 5", quantity="voltage", unit="V", nominal="5", low="4.75", high="5.25"),
    OpenedPoint(
        name="rail 3.3",
        quantity="voltage",
        unit="V",
        nominal="3.3",
        low="3.14",
        high="3.47",
        source="as published by the board's maker",
    ),
    OpenedPoint(name="rail 3.3 to ground", quantity="resistance", unit="ohm", low="200"),
    OpenedPoint(name="thermocouple", quantity="temperature", unit="degC"),
)
METER = MeterInUse(name="bench meter, 6000 counts", sha256="ab" * 32)


class Story:
    """Makes events one after the other: numbers and times continue by themselves."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def _next(self) -> dict[str, Any]:
        seq = len(self.events) + 1
        return {"seq": seq, "at": START + timedelta(seconds=4 * (seq - 1))}

    def _add(self, event: Event) -> int:
        self.events.append(event)
        return event.seq

    def opened(self, **fields: Any) -> int:
        given: dict[str, Any] = {
            "job": "kiln-0007",
            "board": "KC-4 kiln controller",
            "revision": "B",
            "board_sha256": "cd" * 32,
            "points": POINTS,
            "meter": METER,
            "engine": "panel",
            "version": "0.1.0",
        }
        return self._add(Opened(**self._next(), **(given | fields)))

    def heard(self, text: str, outcome: Literal["accepted", "asked", "ignored"] = "accepted", **fields: Any) -> int:
        given: dict[str, Any] = {
            "source": "microphone",
            "alternatives": (HeardAlternative(text=text, score=-12.5),),
            "engine": "panel",
            "why": "network and sphinx agree",
        }
        return self._add(Heard(**self._next(), text=text, outcome=outcome, **(given | fields)))

    def reading(self, point: str, value: str, statement: StatementName = "pass", **fields: Any) -> int:
        of_board = {p.name: p for p in POINTS}.get(point)
        given: dict[str, Any] = {"heard": len(self.events), "quantity": "voltage", "unit": "V", "stage": "before"}
        if of_board is not None:
            given |= {name: getattr(of_board, name) for name in ("quantity", "unit", "nominal", "low", "high")}
        reading = Reading(**self._next(), point=point, value=value, statement=statement, **(given | fields))
        return self._add(reading)

    def asked(self, question: str, *candidates: ReadingCandidate, **fields: Any) -> int:
        given: dict[str, Any] = {"heard": len(self.events), "why": "sphinx hears fifty"}
        return self._add(Asked(**self._next(), question=question, candidates=candidates, **(given | fields)))

    def lapsed(self, asked: int, why: str = "another reading came") -> int:
        return self._add(Lapsed(**self._next(), asked=asked, why=why))

    def command(self, name: str, **fields: Any) -> int:
        return self._add(Command(**self._next(), heard=len(self.events), name=name, **fields))

    def note(self, text: str, **fields: Any) -> int:
        return self._add(Note(**self._next(), heard=len(self.events), text=text, **fields))

    def withdrawn(self, reading: int, **fields: Any) -> int:
        given: dict[str, Any] = {"heard": len(self.events)}
        return self._add(Withdrawn(**self._next(), reading=reading, **(given | fields)))

    def device(self, device: str, state: DeviceChange, **fields: Any) -> int:
        return self._add(Device(**self._next(), device=device, state=state, **fields))

    def said(self, text: str) -> int:
        return self._add(Said(**self._next(), text=text, tone="pass"))

    def closed(self, why: str = "by voice") -> int:
        return self._add(Closed(**self._next(), why=why))


def kiln_job() -> list[Event]:
    """A failed regulator, found, replaced and measured again; a question, a correction, a note, a second session."""
    s = Story()
    s.opened(complaint="kiln stays cold, lamp flickers", serial="KC4-00112", technician="bench 2")
    s.heard("input reads twenty four point one", clip="clips/000002.flac")
    s.reading("input", "24.1", uncertainty="0.16", probability="1.0000", deviation="0.1", deviation_percent="0.42")
    s.said("Pass. Twenty four point one.")
    s.heard("rail five reads five point oh two")
    s.reading("rail 5", "5.02", uncertainty="0.052", probability="1.0000", deviation="0.02", deviation_percent="0.40")
    s.heard("rail three point three reads four point oh", clip="clips/000007.flac")
    s.reading(
        "rail 3.3",
        "4.0",
        "fail",
        direction="high",
        uncertainty="0.075",
        probability="0.0000",
        deviation="0.7",
        deviation_percent="21.21",
        basis="meter and spoken digits",
    )
    s.heard("rail five reads fifty", "asked", clip="clips/000009.flac")
    s.asked(
        "Fifteen or fifty?",
        ReadingCandidate(point="rail 5", value="15", unit="V"),
        ReadingCandidate(point="rail 5", value="50", unit="V"),
    )
    s.heard("rail five reads five point oh three")
    s.lapsed(10)
    corrected = s.reading("rail 5", "5.03", heard=11, uncertainty="0.052", probability="1.0000", deviation="0.03")
    s.heard("correction five point oh one")
    s.command("correction", value="5.01", unit="V")
    s.withdrawn(corrected, heard=14)
    s.reading("rail 5", "5.01", heard=14, uncertainty="0.052", corrects=corrected, deviation="0.01")
    s.heard("so anyway", "ignored")
    s.heard("note the regulator runs hot", clip="clips/000019.flac")
    s.note("the regulator runs hot", verified=False, clip="clips/000019.flac")
    s.closed("by a signal")
    s.opened(resumed=True, stage="after", engine="network")
    s.heard("rail three point three reads three point three one")
    s.reading(
        "rail 3.3",
        "3.31",
        stage="after",
        uncertainty="0.043",
        probability="1.0000",
        deviation="0.01",
        deviation_percent="0.30",
        basis="meter and spoken digits",
    )
    s.heard("logic rail to ground reads over range")
    s.reading("rail 3.3 to ground", "over range", stage="after")
    s.closed()
    return s.events


def utterances(events: list[Event]) -> Iterator[list[Event]]:
    """The events as they are journalled: all of one utterance together."""
    group: list[Event] = []
    for event in events:
        if group and event.kind in ("opened", "heard", "said", "closed"):
            yield group
            group = []
        group.append(event)
    if group:
        yield group
