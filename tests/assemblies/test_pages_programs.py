"""Programs: handing in, one revision, stating tool numbers, approving, reading the text."""

from __future__ import annotations

import re
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from assemblies.actions.build import release, start_rebuild
from assemblies.actions.measure import Reading
from assemblies.forms import programs as forms
from assemblies.models import Program, ProgramApproval, ProgramRevision, ToolRequirement
from crib.models import Act
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
        return next(iter(table.rows)).record.approved

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
    with django_assert_num_queries(7):
        client.get("/programs/")
    for name in ("HM-2", "HM-3"):
        spindle_shop.program_revision(by, name=name)
    with django_assert_num_queries(7):
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
    with django_assert_num_queries(13):
        client.get(page_of(shop.revision))
    for _ in range(2):
        shop.built()
    with django_assert_num_queries(13):
        client.get(page_of(shop.revision))


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
    assert dict(page.context["lines"])[line] == "T5 M6"
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
