"""Marked pieces: the mark, the condition, the stud in a holder, and minutes of use."""

from uuid import uuid4

import pytest
from django.db.models import Sum

from crib.actions import pieces, stock
from crib.actions.places import account
from crib.models import Act, Condition, Movement, Piece, PlaceKind, Reason, StudState
from crib.rules.refusal import NotAllowed, Refused
from tests import makers

pytestmark = pytest.mark.django_db


def add(piece, drawer, role="toolroom", **more):
    by = makers.person(role)
    return pieces.add_piece(by=by, submission=uuid4(), piece=piece, at_place=drawer, **more)


def set_condition(piece, condition, note="chipped", role="toolroom"):
    return pieces.set_condition(
        by=makers.person(role), submission=uuid4(), piece=piece, condition=condition, note=note
    )


def set_stud(piece, state, pattern=""):
    return pieces.set_stud(
        by=makers.person("toolroom"),
        submission=uuid4(),
        piece=piece,
        stud_state=state,
        stud_pattern=pattern,
    )


def refusal_of(run, *args, **kwargs):
    """The refusal's code; proves that it wrote nothing."""
    before = state()
    with pytest.raises(Refused) as refused:
        run(*args, **kwargs)
    assert state() == before
    return refused.value.code


def state():
    return (
        list(Piece.objects.order_by("pk").values()),
        Movement.objects.count(),
        Act.objects.count(),
    )


def cutter(home=None):
    item = makers.cutter_item()
    item.home_place = home
    item.save()
    return item


def built_in(piece):
    """`piece` as part of an assembly, through the ledger."""
    shelf = makers.place("ASSEMBLY 1044", kind=PlaceKind.ASSEMBLY)
    stock.post(
        act=Act.objects.first(),
        item=piece.item,
        quantity=1,
        from_place=piece.place,
        to_place=shelf,
        reason=Reason.BUILD,
        piece=piece,
    )
    return shelf


# ---- the mark
def test_a_piece_is_marked_and_booked_in():
    drawer, piece = makers.place(), Piece(item=makers.cutter_item(), mark="F12-3")

    done = add(piece, drawer)

    stored = Piece.objects.get(mark_key="f12-3")
    movement = stored.movements.get()
    assert (str(stored.pk), stored.place) == (done.result, drawer)
    assert (stored.condition, stored.stud_state) == (Condition.IN_SERVICE, StudState.NOT_USED)
    assert (movement.quantity, movement.reason) == (1, Reason.RECEIVE)
    assert (movement.from_place.kind, movement.to_place) == (PlaceKind.SUPPLIER, drawer)
    assert Movement.objects.on_hand(stored.item_id, drawer.pk) == 1


def test_an_old_piece_comes_in_as_opening_stock():
    piece = Piece(item=makers.cutter_item(), mark="F12-3")

    add(piece, makers.place(), reason=Reason.OPENING)

    assert piece.movements.get().reason == Reason.OPENING


@pytest.mark.parametrize("mark", ["H-07", "h-07", " H-07 ", "Ｈ-07"])
def test_a_mark_is_never_given_twice(mark):
    drawer = makers.place()
    makers.piece(makers.cutter_item(), drawer, mark="H-07")
    twin = Piece(item=makers.cutter_item(), mark=mark)

    assert refusal_of(add, twin, drawer) == "piece.mark_taken"


def test_the_mark_of_a_scrapped_piece_is_not_free_again():
    drawer = makers.place()
    piece = makers.piece(makers.cutter_item(), drawer, mark="H-07")
    set_condition(piece, Condition.SCRAPPED)

    twin = Piece(item=makers.cutter_item(), mark="H-07")

    assert refusal_of(add, twin, drawer) == "piece.mark_taken"


def test_a_piece_is_not_added_a_second_time():
    piece = makers.piece(makers.cutter_item(), makers.place())

    assert refusal_of(add, piece, makers.place()) == "piece.mark_taken"


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"mark": ""}, "piece.not_valid"),
        ({"mark": "  "}, "piece.not_valid"),
        ({"mark": "x" * 21}, "piece.not_valid"),
        ({"mark": "ß" * 20}, "piece.not_valid"),
        ({"condition": "fine"}, "piece.not_valid"),
    ],
)
def test_what_the_columns_do_not_take_is_refused(fields, code):
    piece = Piece(**{"item": makers.cutter_item(), "mark": "F12-3"} | fields)

    assert refusal_of(add, piece, makers.place()) == code


def test_a_holder_says_which_stud_is_fitted():
    drawer, item = makers.place(), makers.holder_item()

    assert (
        refusal_of(add, Piece(item=item, mark="H-1", stud_state="fitted"), drawer)
        == "piece.not_valid"
    )
    add(Piece(item=item, mark="H-2", stud_state="fitted", stud_pattern="A"), drawer)
    add(Piece(item=item, mark="H-3"), drawer)

    assert Piece.objects.get(mark="H-3").stud_state == StudState.UNKNOWN


def test_only_a_holder_has_a_stud():
    piece = Piece(item=makers.cutter_item(), mark="C-1", stud_state="fitted", stud_pattern="A")

    add(piece, makers.place())

    piece.refresh_from_db()
    assert (piece.stud_state, piece.stud_pattern) == (StudState.NOT_USED, "")


def test_a_piece_is_added_to_a_rack_only():
    piece = Piece(item=makers.cutter_item(), mark="C-1")

    assert refusal_of(add, piece, account(PlaceKind.PERSON)) == "stock.not_a_rack"


@pytest.mark.parametrize("role", ["operator", "programmer", "lead"])
def test_who_may_not_edit_items_adds_no_piece(role):
    with pytest.raises(NotAllowed):
        add(Piece(item=makers.cutter_item(), mark="C-1"), makers.place(), role=role)

    assert not Piece.objects.exists()


# ---- the condition
@pytest.mark.parametrize(
    ("condition", "kind", "reason"),
    [
        (Condition.QUARANTINED, PlaceKind.QUARANTINE, Reason.QUARANTINE),
        (Condition.WORN, PlaceKind.QUARANTINE, Reason.QUARANTINE),
        (Condition.REGRIND, PlaceKind.REGRIND, Reason.MOVE),
        (Condition.SCRAPPED, PlaceKind.GONE, Reason.SCRAP),
        (Condition.LOST, PlaceKind.GONE, Reason.SCRAP),
    ],
)
def test_a_loose_piece_goes_where_its_condition_belongs_and_back_home(condition, kind, reason):
    home, drawer = makers.place(), makers.place()
    piece = makers.piece(cutter(home), drawer)

    done = set_condition(piece, condition)

    piece.refresh_from_db()
    movement = piece.movements.first()
    assert (piece.condition, piece.condition_note) == (condition, "chipped")
    assert (piece.place.kind, movement.to_place, movement.reason) == (kind, piece.place, reason)
    act = Act.objects.get(pk=done.act_id)
    assert act.about == f"piece {piece.mark}"
    assert act.details == {"condition": condition, "note": "chipped"}

    set_condition(piece, Condition.IN_SERVICE, note="")

    piece.refresh_from_db()
    assert (piece.condition, piece.condition_note, piece.place) == ("in_service", "", home)
    assert piece.movements.first().reason == Reason.MOVE


def test_a_second_condition_of_the_same_place_moves_nothing():
    piece = makers.piece(makers.cutter_item(), makers.place())
    set_condition(piece, Condition.QUARANTINED)

    set_condition(piece, Condition.WORN)

    assert piece.movements.count() == 2
    piece.refresh_from_db()
    assert piece.condition == Condition.WORN


def test_a_piece_fit_again_without_a_home_is_refused_and_not_left_out_of_reach():
    piece = makers.piece(makers.cutter_item(), makers.place())
    set_condition(piece, Condition.QUARANTINED)

    assert refusal_of(set_condition, piece, Condition.IN_SERVICE) == "piece.no_home"


def test_a_home_that_is_no_rack_takes_nothing_back():
    home = makers.place(kind=PlaceKind.REGRIND)
    piece = makers.piece(cutter(home), makers.place())
    set_condition(piece, Condition.QUARANTINED)

    assert refusal_of(set_condition, piece, Condition.IN_SERVICE) == "piece.no_home"


def test_a_piece_in_a_rack_or_taken_out_stays_there_when_it_is_in_service():
    home, drawer = makers.place(), makers.place()
    piece = makers.piece(cutter(home), drawer)

    set_condition(piece, Condition.IN_SERVICE)
    piece.refresh_from_db()
    assert piece.place == drawer

    stock.issue(
        by=makers.person("operator"),
        submission=uuid4(),
        item=piece.item,
        quantity=1,
        from_place=drawer,
        piece=piece,
    )
    set_condition(piece, Condition.IN_SERVICE)
    piece.refresh_from_db()
    assert piece.place.kind == PlaceKind.PERSON


@pytest.mark.parametrize("condition", [c for c in Condition if c != Condition.IN_SERVICE])
@pytest.mark.parametrize("note", ["", "   "])
def test_every_other_condition_needs_a_reason(condition, note):
    piece = makers.piece(makers.cutter_item(), makers.place())

    assert refusal_of(set_condition, piece, condition, note=note) == "piece.condition_reason"


def test_a_condition_that_is_none_is_refused():
    piece = makers.piece(makers.cutter_item(), makers.place())

    assert refusal_of(set_condition, piece, "fine") == "piece.condition"


def test_a_reason_longer_than_its_column_is_refused_on_every_database():
    piece = makers.piece(makers.cutter_item(), makers.place())

    assert refusal_of(set_condition, piece, Condition.WORN, note="x" * 121) == "piece.note_too_long"
    set_condition(piece, Condition.WORN, note="x" * 120)


@pytest.mark.parametrize("condition", [Condition.QUARANTINED, Condition.SCRAPPED])
def test_a_built_in_piece_stays_in_its_assembly(condition):
    piece = makers.piece(makers.cutter_item(), makers.place())
    shelf = built_in(piece)

    set_condition(piece, condition)

    piece.refresh_from_db()
    assert (piece.condition, piece.place) == (condition, shelf)
    assert piece.movements.count() == 2


def test_the_place_on_an_old_page_does_not_count():
    drawer = makers.place()
    piece = makers.piece(makers.cutter_item(), drawer)
    on_an_old_page = Piece.objects.select_related("place").get(pk=piece.pk)
    shelf = built_in(piece)

    set_condition(on_an_old_page, Condition.QUARANTINED)

    piece.refresh_from_db()
    assert piece.place == shelf


def test_an_operator_changes_no_condition_here():
    piece = makers.piece(makers.cutter_item(), makers.place())

    with pytest.raises(NotAllowed):
        set_condition(piece, Condition.WORN, role="operator")

    piece.refresh_from_db()
    assert piece.condition == Condition.IN_SERVICE


# ---- the stud
@pytest.mark.parametrize(
    ("state", "pattern", "stored"),
    [
        ("fitted", " B ", "B"),
        ("none_fitted", "", ""),
        ("none_fitted", "B", ""),
        ("unknown", "B", ""),
        ("not_used", "", ""),
    ],
)
def test_the_stud_of_a_loose_holder_is_recorded(state, pattern, stored):
    piece = makers.piece(makers.holder_item(), makers.place())

    set_stud(piece, state, pattern)

    piece.refresh_from_db()
    assert (piece.stud_state, piece.stud_pattern) == (state, stored)


@pytest.mark.parametrize(
    ("state", "pattern", "code"),
    [
        ("fitted", "", "piece.stud_pattern"),
        ("fitted", "  ", "piece.stud_pattern"),
        ("fitted", "x" * 21, "piece.stud_pattern"),
        ("perhaps", "", "piece.stud_state"),
    ],
)
def test_half_an_answer_about_the_stud_is_refused(state, pattern, code):
    piece = makers.piece(makers.holder_item(), makers.place())

    assert refusal_of(set_stud, piece, state, pattern) == code


def test_a_cutter_gets_no_stud():
    piece = makers.piece(makers.cutter_item(), makers.place())

    assert refusal_of(set_stud, piece, "fitted", "A") == "piece.no_stud"


def test_the_stud_of_a_built_in_holder_is_left_to_its_bench_page():
    piece = makers.piece(makers.holder_item(), makers.place())
    on_an_old_page = Piece.objects.select_related("place").get(pk=piece.pk)
    built_in(piece)

    assert refusal_of(set_stud, piece, "none_fitted") == "piece.built_in"
    assert refusal_of(set_stud, on_an_old_page, "none_fitted") == "piece.built_in"


# ---- minutes of use
def test_minutes_of_use_add_up():
    piece = makers.piece(makers.collet_item(), makers.place())
    act = Act.objects.first()

    for minutes in (30, 12):
        pieces.add_use(act=act, piece=piece, minutes=minutes, basis="by_hand")

    assert piece.uses.aggregate(n=Sum("minutes"))["n"] == 42


@pytest.mark.parametrize(("minutes", "basis"), [(0, "by_hand"), (-1, "by_hand"), (5, "guess")])
def test_use_needs_minutes_and_says_what_they_rest_on(minutes, basis):
    piece = makers.piece(makers.collet_item(), makers.place())
    act = Act.objects.first()

    with pytest.raises(Refused) as refused:
        pieces.add_use(act=act, piece=piece, minutes=minutes, basis=basis)

    assert refused.value.code == "piece.use"
    assert not piece.uses.exists()


# ---- giving a mark to what lies there
def test_marking_a_loose_piece_leaves_the_stock_as_it_is():
    drawer = makers.place()
    item = makers.stocked(makers.collet_item(), drawer, quantity=2)
    piece = Piece(item=item, mark="C-91")

    pieces.mark_loose(
        by=makers.person("toolroom"), submission=uuid4(), piece=piece, at_place=drawer
    )

    assert Movement.objects.on_hand(item.pk, drawer.pk) == 2
    assert Piece.objects.get(mark="C-91").place == drawer


def test_no_more_pieces_are_marked_than_lie_there():
    drawer = makers.place()
    item = makers.stocked(makers.collet_item(), drawer, quantity=1)
    for mark, code in [("C-91", ""), ("C-92", "piece.none_loose")]:
        piece, by = Piece(item=item, mark=mark), makers.person("toolroom")
        if not code:
            pieces.mark_loose(by=by, submission=uuid4(), piece=piece, at_place=drawer)
            continue
        assert code == refusal_of(
            pieces.mark_loose, by=by, submission=uuid4(), piece=piece, at_place=drawer
        )
    assert list(item.pieces.values_list("mark", flat=True)) == ["C-91"]
