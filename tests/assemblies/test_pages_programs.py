"""Programs: handing in, one revision, stating tool numbers, approving, reading the text."""

from __future__ import annotations

import re
from datetime import datetime
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from assemblies.actions import readings
from assemblies.actions.build import release, start_rebuild
from assemblies.actions.measure import Reading
from assemblies.forms import programs as forms
from assemblies.models import (
    Machine,
    Program,
    ProgramApproval,
    ProgramRevision,
    SpindleCheck,
    ToolRequirement,
)
from assemblies.tables import revision_tools
from crib.actions.once import do_once
from crib.models import Act
from tests import assembly_makers as made
from tests import makers
from tests.assemblies import spindle_shop
from tests.crib.pages import fill_in, send_twice, signed_in, submission_in, text_of

pytestmark = pytest.mark.django_db

TEXT = (
    b"%\nO0412 (INVENTED)\n(T5 = compression spiral D12)\nG21\nT5 M6\nS18000 M3\nG1 X1.\nM30\n%\n"
)
NEW = "/programs/new/"


@pytest.fixture
def revision():
    return spindle_shop.program_revision(makers.person("programmer"))


@pytest.fixture
def machine():
    return spindle_shop.router(makers.person("lead"))


def page_of(revision):
    return reverse("assemblies:program_revision", kwargs={"pk": revision.pk})


def stating(revision, tool_number):
    return reverse("assemblies:requirement", kwargs={"pk": revision.pk, "tool_number": tool_number})


def approval(revision):
    return reverse("assemblies:program_approve", kwargs={"pk": revision.pk})


def hand_in(client, data=TEXT, file_name="hm-0412.nc", **typed):
    typed = {"name": "HM-0412", "label": "C"} | typed
    if data is not None:
        typed["file"] = SimpleUploadedFile(file_name, data)
    return fill_in(client, NEW, **typed)


# ---- the list
def test_an_empty_list_says_what_to_do_next_to_those_who_may():
    page = signed_in("programmer").get("/programs/")
    assert 'href="/programs/new/"' in page.content.decode()
    page = signed_in("operator").get("/programs/")
    assert "No program here yet." in text_of(page)
    assert 'href="/programs/new/"' not in page.content.decode()


def test_the_list_finds_by_name_and_by_what_it_makes():
    by = makers.person("programmer")
    spindle_shop.program_revision(by, name="HM-1")
    client = signed_in("operator")
    assert "HM-1" in text_of(client.get("/programs/", {"q": "hm-1"}))
    assert "No program matches" in text_of(client.get("/programs/", {"q": "HM-2"}))


def test_the_list_names_the_revision_approved_last_not_the_newest(machine):
    """B was approved after A, and A again after that: A stands, and the list says so."""
    by, lead = makers.person("programmer"), makers.person("lead")
    old = spindle_shop.program_revision(by, label="A")
    new = spindle_shop.program_revision(by, label="B", speed=9_000)

    def approved():
        table = signed_in("operator").get("/programs/").context["table"]
        return next(iter(table.rows)).get_cell("approved")

    spindle_shop.approve(lead, old, machine, reason="first run")
    spindle_shop.approve(lead, new, machine, reason="slower")
    assert approved() == "B on Router 1"
    spindle_shop.approve(lead, old, machine, reason="B cuts badly")
    assert approved() == "A on Router 1"
    spindle_shop.approve(lead, old, machine, state="withdrawn", reason="both bad")
    assert approved() == "nowhere"


def test_the_list_asks_as_often_for_three_programs_as_for_one(django_assert_num_queries):
    by, client = makers.person("programmer"), signed_in("operator")
    spindle_shop.program_revision(by, name="HM-1")
    with django_assert_num_queries(9):
        client.get("/programs/")
    for name in ("HM-2", "HM-3"):
        spindle_shop.program_revision(by, name=name)
    with django_assert_num_queries(9):
        client.get("/programs/")


# ---- handing in
def test_a_file_is_read_once_however_often_it_is_sent():
    client = signed_in("programmer")
    number = submission_in(client.get(NEW))
    answers = [
        client.post(
            NEW,
            {
                "name": "HM-0412",
                "label": "C",
                "submission": number,
                "file": SimpleUploadedFile("a.nc", TEXT),
            },
        )
        for _ in range(2)
    ]
    revision = ProgramRevision.objects.get()
    assert [answer["Location"] for answer in answers] == [page_of(revision)] * 2
    assert bytes(revision.content) == TEXT
    assert revision.readings.get().tool_uses.get().tool_number == 5


def test_a_pasted_text_is_read_too():
    answer = hand_in(signed_in("programmer"), data=None, pasted=TEXT.decode())
    assert answer.status_code == 302
    assert ProgramRevision.objects.get().file_name == ""


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("file", {"data": None}),
        ("file", {"data": b""}),
        ("file", {"data": b"\n \n"}),
        ("file", {"data": b"PK\x03\x04" + b"T1 M6\n" * 9}),
        ("file", {"data": b"%PDF-1.7\n"}),
        ("file", {"data": bytes(range(256)) * 40}),
        ("pasted", {"pasted": "T1 M6\n"}),
        ("pasted", {"data": None, "pasted": "%PDF-1.7 T1 M6"}),
        ("file", {"data": None, "pasted": " \n "}),
        ("name", {"name": ""}),
        ("name", {"name": "N" * 61}),
        ("label", {"label": ""}),
        ("label", {"label": "L" * 13}),
        ("title", {"title": "t" * 121}),
    ],
)
def test_what_is_no_program_names_its_field_and_writes_nothing(field, typed):
    answer = hand_in(signed_in("programmer"), **typed)
    assert list(answer.context["form"].errors) == [field]
    assert not Program.objects.exists()
    assert not Act.objects.filter(kind="program.add").exists()


def test_a_file_too_large_is_refused_before_it_is_read(monkeypatch):
    monkeypatch.setattr(forms, "LARGEST_FILE", len(TEXT) - 1)
    answer = hand_in(signed_in("programmer"))
    assert list(answer.context["form"].errors) == ["file"]
    monkeypatch.setattr(forms, "LARGEST_FILE", len(TEXT))
    assert hand_in(signed_in("programmer")).status_code == 302


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("label", {"label": "c", "data": TEXT + b"\n"}),
        ("file", {"label": "D"}),
        ("pasted", {"label": "D", "data": None, "pasted": TEXT.decode()}),
    ],
)
def test_a_used_mark_and_the_same_file_are_refused_at_their_field(field, typed):
    client = signed_in("programmer")
    hand_in(client)
    answer = hand_in(client, **typed)
    assert list(answer.context["form"].errors) == [field]
    assert ProgramRevision.objects.count() == 1


def test_the_next_revision_starts_with_the_name_of_its_program(revision):
    page = signed_in("programmer").get(NEW, {"name": revision.program.name})
    assert page.context["form"]["name"].value() == "HM-0377"


def test_only_some_roles_hand_programs_in():
    for role in ("operator", "toolroom", "buyer"):
        client = signed_in(role)
        assert client.get(NEW).status_code == 403
        assert client.post(NEW, {"name": "x", "submission": uuid4()}).status_code == 403
    assert not Program.objects.exists()


# ---- one revision
def test_a_revision_shows_calls_tools_and_the_file(revision):
    page = text_of(signed_in("operator").get(page_of(revision)))
    for words in ("T5 line 3", "T3 line 7", "18000 1/min", "right (M3)", revision.sha256):
        assert words in page
    assert "Not fully read" not in page


def test_what_was_not_understood_is_admitted_with_its_line():
    client = signed_in("programmer")
    hand_in(client, data=b"T5 M6\nS[#1*2] M3\nG65 P9010 A1.\nM30\n")
    revision = ProgramRevision.objects.get()
    page = client.get(page_of(revision))
    assert not revision.readings.get().complete
    assert "Not fully read" in text_of(page)
    lines = [note["line"] for note in page.context["notes"] if note["severity"] == "unknown"]
    assert lines
    for line in lines:
        assert f"/text/?from={line}" in page.content.decode()


def test_a_program_without_a_tool_says_so():
    client = signed_in("programmer")
    hand_in(client, data=b"G0 X1.\nM30\n")
    page = text_of(client.get(page_of(ProgramRevision.objects.get())))
    assert "No tool number was found in this program." in page


def test_the_tool_list_groups_by_what_is_ready():
    shop = spindle_shop.open_shop()
    client = signed_in("toolroom")

    def groups():
        tally = client.get(page_of(shop.revision)).context["tally"]
        return {key: numbers for key, _, numbers in tally}

    assert groups() == {"none": [3, 5]}
    assembly = shop.built(released=False)
    assert groups() == {"none": [3], "needs_work": [5]}
    shop.built()
    assert groups() == {"none": [3], "ready": [5]}
    assert f"/assemblies/{assembly.number}/" in client.get(page_of(shop.revision)).content.decode()


def test_beside_build_one_stands_how_to_go_on_with_the_assembly_there_is():
    shop = spindle_shop.open_shop()
    assembly = shop.built(released=False)

    def ways_on(role):
        page = signed_in(role).get(page_of(shop.revision)).text
        names = ("rebuild", "bench")
        return [name for name in names if f"/assemblies/{assembly.number}/{name}/" in page]

    assert (ways_on("toolroom"), ways_on("operator")) == (["rebuild"], [])
    start_rebuild(by=shop.toolroom, submission=uuid4(), assembly=assembly, reason="cutter dull")
    assert ways_on("toolroom") == ["bench"]
    shop.finish(assembly)
    assert ways_on("toolroom") == []


def test_of_several_assemblies_the_listed_one_is_put_right():
    shop = spindle_shop.open_shop()
    _, second = shop.built(released=False), shop.built(released=False)
    figures = spindle_shop.WANTED
    spindle_shop.confirm(shop.programmer, shop.revision, 5, figures, preferred=second)
    page = signed_in("toolroom").get(page_of(shop.revision))
    tool = next(one for one in page.context["tools"] if one.tool_number == 5)
    assert tool.to_go_on_with.assembly == second


@pytest.mark.parametrize(
    ("readings", "group"),
    [
        ({"diameter": 12_050, "gauge_length": 95_000}, "ready"),
        ({"diameter": 12_051, "gauge_length": 95_000}, "none"),
        ({"diameter": 12_000, "gauge_length": 96_000}, "ready"),
        ({"diameter": 12_000, "gauge_length": 96_001}, "needs_work"),
    ],
)
def test_an_assembly_is_ready_up_to_its_tolerance_and_no_further(readings, group):
    shop = spindle_shop.open_shop()
    read = [Reading(name, value) for name, value in readings.items()]
    # A gauge length far from the sum is a point to answer for, hence the reason.
    assembly = shop.built(readings=[*read, Reading("runout", 8)], released=False)
    release(by=shop.toolroom, submission=uuid4(), assembly=assembly, reason="for this test")
    tally = signed_in("toolroom").get(page_of(shop.revision)).context["tally"]
    assert 5 in {key: numbers for key, _, numbers in tally}[group]


def test_what_nobody_confirmed_is_never_ready(revision):
    page = signed_in("toolroom").get(page_of(revision))
    assert {key: numbers for key, _, numbers in page.context["tally"]} == {"not_stated": [3, 5]}
    assert "?for=" not in page.content.decode()


def test_a_revision_asks_as_often_for_three_assemblies_as_for_one(django_assert_num_queries):
    shop, client = spindle_shop.open_shop(), signed_in("operator")
    shop.built()
    with django_assert_num_queries(15):
        client.get(page_of(shop.revision))
    for _ in range(2):
        shop.built()
    with django_assert_num_queries(15):
        client.get(page_of(shop.revision))


def test_a_revision_asks_as_often_with_three_machines_and_revisions(django_assert_num_queries):
    shop, client = spindle_shop.open_shop(), signed_in("programmer")
    lead = makers.person("lead")
    for number, settings in enumerate(({"default_units": "inch"}, {"t_alone_changes": True})):
        machine = spindle_shop.router(lead, mark=f"M{number}", name=f"Mill {number}", **settings)
        spindle_shop.approve(lead, shop.revision, machine)
    for number, label in enumerate("CDE"):
        spindle_shop.program_revision(shop.programmer, label=label, speed=9_000 + number)
    with django_assert_num_queries(15):
        page = client.get(page_of(shop.revision), {"machine": "M1"})
    assert len(page.context["shown"].ways) == 3
    assert len(page.context["others"]) == 3


# ---- as which machine reads it
STAGED = b"%\nO0412\nG21\nT5 M6\nS18000 M3\nG1 X1. F900\nT7\nG1 X9.\nM30\n%\n"


@pytest.fixture
def two_ways():
    """A program of which one machine sees another tool number than the standard does."""
    lead = makers.person("lead")
    plain = spindle_shop.router(lead)
    alone = spindle_shop.router(lead, mark="R/2", name="Router 2", t_alone_changes=True)
    hand_in(signed_in("programmer"), data=STAGED)
    return ProgramRevision.objects.get(), plain, alone


def tools_shown(revision, **query):
    page = signed_in("operator").get(page_of(revision), query)
    return [tool.tool_number for tool in page.context["tools"] if tool.use]


def test_the_page_shows_what_the_machine_asked_for_reads(two_ways):
    revision, plain, alone = two_ways
    assert tools_shown(revision) == [5]
    assert tools_shown(revision, machine="") == [5]
    assert tools_shown(revision, machine=plain.mark) == [5]
    assert tools_shown(revision, machine="r/2") == [5, 7]
    page = text_of(signed_in("operator").get(page_of(revision), {"machine": alone.mark}))
    assert "Read as Router 2 reads" in page
    assert "T without M6 changes the tool" in page


def test_the_only_machine_it_is_approved_on_is_shown_without_asking(two_ways):
    revision, plain, alone = two_ways
    lead = makers.person("lead")
    spindle_shop.approve(lead, revision, alone, reason="seen")
    assert tools_shown(revision) == [5, 7]
    spindle_shop.approve(lead, revision, plain, reason="seen")
    assert tools_shown(revision) == [5]


@pytest.mark.parametrize("mark", ["R9", " ", "R" * 500, "/", "<script>"])
def test_a_machine_that_there_is_not_is_a_404(revision, mark):
    assert signed_in("operator").get(page_of(revision), {"machine": mark}).status_code == 404


def test_one_way_for_all_machines_leaves_nothing_to_pick(revision, machine):
    page = signed_in("operator").get(page_of(revision)).content.decode()
    assert "As which machine reads it" not in page


def test_a_file_not_read_that_way_says_so_until_it_is_read(revision):
    alone = spindle_shop.router(makers.person("lead"), t_alone_changes=True)
    client = signed_in("programmer")
    address = page_of(revision)
    page = client.get(address, {"machine": alone.mark})
    assert "Not read the way Router 1 reads" in text_of(page)
    assert [tool.use for tool in page.context["tools"]] == [None, None]
    again = reverse("assemblies:program_read_again", kwargs={"pk": revision.pk})
    assert client.post(again, {"submission": submission_in(page)}).status_code == 302
    page = client.get(address, {"machine": alone.mark})
    assert "Not read" not in text_of(page)
    assert page.context["read_again"] is None


def test_a_reading_refused_says_why_and_keeps_the_old_one(revision, monkeypatch):
    revision.readings.update(reader_version=1)
    monkeypatch.setattr(readings, "MOST_TOOL_CHANGES", 1)
    client = signed_in("programmer")
    again = reverse("assemblies:program_read_again", kwargs={"pk": revision.pk})
    answer = client.post(again, {"submission": uuid4()})
    assert answer.status_code == 422
    assert "1 is the most" in text_of(answer)
    assert revision.readings.get().reader_version == 1


def test_the_order_of_calls_marks_what_was_called_before():
    text = b"G21\nT1 M6\nT2 M6\nT3 M6\nT1 M6\nM30\n"
    hand_in(signed_in("programmer"), data=text)
    page = signed_in("operator").get(page_of(ProgramRevision.objects.get()))
    steps = [(step.call.tool_number, step.again) for step in page.context["calls"]]
    assert steps == [(1, False), (2, False), (3, False), (1, True)]


def test_more_notes_than_fit_are_counted(revision, monkeypatch):
    monkeypatch.setattr(revision_tools, "MOST_NOTES", 1)
    hand_in(signed_in("programmer"), data=b"G65 P1\nG65 P2\nG65 P3\nT5 M6\nM30\n")
    newest = ProgramRevision.objects.order_by("-pk").first()
    page = signed_in("operator").get(page_of(newest))
    assert len(page.context["notes"]) == 1
    assert page.context["notes"][0]["severity"] == "unknown"
    count = len(newest.readings.get().notes) - 1
    assert f"{count} more of lower level" in text_of(page)


# ---- the top of the work
def top(revision):
    return reverse("assemblies:program_top_of_stock", kwargs={"pk": revision.pk})


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("18", 18_000),
        ("0", 0),
        ("-2,5", -2_500),
        ("−2.5 mm", -2_500),
        ("- 3/4 in", -19_050),
        ("", None),
    ],
)
def test_the_top_of_the_work_is_typed_in_mm_or_inches_above_or_below_zero(revision, typed, kept):
    client = signed_in("programmer")
    data = {"submission": uuid4(), "top_of_stock_um": typed}
    for _ in range(2):
        assert client.post(top(revision), data).status_code == 302
    assert ProgramRevision.objects.get().top_of_stock_um == kept
    assert Act.objects.filter(kind="program.top").count() == 1


@pytest.mark.parametrize("typed", ["deep", "--2", "1e3", "99999999", "-99999999", "+-1", "-", "٣"])
def test_a_top_of_the_work_that_is_no_length_is_refused_at_its_field(revision, typed):
    data = {"submission": uuid4(), "top_of_stock_um": typed}
    answer = signed_in("programmer").post(top(revision), data)
    assert answer.status_code == 422
    assert list(answer.context["top_form"].errors) == ["top_of_stock_um"]
    assert answer.context["top_form"]["top_of_stock_um"].value() == typed
    assert ProgramRevision.objects.get().top_of_stock_um is None


@pytest.mark.parametrize(
    ("zero_at", "stated_um", "said"),
    [
        ("top", None, "Z0 is at the top of the work, as usual on Router 1."),
        ("table", None, "Not stated. On Router 1 Z0 is at the table"),
        ("top", 18_000, "Stated: Z 18.0 mm"),
        ("table", -500, "Stated: Z -0.5 mm"),
    ],
)
def test_the_page_says_where_the_work_begins(revision, zero_at, stated_um, said):
    spindle_shop.router(makers.person("lead"), zero_at=zero_at)
    ProgramRevision.objects.update(top_of_stock_um=stated_um)
    page = text_of(signed_in("operator").get(page_of(revision), {"machine": "R1"}))
    assert said.replace("Z ", "Z") in page.replace("Z ", "Z")


def test_without_a_machine_nobody_says_where_zero_is(revision):
    page = signed_in("operator").get(page_of(revision))
    assert (page.context["shown"].top_um, page.context["shown"].top_by_zero) == (None, False)
    assert "Not stated." in text_of(page)


def test_only_some_roles_say_where_the_work_begins(revision):
    for role in ("operator", "toolroom", "buyer"):
        client = signed_in(role)
        assert top(revision) not in client.get(page_of(revision)).content.decode()
        assert client.post(top(revision), {"submission": uuid4()}).status_code == 403


# ---- asked for, carried on, asked again
def test_what_the_spindle_asked_for_is_shown_with_how_often(revision):
    def work(act):
        act.about, act.details = "program HM-0377", {"T": 5, "revision": "B"}

    for _ in range(2):
        by = makers.person("operator")
        do_once(submission=uuid4(), kind="program.ask", by=by, needs="view", work=work)
    assert "Asked for by the spindle: T5 (2×)" in text_of(signed_in("lead").get(page_of(revision)))


def test_what_was_carried_on_and_what_is_asked_again_say_why():
    shop = spindle_shop.open_shop()
    newer = spindle_shop.program_revision(shop.programmer, label="C", speed=15_000)
    client = signed_in("programmer")
    page = text_of(client.get(page_of(newer)))
    assert "as confirmed for revision B" in page
    assert "Asked again: S16000 → S15000" in page
    assert "for revision B; the program does the same here" in text_of(
        client.get(stating(newer, 5))
    )
    again = text_of(client.get(stating(newer, 3)))
    assert "Asked again. Since revision B the program changed: S16000 → S15000." in again


def test_an_approval_given_to_what_has_changed_since_is_refused_and_shown_anew(revision, machine):
    client = signed_in("lead")
    page = client.get(page_of(revision))
    seen = page.context["form"]["seen"].value()
    spindle_shop.confirm(makers.person("programmer"), revision, 5, spindle_shop.WANTED)
    typed = {"machine": machine.pk, "state": "approved", "reason": "first run", "seen": seen}
    answer = client.post(approval(revision), typed | {"submission": uuid4()})
    assert answer.status_code == 422
    assert "changed since this page was opened" in text_of(answer)
    fresh = answer.context["form"]["seen"].value()
    assert fresh != seen
    typed |= {"seen": fresh, "submission": uuid4()}
    assert client.post(approval(revision), typed).status_code == 302


def test_what_was_loaded_last_is_offered_where_nothing_is_stated():
    shop = spindle_shop.open_shop()
    assembly = shop.built()
    revision = shop.revision
    revision.requirements.filter(tool_number=5).delete()
    check = SpindleCheck(
        machine=shop.machine,
        revision=revision,
        tool_number=5,
        assembly=assembly,
        build=assembly.current_build,
        found_by="label",
        verdict="cant_tell",
        fully_known=False,
        decision="loaded",
        reason="text_agrees",
        shown_number=5,
        act=Act.objects.create(kind="check.decide", by=shop.operator),
        by=shop.operator,
        at=timezone.make_aware(datetime(2026, 6, 3, 8)),
    )
    check.save()
    page = signed_in("programmer").get(stating(revision, 5))
    words = f"a proposal, from assembly {assembly.number} r1, loaded 3 June"
    assert words in text_of(page)
    form = page.context["form"]
    shown = [form[name].value() for name in ("kind", "diameter_um", "gauge_length_um")]
    assert shown == ["compression", "12", "95"]
    assert form["preferred"].value() == assembly.pk
    assert not revision.requirements.filter(tool_number=5).exists()


# ---- the settings of a machine
SETTINGS = {
    "mark": "R1",
    "name": "Router 1",
    "interface": "ISO 30 router",
    "uses_stud": "on",
    "stud_pattern": "A",
    "tool_change": "hand",
    "override_ceiling_percent": "100",
    "turns_cw": "on",
    "number_names": "tool",
    "zero_at": "table",
    "default_units": "inch",
    "peck_back_off_um": "0.25",
    "harmless_m_codes": "m11 M10",
}


def settings_of(machine):
    return reverse("assemblies:machine_edit", args=[machine.mark])


def test_the_settings_of_a_control_are_kept_as_typed(machine):
    assert fill_in(signed_in("lead"), settings_of(machine), **SETTINGS).status_code == 302
    kept = Machine.objects.get()
    assert (kept.number_names, kept.zero_at, kept.default_units) == ("tool", "table", "inch")
    assert (kept.peck_back_off_um, kept.harmless_m_codes) == (250, "M10 M11")
    assert kept.reader_settings().key == "inch;back-off-0.25;m10,m11"


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("number_names", "drawer"),
        ("number_names", ""),
        ("zero_at", "moon"),
        ("default_units", "cubit"),
        ("peck_back_off_um", "-1"),
        ("peck_back_off_um", "99"),
        ("peck_back_off_um", "a bit"),
        ("harmless_m_codes", "M6"),
        ("harmless_m_codes", "M10; DROP TABLE"),
        ("harmless_m_codes", "M10 " * 40),
    ],
)
def test_rubbish_in_a_setting_names_its_field_and_changes_nothing(machine, field, typed):
    answer = fill_in(signed_in("lead"), settings_of(machine), **SETTINGS | {field: typed})
    assert list(answer.context["form"].errors) == [field]
    assert Machine.objects.get().reader_settings().key == "standard"


def test_a_form_without_the_settings_leaves_them_as_they_were(machine):
    Machine.objects.update(number_names="tool", zero_at="table", default_units="inch")
    typed = {name: SETTINGS[name] for name in list(SETTINGS)[:8]}
    assert fill_in(signed_in("lead"), settings_of(machine), **typed).status_code == 302
    kept = Machine.objects.get()
    assert (kept.number_names, kept.zero_at, kept.default_units) == ("tool", "table", "inch")


def test_saving_other_settings_says_how_many_programs_were_read_anew():
    shop, client = spindle_shop.open_shop(), signed_in("lead")
    answer = fill_in(client, settings_of(shop.machine), **SETTINGS)
    page = client.get(answer["Location"])
    assert "1 program approved here read anew" in text_of(page)
    assert "inch (G20)" in text_of(page)


@pytest.mark.parametrize("mark", ["new", "R/edit", "R/fill", "R/fill/scan"])
def test_a_mark_that_is_a_word_of_the_addresses_is_refused(machine, mark):
    answer = fill_in(signed_in("lead"), settings_of(machine), **SETTINGS | {"mark": mark})
    assert list(answer.context["form"].errors) == ["mark"]


# ---- what a tool number must be
STATED = {
    "kind": "compression",
    "diameter_um": "12",
    "diameter_tolerance_um": "0.05",
    "hand": "right",
    "length_rule": "window",
    "gauge_length_um": "95",
    "gauge_tolerance_um": "1",
    "stickout_min_um": "43",
    "stickout_max_um": "47",
}


def test_a_proposal_is_shown_and_counts_only_once_confirmed():
    client = signed_in("programmer")
    hand_in(client)
    revision = ProgramRevision.objects.get()
    page = client.get(stating(revision, 5))
    assert "a proposal" in text_of(page)
    assert page.context["form"]["diameter_um"].value() == "12"
    assert not ToolRequirement.objects.get().is_confirmed


def test_a_tool_number_is_stated_once_in_whole_micrometres(revision):
    first, second, acts = send_twice(signed_in("programmer"), stating(revision, 5), **STATED)
    assert (first.status_code, second.status_code, acts) == (302, 302, 1)
    row = revision.requirements.get(tool_number=5)
    assert row.is_confirmed
    assert (row.diameter_um, row.diameter_tolerance_um, row.gauge_length_um) == (12_000, 50, 95_000)


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("kind", {"kind": ""}),
        ("kind", {"kind": "spoon"}),
        ("diameter_um", {"diameter_um": ""}),
        ("diameter_um", {"diameter_um": "0"}),
        ("diameter_tolerance_um", {"diameter_tolerance_um": ""}),
        ("gauge_length_um", {"gauge_length_um": ""}),
        ("gauge_tolerance_um", {"gauge_tolerance_um": ""}),
        ("stickout_max_um", {"stickout_max_um": "42.9"}),
        ("flute_min_um", {"flute_min_um": "deep"}),
        ("length_rule", {"length_rule": "guess"}),
        ("preferred", {"preferred": "99999"}),
        ("alternatives", {"alternatives": ["99999"]}),
        ("hand", {"hand": "both"}),
    ],
)
def test_a_bad_statement_names_its_field_and_confirms_nothing(revision, field, typed):
    answer = fill_in(signed_in("programmer"), stating(revision, 5), **STATED | typed)
    assert list(answer.context["form"].errors) == [field]
    assert not revision.requirements.get(tool_number=5).is_confirmed


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ({"corner_radius_um": "2", "corner_tolerance_um": "0.05"}, (2_000, 50)),
        ({"corner_radius_um": "2", "corner_tolerance_um": "0"}, (2_000, 0)),
        ({"corner_radius_um": "2", "corner_tolerance_um": ""}, (2_000, None)),
        ({"corner_radius_um": "0", "corner_tolerance_um": "0"}, (0, 0)),
    ],
)
def test_a_corner_radius_is_stated_with_what_it_may_differ_by(revision, typed, kept):
    fill_in(signed_in("programmer"), stating(revision, 5), **STATED | typed)
    row = revision.requirements.get(tool_number=5)
    assert (row.corner_radius_um, row.corner_tolerance_um) == kept


def test_a_difference_without_a_corner_radius_is_refused(revision):
    typed = STATED | {"corner_tolerance_um": "0.05"}
    answer = fill_in(signed_in("programmer"), stating(revision, 5), **typed)
    assert list(answer.context["form"].errors) == ["corner_radius_um"]
    assert not revision.requirements.get(tool_number=5).is_confirmed


def test_the_figures_of_a_window_are_not_called_optional(revision):
    page = text_of(signed_in("programmer").get(stating(revision, 5)))
    for label in ("Gauge length wanted", "Gauge length may differ by"):
        assert f"{label} (needed with a window)" in page
        assert f"{label} (optional)" not in page


def test_what_the_program_does_stands_above_what_the_tool_must_be(revision):
    page = signed_in("programmer").get(stating(revision, 5)).content.decode()
    assert page.index("What the program does with it") < page.index(">Must be<")


def test_other_figures_are_said_to_withdraw_the_approval_and_do():
    revision, client = spindle_shop.open_shop().revision, signed_in("programmer")
    address = stating(revision, 5)
    assert "withdraws the approval of HM-0377 B on every machine" in text_of(client.get(address))
    assert "approved" in {line.word for line in client.get(page_of(revision)).context["approvals"]}
    fill_in(client, address, **STATED | {"diameter_tolerance_um": "0.1"})
    lines = client.get(page_of(revision)).context["approvals"]
    assert "approved" not in {line.word for line in lines}


def test_allowed_alternatives_of_the_same_kind_stand_first_as_tick_boxes():
    shop = spindle_shop.open_shop()
    alike, other = shop.built(), shop.built(kind="spiral_down")
    client, address = signed_in("programmer"), stating(shop.revision, 5)

    def boxes():
        near, far = client.get(address).context["form"].boxes
        return [[box.data["value"].instance.number for box in part] for part in (near, far)]

    assert boxes() == [[alike.number], [other.number]]
    fill_in(client, address, **STATED, alternatives=[other.pk])
    row = shop.revision.requirements.get(tool_number=5)
    assert list(row.alternatives.all()) == [other]
    assert boxes() == [[alike.number, other.number], []]
    page = client.get(address).content.decode()
    assert re.findall(rf'type="checkbox" name="alternatives" value="{other.pk}"[^>]* checked', page)


def test_figures_of_a_window_are_dropped_with_the_window(revision):
    fill_in(signed_in("programmer"), stating(revision, 5), **STATED | {"length_rule": "touch_off"})
    row = revision.requirements.get(tool_number=5)
    assert (row.length_rule, row.gauge_length_um) == ("touch_off", None)


def test_assemblies_are_listed_with_what_is_in_them():
    shop = spindle_shop.open_shop()
    assembly = shop.built()
    page = signed_in("programmer").get(stating(shop.revision, 5))
    cutter = assembly.current_build.parts.get(role="cutter").item
    assert f"{assembly.number} {cutter.description}" in text_of(page)


def test_a_tool_number_that_the_program_does_not_have_is_a_404(revision):
    assert signed_in("programmer").get(stating(revision, 77)).status_code == 404


# ---- approval
def test_an_unconfirmed_revision_is_approved_with_a_reason_only(revision, machine):
    client = signed_in("lead")
    typed = {"machine": machine.pk, "state": "approved"}
    answer = client.post(approval(revision), typed | {"submission": uuid4()})
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == ["reason"]
    assert "Approval by machine" in text_of(answer)
    typed |= {"reason": "first run", "submission": uuid4()}
    for _ in range(2):
        assert client.post(approval(revision), typed).status_code == 302
    assert ProgramApproval.objects.count() == 1


def test_the_only_machine_is_picked_already_and_of_two_neither(revision, machine):
    client = signed_in("lead")

    def picked():
        return client.get(page_of(revision)).context["form"]["machine"].value()

    assert picked() == machine.pk
    spindle_shop.router(makers.person("lead"), mark="R2", name="Router 2")
    assert picked() is None


def test_the_approval_stands_directly_under_the_tool_numbers(revision, machine):
    page = signed_in("lead").get(page_of(revision)).content.decode()
    heads = re.findall(r"<h2>([^<]+)</h2>", page)
    assert heads[heads.index("Tool numbers") + 1] == "Approval by machine"


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("reason", {"state": "withdrawn"}),
        ("state", {"state": "maybe", "reason": "x"}),
        ("machine", {"machine": "999", "reason": "x"}),
        ("reason", {"reason": "r" * 121}),
        ("submission", {"reason": "x", "submission": ""}),
    ],
)
def test_a_bad_approval_names_its_field_and_writes_nothing(revision, machine, field, typed):
    data = {"machine": machine.pk, "state": "approved", "submission": uuid4()} | typed
    answer = signed_in("lead").post(approval(revision), data)
    assert list(answer.context["form"].errors) == [field]
    assert not ProgramApproval.objects.exists()


def test_only_some_roles_confirm_and_approve(revision, machine):
    for role in ("operator", "toolroom", "buyer"):
        client = signed_in(role)
        page = client.get(page_of(revision)).content.decode()
        assert stating(revision, 5) not in page
        assert approval(revision) not in page
        assert client.get(stating(revision, 5)).status_code == 403
        for address in (stating(revision, 5), approval(revision)):
            assert client.post(address, {"submission": uuid4()}).status_code == 403


# ---- the text
def test_the_text_counts_its_lines_as_the_reader_does():
    client = signed_in("programmer")
    hand_in(client, data=b"(one\x0cstill one)\nT5 M6\nS18000 M3\nM30\n")
    revision = ProgramRevision.objects.get()
    page = client.get(f"/programs/{revision.pk}/text/")
    line = revision.readings.get().tool_calls.get().line
    assert {one.number: one.text for one in page.context["lines"]}[line] == "T5 M6"
    assert page.context["line_count"] == 4


@pytest.mark.parametrize(
    ("start", "first"),
    [("", 1), ("2", 2), ("0", 1), ("-3", 1), ("x", 1), ("9" * 40, 1), ("999", 11)],
)
def test_the_text_opens_at_the_line_asked_for(revision, start, first):
    page = signed_in("operator").get(f"/programs/{revision.pk}/text/", {"from": start})
    assert page.context["lines"][0][0] == first


def test_marks_in_the_text_are_shown_as_text():
    client = signed_in("programmer")
    hand_in(client, data=b"(<script>alert(1)</script>)\nT5 M6\nM30\n")
    page = client.get(f"/programs/{ProgramRevision.objects.get().pk}/text/").content.decode()
    assert "&lt;script&gt;alert" in page


def test_a_revision_that_does_not_exist_is_a_404():
    client = signed_in("programmer")
    for path in ("/programs/99/", "/programs/99/text/", "/programs/99/t/1/"):
        assert client.get(path).status_code == 404


def test_a_new_top_of_the_work_says_which_approvals_it_withdrew(revision):
    machine = spindle_shop.router(makers.person("lead"))
    made.approve(revision, machine, reason="first part")
    client = signed_in("programmer")
    assert "on Router 1, until it is approved anew" in text_of(client.get(page_of(revision)))
    for typed, gone in (("18", True), ("20", False)):
        data = {"submission": uuid4(), "top_of_stock_um": typed}
        said = text_of(client.post(top(revision), data, follow=True))
        assert ("No longer approved on Router 1: approve it anew." in said) == gone


def test_a_refused_approval_is_said_at_the_head_of_the_page(revision):
    spindle_shop.router(makers.person("lead"))
    address = reverse("assemblies:program_approve", kwargs={"pk": revision.pk})
    answer = signed_in("programmer").post(address, {"submission": uuid4(), "state": "approved"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert page.index('href="#approval"') < page.index('id="approval"')
    assert 'href="#top"' not in page
