"""The buyer's page: what, how many, why; marking as ordered; sheet and file."""

from __future__ import annotations

import csv
import datetime
import io

import pytest
from django.urls import reverse
from django.utils import timezone

from crib.models import InsertFacts, OrderLine, Supplier
from crib.rules.working_days import day_after_working_days
from crib.views.csv_file import harmless
from tests import makers
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db
PAGE = "/running-low/"


def low(code="K-01", minimum=4, stock=0, **fields):
    item = makers.item(code=code, minimum_kept=minimum, **fields)
    return makers.stocked(item, makers.place(), stock) if stock else item


def mark(client, item, **typed):
    lines = client.get(PAGE).context["to_order"]
    form = next(line.form for line in lines if line.row.item == item)
    url = reverse("crib:mark_ordered", kwargs={"code": item.code})
    return client.post(url, {"submission": str(form["submission"].value()), **typed})


def test_nothing_low_is_said():
    makers.item()
    assert "Nothing to order" in text_of(signed_in("buyer").get(PAGE))
    assert "Nothing to order" in text_of(signed_in("buyer").get("/running-low/print/"))


def test_a_line_gives_quantity_in_pieces_and_packs_and_the_reason():
    low(minimum=24, stock=6, pack_size=10)
    page = text_of(signed_in("buyer").get(PAGE))
    assert "Order 20 pieces = 2 packs of 10" in page
    assert "6 usable, minimum 24: 18 short" in page
    assert "expected use not recorded" in page


def test_inserts_are_counted_in_changes_as_well():
    insert = low(code="I-1", minimum=24, stock=6, kind="insert")
    InsertFacts.objects.create(item=insert, edges=2)
    makers.cutter_item().cutter_facts.__class__.objects.update(seats=4, insert_item=insert)
    assert "6 pcs = 1 change (+2)" in text_of(signed_in("buyer").get(PAGE))


def test_the_line_that_runs_out_before_its_delivery_stands_first():
    supplier = Supplier.objects.create(name="Invented Supply", lead_working_days=9)
    low(code="A-1", minimum=10, stock=1)
    low(code="Z-1", minimum=10, stock=8, use_per_week=7, supplier=supplier)
    answer = signed_in("buyer").get(PAGE)
    assert [line.row.item.code for line in answer.context["to_order"]] == ["Z-1", "A-1"]
    assert answer.context["pressing"] == 1


def test_quantity_and_day_are_filled_in():
    supplier = Supplier.objects.create(name="Invented Supply", lead_working_days=6)
    low(minimum=4, supplier=supplier)
    form = signed_in("buyer").get(PAGE).context["to_order"][0].form
    assert form["quantity"].value() == 4
    assert form["due_on"].value() == day_after_working_days(timezone.localdate(), 6)


def test_no_day_is_made_up_where_the_delivery_time_is_not_known():
    low()
    assert signed_in("buyer").get(PAGE).context["to_order"][0].form["due_on"].value() is None


def test_an_ordered_line_moves_down_and_nobody_orders_it_twice():
    item, client = low(), signed_in("buyer")
    assert mark(client, item, quantity=4)["Location"] == PAGE
    answer = client.get(PAGE)
    assert not answer.context["to_order"]
    assert [line.row.item for line in answer.context["covered"]] == [item]
    assert reverse("crib:receive_line", kwargs={"pk": OrderLine.objects.get().pk}) in (
        answer.content.decode()
    )


def test_ordered_sent_twice_is_one_line():
    item, client = low(), signed_in("buyer")
    form = client.get(PAGE).context["to_order"][0].form
    url = reverse("crib:mark_ordered", kwargs={"code": item.code})
    data = {"submission": str(form["submission"].value()), "quantity": 4}
    assert client.post(url, data)["Location"] == client.post(url, data)["Location"]
    assert OrderLine.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"quantity": 0}, "quantity"),
        ({"quantity": "some"}, "quantity"),
        ({"quantity": 100_001}, "quantity"),
        ({"quantity": 1, "due_on": "2020-01-01"}, "due_on"),
        ({"quantity": 1, "due_on": "soon"}, "due_on"),
    ],
)
def test_a_bad_line_is_shown_again_with_its_field(typed, field):
    item, client = low(), signed_in("buyer")
    low(code="K-02")
    answer = mark(client, item, **typed)
    forms = {line.row.item: line.form for line in answer.context["to_order"]}
    assert list(forms.pop(item).errors) == [field]
    assert not any(form.is_bound for form in forms.values())
    assert not OrderLine.objects.exists()


def test_others_see_the_list_and_cannot_mark_it():
    item, client = low(), signed_in("toolroom")
    assert client.get(PAGE).context["to_order"][0].form is None
    url = reverse("crib:mark_ordered", kwargs={"code": item.code})
    assert client.post(url, {"quantity": 4}).status_code == 403
    assert signed_in("buyer").get(url).status_code == 405


def test_a_late_line_says_so():
    item, client = low(), signed_in("buyer")
    mark(client, item, quantity=4)
    OrderLine.objects.update(due_on=timezone.localdate())
    assert " late " not in text_of(client.get(PAGE))
    OrderLine.objects.update(due_on=timezone.localdate() - datetime.timedelta(days=1))
    assert " late " in text_of(client.get(PAGE))


def test_the_sheet_is_grouped_by_supplier():
    one, other = (Supplier.objects.create(name=name) for name in ("Aspen Supply", "Birch Supply"))
    for code, supplier in (("K-1", other), ("K-2", one), ("K-3", other), ("K-4", None)):
        low(code=code, supplier=supplier)
    groups = signed_in("buyer").get("/running-low/print/").context["groups"]
    assert [(name, len(lines)) for name, lines in groups] == [
        ("Aspen Supply", 1),
        ("Birch Supply", 2),
        ("No supplier recorded", 1),
    ]


def test_the_file_holds_every_line_and_runs_no_formula():
    item = low(minimum=24, stock=6, pack_size=10)
    item.description = "=HYPERLINK(1)"
    item.save()
    answer = signed_in("buyer").get("/running-low/list.csv")
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [(row["item"], row["order pieces"], row["packs"]) for row in rows] == [
        (item.code, "20", "2")
    ]
    assert rows[0]["description"] == "'=HYPERLINK(1)"
    assert "attachment" in answer["Content-Disposition"]


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r", " ="])
def test_no_cell_begins_a_formula(sign):
    assert harmless(f"{sign}1") == f"'{sign}1"
    assert harmless(-1) == -1
    assert harmless("1-1") == "1-1"


@pytest.mark.parametrize(
    ("start", "days", "end"),
    [
        ("2026-05-08", 0, "2026-05-08"),
        ("2026-05-08", 1, "2026-05-11"),
        ("2026-05-09", 1, "2026-05-11"),
        ("2026-05-11", 5, "2026-05-18"),
    ],
)
def test_working_days_leave_weekends_out(start, days, end):
    read = datetime.date.fromisoformat
    assert day_after_working_days(read(start), days) == read(end)


def test_the_page_asks_few_questions(django_assert_max_num_queries):
    for number in range(8):
        low(code=f"K-{number}")
    client = signed_in("buyer")
    with django_assert_max_num_queries(10):
        client.get(PAGE)
