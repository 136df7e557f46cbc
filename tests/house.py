"""The house in figures, read from its source: python tests/house.py

Modules per folder, circles of imports, the longest function and module, docstrings, lines.
"""

from __future__ import annotations

import ast
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import grimp

import finishlog

ROOT = Path(finishlog.__file__).parent
Function = ast.FunctionDef | ast.AsyncFunctionDef


def modules() -> list[Path]:
    """Every module of the program, but for the copies of a built wheel."""
    return [
        path for path in sorted(ROOT.rglob("*.py")) if not path.relative_to(ROOT).parts[0].startswith("_m")
    ]


@cache
def tree(path: Path) -> ast.Module:
    """The module, parsed."""
    return ast.parse(path.read_text("utf-8"))


def per_folder() -> Counter[str]:
    """How many modules each folder holds itself; `__init__` is the folder's own."""
    return Counter(
        path.parent.relative_to(ROOT.parent).as_posix() for path in modules() if path.stem != "__init__"
    )


@cache
def imports() -> dict[str, set[str]]:
    """What each module imports of the program, for types alone and inside functions too."""
    graph = grimp.build_graph("finishlog", cache_dir=None)
    return {module: set(graph.find_modules_directly_imported_by(module)) for module in graph.modules}


def circle(graph: Mapping[str, set[str]]) -> list[str]:
    """One circle of imports, empty where there is none."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as found:
        return list(found.args[1])
    return []


def functions() -> Iterator[tuple[int, str]]:
    """Length in lines and name of every function."""
    for path in modules():
        for node in ast.walk(tree(path)):
            if isinstance(node, Function):
                yield node.end_lineno - node.lineno, f"{path.relative_to(ROOT.parent)}: {node.name}"


def lengths() -> Iterator[tuple[int, str]]:
    """Length in lines and name of every module."""
    for path in modules():
        yield len(path.read_text("utf-8").splitlines()), str(path.relative_to(ROOT.parent))


CALLED_BY_THE_LIBRARY = re.compile(
    r"(on|action|watch|validate|key|_?render)_\w+|compose|render|check_action|get_\w+"
)
"""Methods of screens and widgets that Textual calls by their names: its own manual says what they are."""


def methods(kind: ast.ClassDef) -> dict[str, bool]:
    """The public methods of a class, and whether each says what it is."""
    parts = [part for part in kind.body if isinstance(part, Function) and not part.name.startswith("_")]
    return {part.name: bool(ast.get_docstring(part)) for part in parts}


@cache
def classes() -> dict[str, list[ast.ClassDef]]:
    """Every class of the program by its name."""
    found: dict[str, list[ast.ClassDef]] = defaultdict(list)
    for node in (node for path in modules() for node in tree(path).body if isinstance(node, ast.ClassDef)):
        found[node.name].append(node)
    return dict(found)


@cache
def said_by(kind: str) -> frozenset[str]:
    """The methods that a class of that name, or one it comes from, says something of."""
    own = classes().get(kind, [])
    bare = [base.value if isinstance(base, ast.Subscript) else base for node in own for base in node.bases]
    bases = [base.id for base in bare if isinstance(base, ast.Name) and base.id != kind]
    told = {name for node in own for name, said in methods(node).items() if said}
    return frozenset(told.union(*map(said_by, bases)))


def public(path: Path) -> Iterator[tuple[str, bool]]:
    """What ought to say what it is, and whether it does: the module, its classes, functions and methods.

    A method is said where the class that it comes from says it.
    """
    in_tui = "tui" in path.relative_to(ROOT).parts
    yield path.stem, bool(ast.get_docstring(tree(path)))
    for node in tree(path).body:
        if isinstance(node, (ast.ClassDef, *Function.__args__)) and not node.name.startswith("_"):
            yield node.name, bool(ast.get_docstring(node))
            for name, said in methods(node).items() if isinstance(node, ast.ClassDef) else ():
                if not (in_tui and CALLED_BY_THE_LIBRARY.fullmatch(name)):
                    yield f"{node.name}.{name}", said or name in said_by(node.name)


def undocumented() -> list[str]:
    """Public names without a docstring."""
    return [
        f"{path.relative_to(ROOT.parent)}: {name}"
        for path in modules()
        for name, said in public(path)
        if not said
    ]


def main() -> None:
    """Print the figures."""
    folders = per_folder()
    names = [name for path in modules() for name in public(path)]
    print(f"modules {len(modules())}, lines {sum(length for length, _ in lengths())}")
    print(
        "most modules in a folder", *(f"{count} {name}" for name, count in folders.most_common(5)), sep="\n  "
    )
    print("circle of imports:", " → ".join(circle(imports())) or "none")
    print("longest function", *max(functions()))
    print("longest module", *max(lengths()))
    print(f"public names with a docstring {len(names) - len(undocumented())} of {len(names)}")


if __name__ == "__main__":
    main()
