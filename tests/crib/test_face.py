"""The shared partials, the frame round the page and the colours of the four verdicts."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.test import RequestFactory
from django.urls import include, path

from crib import context
from crib.rules.finding import Finding, Level
from crib.views import style

pytestmark = pytest.mark.urls("tests.crib.test_face")

SHEET = Path(context.__file__).parent / "static" / "crib" / "holderbook.css"


class Visitor:
    """A signed-in person who holds only the named permissions."""

    is_authenticated = True

    def __init__(self, *permissions: str, roles: tuple[str, ...] = ()) -> None:
        self.permissions = permissions
        self.roles = frozenset(roles)

    def may(self, permission: str) -> bool:
        return permission in self.permissions

    def __str__(self) -> str:
        return "Ines"


def _ok(request):
    return HttpResponse("ok")


crib_urls = (
    [
        path("", _ok, name="home"),
        path("items/", _ok, name="item_list"),
        path("people/", _ok, name="people"),
    ],
    "crib",
)
urlpatterns = [path("", include(crib_urls))]


def frame(address: str, *permissions: str) -> dict:
    request = RequestFactory().get(address)
    request.user = Visitor(*permissions)
    return context.shell(request)["shell"]


def test_the_menu_shows_pages_that_exist_and_that_the_person_may_open():
    labels = [entry.label for entry in frame("/", "view").get("nav")]
    assert labels == ["Home", "Items"]
    labels = [entry.label for entry in frame("/", "view", "people.manage").get("nav")]
    assert labels == ["Home", "Items", "People"]


@pytest.mark.parametrize(
    ("address", "current"), [("/", "Home"), ("/items/", "Items"), ("/items/7/", "Items")]
)
def test_the_menu_marks_where_the_person_is(address, current):
    assert [e.label for e in frame(address, "view")["nav"] if e.current] == [current]


def test_an_address_that_does_not_exist_leaves_its_form_out():
    shell = frame("/", "view")
    assert (shell["scan_url"], shell["sign_out_url"], shell["station_url"]) == ("", "", "")


def test_nobody_signed_in_sees_no_menu_and_no_scan_field():
    shell = context.shell(RequestFactory().get("/"))["shell"]
    assert (shell["nav"], shell["scan_url"], shell["acting"]) == ([], "", "")


def test_the_style_page_has_nothing_inline_that_the_policy_would_refuse():
    request = RequestFactory().get("/")
    request.user = Visitor("view")
    page = style.style_page(request).content.decode()
    assert re.findall(r"<style|\sstyle=|\son\w+=|<script(?![^>]*\ssrc=)", page) == []
    assert "http://" not in page.replace("http://www.w3.org/", "")


def test_the_page_for_a_fault_needs_no_context():
    assert "Not checked" in render_to_string("500.html")


def test_findings_show_word_number_limit_and_source():
    page = render_to_string("_findings.html", {"findings": style.FINDINGS})
    for level in Level:
        assert f"finding-{level}" in page
    assert "16000 1/min" in page
    assert page.count("<details") == len(style.FINDINGS)


def test_a_value_not_measured_is_said_to_be_not_known():
    finding = Finding("sample.case", Level.UNKNOWN, "Length missing.", None, 97.0, "mm")
    assert "not known" in render_to_string("_findings.html", {"findings": [finding]})


def test_no_findings_at_all_are_shown_as_unknown_and_not_as_a_pass():
    page = render_to_string("_findings.html", {"findings": []})
    assert "finding-unknown" in page
    assert "finding-pass" not in page


@pytest.mark.parametrize("verdict", style.VERDICTS, ids=lambda verdict: verdict.word_key)
def test_a_verdict_shows_its_own_word_and_class_only(verdict):
    page = render_to_string("_verdict.html", {"verdict": verdict})
    classes = set(re.findall(r"verdict-(match|check|stop|cant_tell)\b", page))
    assert classes == {verdict.word_key}
    assert re.search(r"<h1[^>]*>([^<]+)</h1>", page)[1].replace("&#x27;", "'") == verdict.word


def test_at_most_three_reasons_are_shown_and_the_worst_stands_first():
    reasons = [Finding(f"a.{n}", Level.CHECK, f"Reason {n}.") for n in range(5)]
    verdict = replace(style.VERDICTS[2], reasons=reasons, more=[])
    page = render_to_string("_verdict.html", {"verdict": verdict})
    assert re.findall(r"Reason \d", page) == ["Reason 0", "Reason 1", "Reason 2"]


def test_text_in_a_finding_cannot_become_markup():
    verdict = replace(style.VERDICTS[1], reasons=[Finding("a.b", Level.CHECK, "<b>x</b>")])
    assert "<b>x</b>" not in render_to_string("_verdict.html", {"verdict": verdict})


# Relative luminance and contrast as defined in WCAG 2.2 (W3C Recommendation, 2023).
def luminance(colour: str) -> float:
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def verdict_colours() -> dict[str, list[str]]:
    found = re.findall(
        r"--((?:match|check|stop|cant-tell)-(?:back|ink)): (#\w{6});", SHEET.read_text()
    )
    colours: dict[str, list[str]] = {}
    for name, colour in found:
        colours.setdefault(name, []).append(colour)
    return colours


def test_the_contrast_formula_gives_the_published_extremes():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


def test_verdict_colours_are_set_once_so_that_no_scheme_moves_them():
    colours = verdict_colours()
    assert len(colours) == 8
    assert all(len(values) == 1 for values in colours.values())


@pytest.mark.parametrize("verdict", ["match", "check", "stop", "cant-tell"])
def test_verdict_text_reaches_the_enhanced_contrast(verdict):
    """WCAG 2.2 success criterion 1.4.6 asks 7:1."""
    colours = verdict_colours()
    assert contrast(colours[f"{verdict}-back"][0], colours[f"{verdict}-ink"][0]) >= 7


@pytest.mark.parametrize("other", ["match", "check", "cant-tell"])
def test_stop_differs_from_every_other_verdict_in_lightness_and_not_only_in_hue(other):
    """WCAG 2.2 success criterion 1.4.11 asks 3:1 between what must be told apart."""
    colours = verdict_colours()
    assert contrast(colours[f"{other}-back"][0], colours["stop-back"][0]) >= 3


def rule_of(selector: str) -> dict[str, str]:
    """Declarations of the first rule with exactly this selector."""
    found = re.search(rf"^  {re.escape(selector)} {{(.*?)}}", SHEET.read_text(), re.M | re.S)
    return dict(re.findall(r"([\w-]+): ([^;]+);", found[1]))


def test_a_finding_brings_its_ink_along_with_its_ground():
    """On a verdict the colour inherited belongs to another ground."""
    rule = rule_of(".finding")
    assert (rule["color"], rule["background"]) == ("var(--ink)", "var(--sheet)")


@pytest.mark.parametrize("context", [{}, {"fitted": True}])
def test_cautions_at_the_spindle_name_what_is_still_to_be_done(context):
    page = render_to_string("_cautions.html", {"moment": "spindle", **context})
    assert ("Before fitting" in page) is not bool(context)
    assert "After fitting" in page


def test_no_two_verdicts_share_ground_colour():
    grounds = [colours[0] for name, colours in verdict_colours().items() if name.endswith("-back")]
    assert all(one != other for one, other in combinations(grounds, 2))
