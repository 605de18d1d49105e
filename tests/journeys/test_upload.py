"""A program dropped on the page: named, refused with the file kept, and sent once."""

from __future__ import annotations

import re
from uuid import uuid4

import pytest
from playwright.sync_api import Page, expect

from assemblies.actions.programs import add_revision
from assemblies.models import ProgramRevision
from tests import makers

pytestmark = pytest.mark.django_db(transaction=True)

TEXT = "%\nO0412 (SIDE PANEL)\nG21\nT5 M6\nS{} M3\nG43 H5 G1 X1. F900.\nM30\n%\n"
DROP = """([name, text]) => {
  const carried = new DataTransfer();
  carried.items.add(new File([text], name));
  const event = { bubbles: true, cancelable: true, dataTransfer: carried };
  document.querySelector("h1").dispatchEvent(new DragEvent("drop", event));
}"""


def drop(page: Page, name: str, text: str) -> None:
    page.evaluate(DROP, [name, text])


def test_a_dropped_program_is_named_refused_mended_and_read_once(open_page, console_errors):
    by = makers.person("programmer")
    old = TEXT.format(16_000).encode()
    add_revision(by=by, submission=uuid4(), name="HM-0412", label="B", data=old)
    page = open_page(person=by)
    page.goto("/programs/new/")
    drop(page, "lid.zip", "PK\x03\x04")
    expect(page.get_by_text("This is a zip archive.")).to_be_visible()

    drop(page, "hm-0412.nc", TEXT.format(18_000))
    expect(page.get_by_label("Program", exact=True)).to_have_value("HM-0412")
    mark = page.get_by_label("Revision", exact=True)
    expect(mark).to_have_value("C")
    mark.fill("B")
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_text("HM-0412 has a revision B already.")).to_be_visible()
    assert page.get_by_label("File").evaluate("field => field.files[0].name") == "hm-0412.nc"

    page.route("**/programs/new/", lambda route: route.abort())
    mark.fill("C")
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_text("Send it again; it counts once.")).to_be_visible()
    console_errors.clear()
    page.unroute("**/programs/new/")

    page.get_by_role("button", name="Read it").dblclick()
    page.wait_for_url(re.compile(r"/programs/\d+/$"))
    expect(page.get_by_text("Since B: T5: S16000 → S18000.")).to_be_visible()
    assert [row.label for row in ProgramRevision.objects.all()] == ["C", "B"]
