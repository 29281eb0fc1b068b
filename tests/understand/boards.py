"""Points of a greenhouse fan controller, and the language, for tests of the understand room."""

from __future__ import annotations

from functools import cache

from benchvoice.files import shipped
from benchvoice.records import Context, SpokenPoint
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.language import FILES, Language, read_language
from benchvoice.understand.parse import Parser

POINTS = (
    SpokenPoint("input", ("input", "supply input"), "voltage", "V", decimals=3),
    SpokenPoint("rail 5", ("rail five",), "voltage", "V", decimals=3),
    SpokenPoint("rail 3.3", ("rail three point three", "logic rail"), "voltage", "V", decimals=3),
    SpokenPoint("negative rail", ("negative rail", "minus twelve rail"), "voltage", "V", decimals=3),
    SpokenPoint("logic rail to ground", ("logic rail to ground",), "resistance", "ohm", decimals=3),
    SpokenPoint("fan current", ("fan current",), "current", "A", decimals=3),
    SpokenPoint("clock", ("clock",), "frequency", "Hz", decimals=3),
    SpokenPoint("bulk capacitor", ("bulk capacitor",), "capacitance", "F", decimals=2),
    SpokenPoint("regulator body", ("regulator body",), "temperature", "degC", decimals=1),
    SpokenPoint("flyback diode", ("flyback diode",), "diode drop", "V", decimals=3),
    SpokenPoint("line fuse", ("line fuse",), "continuity", "", decimals=0),
    SpokenPoint("output level", ("output level",), "level", "dB", decimals=2),
    SpokenPoint("fault code", ("fault code",), "digits", "", decimals=0, alone=False),
)

CONTEXTS = (
    Context(),
    Context(current="rail 5", last="rail 5"),
    Context(current="logic rail to ground", last="rail 3.3"),
    Context(current="regulator body", last="fault code", question_open=True),
    Context(current="fault code", last="flyback diode", question_open=True),
    Context(current="line fuse", last="line fuse"),
    Context(listening=False),
    Context(current="rail 5", last="rail 5", power=True, cautions=True, unacknowledged=True, timing=True),
    Context(intake=True),
    Context(intake=True, spelling=True, question_open=True),
)


@cache
def english() -> Language:
    """The English words that come with benchvoice."""
    folder = shipped("grammars") / "en"
    return read_language({name: (folder / name).read_text(encoding="utf-8") for name in FILES})


@cache
def grammar() -> Grammar:
    """The grammar of `POINTS`."""
    return Grammar(english(), POINTS)


@cache
def parser() -> Parser:
    """The parser of `POINTS`."""
    return Parser(grammar())
