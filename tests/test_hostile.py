"""Texts, numbers and files that nobody would enter on purpose: a refusal, never a fault."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assemblies.actions import programs, readings
from assemblies.actions.machines import save_machine
from assemblies.actions.readiness import standings
from assemblies.models import Machine, Program, ProgramRevision, ToolCall, ToolUse
from crib.actions.once import do_once
from crib.forms.items import fact_field
from crib.models import Act, ColletFacts, CutterFacts, InsertFacts, Item, PullStudFacts
from crib.rules.refusal import NotAllowed
from tests import makers
from tests.assembly_makers import (
    PROGRAM,
    TOOL,
    approved,
    code_of,
    machine,
    programmer,
    released,
)
from tests.crib.pages import signed_in

pytestmark = pytest.mark.django_db

NEW = "/programs/new/"


def hand_in(data: bytes, name="HM-0001", label="A", file_name="part.nc"):
    client = signed_in("programmer")
    file = SimpleUploadedFile(file_name, data)
    typed = {"submission": str(uuid4()), "name": name, "label": label, "file": file}
    return client, client.post(NEW, typed)


def add(data: bytes, label="A"):
    return programs.add_revision(
        by=programmer(), submission=uuid4(), name="HM-0001", label=label, data=data
    )


# ---- program files
@pytest.mark.parametrize(
    "data",
    [
        PROGRAM.encode().replace(b"SHELF", b"SH\0ELF"),
        PROGRAM.encode().replace(b"SPIRAL", b"SPI\0RAL"),
        PROGRAM.encode().replace(b"M6", b"M6 (CHANGE\0)"),
        "\ufeff".encode("utf-16-le") + PROGRAM.replace("SHELF", "\0").encode("utf-16-le"),
    ],
    ids=["title", "tool", "change", "utf-16"],
)
def test_a_nul_in_a_program_is_kept_as_a_sign_that_can_be_shown(data):
    client, answer = hand_in(data)
    assert answer.status_code == 302
    revision = ProgramRevision.objects.get()
    assert bytes(revision.content) == data
    reading = revision.readings.get()
    read = [*ToolCall.objects.values(), *ToolUse.objects.values(), reading.notes]
    read += [reading.program_title, *revision.requirements.values_list("text", flat=True)]
    assert "\\x00" not in repr(read)
    assert "␀" in repr(read)
    assert client.get(answer["Location"]).status_code == 200


@pytest.mark.parametrize(
    "words",
    [
        "T99999999999999999999 M6",
        "T2147483648 M6",
        "T-1 M6",
        f"T1 M6\nS{'9' * 400} M3",
        f"T1 M6\nS100 M3\nG1 X1 F{'9' * 400}",
        f"N{'9' * 500} T1 M6\nO{'9' * 300}\nM{'9' * 300}\nG{'9' * 300}",
        f"T1 M6\nG43 H{'9' * 30}\nG41 D{'9' * 30}",
        f"T1 M6\nS{'[' * 3000}1{']' * 3000} M3",
        "T1 M6\n#1=1e309\nS[#1*#1] M3",
    ],
)
def test_numbers_past_every_limit_are_read_or_doubted_and_never_stored_too_large(words):
    client, answer = hand_in(f"%\n{words}\nM30\n".encode())
    assert answer.status_code == 302
    page = client.get(answer["Location"])
    assert page.status_code == 200


@pytest.mark.parametrize(
    ("label", "refused"), [("B" * 12, False), ("B" * 13, True), ("ß" * 6, False), ("ß" * 7, True)]
)
def test_a_mark_is_measured_in_the_form_that_is_compared(label, refused):
    _, answer = hand_in(PROGRAM.encode(), label=label)
    assert answer.status_code == (200 if refused else 302)
    assert ProgramRevision.objects.count() == (0 if refused else 1)


@pytest.mark.parametrize(
    "file_name",
    ["../../etc/part.nc", "<script>alert(1)</script>.nc", "n" * 5_000 + ".nc", "\u202ecn.exe"],
)
def test_a_file_name_is_kept_short_and_shown_as_text(file_name):
    client, answer = hand_in(PROGRAM.encode(), file_name=file_name)
    kept = ProgramRevision.objects.get().file_name
    assert len(kept) <= 120
    assert "/" not in kept
    assert b"<script>" not in client.get(answer["Location"]).content


def test_a_program_that_changes_tools_without_end_is_refused(monkeypatch):
    monkeypatch.setattr(readings, "MOST_TOOL_CHANGES", 3)
    change = b"T1 M6\n"
    assert code_of(add, b"%\n" + change * 4 + b"M30\n") == "program.too_many_changes"
    assert add(b"%\n" + change * 3 + b"M30\n").repeated is False


def test_a_program_is_read_before_the_records_are_held(monkeypatch):
    order = []
    read = readings.read_program
    monkeypatch.setattr(
        readings, "read_program", lambda *given: order.append("read") or read(*given)
    )

    def held(**given):
        order.append("held")
        return do_once(**given)

    monkeypatch.setattr(programs, "do_once", held)
    done = add(PROGRAM.encode())
    revision = ProgramRevision.objects.get(pk=int(done.result))
    programs.read_again(by=programmer(), submission=uuid4(), revision=revision)
    assert order == ["read", "held", "read", "held"]


def test_nothing_is_read_for_somebody_who_may_not_hand_programs_in(monkeypatch):
    monkeypatch.setattr(readings, "read_program", lambda *given: pytest.fail("it was read"))
    with pytest.raises(NotAllowed):
        programs.add_revision(
            by=makers.person("operator"), submission=uuid4(), name="P", label="A", data=b"T1 M6\n"
        )
    assert not Program.objects.exists()


# ---- codes
@pytest.mark.parametrize(
    ("code", "refused"), [("K" * 40, False), ("K" + "ß" * 19, False), ("K" + "ß" * 20, True)]
)
def test_a_code_is_measured_in_the_form_that_is_compared(code, refused):
    typed = {"code": code, "description": "a spare", "pack_size": "1"}
    answer = signed_in("toolroom").post("/items/new/spare/", typed | {"submission": str(uuid4())})
    assert answer.status_code == (200 if refused else 302)
    assert Item.objects.count() == (0 if refused else 1)


@pytest.mark.parametrize(
    ("kind", "field", "most"),
    [
        (CutterFacts, "teeth", 1_000),
        (CutterFacts, "seats", 1_000),
        (InsertFacts, "edges", 1_000),
        (ColletFacts, "runout_class", 1_000),
        (PullStudFacts, "angle_deg", 360),
        (CutterFacts, "n_max_rpm", 1_000_000),
        (CutterFacts, "mass_g", 1_000_000),
    ],
)
def test_a_number_ends_below_what_either_database_holds(kind, field, most):
    made = fact_field(kind._meta.get_field(field))
    assert made.clean(str(most)) == most
    for larger in (most + 1, 32_768 + most, 2**31, 2**63, 10**400, -1):
        with pytest.raises(ValidationError):
            made.clean(str(larger))


@pytest.mark.parametrize(
    ("mark", "refused"),
    [
        ("R1", False),
        ("R/1", False),
        ("R.1", False),
        ("R\n1", True),
        ("R\u2028", True),
        ("..", True),
        ("R/..", True),
        ("/", True),
        ("R//1", True),
    ],
)
def test_a_machine_whose_mark_makes_no_address_is_refused(mark, refused):
    made = {"mark": mark, "name": "router", "interface": "ISO 30 router", "stud_pattern": "A"}
    if refused:
        assert code_of(save, Machine(**made)) == "machine.mark_signs"
        return
    save(Machine(**made))
    page = signed_in("operator").get("/machines/")
    assert f'href="/machines/{mark}/"' in page.content.decode()


def save(machine):
    save_machine(by=makers.person("lead"), submission=uuid4(), machine=machine)


# ---- addresses
@pytest.mark.parametrize(
    "address",
    [
        "/items/%00/",
        "/pieces/a%00b/",
        "/machines/%00/",
        "/machines/a%00b/edit/",
        "/programs/?q=%00",
        "/station/?machine=%00",
        "/spindle/1044/?mark=a%00",
        "/scan/?entry=%00",
        "/S/7K2M%009QXR",
    ],
)
def test_a_nul_in_an_address_names_nothing(address):
    assert signed_in("toolroom", "lead").get(address).status_code == 404


@pytest.mark.parametrize("number", ["0", "9223372036854775807", "9223372036854775808", "9" * 300])
@pytest.mark.parametrize(
    "address",
    [
        "/assemblies/{}/",
        "/spindle/{}/",
        "/checks/{}/",
        "/places/{}/",
        "/suppliers/{}/",
        "/programs/{}/",
        "/programs/{}/text/",
        "/order-lines/{}/receive/",
    ],
)
def test_a_number_past_every_limit_names_nothing(address, number):
    assert signed_in("toolroom", "lead").get(address.format(number)).status_code == 404


# ---- how much there is
def test_readiness_asks_no_question_that_grows_with_the_count_of_parts():
    assemblies = [released(), released()]
    revision = approved(machine())
    with CaptureQueriesContext(connection) as asked:
        found = standings(revision.requirements.all())
    assert len(found[TOOL].candidates) == len(assemblies)
    assert not any(" OR " in query["sql"] for query in asked)


# ---- one-time ids
@pytest.mark.parametrize("sent", [None, "", "zzz", "1", "\x00", "0" * 31])
def test_a_form_without_its_one_time_id_writes_nothing(sent):
    client = signed_in("toolroom")
    typed = {"code": "RACK B3", "name": "upper rack"}
    answer = client.post("/places/new/", typed if sent is None else typed | {"submission": sent})
    assert answer.status_code == 200
    assert not Act.objects.exists()


def test_the_one_time_id_of_somebody_else_opens_nothing():
    typed = {"code": "RACK B3", "name": "upper rack", "submission": str(uuid4())}
    first, second = signed_in("toolroom"), signed_in("toolroom")
    assert first.post("/places/new/", typed).status_code == 302
    again = second.post("/places/new/", typed | {"code": "RACK B4"})
    assert again.status_code == 200
    assert Act.objects.count() == 1
