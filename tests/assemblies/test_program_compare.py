"""Two revisions against each other, and the history of a program."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from assemblies.actions.comparing import compare_readings, figures_of, requirement_changes
from assemblies.actions.machines import save_machine
from assemblies.actions.programs import add_revision
from assemblies.actions.requirements import RequirementFigures
from assemblies.models import ProgramRevision, Reading, ToolRequirement
from assemblies.rules import changed_lines
from assemblies.views import program_compare, program_history
from tests import makers
from tests.assemblies import spindle_shop
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db

OLD = """%
O0412 (INVENTED)
G21 G90 G17 G94
T1 M6
S16000 M3
G43 H1
G0 X0. Y0. Z5.
G1 Z-2. F600.
G1 X100. F3000.
T3 M6
S16000 M3
G43 H3
G0 X0. Y0. Z5.
G1 Z-5. F600.
G1 X100. F3000.
T9 M6
S9000 M3
G43 H9
G0 X0. Y0. Z5.
G1 Z-1. F600.
M5
M30
%
"""
NEW = (
    OLD.replace("S16000 M3\nG43 H3", "S18000 M3\nG43 H3")
    .replace("G1 Z-5. F600.", "G1 Z-7. F600.")
    .replace("T9 M6", "T7 M6")
    .replace("H9", "H7")
)


def add(text: str, label: str, name: str = "HM-0412", by=None) -> ProgramRevision:
    by = by or makers.person("programmer")
    done = add_revision(by=by, submission=uuid4(), name=name, label=label, data=text.encode())
    return ProgramRevision.objects.get(pk=done.result)


def compared(old: str, new: str, role: str = "operator", **query):
    older, newer = add(old, "B"), add(new, "C")
    return signed_in(role).get(f"/programs/{older.pk}/against/{newer.pk}/", query)


def reading(revision: ProgramRevision) -> Reading:
    return revision.readings.get()


# ---- readings
def test_figures_are_taken_from_what_is_kept():
    tool = {one.tool_number: one for one in figures_of(reading(add(OLD, "B")))}[3]
    assert (tool.speed_max_rpm, tool.turns, tool.deepest_z_um) == (16_000, {"cw"}, -5_000)
    assert (tool.feed_min_mm_min, tool.feed_max_mm_min) == (600, 3_000)
    assert (tool.deepest_z_by_offset, tool.length_offsets) == ({"G54": -5_000}, {3})
    assert tool.is_certain("feed_rate_max", "cycles")


def test_a_reading_against_itself_is_the_same():
    kept = reading(add(OLD, "B"))
    comparison = compare_readings(kept, kept)
    assert {tool.status for tool in comparison.tools} == {"same"}
    assert comparison.sentence == "nothing changed for the tools"


def test_what_an_older_reader_did_not_keep_is_never_the_same():
    kept = reading(add(OLD, "B"))
    for use in kept.tool_uses.all():
        use.details.pop("exact")
        use.save()
    comparison = compare_readings(kept, Reading.objects.get(pk=kept.pk))
    assert all(tool.weighs for tool in comparison.tools)


# ---- the page
def test_two_revisions_are_told_apart_by_their_tools():
    page = compared(OLD, NEW)
    assert page.context["comparison"].sentence == (
        "T3: S16000 → S18000, 2.0 mm deeper, to Z-7.0; new: T7; gone: T9"
    )
    statuses = {row.number: row.compared.status for row in page.context["different"]}
    assert statuses == {3: "changed", 7: "added", 9: "gone"}
    assert [row.number for row in page.context["same"]] == [1]
    count = page.context["count"]
    assert (count.gone, count.added) == (4, 4)


def test_the_changed_lines_of_a_tool_are_shown_with_their_numbers():
    page = compared(OLD, NEW, lines="3")
    lines = [(b.gone, b.added) for b in page.context["blocks"]]
    assert lines == [
        (((11, "S16000 M3"),), ((11, "S18000 M3"),)),
        (((14, "G1 Z-5. F600."),), ((14, "G1 Z-7. F600."),)),
    ]
    assert "Lines of T3" in text_of(page)


@pytest.mark.parametrize("asked", ["", "x", "-1", "9" * 40, "٣"])
def test_lines_of_nothing_are_not_asked_for(asked):
    assert "blocks" not in compared(OLD, NEW, lines=asked).context


def test_a_tool_with_the_same_figures_and_other_lines_is_named():
    page = compared(OLD, OLD.replace("G1 X100. F3000.\nT3", "G1 Y100. F3000.\nT3"))
    assert page.context["different"] == []
    assert [row.number for row in page.context["other_lines"]] == [1]
    assert "Other lines, same figures" in text_of(page)


def test_lines_before_the_first_tool_change_are_told_too():
    page = compared(OLD, OLD.replace("(INVENTED)", "(INVENTED 2)"), lines="head")
    assert page.context["head_differs"]
    assert [len(block.added) for block in page.context["blocks"]] == [1]


def test_more_lines_than_a_page_takes_are_counted(monkeypatch):
    monkeypatch.setattr(program_compare, "LINES_SHOWN", 4)
    added = "".join(f"G1 X{n}.\n" for n in range(10))
    page = compared(OLD, OLD.replace("T3 M6\n", f"T3 M6\n{added}"), lines="3")
    (block,) = page.context["blocks"]
    assert len(block.added) == 2
    assert page.context["lines_left"] == 8


def test_texts_too_different_to_count_say_so(monkeypatch):
    monkeypatch.setattr(changed_lines, "MOST_LINES", 1)
    page = compared(OLD, NEW, lines="3")
    assert page.context["lines_too_many"]
    assert text_of(page).count("more than 5000 lines lie") == 2


def test_a_file_that_was_not_fully_read_is_never_the_same():
    page = compared(OLD, OLD.replace("M5\nM30", "G65 P9010\nM5\nM30"))
    assert "not fully read now" in page.context["comparison"].sentence
    assert {row.compared.status for row in page.context["different"]} == {"changed"}


def test_a_revision_that_was_not_read_is_not_compared():
    older, newer = add(OLD, "B"), add(NEW, "C")
    newer.readings.all().delete()
    page = signed_in("operator").get(f"/programs/{older.pk}/against/{newer.pk}/")
    assert "comparison" not in page.context
    assert page.context["not_read"] == [newer]
    assert "HM-0412 C was not read yet." in text_of(page)


def test_a_reading_of_an_older_reader_is_named():
    older, newer = add(OLD, "B"), add(NEW, "C")
    older.readings.update(reader_version=1)
    page = signed_in("operator").get(f"/programs/{older.pk}/against/{newer.pk}/")
    assert page.context["outdated"] == [older]


def test_both_are_read_as_one_machine_reads_them():
    lead = makers.person("lead")
    machine = spindle_shop.router(lead)
    machine.default_units = "inch"
    save_machine(by=lead, submission=uuid4(), machine=machine)
    bare = OLD.replace("G21 ", "")
    older, newer = add(bare, "B"), add(bare.replace("Z-5.", "Z-6."), "C")
    client = signed_in("operator")

    def sentence(**query):
        page = client.get(f"/programs/{older.pk}/against/{newer.pk}/", query)
        return page.context["comparison"].sentence

    assert "1.0 mm deeper" in sentence()
    assert "25.4 mm deeper" in sentence(machine="R1")
    missing = client.get(f"/programs/{older.pk}/against/{newer.pk}/", {"machine": "R9"})
    assert missing.status_code == 404


def test_only_two_revisions_of_one_program_are_compared():
    one, other = add(OLD, "B"), add(OLD, "B", name="HM-0413")
    client = signed_in("operator")
    for pair in ((one.pk, other.pk), (one.pk, one.pk), (one.pk, 99), (one.pk, "9" * 30)):
        assert client.get("/programs/{}/against/{}/".format(*pair)).status_code == 404


def test_a_comparison_asks_as_often_for_ten_tools_as_for_three(django_assert_num_queries):
    client = signed_in("operator")
    more = "".join(f"T{n} M6\nS900 M3\nG1 X{n}. F100.\n" for n in range(20, 27))
    few = [add(OLD, "B"), add(NEW, "C")]
    many = [
        add(text.replace("M5\n", f"{more}M5\n"), label) for text, label in ((OLD, "D"), (NEW, "E"))
    ]
    for older, newer in (few, many):
        with django_assert_num_queries(12):
            client.get(f"/programs/{older.pk}/against/{newer.pk}/", {"lines": "3"})


# ---- what is stated
def test_what_a_tool_must_be_is_compared_figure_by_figure():
    shop = spindle_shop.open_shop()
    other = RequirementFigures(
        kind="compression", diameter_um=10_000, diameter_tolerance_um=50, hand="right"
    )
    newer = spindle_shop.program_revision(shop.programmer, label="C", speed=9_000)
    assembly = shop.built()
    spindle_shop.confirm(shop.programmer, newer, 5, other, preferred=assembly)
    page = signed_in("operator").get(f"/programs/{shop.revision.pk}/against/{newer.pk}/")
    row = next(one for one in page.context["different"] if one.number == 5)
    told = {change.words: (change.before, change.after) for change in row.stated}
    assert told == {
        "Cutting diameter": ("12.00 mm", "10.00 mm"),
        "Gauge length": ("Gauge length within a window", "not stated"),
        "Gauge length wanted": ("95.00 mm", "not stated"),
        "Gauge length may differ by": ("1.00 mm", "not stated"),
        "Stick-out from": ("43.00 mm", "not stated"),
        "Stick-out to": ("47.00 mm", "not stated"),
        "Listed assembly": ("none", str(assembly.number)),
    }


def test_a_requirement_against_none_says_who_confirmed_and_what_it_states():
    row = ToolRequirement(tool_number=5, kind="drill", diameter_um=8_500)
    told = [(change.words, change.after) for change in requirement_changes(None, row)]
    assert told[0] == ("Confirmed", "not confirmed")
    assert [words for words, _ in told] == ["Confirmed", "Kind", "Cutting diameter"]
    assert requirement_changes(row, row) == []


# ---- history
def test_the_history_tells_each_revision_in_one_line_newest_first():
    by = makers.person("programmer")
    revisions = [
        add(text, label, by=by) for text, label in ((OLD, "A"), (NEW, "B"), (OLD + "\n", "C"))
    ]
    page = signed_in("operator").get(f"/programs/{revisions[0].pk}/history/")
    rows = page.context["rows"]
    assert [(row.revision.label, row.sentence) for row in rows] == [
        ("C", "T3: S18000 → S16000, 2.0 mm higher, to Z-5.0; new: T9; gone: T7"),
        ("B", "T3: S16000 → S18000, 2.0 mm deeper, to Z-7.0; new: T7; gone: T9"),
        ("A", "the first one"),
    ]
    text = text_of(page)
    assert all(revision.sha256[:12] in text for revision in revisions)
    assert f"/programs/{revisions[0].pk}/against/{revisions[1].pk}/" in page.content.decode()


def test_the_last_of_a_page_is_told_against_the_first_of_the_next(monkeypatch):
    monkeypatch.setattr(program_history, "REVISIONS_SHOWN", 2)
    revisions = [add(f"{OLD}({label})\n", label) for label in "ABC"]
    client = signed_in("operator")
    pages = [client.get(f"/programs/{revisions[0].pk}/history/", {"page": n}) for n in (1, 2, "x")]
    told = [
        [(row.revision.label, row.before and row.before.label) for row in p.context["rows"]]
        for p in pages
    ]
    assert told == [[("C", "B"), ("B", "A")], [("A", None)], [("C", "B"), ("B", "A")]]


def test_a_revision_that_was_not_read_is_not_called_unchanged():
    older, newer = add(OLD, "A"), add(NEW, "B")
    older.readings.all().delete()
    rows = signed_in("operator").get(f"/programs/{newer.pk}/history/").context["rows"]
    assert rows[0].sentence == "not read, so not compared"


def test_the_history_asks_as_often_for_four_revisions_as_for_two(django_assert_num_queries):
    client = signed_in("operator")
    first = add(OLD, "A")
    add(NEW, "B")
    with django_assert_num_queries(8):
        client.get(f"/programs/{first.pk}/history/")
    for label in "CD":
        revision = add(f"{OLD}({label})\n", label)
        ProgramRevision.objects.filter(pk=revision.pk).update(
            added_at=revision.added_at - timedelta(days=3)
        )
    with django_assert_num_queries(8):
        client.get(f"/programs/{first.pk}/history/")


@pytest.mark.parametrize("pk", ["99", "9" * 30])
def test_the_history_of_nothing_is_a_404(pk):
    assert signed_in("operator").get(f"/programs/{pk}/history/").status_code == 404
