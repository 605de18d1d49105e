"""Write docs/findings.md: every code of a finding or a refusal, read from the source.

Run: python docs/make_findings.py. A test compares the page with what this file reads, so a code
that comes, goes or changes its words needs one run.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "findings.md"
ROOMS = ("assemblies", "crib", "labels", "config")
CODE = re.compile(r"[a-z_…]+\.[a-z0-9_…]+")
#: Samples on the page of styles; nobody meets them at work.
NO_CODES = ("sample.",)
#: Parameters of the makers; those of others are read from their `def`.
MAKERS = {
    "Finding": ["code", "level", "text"],
    "Refused": ["code", "text", "remedy"],
    # A kind of refusal with a code of its own calls its parent.
    "__init__": ["code", "text"],
}
LEVELS = ("pass", "note", "check", "unknown", "stop_soft", "stop_hard", "refused")
HEAD = """# Findings and refusals

Written by `docs/make_findings.py` from the source; not changed by hand. `…` stands for what is
filled in: a number, a name, a part. A finding has one of the levels pass, note, check, unknown,
stop_soft, stop_hard; `refused` is an act that was not done. A dash: the sentence is put together
in the file named, or passed on from the findings behind it.

| code | level | sentence | file |
|---|---|---|---|
"""

Function = ast.FunctionDef | ast.Module
Functions = dict[str, ast.FunctionDef]


@dataclass(frozen=True)
class Known:
    """What names of one file stand for: its functions, and its tables."""

    functions: Functions
    tables: dict[str, ast.expr]


#: Code, levels and sentences, as one call gives them.
Said = tuple[str, set[str], list[str]]


@dataclass
class Entry:
    """What was read of one code; a code may be said in several places."""

    levels: set[str] = field(default_factory=set)
    texts: list[str] = field(default_factory=list)
    files: set[str] = field(default_factory=set)

    def row(self, code: str) -> str:
        levels = ", ".join(level for level in LEVELS if level in self.levels)
        texts = " / ".join(dict.fromkeys(self.texts)).replace("|", "\\|")
        return f"| `{code}` | {levels} | {texts or '–'} | {', '.join(sorted(self.files))} |"


# ---- reading expressions
def words(node: ast.expr | None) -> list[str]:
    """The sentences an expression may come to; empty where it cannot be told from the text."""
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) else []
    if isinstance(node, ast.JoinedStr):
        return ["".join(p.value if isinstance(p, ast.Constant) else "…" for p in node.values)]
    if isinstance(node, ast.IfExp):
        return words(node.body) + words(node.orelse)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return ["".join((words(side) or ["…"])[0] for side in (node.left, node.right))]
    return []


def called(node: ast.Call) -> str:
    return getattr(node.func, "id", getattr(node.func, "attr", ""))


def calls_in(node: ast.AST | None) -> list[ast.Call]:
    return [n for n in ast.walk(node or ast.Module([], [])) if isinstance(n, ast.Call)]


def levels_in(node: ast.AST | None) -> set[str]:
    """Levels an expression or a function names; `refused` where it refuses."""
    named = {
        part.attr.lower()
        for part in ast.walk(node or ast.Module([], []))
        if isinstance(part, ast.Attribute) and getattr(part.value, "id", "") == "Level"
    }
    return named or {"refused" for call in calls_in(node) if called(call) == "Refused"}


def chosen_levels(
    level: ast.expr | None, steps: list[dict[str, ast.expr]], known: Known
) -> set[str]:
    """Levels of a name that was looked up in a table of the file: `wanted, level = TABLE[kind]`."""
    if not isinstance(level, ast.Name):
        return set()
    looked_up = [step[level.id] for step in steps if isinstance(step.get(level.id), ast.Subscript)]
    tables = [known.tables.get(getattr(value.value, "id", "")) for value in looked_up]
    return set().union(*(levels_in(table) for table in tables))


def refuses(maker: ast.FunctionDef | None) -> bool:
    """Whether a function hands its code on to a refusal, and makes no finding of it."""
    names = {called(call) for call in calls_in(maker)}
    return "Refused" in names and "Finding" not in names


def said_by(function: ast.FunctionDef | None) -> list[str]:
    """Sentences that a maker of findings writes itself."""
    inner = [given(n, MAKERS[called(n)]) for n in calls_in(function) if called(n) in MAKERS]
    return [text for values in inner for text in words(values.get("text"))]


def given(call: ast.Call, names: list[str]) -> dict[str, ast.expr]:
    """What a call gives to the named parameters."""
    return dict(zip(names, call.args, strict=False)) | {k.arg: k.value for k in call.keywords}


# ---- reading functions
def functions_of(tree: ast.Module) -> Functions:
    return {node.name: node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


def tables_of(tree: ast.Module) -> dict[str, ast.expr]:
    """What the file itself gives names to, outside of its functions."""
    given_names = [pairs(node) for node in tree.body if isinstance(node, ast.Assign)]
    return {name: value for found in given_names for name, value in found}


@cache
def assigned(function: Function) -> list[dict[str, ast.expr]]:
    """What each statement of a function gives names to, in its order."""
    found = [n for n in ast.walk(function) if isinstance(n, ast.Assign)]
    return [dict(pairs(statement)) for statement in sorted(found, key=lambda n: n.lineno)]


def pairs(statement: ast.Assign) -> Iterator[tuple[str, ast.expr]]:
    """Name and value of an assignment, one by one where several are given at once."""
    target, value = statement.targets[0], statement.value
    starred = any(isinstance(part, ast.Starred) for part in ast.walk(value))
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple) and not starred:
        yield from zip((getattr(t, "id", "") for t in target.elts), value.elts, strict=True)
    elif isinstance(target, ast.Tuple):
        yield from ((getattr(name, "id", ""), value) for name in target.elts)
    elif isinstance(target, ast.Name):
        yield target.id, value


def makers_named(name: str, around: Function, known: Known) -> list[str]:
    """The makers behind a name: itself, or those it was chosen from."""
    if name in known.functions or name in MAKERS:
        return [name]
    chosen = [step[name] for step in assigned(around) if isinstance(step.get(name), ast.IfExp)]
    return [part.id for node in chosen for part in (node.body, node.orelse) if hasattr(part, "id")]


def parameters(name: str, known: Known) -> list[str]:
    """Parameters of a maker of findings; empty for any other function."""
    if name in MAKERS:
        return MAKERS[name]
    maker = known.functions.get(name)
    made = [a.arg for a in maker.args.args] if maker else []
    return made if made[:1] == ["code"] else []


def read_call(call: ast.Call, around: Function, known: Known) -> Iterator[Said]:
    """What one call says, for each maker it may go to."""
    for name in makers_named(called(call), around, known):
        values = given(call, parameters(name, known))
        if parameters(name, known) and "code" in values:
            yield from read_values(name, values, around, known)


def read_values(
    name: str, values: dict[str, ast.expr], around: Function, known: Known
) -> Iterator[Said]:
    code, level, text = values["code"], values.get("level"), values.get("text")
    steps, maker = assigned(around), known.functions.get(name)
    refused = {"refused"} if name in ("Refused", "__init__") or refuses(maker) else set()
    levels = refused or levels_in(level) or chosen_levels(level, steps, known)
    levels = levels or levels_in(maker) or levels_in(around)
    texts = words(text) or (nearest_text(steps, text) if text else said_by(maker))
    yield from paired(words(code), level, levels, texts)
    if not isinstance(code, ast.Name):
        return
    for step in steps:
        for found in codes_in(step.get("code")):
            told = words(text) or nearest_text(steps, step["code"])
            yield found, levels_in(step.get("level")) or levels, told


def nearest_text(steps: list[dict[str, ast.expr]], node: ast.expr) -> list[str]:
    """The sentence that a function puts into `text` nearest to a place in it."""
    given_there = [step["text"] for step in steps if "text" in step]
    nearest = min(given_there, key=lambda value: abs(value.lineno - node.lineno), default=None)
    return words(nearest)


def codes_in(node: ast.expr | None) -> list[str]:
    """Codes given to a name: directly, or out of a table of choices."""
    if node is None or words(node):
        return words(node)
    return [text for part in ast.walk(node) for text in words(part) if CODE.fullmatch(text)]


def paired(
    codes: list[str], level: ast.expr | None, levels: set[str], texts: list[str]
) -> Iterator[Said]:
    """Two codes chosen by one question take the two levels chosen by the same one."""
    either = [level.body, level.orelse] if isinstance(level, ast.IfExp) else []
    for place, code in enumerate(codes):
        yield code, levels_in(either[place]) if len(either) == len(codes) else levels, texts


# ---- reading the tree
def read_entries() -> dict[str, Entry]:
    """Every code of the source with its levels, sentences and files."""
    paths = [p for room in ROOMS for p in sorted((ROOT / room).rglob("*.py"))]
    trees = {p: ast.parse(p.read_text(encoding="utf-8")) for p in paths}
    shared = functions_of(trees[ROOT / "assemblies/rules/verdict/wording.py"])
    entries: dict[str, Entry] = {}
    for path, tree in trees.items():
        for code, levels, texts in read_file(tree, shared):
            if CODE.fullmatch(code) and not code.startswith(NO_CODES):
                entry = entries.setdefault(code, Entry())
                entry.levels |= levels
                entry.texts += texts
                entry.files.add(f"`{path.relative_to(ROOT).as_posix()}`")
    return entries


def read_file(tree: ast.Module, shared: Functions) -> Iterator[Said]:
    own = functions_of(tree)
    inside = {id(call) for function in own.values() for call in calls_in(function)}
    loose = [(call, tree) for call in calls_in(tree) if id(call) not in inside]
    held = [(call, function) for function in own.values() for call in calls_in(function)]
    known = Known(shared | own, tables_of(tree))
    for call, around in (*loose, *held):
        yield from read_call(call, around, known)


def page() -> str:
    entries = read_entries()
    return HEAD + "".join(f"{entries[code].row(code)}\n" for code in sorted(entries))


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
