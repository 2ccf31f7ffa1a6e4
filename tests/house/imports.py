"""Reads the imports of the package and says which break the rules of the house.

The rules, from ARCHITECTURE.md:
- Stages import `core`, never each other; `workflow` joins the stages; `cli` and `web` call
  `workflow`. `messages` words findings of `core` for those three. `cli` starts `web`.
- `vault` encrypts bytes for `ledger` and `workflow`; it imports `core` at most.
- `core` holds nouns: no files, no processes, no network, nothing from outside the standard library.
- One module of `design` alone imports the solver, one module in all reads the clock, and the
  `ledger` alone knows the database. Web frameworks stay in `web`, command-line ones in `cli`.
- Nothing in the package calls out to a network.

Everything is read with `ast`, so imports inside functions and under TYPE_CHECKING count too.
"""

import ast
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

PACKAGE = "pinloom"

STAGES = frozenset(
    {"chart", "hardware", "design", "pinning", "proof", "audit", "growth"}
    | {"sheets", "ledger", "draft"}
)

#: package -> the packages it may import besides itself
MAY_IMPORT: dict[str, frozenset[str]] = {
    "core": frozenset(),
    "vault": frozenset({"core"}),
    **dict.fromkeys(STAGES, frozenset({"core"})),
    "ledger": frozenset({"core", "vault"}),
    "messages": frozenset({"core"}),
    "workflow": STAGES | {"core", "messages", "vault"},
    "web": frozenset({"core", "messages", "workflow"}),
    "cli": frozenset({"core", "messages", "workflow", "web"}),
}

#: library -> the packages that may import it
HOMES: dict[str, frozenset[str]] = {
    "pysat": frozenset({"design"}),
    "ortools": frozenset({"design"}),
    "sqlalchemy": frozenset({"ledger"}),
    "alembic": frozenset({"ledger"}),
    "psycopg": frozenset({"ledger"}),
    "sqlite3": frozenset({"ledger"}),
    "cryptography": frozenset({"vault"}),
    "fastapi": frozenset({"web"}),
    "starlette": frozenset({"web"}),
    "uvicorn": frozenset({"web"}),
    "click": frozenset({"cli"}),
    "ifcopenshell": frozenset({"draft"}),
    # calls to the outside
    "aiohttp": frozenset(),
    "ftplib": frozenset(),
    "http.client": frozenset(),
    "httpx": frozenset(),
    "requests": frozenset(),
    "smtplib": frozenset(),
    "urllib.request": frozenset(),
    "urllib3": frozenset(),
}

#: libraries that a single module of the package may import
SINGLE = ("pysat",)

#: standard modules that do input or output, or keep time
NOT_IN_CORE = frozenset(
    {"asyncio", "glob", "io", "logging", "multiprocessing", "os", "pathlib", "random", "secrets"}
    | {"select", "shutil", "socket", "subprocess", "sys", "tempfile", "threading", "time"}
)

CLOCK_CALLS = frozenset(
    {"datetime.now", "datetime.today", "datetime.utcnow", "date.today"}
    | {f"time.{n}" for n in ("time", "time_ns", "monotonic", "monotonic_ns", "perf_counter")}
    | {f"time.{n}" for n in ("perf_counter_ns", "process_time", "localtime", "gmtime", "sleep")}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """One import or call that breaks a rule."""

    module: str
    line: int
    rule: str

    def __str__(self) -> str:
        return f"{self.module}:{self.line}: {self.rule}"


def read_package(source: Path) -> dict[str, str]:
    """Module name -> source text, for every module under `source` (the folder of the package)."""
    modules = {}
    for path in sorted(source.rglob("*.py")):
        parts = [PACKAGE, *path.relative_to(source).with_suffix("").parts]
        modules[".".join(parts).removesuffix(".__init__")] = path.read_text(encoding="utf-8")
    return modules


def breaches(modules: Mapping[str, str]) -> list[Breach]:
    """Every breach in a package given as module name -> source text."""
    found: list[Breach] = []
    clock: list[Breach] = []
    single: dict[str, list[Breach]] = {name: [] for name in SINGLE}
    for module, text in modules.items():
        tree = ast.parse(text)
        for line, target in imports_of(tree):
            found += _judge(module, line, target)
            for library in SINGLE:
                if _is_within(target, library):
                    rule = f"a second module imports {library}"
                    single[library].append(Breach(module=module, line=line, rule=rule))
        for line, call in _clock_reads(tree):
            rule = f"a second module reads the clock ({call})"
            clock.append(Breach(module=module, line=line, rule=rule))
    for uses in [clock, *single.values()]:
        if len({use.module for use in uses}) > 1:
            found += uses
    return found


def imports_of(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and full dotted name of everything imported, as far as the text tells."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            base = "." * node.level + (node.module or "")
            for alias in node.names:
                yield node.lineno, f"{base}.{alias.name}"


def package_of(module: str) -> str:
    """The package below pinloom that a dotted name is in; empty for pinloom itself."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else ""


def _judge(module: str, line: int, target: str) -> Iterable[Breach]:
    here = package_of(module)
    if target.startswith("."):
        yield Breach(module=module, line=line, rule="relative import")
        return
    if not _is_within(target, PACKAGE):
        for library, homes in HOMES.items():
            if _is_within(target, library) and here not in homes:
                yield Breach(module=module, line=line, rule=f"{here} imports {library}")
        if here == "core" and target.split(".")[0] in NOT_IN_CORE:
            yield Breach(module=module, line=line, rule=f"core imports {target.split('.')[0]}")
        return
    there = package_of(target)
    if there in MAY_IMPORT and here in MAY_IMPORT and there not in MAY_IMPORT[here] | {here}:
        yield Breach(module=module, line=line, rule=f"{here} imports {there}")


def _is_within(target: str, library: str) -> bool:
    return target == library or target.startswith(f"{library}.")


def _clock_reads(tree: ast.AST) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute):
            owner = node.value
            name = owner.attr if isinstance(owner, ast.Attribute) else getattr(owner, "id", "")
            if f"{name}.{node.attr}" in CLOCK_CALLS:
                yield node.lineno, f"{name}.{node.attr}"
        elif isinstance(node, ast.ImportFrom) and node.module == "time":
            for alias in node.names:
                if f"time.{alias.name}" in CLOCK_CALLS:
                    yield node.lineno, f"time.{alias.name}"
