"""Handing a program in: what is proposed, what is refused, what is kept; the list and the text."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart

from assemblies.actions.program_proposal import HEAD_BYTES, proposal_for
from assemblies.actions.programs import add_revision
from assemblies.forms.upload import FIRST_FIELD, LAST_FIELD
from assemblies.models import Program, ProgramRevision
from assemblies.views import program_text
from crib.models import Act
from tests import makers
from tests.crib.pages import fill_in, signed_in, submission_in, text_of

pytestmark = pytest.mark.django_db

TEXT = b"%\nO0412 (SIDE PANEL)\nG21 G90\nT5 M6\nS18000 M3\nG1 X1. F900.\nM30\n%\n"
NEW, PROPOSAL = "/programs/new/", "/programs/new/proposal/"
WHOLE = {FIRST_FIELD: "1", LAST_FIELD: "1"}


def add(name: str, *labels: str, text: bytes = TEXT, **more) -> None:
    by = makers.person("programmer")
    for label in labels:
        data = text + f"({label})\n".encode()
        add_revision(by=by, submission=uuid4(), name=name, label=label, data=data, **more)


def hand_in(client, data: bytes | None = TEXT, file_name: str = "HM-0412.nc", **typed):
    if data is not None:
        typed["file"] = SimpleUploadedFile(file_name, data)
    return fill_in(client, NEW, **WHOLE, **typed)


def errors_of(answer) -> dict:
    return dict(answer.context["form"].errors)


# ---- what is proposed
@pytest.mark.parametrize(
    ("file_name", "head", "name", "mark"),
    [
        ("HM-0412.nc", TEXT, "HM-0412", "C"),
        ("hm-0412.NC", TEXT, "HM-0412", "C"),
        ("HM-0412_F.nc", TEXT, "HM-0412", "F"),
        ("HM-0412_b.nc", TEXT, "HM-0412", "C"),
        ("HM-0412 rev F.nc", TEXT, "HM-0412", "F"),
        ("NEW-7.nc", TEXT, "NEW-7", "A"),
        ("NEW-7_C.nc", TEXT, "NEW-7_C", "A"),
        ("", TEXT, "HM-0412", "C"),
        ("", b"O0777 (LID)\nT1 M6\nM30\n", "O0777", "A"),
        ("", b"T1 M6\nM30\n", "", ""),
    ],
)
def test_name_and_mark_are_proposed_from_the_file(file_name, head, name, mark):
    add("HM-0412", "A", "B")
    proposal = proposal_for(head, file_name)
    assert (proposal.name, proposal.mark) == (name, mark)


def test_of_two_programs_with_one_number_none_is_proposed_for_a_pasted_text():
    add("HM-0412", "A")
    add("HM-0413", "A")
    assert proposal_for(TEXT, "").name == "O0412"


def test_a_new_name_with_a_known_number_names_the_program_that_has_it():
    add("HM-0412", "A")
    assert proposal_for(TEXT, "NEW-7.nc").same_number == ("HM-0412",)
    assert proposal_for(TEXT, "HM-0412.nc").same_number == ()


def test_a_typed_name_is_taken_and_only_the_mark_is_proposed():
    add("HM-0412", "A", "B")
    proposal = proposal_for(TEXT, "HM-0412.nc", "hm-0500")
    assert (proposal.name, proposal.mark, proposal.marks) == ("hm-0500", "A", None)
    assert proposal_for(b"", "", "hm-0412").mark == "C"


def test_the_title_is_proposed_for_a_new_program_only():
    assert proposal_for(TEXT, "HM-0412.nc").title == "SIDE PANEL"
    add("HM-0412", "A")
    assert proposal_for(TEXT, "HM-0412.nc").title == ""


def test_a_letter_cut_by_the_limit_does_not_spoil_the_others():
    head = "O1 (TÜR)\n".encode()
    head += "Ü".encode() * HEAD_BYTES
    assert proposal_for(head[: HEAD_BYTES // 2 * 2 + 1], "x.nc").title == "TÜR"


def test_the_page_fills_in_what_the_script_asks_for():
    add("HM-0412", "A", "B")
    client = signed_in("programmer")
    before = Act.objects.count()
    asked = {"head": SimpleUploadedFile("head", TEXT), "file_name": "HM-0412.nc", "name": ""}
    assert client.post(PROPOSAL, asked).json() == {
        "name": "HM-0412",
        "label": "C",
        "title": "",
        "refused": "",
        "said": "HM-0412 has A, B. C would be its next.",
    }
    assert Act.objects.count() == before
    assert client.get(PROPOSAL).status_code == 405


@pytest.mark.parametrize(
    ("head", "word"),
    [
        (b"PK\x03\x04x", "zip"),
        (b"%PDF-1.7", "PDF"),
        (b"\x89PNG\r\n", "picture"),
        (b"\xff\xd8\xff\xe0", "picture"),
        (bytes(range(256)), "not text"),
        (b" \n ", "empty"),
    ],
)
def test_what_is_no_program_is_said_before_all_of_it_is_sent(head, word):
    asked = {"head": SimpleUploadedFile("head", head), "file_name": "a.nc"}
    answer = signed_in("programmer").post(PROPOSAL, asked).json()
    assert word in answer["refused"]
    assert (answer["name"], answer["label"]) == ("", "")


@pytest.mark.parametrize("asked", [{}, {"name": "\0"}, {"name": "N" * 99, "file_name": "\0" * 300}])
def test_rubbish_asked_of_the_proposal_is_answered(asked):
    assert signed_in("programmer").post(PROPOSAL, asked).status_code == 200


def test_the_next_revision_starts_with_its_name_and_the_next_mark():
    add("HM-0412", "A", "B")
    form = signed_in("programmer").get(NEW, {"name": "HM-0412"}).context["form"]
    assert (form["name"].value(), form["label"].value()) == ("HM-0412", "C")


# ---- without the script
def test_an_empty_name_and_mark_are_proposed_and_nothing_is_stored_yet():
    answer = hand_in(signed_in("programmer"), title="a lid")
    assert list(errors_of(answer)) == ["name", "label"]
    form = answer.context["form"]
    shown = [form[name].value() for name in ("name", "label", "title")]
    assert shown == ["HM-0412", "A", "a lid"]
    assert "Pick the file once more" in text_of(answer)
    assert not Program.objects.exists()


def test_a_pasted_text_stays_while_its_name_is_proposed():
    answer = hand_in(signed_in("programmer"), data=None, pasted=TEXT.decode())
    form = answer.context["form"]
    assert (form["name"].value(), form["pasted"].value()) == ("O0412", TEXT.decode())
    assert "Pick the file" not in text_of(answer)


def test_a_file_that_names_nothing_needs_a_typed_name():
    answer = hand_in(signed_in("programmer"), data=None, pasted="T1 M6\nM30\n")
    assert "the file names none" in str(errors_of(answer)["name"])


@pytest.mark.parametrize("start", [b"PK\x03\x04", b"%PDF-", b"\x89PNG", b"\x1f\x8b"])
def test_another_kind_of_file_is_refused_at_the_file_and_the_rest_stays(start):
    answer = hand_in(signed_in("programmer"), start + TEXT, name="HM-1", label="B", title="lid")
    assert list(errors_of(answer)) == ["file"]
    form = answer.context["form"]
    assert [form[n].value() for n in ("name", "label", "title")] == ["HM-1", "B", "lid"]
    assert not Program.objects.exists()


def test_an_empty_file_says_what_to_do():
    answer = hand_in(signed_in("programmer"), b"", name="HM-1", label="A")
    assert "Export the program again" in str(errors_of(answer)["file"])


# ---- sending
def test_a_sending_that_was_cut_off_stores_nothing_and_may_be_sent_again():
    client = signed_in("programmer")
    fields = {FIRST_FIELD: "1", "submission": submission_in(client.get(NEW))}
    fields |= {"name": "HM-0412", "label": "A", "file": SimpleUploadedFile("a.nc", TEXT * 50)}
    body = encode_multipart(BOUNDARY, fields | {LAST_FIELD: "1"})
    cut = body[: len(body) // 2]
    assert b"T5 M6" in cut
    answer = client.generic("POST", NEW, cut, content_type=MULTIPART_CONTENT)
    assert "cut off before its end" in text_of(answer)
    assert not Act.objects.filter(kind="program.add").exists()
    answer = client.generic("POST", NEW, body, content_type=MULTIPART_CONTENT)
    assert answer.status_code == 302
    assert ProgramRevision.objects.get().size_bytes == len(TEXT * 50)


def test_the_page_brings_the_fields_that_show_a_whole_sending_first_and_last():
    page = signed_in("programmer").get(NEW).content.decode()
    form = page[page.index("data-upload") : page.index('<div class="form-actions">')]
    places = [form.index(f'name="{name}"') for name in (FIRST_FIELD, "file", "title", LAST_FIELD)]
    assert places == sorted(places)


def test_the_script_is_told_where_to_go_and_the_words_wait_there():
    client = signed_in("programmer")
    data = {**WHOLE, "submission": submission_in(client.get(NEW)), "name": "HM-1", "label": "A"}

    def send():
        data["file"] = SimpleUploadedFile("a.nc", TEXT)
        return client.post(NEW, data, headers={"X-Requested-With": "XMLHttpRequest"})

    answers = [send(), send()]
    address = f"/programs/{ProgramRevision.objects.get().pk}/"
    assert [answer.json() for answer in answers] == [{"next": address}] * 2
    assert "HM-1 A read: 1 tool number, " in text_of(client.get(address))


def test_a_refusal_is_shown_to_the_script_as_the_page():
    client = signed_in("programmer")
    data = {**WHOLE, "submission": submission_in(client.get(NEW)), "name": "HM-1", "label": "A"}
    answer = client.post(NEW, data, headers={"X-Requested-With": "XMLHttpRequest"})
    assert list(errors_of(answer)) == ["file"]


def test_what_was_read_is_said_at_once_with_what_changed():
    client = signed_in("programmer")
    hand_in(client, name="HM-1", label="A")
    faster = TEXT.replace(b"S18000", b"S16000")
    answer = hand_in(client, faster, name="HM-1", label="B")
    assert "Since A: T5: S18000 → S16000." in text_of(client.get(answer["Location"]))


def test_what_was_not_understood_is_said_at_once():
    client = signed_in("programmer")
    answer = hand_in(client, TEXT.replace(b"M30", b"G65 P1\nM30"), name="HM-1", label="A")
    assert "blocks, not fully read." in text_of(client.get(answer["Location"]))


def test_five_megabytes_are_pasted():
    filler = f"({'x' * 998})\n" * 5_000
    text = TEXT.decode().replace("M30\n", f"{filler}M30\n")
    assert len(text) > 5_000_000
    answer = hand_in(signed_in("programmer"), data=None, pasted=text, name="HM-1", label="A")
    assert answer.status_code == 302
    assert ProgramRevision.objects.get().size_bytes == len(text)


# ---- the list
@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ("hm-1", ["HM-1"]),
        ("lid", ["HM-1"]),
        ("O0412", ["HM-1"]),
        ("o412", ["HM-1"]),
        ("412", ["HM-1"]),
        ("O41", []),
        ("lid-v2", ["HM-1"]),
        ("HM", ["HM-1", "HM-2"]),
        ("%", []),
    ],
)
def test_the_list_finds_by_name_title_number_and_file_name(wanted, found):
    add("HM-1", "A", title="a lid", file_name="lid-v2.nc")
    add("HM-2", "A", text=b"O7\nT1 M6\nM30\n")
    table = signed_in("operator").get("/programs/", {"q": wanted}).context["table"]
    assert [row.record.name for row in table.rows] == found


def test_the_list_says_what_was_not_fully_read_and_how_many_revisions_there_are():
    add("HM-1", "A", "B", text=TEXT.replace(b"M30", b"G65 P1\nM30"))
    page = signed_in("operator").get("/programs/")
    assert "not fully read" in text_of(page)
    newest = ProgramRevision.objects.first()
    assert newest.label == "B"
    assert f'href="/programs/{newest.pk}/history/">2<' in page.content.decode()


def test_what_was_never_read_is_not_called_fully_read():
    add("HM-1", "A")
    ProgramRevision.objects.get().readings.all().delete()
    assert "not read" in text_of(signed_in("operator").get("/programs/"))


def test_the_list_has_pages():
    for number in reversed(range(51)):
        program = Program.objects.create(name=f"HM-{number:02d}")
        program.revisions.create(
            label="A", content=b"M30", sha256=number, size_bytes=3, added_by=makers.person()
        )
    rows = signed_in("operator").get("/programs/", {"page": "2"}).context["table"].paginated_rows
    assert [row.record.name for row in rows] == ["HM-50"]


# ---- the text
def text_page(client, **query):
    return client.get(f"/programs/{ProgramRevision.objects.get().pk}/text/", query)


def test_the_line_asked_for_is_marked():
    add("HM-1", "A")
    page = text_page(signed_in("operator"), **{"from": "4"})
    assert [line.number for line in page.context["lines"] if line.is_found] == [4]
    assert not any(line.is_found for line in text_page(signed_in("operator")).context["lines"])


def test_what_the_reader_noted_stands_at_its_line():
    add("HM-1", "A", text=TEXT.replace(b"M30", b"G65 P1\nM30"))
    noted = [line for line in text_page(signed_in("operator")).context["lines"] if line.notes]
    unknown = [line.number for line in noted if any(n["severity"] == "unknown" for n in line.notes)]
    assert unknown == [7]


@pytest.mark.parametrize(
    ("start", "find", "found"),
    [
        ("", "s18000", 5),
        ("5", "S18000", 5),
        ("6", "S18000", None),
        ("", "%", 1),
        ("2", "%", 8),
        ("", "nowhere", None),
    ],
)
def test_a_word_is_found_from_a_line_on(start, find, found):
    add("HM-1", "A")
    page = text_page(signed_in("operator"), **{"from": start, "find": find})
    assert page.context["found"] == found
    if found:
        assert [line.number for line in page.context["lines"] if line.is_found] == [found]


def test_a_long_text_has_pages(monkeypatch):
    monkeypatch.setattr(program_text, "LINES_SHOWN", 3)
    add("HM-1", "A")
    client = signed_in("operator")
    context = text_page(client).context
    assert ([line.number for line in context["lines"]], context["before"]) == ([1, 2, 3], None)
    context = text_page(client, **{"from": context["after"]}).context
    assert [line.number for line in context["lines"]] == [4, 5, 6]
    assert (context["before"], context["after"]) == (1, 7)
