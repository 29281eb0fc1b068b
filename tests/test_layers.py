"""Who may import whom: the table of the design, held against the source itself."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "benchvoice"
ROOMS = ("hear", "understand", "decide", "answer", "keep")
EDGES = ("loop", "cli", "commands")

SHARED = ("records", "events", "errors", "units", "files", "spelling", "tables")
"""What belongs to no room, and knows none."""

MAY_IMPORT = {
    # module (as a pattern): what it may import of ours, beside its own room
    "errors": (),
    "records": (),
    "files": (),
    "spelling": ("errors",),
    "tables": ("errors",),
    "units": ("errors",),
    "events": ("records",),
    "devices.*": ("errors",),
    "hear.*": (*SHARED, "devices"),
    "understand.*": SHARED,
    "decide.*": SHARED,
    "answer.*": (*SHARED, "devices"),
    "keep.*": SHARED,
    "keep.report": (*SHARED, "keep"),
    "loop": (*SHARED, "understand", "decide", "answer", "keep", "hear"),
    "live.*": (*SHARED, "hear", "loop", "screen"),
    "screen.*": (*SHARED, "decide", "keep", "loop"),
}

NEVER = {
    "hear.recogniser": ("hear.vosk_engine", "hear.sphinx_engine", "hear.network_engine"),
    "hear.segment": ("hear.audio", "hear.speech_detector"),
    "hear.decoder": ("hear.vosk_engine", "hear.sphinx_engine", "hear.network_engine", "hear.audio"),
    "keep.record*": ("keep.journal", "keep.journal_reader", "keep.seal", "keep.disk", "keep.report"),
    "live.*": ("hear.vosk_engine", "hear.sphinx_engine", "hear.network_engine", "hear.microphone", "screen.paint"),
    "loop": ("hear.vosk_engine", "hear.sphinx_engine", "hear.network_engine", "hear.audio", "answer.voice"),
}

ENGINES = {
    # library: the only modules that may name it
    "pocketsphinx": ("hear.sphinx*", "hear.lexicon"),
    "hama": ("hear.network*", "hear.lexicon"),
    "vosk": ("hear.vosk*", "models*"),
    "sounddevice": ("devices.portaudio",),
    "pulsectl": ("devices.routing",),
    "soundfile": ("hear.audio*", "answer.*", "keep.clips", "commands.*"),
    "soxr": ("hear.audio*", "hear.microphone", "hear.speech_detector", "answer.*"),
    "pyttsx3": ("answer.*",),
    "pywebrtc_audio": ("hear.*",),
}

PURE = (
    "understand.*",
    "decide.*",
    "hear.segment",
    "hear.decoder",
    "answer.phrases",
    "keep.record*",
    "keep.strip",
    "screen.view",
    "screen.large_type",
    "screen.lines",
    "screen.gauges",
    "screen.layout",
    "screen.plain",
    "hear.echo",
    "devices.clock",
)


def modules() -> dict[str, Path]:
    """Every module of ours by its name without `benchvoice.`."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        if name:
            found[name] = path
    return found


MODULES = modules()


def imported(path: Path) -> Iterator[str]:
    """The full names that a module imports anywhere, in functions too; `from a import b` gives both a and a.b."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name} imports relatively; write the full name"
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def ours(path: Path) -> set[str]:
    """The modules of ours among them."""
    names = {name.removeprefix("benchvoice.") for name in imported(path) if name.startswith("benchvoice.")}
    return {name for name in names if name in MODULES}


def room(name: str) -> str:
    return name.split(".", maxsplit=1)[0]


def matches(name: str, pattern: str) -> bool:
    return fnmatch(name, pattern) or (pattern.endswith(".*") and name == pattern[:-2])


@pytest.mark.parametrize("name", MODULES)
def test_a_module_imports_only_what_its_room_may(name: str) -> None:
    patterns = [pattern for pattern in MAY_IMPORT if matches(name, pattern)]
    if not patterns:
        assert room(name) in (*EDGES, "models", "demo", "score", "__main__"), f"{name} has no row in the table"
        return
    allowed = {*MAY_IMPORT[patterns[0]], *((room(name),) if "." in name or name in ROOMS else ())}
    strangers = {other for other in ours(MODULES[name]) if room(other) not in allowed}
    assert not strangers, f"{name} imports {', '.join(sorted(strangers))}"


@pytest.mark.parametrize(("pattern", "never"), NEVER.items())
def test_what_a_module_never_imports(pattern: str, never: tuple[str, ...]) -> None:
    concerned = [name for name in MODULES if matches(name, pattern)]
    assert concerned, f"no module is called {pattern}"
    for name in concerned:
        assert not ours(MODULES[name]) & set(never)


@pytest.mark.parametrize("name", MODULES)
def test_engines_and_devices_are_named_only_by_their_adapters(name: str) -> None:
    for library in {full.split(".")[0] for full in imported(MODULES[name])} & set(ENGINES):
        assert any(matches(name, pattern) for pattern in ENGINES[library]), f"{name} names {library}"


def test_nobody_imports_the_command_line() -> None:
    assert [name for name in MODULES if name != "__main__" and "cli" in ours(MODULES[name])] == []


@pytest.mark.parametrize("name", [name for name in MODULES if any(matches(name, pattern) for pattern in PURE)])
def test_pure_modules_read_no_file_and_no_clock(name: str) -> None:
    outside = {"os", "pathlib", "time", "socket", "subprocess", "tempfile", "secrets"}
    roots = {full.split(".")[0] for full in imported(MODULES[name])}
    assert not roots & outside, f"{name} imports {', '.join(sorted(roots & outside))}"
    for node in ast.walk(ast.parse(MODULES[name].read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            assert called not in ("open", "read_text", "read_bytes", "write_text", "now", "utcnow", "today"), (
                f"{name}, line {node.lineno}: calls {called}"
            )


@pytest.mark.parametrize("name", [name for name in MODULES if room(name) in ("understand", "decide")])
def test_measured_values_are_never_floats(name: str) -> None:
    for node in ast.walk(ast.parse(MODULES[name].read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id != "float", f"{name}, line {node.lineno}"
        if (
            isinstance(node, ast.Constant) and room(name) == "decide"
        ):  # likeness of names in understand is no measurement
            assert not isinstance(node.value, float), f"{name}, line {node.lineno}: {node.value} is a float"


def test_importing_everything_loads_no_engine_and_no_device() -> None:
    names = [f"benchvoice.{name}" for name in MODULES if name != "__main__"]
    code = (
        "import importlib, sys\n"
        f"for name in {names!r}: importlib.import_module(name)\n"
        f"print(*sorted({set(ENGINES)!r} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == []
    assert done.stderr == ""
