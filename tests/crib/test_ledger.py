"""The ledger: what the database refuses, what an action refuses, and the balances."""

from datetime import date
from uuid import uuid4

import pytest
from django.apps import apps
from django.db import IntegrityError, models, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from crib.actions import pieces, stock
from crib.actions.places import account
from crib.models import (
    Act,
    Calibration,
    ColletFacts,
    CutterFacts,
    HolderFacts,
    InsertFacts,
    Instrument,
    Item,
    Movement,
    NutFacts,
    OrderLine,
    Piece,
    Place,
    PlaceKind,
    PullStudFacts,
    Reason,
    SettingChange,
    SleeveFacts,
    Supplier,
    Use,
)
from crib.rules.refusal import NotAllowed, Refused
from tests import makers

pytestmark = pytest.mark.django_db


# ---- what the database itself refuses
def an_act():
    return Act.objects.create(kind="test.act", by=makers.person("toolroom"))


def add_holder(**facts):
    return HolderFacts.objects.create(
        item=makers.item("holder"),
        **{"interface": "ISO 30 router", "collet_series": "ER32"} | facts,
    )


def add_collet(**facts):
    defaults = {"series": "ER32", "clamp_max_um": 12_000, "clamp_min_um": 11_000}
    return ColletFacts.objects.create(item=makers.item("collet"), **defaults | facts)


def add_nut(**facts):
    return NutFacts.objects.create(item=makers.item("nut"), **{"series": "ER32"} | facts)


def add_stud(**facts):
    return PullStudFacts.objects.create(item=makers.item("pull_stud"), **{"pattern": "A"} | facts)


def add_cutter(**facts):
    defaults = {"kind": "drill", "diameter_um": 8_000, "shank_um": 8_000}
    return CutterFacts.objects.create(item=makers.item("cutter"), **defaults | facts)


def add_insert(**facts):
    return InsertFacts.objects.create(item=makers.item("insert"), **{"edges": 4} | facts)


def add_sleeve(**facts):
    defaults = {"outer_um": 20_000, "bore_um": 12_000, "suits": "hydraulic"}
    return SleeveFacts.objects.create(item=makers.item("sleeve"), **defaults | facts)


def add_instrument(**fields):
    defaults = {"mark": f"T-{uuid4().hex[:6]}", "kind": "wrench"}
    return Instrument.objects.create(**defaults | fields)


def add_calibration(**fields):
    act = an_act()
    defaults = {"instrument": add_instrument(), "result": "passed", "on": date(2026, 1, 5)}
    return Calibration.objects.create(act=act, by=act.by, **defaults | fields)


def add_setting(**fields):
    act = an_act()
    defaults = {"name": "closure_um", "value": 400, "reason": "tighter"}
    return SettingChange.objects.create(act=act, by=act.by, **defaults | fields)


def add_piece(**fields):
    defaults = {"item": makers.item(), "mark": f"X-{uuid4().hex[:8]}", "stud_state": "not_used"}
    return Piece.objects.create(**defaults | fields)


def add_use(**fields):
    defaults = {"minutes": 5, "basis": "by_hand"}
    return Use.objects.create(piece=add_piece(), act=an_act(), **defaults | fields)


def add_order_line(**fields):
    act = an_act()
    return OrderLine.objects.create(
        item=makers.item(), act=act, by=act.by, **{"quantity": 5} | fields
    )


def add_movement(**fields):
    act = an_act()
    defaults = {
        "item": makers.item(),
        "quantity": 1,
        "from_place": makers.place(),
        "to_place": makers.place(),
        "reason": Reason.MOVE,
    }
    return Movement.objects.create(act=act, by=act.by, **defaults | fields)


def a_place_in_itself():
    drawer = makers.place()
    Place.objects.filter(pk=drawer.pk).update(parent=drawer)


def a_movement_to_where_it_is():
    drawer = makers.place()
    add_movement(from_place=drawer, to_place=drawer)


#: constraint -> what breaks it; every other fact of the row is right.
BREAKERS = {
    "item_has_code": lambda: makers.item(code=" "),
    "item_kind_known": lambda: makers.item(kind="gadget"),
    "item_pack_positive": lambda: makers.item(pack_size=0),
    "item_use_not_negative": lambda: makers.item(use_per_week="-0.01"),
    "holder_clamping_known": lambda: add_holder(clamping="glue"),
    "nut_style_known": lambda: add_nut(style="wide"),
    "cutter_kind_known": lambda: add_cutter(kind="spoon"),
    "cutter_hand_known": lambda: add_cutter(hand="both"),
    "cutter_shank_form_known": lambda: add_cutter(shank_form="oval"),
    "use_basis_known": lambda: add_use(basis="guess"),
    "piece_stud_state_known": lambda: add_piece(stud_state="perhaps"),
    "holder_has_interface": lambda: add_holder(interface=""),
    "collet_holder_has_series": lambda: add_holder(collet_series=""),
    "holder_balance_grade_has_speed": lambda: add_holder(balance_grade_tenths=25),
    "collet_has_series": lambda: add_collet(series=""),
    "collet_range_in_order": lambda: add_collet(clamp_min_um=12_001),
    "nut_has_series": lambda: add_nut(series=""),
    "nut_torque_in_order": lambda: add_nut(torque_recommended_mnm=137_000, torque_max_mnm=136_000),
    "holder_bores_in_order": lambda: add_holder(bore_um=13_000, bore_min_um=13_001),
    "nut_seal_in_order": lambda: add_nut(seal_min_um=12_001, seal_max_um=12_000),
    "sleeve_wall": lambda: add_sleeve(bore_um=20_000),
    "sleeve_suits_known": lambda: add_sleeve(suits="anything"),
    "instrument_has_mark": lambda: add_instrument(mark=" "),
    "instrument_kind_known": lambda: add_instrument(kind="hammer"),
    "instrument_torques_in_order": lambda: add_instrument(torque_min_mnm=2, torque_max_mnm=1),
    "calibration_result_known": lambda: add_calibration(result="fine"),
    "setting_has_name": lambda: add_setting(name=""),
    "setting_has_reason": lambda: add_setting(reason=""),
    "pull_stud_has_pattern": lambda: add_stud(pattern=""),
    "cutter_sizes_positive": lambda: add_cutter(diameter_um=0),
    "cutter_insert_has_seats": lambda: add_cutter(insert_item=makers.item("insert")),
    "cutter_shank_within_overall": lambda: add_cutter(overall_um=80_000, plain_shank_um=80_001),
    "insert_has_edges": lambda: add_insert(edges=0),
    "movement_quantity_positive": lambda: add_movement(quantity=0),
    "movement_goes_somewhere": a_movement_to_where_it_is,
    "movement_of_piece_is_one": lambda: add_movement(piece=add_piece(), quantity=2),
    "movement_reason_known": lambda: add_movement(reason="stolen"),
    "use_minutes_positive": lambda: add_use(minutes=0),
    "piece_has_mark": lambda: add_piece(mark="\u00a0"),
    "piece_condition_known": lambda: add_piece(condition="fine"),
    "piece_stud_pattern_when_fitted": lambda: add_piece(stud_state="fitted"),
    "place_has_code": lambda: makers.place(code=" "),
    "place_kind_known": lambda: makers.place(kind="shelf"),
    "place_not_in_itself": a_place_in_itself,
    "order_line_quantity_positive": lambda: add_order_line(quantity=0),
}


def test_every_condition_of_the_crib_is_broken_here():
    declared = {
        constraint.name
        for model in apps.get_app_config("crib").get_models()
        for constraint in model._meta.constraints
    }

    assert set(BREAKERS) == declared


@pytest.mark.parametrize("constraint", BREAKERS)
def test_the_database_refuses_what_breaks_a_condition(constraint):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        BREAKERS[constraint]()


@pytest.mark.parametrize(
    ("constraint", "breaker"),
    [
        ("holder_balance_grade_has_speed", lambda: add_holder(balance_speed_rpm=18_000)),
        ("collet_range_in_order", lambda: add_collet(clamp_min_um=0)),
        ("cutter_sizes_positive", lambda: add_cutter(shank_um=0)),
        ("piece_stud_pattern_when_fitted", lambda: add_piece(stud_pattern="A")),
    ],
)
def test_conditions_of_two_columns_are_refused_the_other_way_round_too(constraint, breaker):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        breaker()


@pytest.mark.parametrize(
    "maker",
    [
        lambda: makers.item(pack_size=1, use_per_week=0),
        lambda: add_holder(balance_grade_tenths=25, balance_speed_rpm=18_000),
        lambda: add_holder(clamping="shrink", collet_series=""),
        lambda: add_collet(clamp_min_um=12_000),
        lambda: add_nut(torque_recommended_mnm=136_000, torque_max_mnm=136_000),
        lambda: add_nut(torque_recommended_mnm=136_000),
        lambda: add_stud(),
        lambda: add_cutter(overall_um=80_000, plain_shank_um=80_000),
        lambda: add_cutter(insert_item=makers.item("insert"), seats=1),
        lambda: add_insert(edges=1),
        lambda: add_movement(),
        lambda: add_movement(piece=add_piece()),
        lambda: add_use(minutes=1),
        lambda: add_piece(stud_state="fitted", stud_pattern="A"),
        lambda: makers.place(parent=makers.place()),
        lambda: add_order_line(quantity=1),
    ],
)
def test_rows_at_the_limit_are_taken(maker):
    assert maker().pk


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("quantity", -1),
        ("item_id", None),
        ("from_place_id", None),
        ("to_place_id", None),
    ],
)
def test_a_movement_lacks_nothing_and_is_never_negative(field, value):
    with pytest.raises(IntegrityError), transaction.atomic():
        add_movement(**{field: value})


@pytest.mark.parametrize(
    "twice",
    [
        lambda code: makers.item(code=code),
        lambda code: makers.place(code=code),
        lambda code: add_piece(mark=code),
    ],
    ids=["item", "place", "mark"],
)
def test_codes_that_read_alike_are_not_given_twice(twice):
    twice("Är-7")

    with pytest.raises(IntegrityError), transaction.atomic():
        twice(" äR-7 ")


def test_a_supplier_has_one_row():
    Supplier.objects.create(name="Invented Tools")

    with pytest.raises(IntegrityError), transaction.atomic():
        Supplier.objects.create(name="Invented Tools")


def test_folding_makes_no_search_words_longer_than_their_column():
    item = makers.item(description="ß" * 120, supplier_article="ß" * 60)

    item.refresh_from_db()
    assert len(item.search_key) == 250


@pytest.mark.parametrize("kind", ["holder", "collet", "nut", "pull_stud", "cutter", "insert"])
def test_an_item_finds_the_facts_of_its_kind(kind):
    add = {
        "holder": add_holder,
        "collet": add_collet,
        "nut": add_nut,
        "pull_stud": add_stud,
        "cutter": add_cutter,
        "insert": add_insert,
    }[kind]
    facts = add()

    assert Item.objects.get(pk=facts.item_id).facts == facts
    assert makers.item(kind).facts is None


def test_a_spare_has_no_facts():
    assert makers.item("spare").facts is None


# ---- receive, issue, give back
def on_hand(item, place):
    return Movement.objects.on_hand(item.pk, place.pk)


def taken_out():
    return account(PlaceKind.PERSON)


def issue(item, quantity, drawer, by=None, **more):
    by = by or makers.person("operator")
    return stock.issue(
        by=by, submission=uuid4(), item=item, quantity=quantity, from_place=drawer, **more
    )


def give_back(item, quantity, drawer, **more):
    return stock.give_back(
        by=makers.person("operator"),
        submission=uuid4(),
        item=item,
        quantity=quantity,
        to_place=drawer,
        **more,
    )


def refusal_of(run, *args, **kwargs):
    """The refusal's code; proves that it wrote nothing."""
    before = (Movement.objects.count(), Act.objects.count())
    with pytest.raises(Refused) as refused:
        run(*args, **kwargs)
    assert (Movement.objects.count(), Act.objects.count()) == before
    return refused.value.code


def test_goods_come_from_outside_to_a_rack():
    by, drawer, item = makers.person("buyer"), makers.place(), makers.item()

    done = stock.receive(
        by=by, submission=uuid4(), item=item, quantity=5, to_place=drawer, note="box 2"
    )

    movement = Movement.objects.get(pk=done.result)
    assert (movement.quantity, movement.reason, movement.note) == (5, Reason.RECEIVE, "box 2")
    assert (movement.from_place.kind, movement.to_place) == (PlaceKind.SUPPLIER, drawer)
    assert (movement.by, movement.act_id) == (by, done.act_id)
    assert movement.act.about == f"item {item.code}"


def test_what_is_taken_is_out_and_comes_back():
    drawer, other = makers.place(), makers.place()
    item = makers.stocked(makers.item(), drawer, 5)

    issue(item, 3, drawer)
    assert (on_hand(item, drawer), on_hand(item, taken_out())) == (2, 3)

    give_back(item, 2, other)
    assert (on_hand(item, other), on_hand(item, taken_out())) == (2, 1)
    assert list(Movement.objects.filter(item=item).values_list("reason", flat=True)) == [
        Reason.RETURN,
        Reason.ISSUE,
        Reason.RECEIVE,
    ]


def test_the_last_piece_can_be_taken_and_one_more_not():
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 5)
    by = makers.person("operator")

    assert refusal_of(issue, item, 6, drawer, by=by) == "stock.not_enough"
    issue(item, 5, drawer, by=by)
    assert refusal_of(issue, item, 1, drawer, by=by) == "stock.not_enough"
    assert on_hand(item, drawer) == 0


def test_stock_of_another_drawer_or_item_does_not_help():
    drawer, other = makers.place(), makers.place()
    item = makers.stocked(makers.item(), other, 5)
    makers.stocked(makers.item(), drawer, 5)
    taken_out()

    assert refusal_of(issue, item, 1, drawer) == "stock.not_enough"


def test_no_more_is_given_back_than_was_taken():
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 5)
    issue(item, 2, drawer)

    assert refusal_of(give_back, item, 3, drawer) == "stock.not_enough"
    assert on_hand(item, taken_out()) == 2


@pytest.mark.parametrize("quantity", [0, -1, 100_001, 1.0, "3", None, True])
def test_only_a_whole_number_of_pieces_moves(quantity):
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 5)

    assert refusal_of(issue, item, quantity, drawer) == "stock.quantity"
    assert (
        refusal_of(
            stock.receive,
            by=makers.person("toolroom"),
            submission=uuid4(),
            item=item,
            quantity=quantity,
            to_place=drawer,
        )
        == "stock.quantity"
    )


def test_the_largest_number_of_pieces_is_taken():
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, stock.MOST_AT_ONCE)

    assert on_hand(item, drawer) == 100_000


@pytest.mark.parametrize("kind", [kind for kind in PlaceKind if kind != PlaceKind.STORAGE])
def test_goods_are_only_taken_from_and_put_into_racks(kind):
    drawer, elsewhere = makers.place(), makers.place(kind=kind)
    item = makers.stocked(makers.item(), drawer, 5)
    issue(item, 2, drawer)
    receive = {"by": makers.person("toolroom"), "submission": uuid4(), "item": item}

    assert refusal_of(issue, item, 1, elsewhere) == "stock.not_a_rack"
    assert refusal_of(give_back, item, 1, elsewhere) == "stock.not_a_rack"
    assert (
        refusal_of(stock.receive, **receive, quantity=1, to_place=elsewhere) == "stock.not_a_rack"
    )


def test_a_note_longer_than_its_column_is_refused_on_every_database():
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 5)

    assert refusal_of(issue, item, 1, drawer, note="x" * 121) == "stock.note_too_long"
    issue(item, 1, drawer, note="x" * 120)


def test_a_movement_that_goes_nowhere_is_refused():
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 5)

    def stay():
        stock.post(
            act=Act.objects.first(),
            item=item,
            quantity=1,
            from_place=drawer,
            to_place=drawer,
            reason=Reason.MOVE,
        )

    assert refusal_of(stay) == "stock.same_place"


@pytest.mark.parametrize(
    ("run", "role"), [(stock.receive, "operator"), (issue, "buyer"), (give_back, "programmer")]
)
def test_who_may_not_is_refused(run, role):
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 5)
    by = makers.person(role)
    end = "from_place" if run is issue else "to_place"
    action = {issue: stock.issue, give_back: stock.give_back}.get(run, run)
    before = Movement.objects.count()

    with pytest.raises(NotAllowed):
        action(by=by, submission=uuid4(), item=item, quantity=1, **{end: drawer})

    assert Movement.objects.count() == before


# ---- marked pieces among loose ones
def two_marked_and_one_loose():
    drawer, item = makers.place(), makers.cutter_item()
    marked = [makers.piece(item, drawer) for _ in range(2)]
    makers.stocked(item, drawer, 1)
    return drawer, item, marked


def test_a_marked_piece_leaves_by_its_mark():
    drawer, item, (first, second) = two_marked_and_one_loose()

    issue(item, 1, drawer, piece=first)

    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.place, second.place) == (taken_out(), drawer)
    assert (on_hand(item, drawer), on_hand(item, taken_out())) == (2, 1)


def test_a_marked_piece_does_not_leave_as_a_loose_one():
    drawer, item, _ = two_marked_and_one_loose()
    taken_out()

    assert refusal_of(issue, item, 2, drawer) == "stock.name_the_piece"
    issue(item, 1, drawer)
    assert refusal_of(issue, item, 1, drawer) == "stock.name_the_piece"


def test_a_marked_piece_does_not_come_back_as_a_loose_one():
    drawer, item, (first, _) = two_marked_and_one_loose()
    issue(item, 1, drawer, piece=first)

    assert refusal_of(give_back, item, 1, drawer) == "stock.name_the_piece"
    give_back(item, 1, drawer, piece=first)

    first.refresh_from_db()
    assert first.place == drawer


def test_a_piece_that_is_somewhere_else_is_refused():
    drawer, item, (first, _) = two_marked_and_one_loose()
    other = makers.place()
    makers.stocked(item, other, 1)
    taken_out()

    assert refusal_of(issue, item, 1, other, piece=first) == "stock.piece_elsewhere"
    assert refusal_of(give_back, item, 1, other, piece=first) == "stock.piece_elsewhere"
    first.refresh_from_db()
    assert first.place == drawer


def test_where_a_piece_is_comes_from_the_database_and_not_from_an_old_page():
    drawer, item, (first, _) = two_marked_and_one_loose()
    as_on_an_old_page = Piece.objects.get(pk=first.pk)
    issue(item, 1, drawer, piece=first)

    assert refusal_of(issue, item, 1, drawer, piece=as_on_an_old_page) == "stock.piece_elsewhere"


def test_a_piece_of_another_item_is_refused():
    drawer, item, _ = two_marked_and_one_loose()
    stranger = makers.piece(makers.cutter_item(), drawer)
    taken_out()

    assert refusal_of(issue, item, 1, drawer, piece=stranger) == "stock.other_item"


def test_one_mark_is_one_piece():
    drawer, item, (first, _) = two_marked_and_one_loose()
    taken_out()

    assert refusal_of(issue, item, 2, drawer, piece=first) == "stock.quantity"


# ---- where to look for pieces
def test_the_home_place_is_looked_in_first():
    near, home = makers.place("A 1"), makers.place("B 1")
    item = makers.item(home_place=home)
    makers.stocked(item, near, 5)
    makers.stocked(item, home, 2)

    assert stock.place_with(item) == home
    assert stock.place_with(item, 3) == near
    assert stock.place_with(item, 6) is None


def test_marked_pieces_are_not_offered_as_loose_ones():
    drawer, item, _ = two_marked_and_one_loose()

    assert stock.place_with(item, 1) == drawer
    assert stock.place_with(item, 2) is None


def test_what_was_taken_out_is_not_offered():
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 1)
    issue(item, 1, drawer)

    assert stock.place_with(item) is None


# ---- balances
def test_balances_leave_empty_places_out():
    drawer = makers.place()
    item = makers.stocked(makers.item(), drawer, 2)
    issue(item, 2, drawer)

    stocks = {key: n for key, n in Movement.objects.balances().items() if key[0] == item.pk}

    assert stocks == {
        (item.pk, account(PlaceKind.SUPPLIER).pk): -2,
        (item.pk, taken_out().pk): 2,
    }


def test_balances_of_the_whole_crib_take_two_queries(django_assert_num_queries):
    for _ in range(5):
        makers.stocked(makers.item(), makers.place(), 3)

    with django_assert_num_queries(2):
        assert len(Movement.objects.balances()) == 10
    with django_assert_num_queries(2):
        assert set(Movement.objects.usable_by_item().values()) == {3}


def test_usable_is_what_lies_in_racks_and_is_in_service():
    drawer, item, (first, second) = two_marked_and_one_loose()
    issue(item, 1, drawer, piece=first)
    assert Movement.objects.usable_by_item()[item.pk] == 2

    models.QuerySet(Piece).filter(pk=second.pk).update(condition="worn")
    assert Movement.objects.usable_by_item()[item.pk] == 1


CONDITION_PLACES = {
    "quarantined": "quarantine",
    "worn": "quarantine",
    "regrind": "regrind",
    "scrapped": "gone",
    "lost": "gone",
}
STEPS = st.one_of(
    st.tuples(st.just("receive"), st.sampled_from("AB"), st.integers(1, 4)),
    st.tuples(st.just("issue"), st.sampled_from("AB"), st.integers(1, 4)),
    st.tuples(st.just("give_back"), st.sampled_from("AB"), st.integers(1, 4)),
    st.tuples(st.just("issue_piece"), st.sampled_from("AB"), st.integers(0, 1)),
    st.tuples(st.just("give_back_piece"), st.sampled_from("AB"), st.integers(0, 1)),
    st.tuples(
        st.just("condition"),
        st.sampled_from([*CONDITION_PLACES, "in_service"]),
        st.integers(0, 1),
    ),
)


class PlainLedger:
    """The same shop as a dictionary: loose pieces by place, and where each marked one is."""

    def __init__(self):
        self.loose = {"A": 0, "B": 0, "person": 0}
        self.marked = ["A", "A"]
        self.outside = -2

    def does(self, step):
        """Do the step, or return False and leave everything as it was."""
        verb, where, n = step
        return getattr(self, verb)(where, n)

    def receive(self, where, n):
        self.outside -= n
        self.loose[where] += n
        return True

    def issue(self, where, n):
        return self._move(where, "person", n)

    def give_back(self, where, n):
        return self._move("person", where, n)

    def issue_piece(self, where, n):
        return self._move_piece(n, where, "person")

    def give_back_piece(self, where, n):
        return self._move_piece(n, "person", where)

    def condition(self, condition, n):
        if condition != "in_service":
            self.marked[n] = CONDITION_PLACES[condition]
        elif self.marked[n] not in ("A", "B", "person"):
            self.marked[n] = "A"
        return True

    def _move(self, source, target, n):
        if self.loose[source] < n:
            return False
        self.loose[source] -= n
        self.loose[target] += n
        return True

    def _move_piece(self, n, source, target):
        if self.marked[n] != source:
            return False
        self.marked[n] = target
        return True

    def balances(self):
        totals = dict(self.loose) | {"supplier": self.outside}
        for where in self.marked:
            totals[where] = totals.get(where, 0) + 1
        return {where: n for where, n in totals.items() if n}


class TrueLedger:
    """The shop itself, driven by the same steps."""

    def __init__(self, by):
        self.by = by
        self.racks = {"A": makers.place(), "B": makers.place()}
        self.item = makers.cutter_item()
        self.item.home_place = self.racks["A"]
        self.item.save()
        self.marked = [makers.piece(self.item, self.racks["A"], by=by) for _ in range(2)]

    def does(self, step):
        verb, where, n = step
        try:
            getattr(self, verb)(where, n)
        except Refused:
            return False
        return True

    def receive(self, where, n):
        stock.receive(**self._movement(n), to_place=self.racks[where])

    def issue(self, where, n):
        stock.issue(**self._movement(n), from_place=self.racks[where])

    def give_back(self, where, n):
        stock.give_back(**self._movement(n), to_place=self.racks[where])

    def issue_piece(self, where, n):
        stock.issue(**self._movement(1), from_place=self.racks[where], piece=self.marked[n])

    def give_back_piece(self, where, n):
        stock.give_back(**self._movement(1), to_place=self.racks[where], piece=self.marked[n])

    def condition(self, condition, n):
        pieces.set_condition(
            by=self.by,
            submission=uuid4(),
            piece=self.marked[n],
            condition=condition,
            note="seen at the bench",
        )

    def _movement(self, n):
        return {"by": self.by, "submission": uuid4(), "item": self.item, "quantity": n}

    def balances(self):
        names = {place.pk: name for name, place in self.racks.items()}
        kinds = dict(Place.objects.values_list("pk", "kind"))
        return {
            names.get(place, kinds[place]): n
            for (item, place), n in Movement.objects.balances().items()
            if item == self.item.pk
        }

    def where(self):
        names = {place.pk: name for name, place in self.racks.items()}
        marked = Piece.objects.filter(item=self.item).select_related("place").order_by("pk")
        return [names.get(piece.place_id, piece.place.kind) for piece in marked]


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(steps=st.lists(STEPS, min_size=1, max_size=15))
def test_balances_follow_any_sequence_of_steps(steps, admin_by):
    plain, true = PlainLedger(), TrueLedger(admin_by)
    for step in steps:
        assert true.does(step) == plain.does(step), step
        assert true.balances() == plain.balances(), step
        assert true.where() == plain.marked, step
        assert all(n >= 0 for where, n in true.balances().items() if where != "supplier")
    # Double entry: what is in the shop and what came from outside cancel out.
    assert sum(true.balances().values()) == 0
    usable = Movement.objects.usable_by_item().get(true.item.pk, 0)
    assert usable == sum(plain.balances().get(rack, 0) for rack in "AB")
    for place in Place.objects.all():
        expected = Movement.objects.balances().get((true.item.pk, place.pk), 0)
        assert Movement.objects.on_hand(true.item.pk, place.pk) == expected


@pytest.fixture
def admin_by(db):
    return makers.person("admin")
