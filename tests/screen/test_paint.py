"""The painter: plain lines, the whole screen on a terminal, and the terminal given back as it was found."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from benchvoice.screen.large_type import Ink
from benchvoice.screen.layout import layout
from benchvoice.screen.paint import Painter, ScreenImage, ink_of
from benchvoice.screen.view import EarState, View
from tests.screen.views import ASKED, FAIL, PASS

TAKEN, GIVEN_BACK = "\x1b[?1049h", "\x1b[?1049l"  # xterm's private mode 1049, the alternate screen (from memory)


def console(file: io.StringIO | None = None, **options: Any) -> Console:
    """A console of 80 by 24 with the sixteen basic colours, whatever the tests run on."""
    return Console(
        file=file or io.StringIO(),
        width=80,
        height=24,
        force_terminal=True,
        color_system="standard",
        legacy_windows=False,
        _environ={},
        **options,
    )


def eventually(fact: Callable[[], bool]) -> bool:
    """Whether the fact comes true; patient, so that a loaded machine does not turn a test red."""
    for _ in range(300):
        if fact():
            return True
        time.sleep(0.05)
    return False


def image(view: View, **options: Any) -> str:
    shown = console(**options)
    shown.print(ScreenImage(view), end="")
    assert isinstance(shown.file, io.StringIO)
    return shown.file.getvalue()


# --- plain --------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("options", [{"plain": True}, {"plain": False}])
def test_plain_lines_are_only_ever_added(options: dict[str, bool]) -> None:
    written = io.StringIO()
    # a console that is no terminal gets plain lines whether or not they were asked for
    with Painter(Console(file=written, width=40, _environ={}), **options) as painter:
        painter.show(FAIL)
        painter.show(replace(FAIL, level_dbfs=-20.0))
        painter.show(replace(FAIL, ear=EarState.DEAF, why="the microphone was unplugged"))
    assert written.getvalue() == (
        "GF-2 greenhouse fan controller, job GF-2-0001, before the repair, 5 not read\n"
        "journal: jobs/GF-2-0001/journal.jsonl\n"
        "heard: rail three point three reads four point oh\n"
        "!! fail, high: rail 3.3, 4.0 V; limits 3.14 to 3.47 V; U = 0.08 V\n"
        "said: Fail, high. Four point zero. Rail three point three. Limits three point one four to three point four "
        "seven.\n"
        "listening\n"
        "deaf: the microphone was unplugged\n"
    )


def test_plain_on_a_terminal_moves_no_cursor_and_colours_nothing() -> None:
    written = io.StringIO()
    with Painter(console(written), plain=True) as painter:
        painter.show(replace(FAIL, point="rail [bold]5[/bold]"))
    assert "\x1b" not in written.getvalue()
    assert "rail [bold]5[/bold]" in written.getvalue()


def test_an_encoding_without_the_signs_gets_ascii() -> None:
    written = io.BytesIO()
    shown = Console(file=io.TextIOWrapper(written, encoding="ascii", write_through=True), _environ={})
    assert ink_of(shown) is Ink.ASCII
    with Painter(shown, plain=True) as painter:
        painter.show(replace(FAIL, value_text="\u22124.7", unit="kΩ"))
    assert b"!! fail, high: rail 3.3, -4.7 kohm;" in written.getvalue()


# --- colour -------------------------------------------------------------------------------------------------------
def test_without_codes_the_image_is_the_layout() -> None:
    text = re.sub(r"\x1b\[[0-9;]*m", "", image(FAIL))
    assert text.split("\n") == [line.text.ljust(80) for line in layout(FAIL, 80, 24, Ink.BLOCKS)] + [""]


@pytest.mark.parametrize(("view", "code"), [(PASS, "30;42"), (FAIL, "97;41"), (ASKED, "30;43")])
def test_a_band_has_both_its_colours_so_that_no_background_swallows_it(view: View, code: str) -> None:
    coloured = set(re.findall(r"\x1b\[([0-9;]+)m", image(view))) - {"0", "1"}
    # ECMA-48 8.3.117: 30 to 37 colours of the letters, 40 to 47 of the ground; 97 is bright white (from memory)
    assert coloured == {code}


def test_without_colour_bands_are_reversed() -> None:
    codes = set(re.findall(r"\x1b\[([0-9;]+)m", image(FAIL, no_color=True)))
    assert codes == {"0", "1", "7"}


# --- the whole screen ---------------------------------------------------------------------------------------------
def test_the_screen_is_taken_painted_and_given_back() -> None:
    written = io.StringIO()
    with Painter(console(written), plain=False) as painter:
        painter.show(FAIL)
        assert eventually(lambda: "!! fail, high" in written.getvalue())
    text = written.getvalue()
    assert text.startswith(TAKEN)
    assert text.rstrip().endswith(GIVEN_BACK)
    assert text.count(TAKEN) == text.count(GIVEN_BACK) == 1
    assert text.rindex("\x1b[?25h") > text.rindex("\x1b[?25l"), "the cursor is shown again"


def test_of_many_views_the_last_is_painted_and_not_all_are() -> None:
    written = io.StringIO()
    with Painter(console(written), plain=False) as painter:
        start_s = time.monotonic()
        for number in range(2000):
            painter.show(replace(FAIL, heard=f"utterance {number}"))
        assert eventually(lambda: "utterance 1999" in written.getvalue())
        spent_s = time.monotonic() - start_s
    paints = written.getvalue().count("!! fail, high")
    assert 1 <= paints <= spent_s / 0.1 + 1


def test_nothing_is_painted_while_nothing_changes() -> None:
    written = io.StringIO()
    with Painter(console(written), plain=False) as painter:
        painter.show(FAIL)
        assert eventually(lambda: "!! fail, high" in written.getvalue())
        for _ in range(20):
            painter.show(replace(FAIL))
            time.sleep(0.03)
    assert written.getvalue().count("!! fail, high") == 1


def test_warnings_are_held_back_and_not_lost(capsys: pytest.CaptureFixture[str]) -> None:
    with Painter(console(), plain=False):
        print("benchvoice: the voice is missing", file=sys.stderr)
        assert capsys.readouterr().err == ""
    assert capsys.readouterr().err == "benchvoice: the voice is missing\n"


def test_an_error_in_the_work_gives_the_screen_back() -> None:
    written = io.StringIO()
    with pytest.raises(KeyboardInterrupt, match="stopped"), Painter(console(written), plain=False):
        raise KeyboardInterrupt("stopped")
    assert written.getvalue().rstrip().endswith(GIVEN_BACK)


class _Unplugged(io.StringIO):
    """A terminal that goes away once it holds text."""

    gone = False

    def write(self, text: str) -> int:
        if self.gone and "fail" in text:
            raise OSError(5, "Input/output error")
        return super().write(text)


def test_a_terminal_that_goes_away_is_told_to_whoever_shows() -> None:
    written = _Unplugged()

    def fails(painter: Painter) -> bool:
        try:
            painter.show(FAIL)
        except OSError:
            return True
        return False

    with Painter(console(written), plain=False) as painter:
        written.gone = True
        assert eventually(lambda: fails(painter))
        with pytest.raises(OSError, match="Input/output error"):
            painter.show(FAIL)
        written.gone = False


# --- a real terminal ----------------------------------------------------------------------------------------------
SCRIPT = """\
import sys, time
from pathlib import Path
from rich.console import Console
from benchvoice.screen.paint import Painter
from tests.screen.views import FAIL
print("before")
with Painter(Console(), plain=False) as painter:
    painter.show(FAIL)
    while not Path(sys.argv[1]).exists():
        time.sleep(0.05)
print("after")
time.sleep(60)
"""


class Terminal:
    """A program in a terminal of its own, made by tmux."""

    def __init__(self, folder: Path) -> None:
        self.socket = str(folder / "tmux")

    def tmux(self, *arguments: str) -> str:
        command = ["tmux", "-u", "-f", "/dev/null", "-S", self.socket, *arguments]
        return subprocess.run(command, capture_output=True, text=True, check=True, encoding="utf-8").stdout

    def start(self, *command: str) -> None:
        self.tmux("new-session", "-d", "-x", "80", "-y", "24", *command)

    def resize(self, width: int, height: int) -> None:
        self.tmux("resize-window", "-x", str(width), "-y", str(height))

    def lines(self) -> list[str]:
        return [line.rstrip() for line in self.tmux("capture-pane", "-p").split("\n")]


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    if shutil.which("tmux") is None:
        pytest.skip("tmux is not installed: apt-get install tmux")
    made = Terminal(tmp_path)
    yield made
    made.tmux("kill-server")


@pytest.mark.apt
@pytest.mark.parametrize(("encoding", "ink"), [("utf-8", Ink.BLOCKS), ("ascii", Ink.ASCII)])
def test_on_a_real_terminal_through_resizes(terminal: Terminal, tmp_path: Path, encoding: str, ink: Ink) -> None:
    def shows(width: int, height: int) -> bool:
        wanted = [line.text.rstrip() for line in layout(FAIL, width, height, ink)]
        return terminal.lines()[: len(wanted)] == wanted

    done = tmp_path / "done"
    script = tmp_path / "script.py"
    script.write_text(SCRIPT, encoding="utf-8")
    root = str(Path(__file__).parents[2])
    environment = [f"PYTHONPATH={root}", f"PYTHONIOENCODING={encoding}", "COLUMNS=", "LINES="]
    terminal.start("env", *environment, sys.executable, str(script), str(done))
    assert eventually(lambda: shows(80, 24))
    for width, height in ((120, 40), (40, 10), (25, 3), (80, 24)):
        terminal.resize(width, height)
        assert eventually(lambda width=width, height=height: shows(width, height)), terminal.lines()  # type: ignore[misc]
    done.touch()
    assert eventually(lambda: "after" in terminal.lines())
    assert [line for line in terminal.lines() if line] == ["before", "after"]
