"""The example shop as loaded: what was written down is what the records say."""

from io import StringIO
from itertools import pairwise

import pytest
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.db.models import Sum
from django.utils import timezone

from assemblies.actions.approvals import approved_revision
from assemblies.models import Assembly, Build, Machine, Measurement, Program, ToolUse
from config.example.data import in_columns, shop
from config.example.load import load, records_there
from config.example.people import sign_ins
from crib import roles
from crib.actions.instrument_facts import due_instruments
from crib.models import Act, Item, Movement, Person, Piece, Place, PlaceKind, StudState, Use
from crib.reference import tapers
from crib.rules.refusal import Refused
from labels.models import Label
from tests.example import assembly, example_shop, label_of, revision  # noqa: F401

pytestmark = pytest.mark.usefixtures("example_shop", "db")


# ---------------------------------------------------------------- loading
def test_loading_says_that_the_shop_is_invented(example_shop):  # noqa: F811
    assert "invented" in example_shop
    assert "DEMO=1" in example_shop


def test_a_database_that_holds_anything_is_refused():
    with pytest.raises(CommandError, match="holds records already"):
        call_command("load_example_shop")


def test_if_empty_leaves_a_database_with_records_alone():
    before, said = Act.objects.count(), StringIO()
    call_command("load_example_shop", "--if-empty", stdout=said)
    assert "not loaded" in said.getvalue()
    assert Act.objects.count() == before


def test_what_is_there_is_said_in_words():
    chief = ["people", "items", "places", "assemblies", "machines", "programs"]
    assert records_there() == [*chief, "other records"]


def test_loading_twice_is_refused_and_adds_nothing():
    before = Act.objects.count(), Person.objects.count(), Item.objects.count()
    with pytest.raises(Refused):
        load()
    assert (Act.objects.count(), Person.objects.count(), Item.objects.count()) == before


# ---------------------------------------------------------------- people
def test_everybody_is_a_demo_person_and_every_role_is_held():
    assert not Person.objects.filter(is_demo=False).exists()
    held = set().union(*(person.roles for person in Person.objects.all()))
    assert held == set(roles.ROLES)


def test_the_printed_accounts_open_the_demo_and_nothing_else(settings, rf):
    request = rf.post("/sign-in/")
    for role, name, password in sign_ins():
        settings.DEMO = True
        person = authenticate(request, username=name, password=password)
        assert person is not None
        assert role in person.role_names
        settings.DEMO = False
        assert authenticate(request, username=name, password=password) is None


def test_accounts_are_shown_only_in_the_demo(settings):
    settings.DEMO, said = False, StringIO()
    with pytest.raises(CommandError):
        call_command("show_demo_sign_ins", stdout=said)
    assert said.getvalue() == ""
    settings.DEMO = True
    call_command("show_demo_sign_ins", stdout=said)
    assert settings.BASE_URL in said.getvalue()
    assert all(f"{name}" in said.getvalue() for _, name, _ in sign_ins())


def test_each_act_was_done_by_somebody_who_may():
    by_kind = Act.objects.values_list("kind", "by__username").distinct()
    doers = {}
    for kind, name in by_kind:
        doers.setdefault(kind, set()).add(name)
    assert doers["build.make"] == {"ines", "wyn"}
    assert doers["program.add"] == doers["program.confirm"] == {"odell"}
    assert doers["program.approve"] == doers["machine.save"] == {"oswin"}
    assert doers["order.mark"] == {"petra"}


# ---------------------------------------------------------------- stock
@pytest.mark.parametrize(
    ("code", "spare"),
    [
        *{"K-01": 3, "K-02": 2, "K-03": 5, "K-04": 3, "K-05": 2, "K-06": 2, "K-07": 1}.items(),
        *{"K-08": 1, "K-09": 4, "K-10": 1, "K-11": 1, "K-12": 6, "K-13": 2, "K-14": 1}.items(),
        *{"I-1": 6, "I-2": 9, "I-3": 4, "I-4": 31, "I-5": 12, "I-6": 40, "K-15": 2}.items(),
        *{"STUD-A": 3, "STUD-B": 0}.items(),
    ],
)
def test_what_is_left_in_the_drawers_after_building(code, spare):
    item = Item.objects.get(code=code)
    assert Movement.objects.usable_by_item().get(item.pk, 0) == spare


def test_the_shop_has_twenty_three_holders_twenty_five_collets_and_eighteen_kinds_of_cutter():
    pieces = Piece.objects.values_list("item__kind", flat=True)
    assert (list(pieces).count("holder"), list(pieces).count("collet")) == (23, 25)
    assert Item.objects.filter(kind="cutter").count() == 18
    assert Item.objects.filter(kind="insert").count() == 6


@pytest.mark.parametrize(
    ("mark", "hours"),
    [("C-01", 210), ("C-06", 330), ("C-09", 0), ("C-12", 460), ("C-20", 640), ("C-24", 65)],
)
def test_hours_on_a_collet(mark, hours):
    minutes = Use.objects.filter(piece__mark=mark).aggregate(n=Sum("minutes"))["n"] or 0
    assert minutes == hours * 60


@pytest.mark.parametrize(
    ("mark", "state", "pattern"),
    [
        ("H-01", StudState.FITTED, "A"),
        ("H-06", StudState.FITTED, "B"),
        ("H-08", StudState.UNKNOWN, ""),
        ("H-09", StudState.NONE_FITTED, ""),
        ("H-13", StudState.NOT_USED, ""),
    ],
)
def test_the_stud_in_a_holder(mark, state, pattern):
    piece = Piece.objects.get(mark=mark)
    assert (piece.stud_state, piece.stud_pattern) == (state, pattern)


@pytest.mark.parametrize(
    ("mark", "kind"),
    [
        ("C-23", PlaceKind.QUARANTINE),
        ("K-01-1", PlaceKind.REGRIND),
        ("K-01-2", PlaceKind.REGRIND),
        ("K-09-2", PlaceKind.REGRIND),
        ("C-16", PlaceKind.STORAGE),
        ("K-09-1", PlaceKind.ASSEMBLY),
    ],
)
def test_a_piece_is_where_its_condition_belongs(mark, kind):
    assert Piece.objects.select_related("place").get(mark=mark).place.kind == kind


def test_interfaces_are_those_of_the_table_of_spindle_tapers():
    known = {row.code for row in tapers()}
    used = set(Machine.objects.values_list("interface", flat=True)) | {
        item.holder_facts.interface for item in Item.objects.filter(kind="holder")
    }
    assert used <= known
    assert used == {"ISO 30 router", "HSK-A63"}


# ---------------------------------------------------------------- assemblies
@pytest.mark.parametrize(
    ("number", "of_revision", "state"),
    [
        *((1041, 2, "released"), (1042, 1, "released"), (1043, 3, "released")),
        *((1044, 1, "released"), (1045, 1, "released"), (1046, 1, "released")),
        *((1047, 2, "released"), (1048, 1, "built"), (1049, 0, "draft")),
        *((1051, 4, "released"), (1052, 1, "released"), (1053, 1, "released")),
        (1054, 1, "released"),
    ],
)
def test_an_assembly_stands_at_its_revision_in_its_rack(number, of_revision, state):
    stands = assembly(number)
    assert (stands.current_build.revision, stands.state) == (of_revision, state)
    assert stands.stands_at.kind == PlaceKind.STORAGE


def test_there_are_nineteen_assemblies_and_1050_is_not_among_them():
    assert Assembly.objects.count() == 19
    assert not Assembly.objects.filter(number=1050).exists()


@pytest.mark.parametrize(
    "row",
    [*shop()["assemblies"], *shop()["assemblies_with_instruments"]],
    ids=lambda row: str(row["number"]),
)
def test_what_was_measured_on_the_live_build_is_what_was_written_down(row):
    last = in_columns(row["revisions"][-1])
    build = assembly(row["number"]).current_build
    assert (build.stickout_um, build.grip_um, build.torque_mnm) == (
        last["stickout_um"],
        last.get("grip_um"),
        last.get("torque_mnm"),
    )
    read = Measurement.objects.latest_by_quantity(build.pk)
    assert {name: reading.value_um for name, reading in read.items()} == {
        name: last[f"{name}_um"]
        for name in ("gauge_length", "diameter", "runout")
        if f"{name}_um" in last
    }


def test_every_released_revision_has_a_label_and_only_those():
    released = Build.objects.filter(released_at__isnull=False)
    assert set(Label.objects.values_list("build_id", flat=True)) == set(
        released.values_list("pk", flat=True)
    )
    assert Label.objects.count() == 24


def test_nothing_was_released_before_it_was_built_or_labelled_before_it_was_released():
    for build in Build.objects.filter(released_at__isnull=False).select_related("label"):
        assert build.started_at < build.built_at < build.released_at < build.label.made_at


def test_a_revision_ends_when_the_next_one_is_begun():
    for number in (1041, 1043, 1047, 1051):
        builds = list(assembly(number).builds.order_by("revision"))
        for before, after in pairwise(builds):
            assert before.label.made_at < before.ended_at == after.started_at


@pytest.mark.parametrize(
    ("number", "accepted", "codes"),
    [
        (1041, False, set()),
        (1045, True, {"collet.closed_far"}),
        (1047, True, {"grip.below_advice"}),
        (1048, True, {"collet.closed_far", "stud.missing"}),
    ],
)
def test_only_what_was_doubtful_at_the_bench_was_accepted_with_a_reason(number, accepted, codes):
    build = assembly(number).current_build
    assert bool(build.accepted_reason) is accepted
    assert {f["code"] for f in build.findings if f["level"] in ("check", "unknown")} == codes


def test_the_ledger_holds_every_built_in_part_in_its_assembly():
    for stands in Assembly.objects.select_related("contents"):
        held = {
            item_id: count
            for (item_id, place_id), count in Movement.objects.balances().items()
            if place_id == stands.contents_id
        }
        parts = {part.item_id: part.quantity for part in stands.current_build.parts.all()}
        assert held == parts


def test_no_rack_or_drawer_is_below_zero():
    racks = set(Place.objects.filter(kind=PlaceKind.STORAGE).values_list("pk", flat=True))
    balances = Movement.objects.balances().items()
    assert not [key for key, count in balances if key[1] in racks and count < 0]


# ---------------------------------------------------------------- programs
@pytest.mark.parametrize(
    ("name", "speeds"),
    [
        ("HM-0412 C", {1: 18000, 3: 16000, 4: 15000}),
        ("HM-0377 A", {4: 16000, 5: 18000, 6: 15000}),
        ("HM-0377 B", {4: 9000, 5: 18000, 6: 15000}),
        ("HM-0520 B", {1: 4000, 2: 12000, 4: 3000, 5: 250}),
        ("STICK-15 1", {2: 15000}),
    ],
)
def test_a_program_was_read_whole_and_turns_right_at_the_speeds_of_the_table(name, speeds):
    read = revision(name)
    uses = ToolUse.objects.filter(reading__revision=read)
    assert read.readings.get().complete
    assert {use.tool_number: use.spindle_speed_max_rpm for use in uses} == speeds
    for use in uses:
        assert (use.turns_cw, use.turns_ccw) == (True, False)
        assert use.speed_exact
        assert use.rotation_exact
        assert not use.speed_carried


@pytest.mark.parametrize(
    ("program", "machine", "approved"),
    [
        ("HM-0412", "R2", "C"),
        ("HM-0377", "R1", "B"),
        ("HM-0377", "R2", None),
        ("HM-0520", "M1", "B"),
        ("STICK-15", "R2", "1"),
    ],
)
def test_the_revision_that_stands_approved_on_a_machine(program, machine, approved):
    stands = approved_revision(Program.objects.get(name=program), Machine.objects.get(mark=machine))
    assert (stands.label if stands else None) == approved


def test_every_tool_of_the_listed_programs_is_confirmed_and_the_stick_states_none():
    for name in ("HM-0412 C", "HM-0377 A", "HM-0377 B", "HM-0520 B"):
        called = revision(name).readings.first().tool_uses.values_list("tool_number", flat=True)
        wanted = revision(name).requirements.filter(confirmed_at__isnull=False)
        assert set(wanted.values_list("tool_number", flat=True)) == set(called)
    stated = revision("STICK-15 1").requirements.get()
    assert (stated.kind, stated.diameter_um, stated.text) == ("", None, "")
    assert not stated.is_confirmed


def test_only_the_outline_of_the_hinge_plate_cuts_on_the_diameter_in_the_control():
    cutting = [
        (name, row.tool_number)
        for name in ("HM-0412 C", "HM-0377 A", "HM-0377 B", "HM-0520 B")
        for row in revision(name).requirements.filter(controller_diameter=True)
    ]
    assert cutting == [("HM-0520 B", 2)]
    assert revision("HM-0520 B").readings.first().tool_uses.get(tool_number=2).details[
        "radius_offsets"
    ] == [2]


def test_the_tag_of_a_retired_revision_says_its_own_number():
    assert label_of(1043, 2).label_revision == 2


# ---------------------------------------------------------------- other ways of clamping
@pytest.mark.parametrize(
    ("number", "clamping"),
    [
        (1054, "arbor"),
        (1061, "hydraulic"),
        (1062, "shrink"),
        (1063, "side_lock"),
        (1064, "milling_chuck"),
        (1065, "drill_chuck"),
        (1066, "tap"),
    ],
)
def test_every_way_of_clamping_is_built_and_released_without_a_doubt(number, clamping):
    build = assembly(number).current_build
    holder = build.parts.get(role="holder").item

    assert holder.facts.clamping == clamping
    assert build.released_at is not None
    assert build.accepted_reason == build.release_reason == ""


def test_one_wrench_of_the_shop_is_overdue_and_no_other_instrument():
    due = due_instruments(timezone.localdate())

    assert [line.instrument.mark for line in due if line.state.standing == "overdue"] == ["W-1"]
