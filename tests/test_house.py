"""What the import rules cannot see: the plan of the house, kept by tests."""

from __future__ import annotations

import ast
import inspect
import pkgutil
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from django.apps import apps
from django.urls import get_resolver

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("crib", "assemblies", "labels")
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
#: Names of numbers that need no unit: counts, ranks, keys and percentages are what they say.
UNIT_SUFFIXES = (
    "_um", "_mm", "_inch", "_mnm", "_nm", "_rpm", "_g", "_s", "_min", "_deg", "_percent", "_m_s",
    "_pt", "_bytes", "_minutes", "_hours", "_days", "_tenths", "_dots", "_kw",
)  # fmt: skip
COUNTS = re.compile(
    r"(number|count|quantity|index|line|order|bits|places|decimals|length|limit|version|depth"
    r"|usable|pieces|minimum|a|b|n|pieces_per_change|hours|allowed|years|days"
    r"|months|pulls|between|degrees|fraction)$"
)


def rule_modules() -> list[str]:
    names = []
    for room in ROOMS:
        package = import_module(f"{room}.rules")
        names += [
            module.name
            for module in pkgutil.walk_packages(package.__path__, prefix=f"{room}.rules.")
            if not module.ispkg
        ]
    return names


RULES = rule_modules()


def test_every_rule_loads_without_django():
    """In an interpreter of its own, so that nothing else can have imported Django first."""
    code = (
        f"import sys, importlib\nfor name in {RULES!r}:\n    importlib.import_module(name)\n"
        "heavy = {'django', 'reportlab', 'qrcode', 'django_tables2'} & set(sys.modules)\n"
        "sys.exit(', '.join(heavy) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("room", ROOMS)
def test_packages_of_a_room_hold_no_code_of_their_own(room):
    for name in (room, f"{room}/rules"):
        text = (ROOT / name / "__init__.py").read_text()
        assert text == "", f"{name}/__init__.py stays empty"


def test_no_relation_points_to_a_higher_room():
    rank = {room: place for place, room in enumerate(ROOMS)}
    wrong = [
        f"{model.__name__}.{field.name} -> {field.related_model.__name__}"
        for model in apps.get_models()
        if model._meta.app_label in rank
        for field in model._meta.get_fields()
        if field.is_relation
        and not field.auto_created
        and field.related_model is not None
        and field.related_model._meta.app_label in rank
        and rank[field.related_model._meta.app_label] > rank[model._meta.app_label]
    ]
    assert wrong == []


def public_rules():
    for name in RULES:
        module = import_module(name)
        for function in vars(module).values():
            if (
                inspect.isfunction(function)
                and function.__module__ == name
                and not function.__name__.startswith("_")
            ):
                yield pytest.param(function, id=f"{name}.{function.__name__}")


PUBLIC_RULES = list(public_rules())


@pytest.mark.parametrize("function", PUBLIC_RULES)
def test_every_public_rule_is_explained(function):
    assert inspect.getdoc(function), f"{function.__qualname__} has no docstring"


#: Modules whose numbers are places in a text or words of a program, not measures.
TEXT_MODULES = re.compile(r"\.nc\.|\.wording$")
MEASURING_RULES = [p for p in PUBLIC_RULES if not TEXT_MODULES.search(p.values[0].__module__)]


@pytest.mark.parametrize("function", MEASURING_RULES)
def test_every_number_of_a_public_rule_carries_its_unit(function):
    for parameter in inspect.signature(function).parameters.values():
        if not re.fullmatch(r"(int|float|Decimal)( \| None)?", str(parameter.annotation)):
            continue
        name = parameter.name
        assert name.endswith(UNIT_SUFFIXES) or COUNTS.search(name), (
            f"{function.__module__}.{function.__name__}({name}): which unit?"
        )


JUDGING_RULES = [
    p
    for p in PUBLIC_RULES
    if "Finding" in str(inspect.signature(p.values[0]).return_annotation)
    and p.values[0].__module__.rsplit(".", 1)[0] in ("crib.rules", "assemblies.rules")
    and p.values[0].__module__ != "crib.rules.finding"
]


@pytest.mark.parametrize("function", JUDGING_RULES)
def test_every_rule_that_judges_names_its_source(function):
    assert "Source:" in inspect.getdoc(function)


VERDICT_LINES = [name for name in RULES if re.search(r"\.verdict\.\w+_lines$", name)]


@pytest.mark.parametrize("name", VERDICT_LINES)
def test_every_group_of_the_verdict_names_its_source(name):
    assert "Source:" in import_module(name).__doc__


URL_NAME = re.compile(r"""{%\s*url\s+['"]([\w:]+)['"]""")


def known_url_names() -> set[str]:
    names = set()
    for namespace, (_, resolver) in get_resolver().namespace_dict.items():
        names |= {f"{namespace}:{key}" for key in resolver.reverse_dict if isinstance(key, str)}
    return names | {key for key in get_resolver().reverse_dict if isinstance(key, str)}


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_address_in_a_template_exists(template):
    used = set(URL_NAME.findall(template.read_text()))
    assert used <= known_url_names()


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT)))
def test_templates_keep_to_the_content_policy(template):
    """No inline script, no inline style, no handler attribute: the browser would refuse them."""
    text = template.read_text()
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)
    assert not re.search(r"<style\b|\sstyle\s*=", text)
    assert not re.search(r"\son[a-z]+\s*=\s*[\"']", text)


def finding_codes(room: str) -> dict[str, set[str]]:
    """Codes given to `Finding(...)` or `Refused(...)` in a room, with the files they stand in."""
    found: dict[str, set[str]] = {}
    for path in (ROOT / room).rglob("*.py"):
        if "migrations" in path.parts:
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            first = node.args[0]
            if name in ("Finding", "Refused") and isinstance(first, ast.Constant):
                found.setdefault(first.value, set()).add(str(path.relative_to(ROOT)))
    return found


@pytest.mark.parametrize("room", ROOMS)
def test_codes_are_of_one_form(room):
    wrong = [code for code in finding_codes(room) if not re.fullmatch(r"[a-z_]+\.[a-z0-9_]+", code)]
    assert wrong == []


def mapped_files() -> set[str]:
    """Paths named in the file tables of DEVELOPERS.md."""
    text = (ROOT / "DEVELOPERS.md").read_text()
    rows = re.findall(r"^\|\s*(`[^|]+`)\s*\|", text, flags=re.M)
    return {path for row in rows for path in re.findall(r"`([\w./*-]+)`", row)}


def test_the_map_names_what_is_there_and_all_of_it():
    named = mapped_files()
    missing = [path for path in named if not list(ROOT.glob(path))]
    assert missing == [], "named in DEVELOPERS.md but not in the tree"
    covered = {found for path in named for found in ROOT.glob(path)}
    unnamed = [
        str(path.relative_to(ROOT))
        for room in (*ROOMS, "config")
        for path in (ROOT / room).rglob("*.py")
        if path.name not in ("__init__.py", "apps.py")
        and "migrations" not in path.parts
        and path not in covered
        and not any(parent in covered for parent in path.parents)
    ]
    assert unnamed == [], "in the tree but not in DEVELOPERS.md"
