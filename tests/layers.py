"""What the modules of a package import and call, read from their source, for the table in `test_layers.py`."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fnmatch import fnmatch
from functools import cache, cached_property
from pathlib import Path

__all__ = ["Module", "Tree", "matches", "room"]

OURS = "benchvoice"


def room(name: str) -> str:
    """The first part of a module's name: its room, or the module itself where it belongs to none."""
    return name.split(".", maxsplit=1)[0]


def matches(name: str, pattern: str) -> bool:
    """Whether a module is meant by a pattern; `hear.*` means the package `hear` itself too."""
    return fnmatch(name, pattern) or (pattern.endswith(".*") and name == pattern[:-2])


@dataclass(frozen=True)
class Module:
    """One source file. `name` is without `benchvoice.`."""

    name: str
    path: Path

    @cached_property
    def nodes(self) -> tuple[ast.AST, ...]:
        """Everything in it, from the module itself down."""
        return _nodes(self.path.read_text(encoding="utf-8"))

    @property
    def body(self) -> list[ast.stmt]:
        """The statements that run when it is imported."""
        (module, *_) = self.nodes
        assert isinstance(module, ast.Module)
        return module.body

    @cached_property
    def imported(self) -> frozenset[str]:
        """The full names that it imports anywhere, in functions too; `from a import b` gives both a and a.b."""
        return frozenset(_imported(self.nodes))

    @property
    def libraries(self) -> frozenset[str]:
        """The outside packages among them that do not come with Python."""
        return _libraries(self.imported)

    @property
    def loads(self) -> frozenset[str]:
        """The outside packages that it imports when it is imported itself."""
        return _libraries(frozenset(_imported(_at_import(self.body))))

    @property
    def relative(self) -> bool:
        """Whether anything is imported by a relative name."""
        return any(isinstance(node, ast.ImportFrom) and node.level for node in self.nodes)

    @property
    def calls(self) -> Iterator[tuple[str, int]]:
        """The plain name and line of every function or method called."""
        for node in self.nodes:
            if isinstance(node, ast.Call):
                yield node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", ""), node.lineno

    @property
    def floats(self) -> Iterator[tuple[float, int]]:
        """The value and line of every float that is written out."""
        for node in self.nodes:
            if isinstance(node, ast.Constant) and isinstance(node.value, float):
                yield node.value, node.lineno


class Tree:
    """A package's modules by their names.

    Args:
        package: its folder.
    """

    def __init__(self, package: Path) -> None:
        self.package = package
        self.modules: dict[str, Module] = {}
        for path in sorted(package.rglob("*.py")):
            parts = path.relative_to(package).with_suffix("").parts
            name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
            if name:
                self.modules[name] = Module(name, path)

    def like(self, *patterns: str) -> list[Module]:
        """The modules that any of the patterns means."""
        return [module for name, module in self.modules.items() if any(matches(name, each) for each in patterns)]

    def ours(self, module: Module) -> frozenset[str]:
        """The modules of this package that it imports."""
        names = {name.removeprefix(f"{OURS}.") for name in module.imported if name.startswith(f"{OURS}.")}
        return frozenset(names & set(self.modules))


@cache  # the tests read the same sources many times over
def _nodes(source: str) -> tuple[ast.AST, ...]:
    return tuple(ast.walk(ast.parse(source)))


def _imported(nodes: Iterable[ast.AST]) -> Iterator[str]:
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def _at_import(body: list[ast.stmt]) -> Iterator[ast.AST]:
    """What runs when a module is imported: all but the insides of functions and what is for the type checker alone."""
    for node in body:
        yield node
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            yield from _at_import(node.orelse)
        elif not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            for part in ("body", "orelse", "finalbody"):
                yield from _at_import(getattr(node, part, []))
            for handler in getattr(node, "handlers", []):
                yield from _at_import(handler.body)


def _libraries(names: frozenset[str]) -> frozenset[str]:
    return frozenset({name.split(".")[0] for name in names} - sys.stdlib_module_names - {OURS})
