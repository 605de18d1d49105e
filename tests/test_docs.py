"""The documents say what the code does: settings, commands, codes, names of files and functions."""

from __future__ import annotations

import ast
import re
import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest
from django.core.management import get_commands

import dev

ROOT = Path(__file__).resolve().parent.parent
PAGES = [
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "crib/data/README.md",
    "docs/style.md",
    "docs/check_stack.md",
]
ROOMS = ("crib", "assemblies", "labels", "config")
READERS = {"read_text", "read_switch", "read_whole_number", "read_address"}


def text_of(page: str) -> str:
    return (ROOT / page).read_text(encoding="utf-8")


def first_column(page: str, head: str) -> list[str]:
    """The names in code marks of the first column of the table that `head` begins."""
    table = text_of(page).split(head, 1)[1].split("\n\n", 1)[0]
    return re.findall(r"^\| `([^`]+)` \|", table, flags=re.M)


def settings_read() -> set[str]:
    """Names that config/settings.py asks the environment for."""
    calls = (
        n for n in ast.walk(ast.parse(text_of("config/settings.py"))) if isinstance(n, ast.Call)
    )
    return {call.args[0].value for call in calls if getattr(call.func, "id", "") in READERS}


def test_the_table_of_settings_is_complete():
    assert sorted(first_column("README.md", "| setting |")) == sorted(settings_read())


def test_the_commands_in_the_readme_are_ours_and_all_of_them():
    ours = {name for name, app in get_commands().items() if app in ROOMS}
    named = first_column("README.md", "| command |")
    assert sorted(named) == sorted(f"manage.py {name}" for name in ours)


@pytest.mark.parametrize("page", PAGES)
def test_each_make_target_in_a_page_exists(page):
    named = set(re.findall(r"\bmake ([a-z]+)\b(?= |`|$)", "\n".join(code_of(page)), flags=re.M))
    targets = set(re.findall(r"^\.PHONY: (.*)$", text_of("Makefile"), flags=re.M)[0].split())
    assert named <= targets
    # `manage` takes words of its own, which make would take for targets.
    assert targets - {"clean"} == set(dev.COMMANDS) - {"manage"}


def code_of(page: str) -> list[str]:
    """What stands in code marks or code blocks of a page."""
    text = text_of(page)
    blocks = re.findall(r"^```\w*\n(.*?)^```", text, flags=re.M | re.S)
    return blocks + re.findall(r"`([^`\n]+)`", re.sub(r"^```.*?^```", "", text, flags=re.M | re.S))


PLACE = re.compile(r"((?:[\w.-]+/)+[\w-]+\.(?:py|md|html|css|js|csv))(?:: (\w+))?")


def places_named(page: str):
    return [found.groups() for code in code_of(page) if (found := PLACE.fullmatch(code))]


def files_at(path: str) -> list[Path]:
    """The files a path in a page may stand for: from the root, or inside a room."""
    tried = [ROOT / path, ROOT / "templates" / path, *(ROOT / room / path for room in ROOMS)]
    return [file for file in tried if file.is_file()]


@pytest.mark.parametrize("page", PAGES)
def test_each_file_and_function_named_in_a_page_exists(page):
    wrong = [
        (path, function)
        for path, function in places_named(page)
        if not any(function is None or f"def {function}(" in f.read_text() for f in files_at(path))
    ]
    assert wrong == []


def test_the_page_of_findings_is_what_the_source_says():
    spec = spec_from_file_location("make_findings", ROOT / "docs" / "make_findings.py")
    maker = module_from_spec(spec)
    # Its dataclass looks itself up by the name of its module.
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, spec.name, maker)
        spec.loader.exec_module(maker)
    assert text_of("docs/findings.md") == maker.page(), "run: python docs/make_findings.py"
