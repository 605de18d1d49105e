"""What runs low, in which order, and what was ordered and came."""

import datetime
from uuid import uuid4

import pytest
from django.utils import timezone

from crib.actions import buying, stock
from crib.models import Movement, OrderLine, Piece, Supplier
from crib.rules.refusal import NotAllowed, Refused
from crib.rules.reorder import (
    StockLine,
    changes_left,
    days_of_cover,
    runs_out_first,
    show_changes,
    show_cover,
    suggest,
    urgency,
)
from tests import makers


def line(usable=0, on_order=0, minimum=10, **more):
    return StockLine("I-1", usable, on_order, minimum, **more)


# ---- the rule: position against a hand-set minimum (common practice)
@pytest.mark.parametrize(
    ("usable", "on_order", "minimum", "pack", "order", "packs", "covered"),
    [
        # below the minimum, filled up to it, in whole packs
        (9, 0, 10, 1, 1, 1, False),
        (0, 0, 10, 1, 10, 10, False),
        (6, 0, 24, 10, 20, 2, False),
        (14, 0, 24, 10, 10, 1, False),
        (13, 0, 24, 10, 20, 2, False),
        # open orders count
        (0, 9, 10, 1, 1, 1, False),
        (0, 10, 10, 1, 0, 0, True),
        (9, 5, 10, 1, 0, 0, True),
        # at the minimum: said only while something is on its way
        (10, 5, 10, 1, 0, 0, True),
    ],
)
def test_an_order_fills_up_to_the_minimum_in_whole_packs(
    usable, on_order, minimum, pack, order, packs, covered
):
    found = suggest(line(usable, on_order, minimum, pack_size=pack))

    assert (found.order, found.packs, found.covered) == (order, packs, covered)


@pytest.mark.parametrize(
    ("usable", "on_order", "minimum"),
    [(10, 0, 10), (11, 0, 10), (11, 5, 10), (0, 0, None), (0, 0, 0)],
)
def test_nothing_is_said_at_the_minimum_above_it_and_without_one(usable, on_order, minimum):
    assert suggest(line(usable, on_order, minimum)) is None


def test_the_reason_has_the_numbers():
    assert suggest(line(6, 4, 24)).reason == "6 usable, 4 on order, minimum 24: 14 short"
    assert suggest(line(9, 5, 10)).reason == "9 usable, 1 under; 5 already ordered"
    assert suggest(line(10, 5, 10)).reason == "10 usable, at minimum; 5 already ordered"


@pytest.mark.parametrize(
    ("usable", "per_change", "left", "shown"),
    [
        (0, 4, (0, 0), "0 pcs = 0 changes"),
        (3, 4, (0, 3), "3 pcs = 0 changes (+3)"),
        (4, 4, (1, 0), "4 pcs = 1 change"),
        (6, 4, (1, 2), "6 pcs = 1 change (+2)"),
        (8, 4, (2, 0), "8 pcs = 2 changes"),
    ],
)
def test_pieces_are_not_mistaken_for_changes(usable, per_change, left, shown):
    assert changes_left(usable, per_change) == left
    assert show_changes(usable, per_change) == shown


def test_a_change_takes_at_least_one_piece():
    with pytest.raises(ValueError, match="at least one"):
        changes_left(6, 0)


@pytest.mark.parametrize(
    ("usable", "per_week", "lead", "cover", "first"),
    [
        # 7 a week of 5 working days: 14 last 10 days
        (14, 7, 10, 10.0, False),
        (14, 7, 11, 10.0, True),
        (14, 7, 9, 10.0, False),
        (0, 7, 1, 0.0, True),
        (0, 7, 0, 0.0, False),
        # not known is not pressing, and not said to be fine either
        (0, None, 9, None, False),
        (0, 7, None, 0.0, False),
        (0, 0, 9, None, False),
    ],
)
def test_stock_that_ends_before_a_delivery_runs_out_first(usable, per_week, lead, cover, first):
    entry = line(usable, use_per_week=per_week, lead_working_days=lead)

    assert days_of_cover(entry) == cover
    assert runs_out_first(entry) is first


@pytest.mark.parametrize(
    ("usable", "per_week", "lead", "words"),
    [
        (6, 7, 9, "lasts about 4 working days, delivery takes 9"),
        (2, 7, None, "lasts about 1 working day, delivery time not recorded"),
        (6, None, 9, "expected use not recorded"),
        (6, 0, 9, "no use expected"),
    ],
)
def test_cover_is_said_in_words_and_what_is_missing_too(usable, per_week, lead, words):
    assert show_cover(line(usable, use_per_week=per_week, lead_working_days=lead)) == words


@pytest.mark.parametrize(
    ("usable", "on_order", "minimum", "share"),
    [(6, 0, 24, 0.75), (0, 0, 24, 1.0), (24, 0, 24, 0.0), (30, 0, 24, 0.0), (6, 18, 24, 0.0)],
)
def test_urgency_is_the_share_missing_from_nothing_to_all(usable, on_order, minimum, share):
    assert urgency(line(usable, on_order, minimum)) == (False, share)


# ---- the buyer's page
def an_item(usable, minimum, **fields):
    item = makers.item(minimum_kept=minimum, **fields)
    return makers.stocked(item, makers.place(), usable) if usable else item


def order(item, quantity, **more):
    by = makers.person("buyer")
    done = buying.mark_ordered(by=by, submission=uuid4(), item=item, quantity=quantity, **more)
    return OrderLine.objects.get(pk=done.result)


def receive(order_line, quantity, item=None):
    return stock.receive(
        by=makers.person("toolroom"),
        submission=uuid4(),
        item=item or order_line.item,
        quantity=quantity,
        to_place=makers.place(),
        order_line=order_line,
    )


def codes():
    return [row.item.code for row in buying.reorder_rows()]


def refusal_of(run, *args, **kwargs):
    """The refusal's code; proves that it wrote nothing."""
    before = (Movement.objects.count(), list(OrderLine.objects.order_by("pk").values()))
    with pytest.raises(Refused) as refused:
        run(*args, **kwargs)
    assert (Movement.objects.count(), list(OrderLine.objects.order_by("pk").values())) == before
    return refused.value.code


@pytest.mark.django_db
def test_what_runs_out_before_a_delivery_comes_first_then_the_share_missing():
    slow = Supplier.objects.create(name="Slow Tools", lead_working_days=20)
    fast = Supplier.objects.create(name="Fast Tools", lead_working_days=2)
    an_item(1, 10, code="MISSING-90", supplier=fast, use_per_week=1)
    an_item(9, 10, code="PRESSING-10", supplier=slow, use_per_week=7)
    an_item(5, 10, code="PRESSING-50", supplier=slow, use_per_week=7)
    an_item(0, 10, code="MISSING-ALL")
    an_item(5, 10, code="B-MISSING-50")
    an_item(50, 100, code="A-MISSING-50")
    covered = an_item(0, 10, code="COVERED", supplier=slow, use_per_week=7)
    order(covered, 10)
    an_item(10, 10, code="ENOUGH")
    an_item(0, None, code="NOT-WATCHED")
    an_item(0, 10, code="RETIRED", is_retired=True)

    assert codes() == [
        "PRESSING-50",
        "PRESSING-10",
        "MISSING-ALL",
        "MISSING-90",
        "A-MISSING-50",
        "B-MISSING-50",
        "COVERED",
    ]


@pytest.mark.django_db
def test_the_number_of_queries_does_not_grow_with_the_crib(django_assert_num_queries):
    maker = Supplier.objects.create(name="Invented Tools", lead_working_days=5)
    for _ in range(6):
        insert = an_item(3, 10, kind="insert", supplier=maker, use_per_week=2)
        makers.cutter_item(insert_item=insert, seats=4)
        receive(order(insert, 5), 2)

    # stock in, stock out, open orders, items, the cutters that take them
    with django_assert_num_queries(5):
        rows = buying.reorder_rows()
        assert [(row.line.usable, row.line.on_order) for row in rows] == [(5, 3)] * 6
        assert {row.item.supplier.name for row in rows} == {"Invented Tools"}


@pytest.mark.django_db
def test_pieces_that_are_taken_out_or_out_of_service_are_not_usable():
    drawer = makers.place()
    item = makers.cutter_item()
    item.minimum_kept = 4
    item.save()
    makers.stocked(item, drawer, 2)
    worn, good = makers.piece(item, drawer), makers.piece(item, drawer)
    stock.issue(
        by=makers.person("operator"), submission=uuid4(), item=item, quantity=1, from_place=drawer
    )
    Piece.objects.filter(pk=worn.pk).update(condition="worn")

    (row,) = buying.reorder_rows()

    assert (row.line.usable, row.suggestion.order) == (2, 2)
    assert good.condition == "in_service"


@pytest.mark.django_db
def test_an_insert_knows_the_seats_of_the_largest_cutter_that_takes_it():
    insert = an_item(0, 10, kind="insert")
    for seats in (2, 6, 4):
        makers.cutter_item(insert_item=insert, seats=seats)

    (row,) = buying.reorder_rows()

    assert row.line.pieces_per_change == 6


@pytest.mark.django_db
def test_a_row_without_supplier_use_or_order_says_that_it_is_not_known():
    an_item(0, 10)

    (row,) = buying.reorder_rows()

    assert (row.line.use_per_week, row.line.lead_working_days, row.due_on) == (None, None, None)


# ---- ordering and receiving
@pytest.mark.django_db
def test_what_is_marked_as_ordered_is_not_suggested_again():
    item = an_item(2, 10)
    (before,) = buying.reorder_rows()

    order_line = order(item, before.suggestion.order)

    (after,) = buying.reorder_rows()
    assert (order_line.quantity, order_line.ordered_on) == (8, timezone.localdate())
    assert (after.suggestion.order, after.suggestion.covered) == (0, True)


@pytest.mark.django_db
def test_a_line_is_open_until_all_of_it_came():
    item = an_item(0, 10)
    order_line = order(item, 10)

    for came, left in ((4, 6), (5, 1)):
        receive(order_line, came)
        order_line.refresh_from_db()
        assert not order_line.closed
        assert buying.open_quantities()[item.pk] == (left, None)

    receive(order_line, 1)
    order_line.refresh_from_db()
    assert order_line.closed
    assert buying.open_quantities() == {}
    assert sum(order_line.receipts.values_list("quantity", flat=True)) == 10


@pytest.mark.django_db
@pytest.mark.parametrize(("came", "closed"), [(9, False), (10, True), (12, True)])
def test_one_delivery_closes_a_line_when_it_is_all_or_more(came, closed):
    order_line = order(an_item(0, 10), 10)

    receive(order_line, came)

    order_line.refresh_from_db()
    assert order_line.closed is closed
    assert Movement.objects.get(order_line=order_line).quantity == came


@pytest.mark.django_db
def test_nothing_more_is_booked_on_a_closed_line_even_from_an_old_page():
    order_line = order(an_item(0, 10), 10)
    on_an_old_page = OrderLine.objects.get(pk=order_line.pk)
    receive(order_line, 10)

    assert refusal_of(receive, on_an_old_page, 1) == "order.other_line"
    order_line.refresh_from_db()
    assert refusal_of(receive, order_line, 1) == "order.other_line"


@pytest.mark.django_db
def test_a_line_takes_goods_of_its_own_item_only():
    order_line = order(an_item(0, 10), 10)

    assert refusal_of(receive, order_line, 1, item=makers.item()) == "order.other_line"


@pytest.mark.django_db
def test_goods_without_a_line_leave_the_order_open():
    item = an_item(0, 10)
    order_line = order(item, 10)

    makers.stocked(item, makers.place(), 10)

    order_line.refresh_from_db()
    assert not order_line.closed
    assert buying.open_quantities()[item.pk] == (10, None)


@pytest.mark.django_db
def test_open_lines_add_up_and_the_earliest_day_counts():
    item, today = an_item(0, 30), timezone.localdate()
    for days in (9, 3, None, 5):
        order(item, 5, due_on=days and today + datetime.timedelta(days))

    assert buying.open_quantities() == {item.pk: (20, today + datetime.timedelta(3))}


@pytest.mark.django_db
def test_a_delivery_is_expected_today_at_the_earliest():
    item, today = an_item(0, 10), timezone.localdate()

    yesterday = today - datetime.timedelta(1)
    assert refusal_of(order, item, 5, due_on=yesterday) == "order.due_in_the_past"
    assert order(item, 5, due_on=today).due_on == today


@pytest.mark.django_db
@pytest.mark.parametrize("quantity", [0, -1, 100_001, 2.5, True])
def test_only_a_whole_number_of_pieces_is_ordered(quantity):
    assert refusal_of(order, an_item(0, 10), quantity) == "order.quantity"


@pytest.mark.django_db
@pytest.mark.parametrize("quantity", [1, 100_000])
def test_the_smallest_and_the_largest_order_are_taken(quantity):
    assert order(an_item(0, 10), quantity).quantity == quantity


@pytest.mark.django_db
@pytest.mark.parametrize("role", ["operator", "toolroom", "programmer", "lead"])
def test_who_does_not_buy_orders_nothing(role):
    with pytest.raises(NotAllowed):
        buying.mark_ordered(
            by=makers.person(role), submission=uuid4(), item=an_item(0, 10), quantity=5
        )

    assert not OrderLine.objects.exists()


@pytest.mark.django_db
def test_pressing_ordered_twice_orders_once():
    by, submission, item = makers.person("buyer"), uuid4(), an_item(0, 10)

    answers = [
        buying.mark_ordered(by=by, submission=submission, item=item, quantity=10) for _ in range(2)
    ]

    assert [done.repeated for done in answers] == [False, True]
    assert answers[0].result == answers[1].result
    assert OrderLine.objects.count() == 1
