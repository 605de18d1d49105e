"""Two people at the same moment: threads with their own connections, on a database that commits.

Left to chance, one mostly goes after the other. So each test names the point between the
look and the write, and there the first waits a moment for the second: where nothing holds
them apart, they meet, and both write.
"""

from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from threading import Barrier, BrokenBarrierError
from uuid import uuid4

import pytest
from django.db import connection

from crib.actions import people, pieces, stock
from crib.actions.buying import mark_ordered
from crib.actions.places import account
from crib.models import Act, Condition, Movement, OrderLine, Person, Piece, Place, PlaceKind
from crib.rules.refusal import Refused
from tests import makers

pytestmark = pytest.mark.django_db(transaction=True)

#: How long one waits for the other [s]. Held back properly, the other never comes.
PATIENCE_S = 0.4


@pytest.fixture
def meet_after(monkeypatch):
    """Let two threads meet behind functions: `meet_after((stock, "_check_enough"))`."""
    point = Barrier(2)

    def wait_behind(function):
        def then_wait(*args, **kwargs):
            answer = function(*args, **kwargs)
            with suppress(BrokenBarrierError):
                point.wait(timeout=PATIENCE_S)
            return answer

        return then_wait

    def prepare(*functions):
        for module, name in functions:
            monkeypatch.setattr(module, name, wait_behind(getattr(module, name)))

    return prepare


def at_once(*works):
    """Run all `works` side by side; each answer is what it returned or the refusal's code."""
    start = Barrier(len(works))

    def run(work):
        try:
            # Connected before the start, so that they really meet.
            connection.ensure_connection()
            start.wait(timeout=20)
            return work()
        except Refused as refused:
            return refused.code
        finally:
            connection.close()

    with ThreadPoolExecutor(len(works)) as pool:
        return list(pool.map(run, works))


def refusals(answers):
    return [answer for answer in answers if isinstance(answer, str)]


def takes(item, drawer, piece=None):
    """One person's wish to take one, ready to be run."""
    by = makers.person("operator")
    # Made beforehand: making it would hold the second person back by itself.
    account(PlaceKind.PERSON)
    return lambda: stock.issue(
        by=by, submission=uuid4(), item=item, quantity=1, from_place=drawer, piece=piece
    )


def test_the_last_piece_goes_to_one_of_two(meet_after):
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 1)

    meet_after((stock, "_check_enough"))
    answers = at_once(takes(item, drawer), takes(item, drawer))

    assert refusals(answers) == ["stock.not_enough"]
    assert Movement.objects.on_hand(item.pk, drawer.pk) == 0
    assert Movement.objects.filter(item=item, reason="issue").count() == 1


def test_three_pieces_go_to_three_of_four():
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 3)

    answers = at_once(*(takes(item, drawer) for _ in range(4)))

    assert refusals(answers) == ["stock.not_enough"]
    assert Movement.objects.on_hand(item.pk, drawer.pk) == 0


def test_the_last_loose_piece_goes_to_one_and_the_marked_one_to_nobody(meet_after):
    drawer, item = makers.place(), makers.cutter_item()
    marked = makers.piece(item, drawer)
    makers.stocked(item, drawer, 1)

    meet_after((stock, "_check_enough"))
    answers = at_once(takes(item, drawer), takes(item, drawer))

    assert refusals(answers) == ["stock.name_the_piece"]
    assert Movement.objects.on_hand(item.pk, drawer.pk) == 1
    assert Piece.objects.get(pk=marked.pk).place == drawer


def test_a_marked_piece_goes_to_one_of_two(meet_after):
    drawer, item = makers.place(), makers.cutter_item()
    wanted, _ = makers.piece(item, drawer), makers.piece(item, drawer)

    meet_after((stock, "_check_enough"))
    answers = at_once(
        takes(item, drawer, Piece.objects.get(pk=wanted.pk)),
        takes(item, drawer, Piece.objects.get(pk=wanted.pk)),
    )

    assert refusals(answers) == ["stock.piece_elsewhere"]
    assert Piece.objects.get(pk=wanted.pk).place.kind == PlaceKind.PERSON
    assert wanted.movements.filter(reason="issue").count() == 1


def test_taking_out_and_quarantining_one_piece_leave_it_at_one_place(meet_after):
    drawer = makers.place()
    piece = makers.piece(makers.cutter_item(), drawer)
    toolroom = makers.person("toolroom")

    def quarantine():
        return pieces.set_condition(
            by=toolroom,
            submission=uuid4(),
            piece=Piece.objects.get(pk=piece.pk),
            condition=Condition.QUARANTINED,
            note="dropped",
        )

    meet_after((stock, "_check_enough"), (pieces, "_place_for"))
    at_once(takes(piece.item, drawer, piece), quarantine)

    piece.refresh_from_db()
    held = {place for (_, place), n in Movement.objects.balances().items() if n > 0}
    assert held == {piece.place_id}


def test_one_submission_sent_twice_at_once_is_one_row_and_one_answer(meet_after):
    by, drawer, item, submission = (
        makers.person("toolroom"),
        makers.place(),
        makers.item(),
        uuid4(),
    )

    def receive():
        return stock.receive(by=by, submission=submission, item=item, quantity=5, to_place=drawer)

    meet_after((stock, "_require_rack"))
    answers = at_once(receive, receive)

    assert sorted(done.repeated for done in answers) == [False, True]
    movement = Movement.objects.get()
    assert {done.result for done in answers} == {str(movement.pk)}
    assert Act.objects.get().result == str(movement.pk)


def test_one_submission_of_two_people_at_once_is_done_for_one(meet_after):
    drawer, submission = makers.place(), uuid4()
    item = makers.stocked(makers.item(), drawer, 5)
    people = [makers.person("operator"), makers.person("operator")]

    def take(by):
        return lambda: stock.issue(
            by=by, submission=submission, item=item, quantity=1, from_place=drawer
        )

    meet_after((stock, "_require_rack"))
    answers = at_once(*map(take, people))

    assert refusals(answers) == ["act.id_used_before"]
    assert Movement.objects.on_hand(item.pk, drawer.pk) == 4


def test_an_account_needed_by_two_for_the_first_time_is_made_once():
    accounts = at_once(*[lambda: account(PlaceKind.SUPPLIER)] * 2)

    assert accounts[0] == accounts[1]
    assert Place.objects.count() == 1


def test_one_mark_given_by_two_at_once_is_on_one_piece(meet_after):
    drawer = makers.place()
    people = [makers.person("toolroom"), makers.person("toolroom")]
    items = [makers.cutter_item(), makers.cutter_item()]

    def mark(by, item):
        return lambda: pieces.add_piece(
            by=by, submission=uuid4(), piece=Piece(item=item, mark="H-07"), at_place=drawer
        )

    meet_after((pieces, "_check_piece"))
    answers = at_once(*map(mark, people, items))

    assert refusals(answers) == ["piece.mark_taken"]
    assert Piece.objects.get().movements.count() == 1
    assert Movement.objects.count() == 1


def test_two_deliveries_of_one_line_close_it(meet_after):
    buyer, drawer, item = makers.person("buyer"), makers.place(), makers.item()
    done = mark_ordered(by=buyer, submission=uuid4(), item=item, quantity=10)
    order_line = OrderLine.objects.get(pk=done.result)

    def receive():
        return stock.receive(
            by=buyer,
            submission=uuid4(),
            item=item,
            quantity=5,
            to_place=drawer,
            order_line=order_line,
        )

    meet_after((stock, "_require_line_of"))
    assert refusals(at_once(receive, receive)) == []

    order_line.refresh_from_db()
    assert order_line.closed
    assert Movement.objects.on_hand(item.pk, drawer.pk) == 10


def test_one_delivery_booked_at_two_desks_is_booked_once(meet_after):
    buyer, drawer, item = makers.person("buyer"), makers.place(), makers.item()
    done = mark_ordered(by=buyer, submission=uuid4(), item=item, quantity=10)
    order_line = OrderLine.objects.get(pk=done.result)

    def receive():
        return stock.receive(
            by=buyer,
            submission=uuid4(),
            item=item,
            quantity=10,
            to_place=drawer,
            order_line=order_line,
        )

    meet_after((stock, "_require_line_of"))
    assert refusals(at_once(receive, receive)) == ["order.other_line"]
    assert Movement.objects.on_hand(item.pk, drawer.pk) == 10


def test_two_admins_cannot_take_each_other_away(meet_after):
    anna, mika = makers.person("admin"), makers.person("admin")

    def take_away(by, other):
        person = Person.objects.get(pk=other.pk)
        person.is_admin = False
        return lambda: people.save_person(by=by, submission=uuid4(), person=person)

    meet_after((people, "_keep_an_admin"))
    answers = at_once(take_away(anna, mika), take_away(mika, anna))

    assert refusals(answers) == ["person.last_admin"]
    assert Person.objects.filter(is_admin=True).count() == 1
