"""Which file may import which: downward only, and no web or database in rules and risk."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MAY_IMPORT = {
    "models.vocabulary": set[str](),
    "models.errors": set[str](),
    "models.database": {"models.errors"},
    "models.risk": {"models.risk", "models.vocabulary", "models.errors"},
    "models.rules": {"models.rules", "models.risk", "models.vocabulary", "models.errors"},
    "models.exchange": {
        "models.exchange",
        "models.rules",
        "models.risk",
        "models.vocabulary",
        "models.errors",
    },
    "models.actions": {
        "models.actions",
        "models.tables",
        "models.database",
        "models.rules",
        "models.risk",
        "models.exchange",
        "models.vocabulary",
        "models.errors",
    },
    "models.tables": {
        "models.tables",
        "models.database",
        "models.vocabulary",
        "models.errors",
    },
}
FROM_THE_WEB = {
    "api",
    "models.actions",
    "models.tables",
    "models.exchange",
    "models.rules",
    "models.risk",
    "models.database",
    "models.vocabulary",
    "models.errors",
}
# Pages and REST never import each other; only the app and the commands know all parts.
MAY_IMPORT |= {
    "api": FROM_THE_WEB,
    "api.pages": FROM_THE_WEB | {"api.pages"},
    "api.rest": FROM_THE_WEB | {"api.rest"},
    "api.app": FROM_THE_WEB | {"api.pages", "api.rest"},
    "api.commands": FROM_THE_WEB | {"api.app"},
}
NAMES_OF_NOTHING = {"utils", "helpers", "common", "misc", "core", "manager", "service", "crud"}


def modules() -> dict[str, Path]:
    files = sorted(f for top in ("models", "api") for f in (ROOT / top).rglob("*.py"))
    named = {".".join(f.relative_to(ROOT).with_suffix("").parts): f for f in files}
    return {name: f for name, f in named.items() if not name.endswith("__init__")}


def imported_from(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(("models", "api")):
            # `from api.rest import health` names a module, not a word of the package.
            modules_named = [f"{node.module}.{alias.name}" for alias in node.names]
            known = [name for name in modules_named if (ROOT / as_path(name)).exists()]
            yield from known or [str(node.module)]


def as_path(module: str) -> str:
    return f"{module.replace('.', '/')}.py"


def shelf(module: str) -> str:
    if module in MAY_IMPORT:
        return module
    top, second, *deeper = module.split(".")
    return top if top == "api" and not deeper else f"{top}.{second}"


def test_imports_go_downward_only() -> None:
    upward = [
        f"{name} imports {other}"
        for name, file in modules().items()
        for other in imported_from(ast.parse(file.read_text("utf-8")))
        if shelf(other) not in MAY_IMPORT[shelf(name)]
    ]
    assert upward == []


def test_no_module_imports_itself_by_a_detour() -> None:
    graph = {
        name: set(imported_from(ast.parse(f.read_text("utf-8")))) for name, f in modules().items()
    }
    TopologicalSorter(graph).prepare()


def test_no_import_hides_in_a_function() -> None:
    hidden = [
        f"{name}:{node.lineno}"
        for name, file in modules().items()
        for function in ast.walk(ast.parse(file.read_text("utf-8")))
        if isinstance(function, ast.FunctionDef)
        for node in ast.walk(function)
        if isinstance(node, ast.Import | ast.ImportFrom)
    ]
    assert hidden == []


def test_every_file_is_named_after_its_subject() -> None:
    assert [name for name in modules() if name.split(".")[-1] in NAMES_OF_NOTHING] == []


def test_rules_and_science_load_neither_web_nor_database() -> None:
    pure = [
        n for n in modules() if n.startswith(("models.rules", "models.risk", "models.exchange"))
    ]
    code = (
        f"import importlib, sys\nfor name in {pure}: importlib.import_module(name)\n"
        "print([n for n in ('fastapi', 'sqlalchemy', 'sqlmodel', 'pydantic') if n in sys.modules])"
    )
    answer = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert answer.stdout.strip() == "[]"


def test_every_module_stands_in_the_table_for_contributors() -> None:
    table = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    missing = [f for f in modules().values() if f"`{f.relative_to(ROOT)}`" not in table]
    assert missing == []
