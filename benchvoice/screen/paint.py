"""Puts the view on a terminal: the whole screen while the job is open, or plain lines that are only ever added."""

from __future__ import annotations

import io
import sys
from contextlib import ExitStack, redirect_stderr
from threading import Condition, Event, Thread
from types import MappingProxyType, TracebackType
from typing import Self, TextIO

from rich.console import Console, ConsoleDimensions, ConsoleOptions, RenderResult
from rich.live import Live
from rich.segment import Segment
from rich.style import Style

from benchvoice.screen.large_type import Ink
from benchvoice.screen.layout import layout
from benchvoice.screen.lines import Look, clean
from benchvoice.screen.plain import changes
from benchvoice.screen.view import View

__all__ = ["Painter", "ScreenImage", "ink_of"]

_SHORTEST_S = 0.1  # between two paints
_LOOK_S = 0.5  # between two looks at the terminal's size while nothing changes
_NEEDED = "█▀▄┃═░◆├┤◀▶·…−"

# Both colours of a band are given, so that it can be read on any background; all else is in the terminal's own.
_COLOURED = MappingProxyType(
    {
        Look.PLAIN: Style.null(),
        Look.STRONG: Style(bold=True),
        Look.PASS: Style(color="black", bgcolor="green"),
        Look.DOUBT: Style(color="black", bgcolor="yellow"),
        Look.FAIL: Style(color="bright_white", bgcolor="red"),
        Look.BAND: Style(reverse=True),
    }
)
_COLOURLESS = MappingProxyType(
    {look: style if style.color is None else Style(reverse=True) for look, style in _COLOURED.items()}
)


def ink_of(console: Console) -> Ink:
    """Blocks where the console's encoding and the terminal have them."""
    try:
        _NEEDED.encode(console.encoding)
    except UnicodeEncodeError:
        return Ink.ASCII
    return Ink.ASCII if console.legacy_windows else Ink.BLOCKS


class ScreenImage:
    """One view, drawn to the size of the console that shows it."""

    def __init__(self, view: View) -> None:
        self.view = view

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The lines, filled up to the width so that bands reach from side to side."""
        width, height = options.max_width, options.height or options.size.height
        looks = _COLOURLESS if console.no_color or console.color_system is None else _COLOURED
        for line in layout(self.view, width, height, ink_of(console)):
            yield from Segment.adjust_line_length([Segment(line.text, looks[line.look])], width, looks[line.look])
            yield Segment.line()


class Painter:
    """Shows views as they come. A context manager: the screen is taken on entering and given back on leaving.

    The whole screen is painted at most ten times a second, by a thread of its own, so that a slow terminal never holds
    up the ears; of several views within a tenth of a second only the last is seen. What is written to standard error
    meanwhile is held back and written on leaving. With `plain`, and where the console is no terminal, each change is a
    line and nothing is ever drawn over.

    Args:
        console: where to paint.
        plain: lines only.
    """

    def __init__(self, console: Console, plain: bool) -> None:
        self.console = console
        self.plain = plain or not console.is_terminal or console.is_dumb_terminal
        self._view: View | None = None
        self._changed = Condition()
        self._leaving = Event()
        self._failure: Exception | None = None
        self._stack = ExitStack()

    def __enter__(self) -> Self:
        """Take the screen."""
        if self.plain:
            return self
        with ExitStack() as stack:
            held = io.StringIO()
            stack.callback(_write_held, held, sys.stderr)
            stack.enter_context(redirect_stderr(held))
            live = Live(
                console=self.console, screen=True, auto_refresh=False, redirect_stdout=False, redirect_stderr=False
            )
            stack.enter_context(live)
            thread = Thread(target=self._paint_on, args=(live,), name="screen", daemon=True)
            thread.start()
            stack.callback(thread.join)
            stack.callback(self._leave)
            self._stack = stack.pop_all()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Give the screen back as it was found.

        Raises:
            OSError: the terminal could not be written to.
        """
        self._stack.__exit__(kind, error, trace)

    def show(self, view: View) -> None:
        """Show a view, or what is new in it.

        Raises:
            OSError: the terminal could not be written to.
        """
        if self.plain:
            for line in changes(self._view, view):
                # lines are for programs too: one line each, never wrapped
                self.console.out(clean(line, ascii_only=ink_of(self.console) is Ink.ASCII), highlight=False)
            self._view = view
            return
        if self._failure is not None:
            raise self._failure
        with self._changed:
            self._view = view
            self._changed.notify()

    def _leave(self) -> None:
        self._leaving.set()
        with self._changed:
            self._changed.notify()

    def _paint_on(self, live: Live) -> None:
        """The painting thread: a paint for each change of the view or of the terminal's size."""
        painted: tuple[View | None, ConsoleDimensions] = (None, self.console.size)
        while not self._leaving.is_set():
            with self._changed:
                if (self._view, self.console.size) == painted:
                    self._changed.wait(_LOOK_S)
                wanted = (self._view, self.console.size)
            if wanted == painted or wanted[0] is None:
                continue
            try:
                live.update(ScreenImage(wanted[0]), refresh=True)
            except Exception as failure:  # raised again by the next `show`, in the thread that can do something
                self._failure = failure
                return
            painted = wanted
            self._leaving.wait(_SHORTEST_S)


def _write_held(held: io.StringIO, stream: TextIO) -> None:
    stream.write(held.getvalue())
