"""From rows to the word: moment, neighbours, coolant, sleeves, screws and instruments."""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from assemblies.actions import build, spindle
from assemblies.actions.measure import record_measurements
from assemblies.actions.setup_sheet_checks import BY_NUMBER, Fetched, checks_of
from assemblies.actions.setup_sheet_places import open_loads
from assemblies.actions.setup_sheet_rows import rows_of
from assemblies.actions.shop_settings import change_limit
from assemblies.actions.sittings import Reading
from assemblies.actions.weigh import record_weighing
from assemblies.models import Build, Machine
from crib.actions.instruments import record_calibration
from crib.models import Instrument, ItemKind, Piece, SleeveFacts
from labels.actions.resolve_code import label_facts
from labels.models import Label
from tests import assembly_makers as made
from tests import makers
from tests.assemblies import load_makers as loads

pytestmark = pytest.mark.django_db

#: A changer that limits everything: Ø 60 beside full pockets, 10 N·m about the gauge line.
LIMITS = {"diameter_beside_max_um": 60_000, "moment_max_mnm": 10_000, "moment_plane_um": 0}
DAY = timedelta(days=1)
ACCEPTED = "looked at and accepted"
BESIDE, FULL = "machine.beside_a_wide_one", "machine.neighbour_full"
TO_BE_EMPTY = "machine.neighbours_to_be_empty"


# ---- an assembly in a collet
@pytest.fixture(scope="module")
def standing_scene(module_rows):
    scene = made.Scene.ready()
    scene.machine = loads.changer(**LIMITS)
    made.approve(scene.revision, scene.machine)
    return scene


@pytest.fixture
def scene(standing_scene):
    return deepcopy(standing_scene)


def weigh(scene, mass_g=1_500, centre_um=40_000):
    record_weighing(
        by=made.toolroom(),
        submission=uuid4(),
        assembly=scene.assembly,
        mass_g=mass_g,
        centre_um=centre_um,
    )


def limit(scene, **fields):
    Machine.objects.filter(pk=scene.machine.pk).update(**fields)


def troubles(scene, pocket=None):
    """Codes of what keeps it from a MATCH when it is to go to that pocket."""
    checked = spindle.check(
        assembly=made.again(scene.assembly),
        label=label_facts(Label.objects.select_related("build").get(pk=scene.label.pk)),
        machine=Machine.objects.get(pk=scene.machine.pk),
        revision=scene.revision,
        tool_number=made.TOOL,
        pocket=pocket,
    )
    return {f.code for f in checked.verdict.findings if f.level not in ("pass", "note")}


def test_a_changer_with_a_limit_asks_for_mass_and_centre(scene):
    assert troubles(scene) == {"envelope.moment_not_known"}
    weigh(scene, centre_um=None)
    assert (troubles(scene), scene.word()) == ({"envelope.moment_not_known"}, "cant_tell")
    weigh(scene)
    assert troubles(scene) == set()


@pytest.mark.parametrize(
    ("centre_um", "codes"), [(679_800, set()), (680_000, {"envelope.moment_over"})]
)
def test_its_moment_is_held_against_the_machine_it_is_at(scene, centre_um, codes):
    """1.5 kg x 9.80665 x 0.6798 m = 9.99997 N·m; at 0.68 m it is 10.003."""
    weigh(scene, centre_um=centre_um)
    assert troubles(scene) == codes


def test_no_lead_answers_for_a_moment_that_is_too_large(scene):
    weigh(scene, mass_g=4_000, centre_um=300_000)
    verdict = scene.checked().verdict
    assert (verdict.hard_stop, verdict.overridable) == (True, False)


def test_a_limit_recorded_after_the_release_counts_at_once(scene):
    limit(scene, moment_max_mnm=None)
    assert troubles(scene) == set()
    limit(scene, moment_max_mnm=500)
    weigh(scene)
    assert troubles(scene) == {"envelope.moment_over"}


def test_weighed_before_it_was_measured_anew_its_centre_is_not_known(scene):
    weigh(scene)
    made.record(scene.assembly, gauge_length=97_400)
    made.let_go(scene.assembly, ACCEPTED)
    scene.label = made.label_of(scene.assembly)
    assert "envelope.moment_not_known" in troubles(scene)


def test_a_machine_changed_by_hand_is_asked_for_none_of_it(scene):
    limit(scene, tool_change="hand", pockets=0, diameter_beside_max_um=1)
    assert troubles(scene) == set()


# ---- neighbours
def wide_one(diameter_um=80_000, measured_um=None):
    some = made.some_parts(cutter={"diameter_um": diameter_um})
    return made.released(some, ACCEPTED, diameter=measured_um or diameter_um)


@pytest.fixture
def roomy(scene):
    weigh(scene)
    return scene


def test_beside_a_wide_tool_there_is_no_room(roomy):
    loads.put(wide_one(), roomy.machine, pocket=4, tool_number=9)
    for pocket, codes in [(3, {BESIDE}), (5, {BESIDE}), (6, set()), (2, set())]:
        assert troubles(roomy, pocket) == codes


def test_a_wide_tool_needs_both_neighbours_empty(roomy):
    limit(roomy, diameter_beside_max_um=11_000)
    assert troubles(roomy, 5) == {TO_BE_EMPTY}
    loads.put(made.released(), roomy.machine, pocket=4, tool_number=9)
    assert FULL in troubles(roomy, 5)


@pytest.mark.parametrize(("change", "codes"), [("carousel", {BESIDE}), ("linear", set())])
def test_a_rack_along_the_bed_has_ends_and_a_carousel_none(roomy, change, codes):
    limit(roomy, tool_change=change)
    loads.put(wide_one(), roomy.machine, pocket=12, tool_number=9)
    assert troubles(roomy, 1) == codes


@pytest.mark.parametrize(("measured_um", "codes"), [(60_000, set()), (60_001, {BESIDE})])
def test_a_neighbour_counts_by_the_larger_of_measured_and_nominal(roomy, measured_um, codes):
    loads.put(wide_one(60_000, measured_um), roomy.machine, pocket=4, tool_number=9)
    assert troubles(roomy, 5) == codes


def test_taken_out_it_makes_room(roomy):
    load = loads.put(wide_one(), roomy.machine, pocket=4, tool_number=9)
    loads.out(load)
    assert troubles(roomy, 5) == set()


def test_two_tools_scanned_before_either_is_loaded_do_not_get_past_each_other(roomy):
    """Filling a changer scans first and loads afterwards: each load is judged again."""
    assert troubles(roomy, 5) == set()
    loads.put(wide_one(), roomy.machine, pocket=4, tool_number=9)
    assert made.code_of(roomy.decide, pocket=5) == "check.no_room"
    assert roomy.load(pocket=6).load.pocket == 6


def test_a_wide_tool_accepted_for_empty_neighbours_is_not_put_beside_a_full_one(roomy):
    limit(roomy, diameter_beside_max_um=11_000)
    roomy.machine.refresh_from_db()
    loads.put(made.released(), roomy.machine, pocket=4, tool_number=9)
    assert roomy.codes() == {TO_BE_EMPTY}
    assert made.code_of(roomy.decide, pocket=5, reason="agreed") == "check.no_room"
    assert roomy.load(pocket=7, reason="agreed").load.pocket == 7


def test_where_the_number_names_the_pocket_a_lead_answers_for_the_neighbour(roomy):
    limit(roomy, number_names="slot")
    loads.put(wide_one(), roomy.machine, pocket=4, tool_number=4)
    verdict = roomy.checked().verdict
    assert (verdict.word, verdict.override_rules) == ("STOP", (BESIDE,))
    loads.put(made.released(), roomy.machine, pocket=3, tool_number=3)
    assert roomy.checked().verdict.hard_stop


def test_what_weighs_less_than_its_parts_is_weighed_again(roomy):
    """1.5 kg on the scale; parts may add up to a tenth more."""
    facts_of(roomy, "cutter").update(mass_g=1_650)
    assert troubles(roomy) == set()
    facts_of(roomy, "cutter").update(mass_g=1_651)
    assert troubles(roomy) == {"machine.weighed_too_light"}


def test_a_seal_that_is_recorded_after_the_release_is_held_against_the_shank(roomy):
    facts_of(roomy, "nut").update(sealed=True)
    assert troubles(roomy) == {"seal.range_not_known"}
    facts_of(roomy, "nut").update(seal_max_um=12_000, seal_min_um=11_500)
    assert troubles(roomy) == set()
    facts_of(roomy, "nut").update(seal_max_um=11_999)
    assert troubles(roomy) == {"seal.shank_too_large"}


def test_the_page_says_why_a_pocket_was_not_taken(roomy, client):
    loads.put(wide_one(), roomy.machine, pocket=4, tool_number=9)
    client.force_login(made.operator())
    choose = {"machine": roomy.machine, "revision": roomy.revision}
    spindle.choose_station(by=made.operator(), session_key=client.session.session_key, **choose)
    page = client.get(f"/S/{roomy.label.code}")
    answer = {
        "submission": str(uuid4()),
        "decision": "loaded",
        "seen_word": "match",
        "seen": roomy.checked().fingerprint,
        "shown_number": made.TOOL,
        "place": "5",
        "mark_agrees": "on",
    }
    said = client.post(f"/S/{roomy.label.code}", answer)
    assert (page.context["verdict"].word, said.status_code) == ("MATCH", 200)
    assert said.context["refused"].code == "check.no_room"
    assert "its neighbours stay empty" in said.content.decode()
    assert not roomy.assembly.loads.exists()


# ---- a hydraulic chuck with a sleeve
CHUCK = {
    "clamping": "hydraulic",
    "collet_series": "",
    "nose_thread": "",
    "bore_um": 20_000,
    "bore_depth_um": 60_000,
    "grip_min_um": 30_000,
    "coolant_through": True,
}


def sleeve_item(**facts):
    item = makers.item(ItemKind.SLEEVE)
    given = {"outer_um": 20_000, "bore_um": 12_000, "length_um": 50_000, "suits": "hydraulic"}
    SleeveFacts.objects.create(item=item, **given | {"sealed": True} | facts)
    return item


def chucked(coolant_wanted=None, holder=None, torque_mnm=None, cutter=None):
    """A released assembly in a chuck with a sleeve, and the sleeve."""
    some = made.some_parts(
        holder=CHUCK | (holder or {}),
        cutter={"coolant_through": True, "material": "solid carbide"} | (cutter or {}),
    )
    sleeve = makers.stocked(sleeve_item(), some.drawer)
    assembly = made.started()
    for item, piece in [
        *((one.item, one) for one in (some.holder, some.cutter)),
        (sleeve, None),
    ]:
        made.put(assembly, item, piece)
    build.set_purpose(
        by=made.toolroom(),
        submission=uuid4(),
        assembly=assembly,
        meant_for=None,
        coolant_wanted=coolant_wanted,
    )
    made.set_figures(assembly, torque_mnm=torque_mnm)
    made.make(assembly, ACCEPTED)
    made.record(assembly, gauge_length=97_000, diameter=12_000, runout=8)
    made.let_go(assembly, ACCEPTED)
    return made.again(assembly), sleeve


@pytest.fixture(scope="module")
def standing_chuck(module_rows):
    (assembly, _), here = chucked(coolant_wanted=True), made.machine(coolant_through=True)
    return made.Scene(assembly, made.label_of(assembly), here, made.approved(here))


@pytest.fixture
def chuck(standing_chuck):
    """Its machine takes no stud, so none is on the way of the coolant."""
    scene = deepcopy(standing_chuck)
    limit(scene, uses_stud=False, stud_pattern="")
    holder = scene.assembly.current_build.parts.get(role="holder").piece
    Piece.objects.filter(pk=holder.pk).update(stud_state="not_used", stud_pattern="")
    return scene


def facts_of(scene, role):
    item = scene.assembly.current_build.parts.select_related("item").get(role=role).item
    return type(item.facts).objects.filter(item=item)


@pytest.mark.parametrize(
    ("through", "word", "codes"),
    [
        (True, "match", set()),
        (False, "stop", {"coolant.closed"}),
        (None, "cant_tell", {"coolant.not_known"}),
    ],
)
def test_coolant_that_is_wanted_has_to_come_through_this_machine(chuck, through, word, codes):
    limit(chuck, coolant_through=through)
    assert (chuck.word(), chuck.codes()) == (word, codes)
    assert chuck.checked().verdict.overridable is (word == "stop")


@pytest.mark.parametrize(
    ("role", "changed", "code"),
    [
        ("sleeve", {"sealed": False}, "coolant.closed"),
        ("sleeve", {"sealed": None}, "coolant.not_known"),
        ("cutter", {"coolant_through": None}, "coolant.not_known"),
        ("holder", {"coolant_through": False}, "coolant.closed"),
        ("sleeve", {"bore_um": 10_000}, "sleeve.bore_differs"),
        ("sleeve", {"outer_um": 25_000}, "sleeve.outer_differs"),
        ("sleeve", {"suits": "milling_chuck"}, "sleeve.kind_differs"),
        ("sleeve", {"n_max_rpm": 12_000}, "speed.over_limit"),
        ("holder", {"clamping": "shrink"}, "sleeve.no_seat"),
        ("holder", {"clamping": "drill_chuck"}, "chuck.side_load"),
        ("holder", {"clamping": "tap"}, "tap.other_cutter"),
        ("holder", {"grip_min_um": 35_001}, "grip.too_short"),
        ("holder", {"bore_um": None}, "sleeve.outer_not_known"),
        ("holder", {"screw_torque_mnm": 6_000}, "screw.not_known"),
        ("cutter", {"marked_grip_um": 36_000}, "grip.too_short"),
        ("cutter", {"shank_form": "flat"}, "shank.form_differs"),
        ("cutter", {"shank_um": 12_700}, "sleeve.bore_differs"),
    ],
)
def test_a_fact_that_changes_after_the_release_is_judged_anew(chuck, role, changed, code):
    assert chuck.word() == "match"
    facts_of(chuck, role).update(**changed)
    assert code in chuck.codes()


def test_where_no_coolant_is_wanted_nobody_asks_the_machine(chuck):
    Build.objects.filter(pk=chuck.assembly.current_build.pk).update(coolant_wanted=False)
    limit(chuck, coolant_through=False)
    assert chuck.codes() == set()


# ---- what may not be left unknown at the bench
@pytest.mark.parametrize(
    ("holder", "cutter", "subject"),
    [
        ({"clamping": "hydraulic", "bore_um": None}, {}, "bore"),
        ({"clamping": "shrink", "bore_um": None}, {}, "bore"),
        ({"clamping": "side_lock", "bore_um": None}, {"shank_form": "flat"}, "bore"),
        ({"clamping": "drill_chuck", "bore_um": 13_000}, {"kind": "drill"}, "chuck"),
        ({"clamping": "tap", "square_um": None}, {"kind": "tap", "square_um": 9_000}, "tap"),
    ],
)
def test_no_reason_answers_for_a_seat_that_nobody_recorded(holder, cutter, subject):
    bored = CHUCK | {"bore_um": 12_000, "screw_torque_mnm": 20_000} | holder
    some = made.some_parts(holder=bored, cutter={"material": "solid carbide"} | cutter)
    assembly = made.started()
    for one in (some.holder, some.cutter):
        made.put(assembly, one.item, one)
    made.set_figures(assembly, torque_mnm=20_000)
    refused = made.refusal(made.make, assembly, ACCEPTED)
    assert refused.code == "build.not_known"
    assert subject in {f.code.split(".")[0] for f in refused.findings}


# ---- settings and instruments after the release
@pytest.mark.parametrize(
    ("name", "value", "code"),
    [
        ("grip_rule", "full_collet", "grip.too_short"),
        ("grip_rule", "three_quarters_collet", ""),
    ],
)
def test_a_stricter_limit_of_the_shop_is_asked_at_once(roomy, name, value, code):
    change_limit(
        by=makers.person("lead"),
        submission=uuid4(),
        name=name,
        value=value,
        seen=0,
        reason="two cutters slipped",
    )
    assert troubles(roomy) == ({code} if code else set())


@pytest.fixture
def wrench():
    """A wrench in date, bought well before everything that is built with it."""
    wrench = Instrument.objects.create(
        mark="W-3",
        kind="wrench",
        torque_min_mnm=20_000,
        torque_max_mnm=200_000,
        months_between=12,
    )
    calibrate(wrench, "passed", -30 * DAY)
    return wrench


def calibrate(instrument, result, after=0 * DAY):
    """A calibration written down now, `after` today."""
    record_calibration(
        by=makers.person("lead", "toolroom"),
        submission=uuid4(),
        instrument=instrument,
        result=result,
        on=timezone.localdate() + after,
    )


def tightened_with(wrench, measured_with=None):
    """A scene whose assembly was tightened, and if asked measured, ten days ago."""
    assembly = made.drafted(wrench_mark=wrench.mark)
    made.make(assembly, ACCEPTED)
    readings = [
        Reading("gauge_length", 97_000, measured_with=measured_with),
        Reading("diameter", 12_000),
        Reading("runout", 8, 30_000),
    ]
    record_measurements(
        by=made.toolroom(), submission=uuid4(), assembly=assembly, readings=readings
    )
    made.let_go(assembly, ACCEPTED)
    here = made.machine()
    assembly = made.again(assembly)
    return made.Scene(assembly, made.label_of(assembly), here, made.approved(here))


@pytest.fixture
def ten_days_ago(monkeypatch):
    """Acts are written ten days ago until the fixture's function is called."""
    real = timezone.now
    monkeypatch.setattr(timezone, "now", lambda: real() - 10 * DAY)
    return lambda: monkeypatch.setattr(timezone, "now", real)


def test_a_wrench_found_out_after_the_release_is_a_check(wrench, ten_days_ago):
    scene = tightened_with(wrench)
    ten_days_ago()
    assert scene.word() == "match"
    calibrate(wrench, "failed", -2 * DAY)
    assert (scene.word(), scene.codes()) == ("check", {"wrench.found_out_later"})


@pytest.mark.parametrize(
    "results", [["passed"], ["suspect"], ["suspect", "passed"], ["passed", "failed"]]
)
def test_what_says_nothing_about_that_day_changes_nothing(wrench, ten_days_ago, results):
    scene = tightened_with(wrench)
    ten_days_ago()
    for days, result in enumerate(results):
        calibrate(wrench, result, (days - 5) * DAY)
    assert scene.word() == "match"


@pytest.mark.parametrize("result", ["failed", "suspect"])
def test_a_mishap_from_before_that_is_told_only_now_leaves_the_torque_unknown(
    wrench, ten_days_ago, result
):
    scene = tightened_with(wrench)
    ten_days_ago()
    calibrate(wrench, result, -12 * DAY)
    assert (scene.word(), scene.codes()) == ("cant_tell", {"instrument.out_when_used"})


def test_a_gauge_that_is_found_out_puts_its_readings_in_doubt(wrench, ten_days_ago):
    gauge = Instrument.objects.create(
        mark="G-4", kind="height_gauge", uncertainty_um=10, months_between=12
    )
    calibrate(gauge, "passed", -3 * DAY)
    scene = tightened_with(wrench, measured_with=gauge)
    ten_days_ago()
    assert scene.word() == "match"
    calibrate(gauge, "adjusted")
    assert (scene.word(), scene.codes()) == ("check", {"reading.found_out_later"})


def test_instruments_cost_one_query_and_none_without_any(
    scene, wrench, ten_days_ago, django_assert_max_num_queries
):
    other = tightened_with(wrench)
    ten_days_ago()
    counted = []
    for one in (scene, other):
        with django_assert_max_num_queries(40) as queries:
            spindle.gather_facts(
                assembly=one.assembly,
                label=BY_NUMBER,
                machine=scene.machine,
                revision=scene.revision,
            )
        counted.append(len(queries))
    assert counted[1] == counted[0] + 1


# ---- the bulk path of the set-up sheet
def test_a_sheet_has_the_same_facts_of_sleeve_coolant_weighing_and_neighbours(
    scene, wrench, ten_days_ago, monkeypatch
):
    weigh(scene)
    doubted = tightened_with(wrench)
    ten_days_ago()
    calibrate(wrench, "failed", -2 * DAY)
    limit(scene, coolant_through=True)
    loads.put(wide_one(), scene.machine, pocket=4, tool_number=9)
    sleeved, _ = chucked(coolant_wanted=True)
    now = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: now)
    machine = Machine.objects.get(pk=scene.machine.pk)
    assemblies = [scene.assembly, doubted.assembly, sleeved]
    keys = [one.current_build.pk for one in assemblies]
    builds = list(Build.objects.filter(pk__in=keys).select_related("assembly"))
    fetched = Fetched(machine, rows_of(builds), open_loads(machine, assemblies))
    found = checks_of([(one, made.TOOL) for one in builds], scene.revision, fetched, {})
    for one in builds:
        expected = spindle.check(
            assembly=made.again(one.assembly),
            label=BY_NUMBER,
            machine=machine,
            revision=scene.revision,
            tool_number=made.TOOL,
        )
        assert found[one.pk, made.TOOL].facts == expected.facts
        assert found[one.pk, made.TOOL].verdict == expected.verdict
