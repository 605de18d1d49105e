"""Readings and instruments by which a MATCH was wrong once. Each way stays shut."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from assemblies.actions.measure import Reading, record_measurements
from assemblies.actions.setup_sheet_checks import BY_NUMBER, Fetched, checks_of
from assemblies.actions.setup_sheet_places import open_loads
from assemblies.actions.setup_sheet_rows import rows_of
from assemblies.actions.spindle_facts import gather_facts
from assemblies.actions.weigh import record_weighing
from assemblies.models import Build, Machine
from assemblies.rules.found_out import PastUse, past_use_findings, unjudged_use_findings
from assemblies.rules.verdict.facts import LengthRule, ReadAs
from assemblies.rules.verdict.judge import judge
from crib.actions.instruments import record_calibration
from crib.models import Instrument
from crib.rules.calibration import CalibrationEvent
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.verdict_facts import EVERYDAY

DAY = timedelta(days=1)
USED_ON = date(2026, 5, 1)
LENGTH, DIAMETER = made.GAUGE_LENGTH_UM, made.DIAMETER_UM


# ---- what calibrations of one day say together
def events(*days_and_results):
    return [CalibrationEvent(USED_ON + days * DAY, result) for days, result in days_and_results]


@pytest.mark.parametrize("tightened", [True, False])
@pytest.mark.parametrize(
    ("told", "found"),
    [
        ([(3, "passed"), (3, "failed")], True),
        ([(3, "failed"), (3, "passed")], True),
        ([(3, "passed"), (3, "adjusted")], True),
        ([(3, "suspect"), (3, "passed")], False),
        ([(3, "passed"), (4, "failed")], False),
    ],
)
def test_of_several_calibrations_on_the_next_day_the_worst_counts(told, found, tightened):
    codes = [
        f.code for f in past_use_findings(PastUse("X-1", USED_ON, tightened), events(*told), [])
    ]
    kind = "wrench" if tightened else "reading"
    assert codes == ([f"{kind}.found_out_later"] if found else [])


@pytest.mark.parametrize(
    ("told", "codes"),
    [
        ([(0, "failed"), (0, "passed")], ["instrument.out_when_used"]),
        ([(0, "adjusted")], ["instrument.out_when_used"]),
        ([(0, "suspect"), (0, "passed")], []),
        ([(0, "passed")], []),
    ],
)
def test_repaired_on_the_day_of_the_use_it_was_out_all_the_same(told, codes):
    late = events(*told)
    assert [f.code for f in past_use_findings(PastUse("X-1", USED_ON), late, late)] == codes


@pytest.mark.parametrize(
    ("told", "codes"),
    [
        ([], ["instrument.never_calibrated"]),
        ([(-3, "failed")], ["instrument.failed"]),
        ([(-400, "passed")], ["instrument.overdue"]),
        ([(-300, "passed")], []),
    ],
)
def test_a_use_that_no_release_judged_is_judged_by_its_day(told, codes):
    found = unjudged_use_findings(PastUse("G-1", USED_ON), events(*told), 12)
    assert [f.code for f in found] == codes


# ---- single readings and U against the tolerance that the tool number states
def read_as(least_um, most_um, uncertainty_um=None):
    """The everyday case, T1 wanting Ø 12 ±0.05, with its diameter read like that."""
    read = {"diameter": ReadAs(least_um, most_um, uncertainty_um)}
    return replace(EVERYDAY, assembly=replace(EVERYDAY.assembly, read=read))


@pytest.mark.parametrize(
    ("read", "code"),
    [
        ((11_950, 12_050), None),
        ((11_949, 12_000), "reading.too_close"),
        ((12_000, 12_051), "reading.too_close"),
        ((11_500, 12_500, 5), "reading.too_close"),
        ((12_000, 12_000, 49), None),
        ((12_000, 12_000, 50), "reading.too_coarse"),
    ],
)
def test_readings_that_do_not_prove_the_diameter_are_a_check(read, code):
    verdict = judge(read_as(*read))
    assert verdict.word == ("CHECK" if code else "MATCH")
    assert [f.code for f in verdict.reasons] == ([code] if code else [])


def test_a_length_that_is_touched_off_asks_for_no_proof():
    number = EVERYDAY.tool_number or judge(EVERYDAY).tool_number
    wanted = EVERYDAY.requirements[number]
    read = {"gauge_length": ReadAs(1, 500_000, 9_000)}
    facts = replace(EVERYDAY, assembly=replace(EVERYDAY.assembly, read=read), tool_number=number)
    assert judge(facts).word == "CHECK"
    touched = {number: replace(wanted, length_rule=LengthRule.TOUCH_OFF)}
    assert judge(replace(facts, requirements=touched)).word == "MATCH"


# ---- with the records
pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def standing_scene(module_rows):
    return made.Scene.ready()


@pytest.fixture
def scene(standing_scene):
    return deepcopy(standing_scene)


def instrument(mark, kind, **figures):
    return Instrument.objects.create(mark=mark, kind=kind, months_between=12, **figures)


def calibrate(one, result="passed", days=0):
    record_calibration(
        by=makers.person("toolroom"),
        submission=uuid4(),
        instrument=one,
        result=result,
        on=timezone.localdate() + days * DAY,
    )


def read(assembly, quantity, value_um, **more):
    reading = Reading(quantity, value_um, **more)
    record_measurements(
        by=made.toolroom(), submission=uuid4(), assembly=assembly, readings=[reading]
    )


def at_a_machine(assembly):
    here = made.machine()
    return made.Scene(made.again(assembly), made.label_of(assembly), here, made.approved(here))


@pytest.fixture
def ten_days_ago(monkeypatch):
    """Acts are written ten days ago until the fixture's function is called."""
    real = timezone.now
    monkeypatch.setattr(timezone, "now", lambda: real() - 10 * DAY)
    return lambda: monkeypatch.setattr(timezone, "now", real)


def tightened_with(wrench):
    """Built, measured and released now with one wrench, for a machine."""
    assembly = made.drafted(wrench_mark=wrench.mark)
    made.make(assembly, made.REASON)
    made.record(assembly, gauge_length=LENGTH, diameter=DIAMETER, runout=made.RUNOUT_UM)
    made.let_go(assembly, made.REASON)
    return at_a_machine(assembly)


def measured_anew(scene, gauge_length=LENGTH + 400):
    made.record(scene.assembly, gauge_length=gauge_length)
    made.let_go(scene.assembly, made.REASON)
    scene.label = made.label_of(scene.assembly)


def test_a_revision_that_was_only_measured_anew_keeps_the_day_of_its_torque(ten_days_ago):
    wrench = instrument("W-1", "wrench")
    calibrate(wrench, days=-30)
    scene = tightened_with(wrench)
    ten_days_ago()
    calibrate(wrench, "failed", -5)
    calibrate(wrench, "passed", -4)
    measured_anew(scene)
    measured_anew(scene, LENGTH)

    assert scene.codes() == {"wrench.found_out_later"}


def test_tightened_anew_with_the_repaired_wrench_nothing_is_in_doubt(ten_days_ago):
    wrench = instrument("W-1", "wrench")
    calibrate(wrench, days=-30)
    scene = tightened_with(wrench)
    ten_days_ago()
    calibrate(wrench, "failed", -5)
    calibrate(wrench, "passed", -4)
    made.build.start_rebuild(
        by=made.toolroom(), submission=uuid4(), assembly=scene.assembly, reason="tighten it anew"
    )
    made.set_figures(scene.assembly, wrench_mark=wrench.mark)
    made.make(scene.assembly, made.REASON)
    made.record(scene.assembly, gauge_length=LENGTH, diameter=DIAMETER, runout=made.RUNOUT_UM)
    made.let_go(scene.assembly, made.REASON)
    scene.label = made.label_of(scene.assembly)

    assert scene.codes() == set()


def test_an_instrument_that_is_out_freshens_no_reading_after_the_release(scene):
    gauge = instrument("G-1", "presetter", uncertainty_um=5)
    calibrate(gauge, "failed", -3)
    read(scene.assembly, "gauge_length", LENGTH, measured_with=gauge)

    assert (scene.word(), scene.codes()) == ("cant_tell", {"instrument.failed"})


def test_one_that_was_never_calibrated_does_not_either(scene):
    gauge = instrument("G-1", "presetter", uncertainty_um=5)
    read(scene.assembly, "gauge_length", LENGTH, measured_with=gauge)

    assert scene.codes() == {"instrument.never_calibrated"}


def test_readings_far_apart_after_the_release_are_a_check(scene):
    gauge = instrument("G-1", "presetter", uncertainty_um=5)
    calibrate(gauge, days=-3)
    apart = (DIAMETER - 20, DIAMETER, DIAMETER + 20)
    read(scene.assembly, "diameter", DIAMETER, measured_with=gauge, readings_um=apart)

    assert scene.codes() == {"reading.spread_large"}


def test_a_median_that_fits_hides_no_single_reading_that_does_not(scene):
    apart = (DIAMETER - 500, DIAMETER, DIAMETER + 500)
    read(scene.assembly, "diameter", DIAMETER, readings_um=apart)

    assert scene.codes() == {"reading.too_close"}


def test_an_instrument_coarser_than_the_tolerance_proves_nothing(scene):
    caliper = instrument("C-1", "caliper", uncertainty_um=60)
    calibrate(caliper, days=-3)
    read(scene.assembly, "diameter", DIAMETER, measured_with=caliper)

    assert scene.codes() == {"reading.too_coarse"}


@pytest.mark.parametrize(
    ("runouts", "codes"),
    [
        ([("flutes", 8), ("nose", 3)], set()),
        ([("", 8), ("bar", 3)], set()),
        ([("nose", 3)], {"state.runout_not_measured"}),
        ([("bar", 3)], {"state.runout_not_measured"}),
        ([("flutes", 60), ("nose", 3)], {"runout.over"}),
        ([("flutes", 8), ("nose", 60)], {"runout.over", "state.runout_not_measured"}),
        ([("nose", 60), ("shank", 3)], set()),
    ],
)
def test_runout_of_nose_or_bar_is_not_that_of_the_cutter(runouts, codes):
    assembly = made.measured(runout=None)
    for place, runout_um in runouts:
        read(assembly, "runout", runout_um, read_on=place)
    made.let_go(assembly, made.REASON)

    assert at_a_machine(assembly).codes() == codes


@pytest.mark.parametrize("place", ["", "nose"])
def test_accepted_without_a_runout_of_the_cutter_it_is_not_fully_known(place):
    assembly = made.measured(runout=None)
    if place:
        read(assembly, "runout", 3, read_on=place)
    made.let_go(assembly, made.REASON)
    row = at_a_machine(assembly).load(reason="agreed")

    assert (row.verdict, row.fully_known) == ("check", False)


@pytest.mark.parametrize(
    ("results", "codes"),
    [
        ([("failed", -1)], {"instrument.failed"}),
        ([("passed", -30), ("failed", 0)], {"instrument.failed"}),
        ([("passed", -30)], set()),
        ([], set()),
    ],
)
@pytest.mark.parametrize("limited", [True, False])
def test_a_scale_that_is_out_weighs_nothing_where_mass_is_limited(scene, results, codes, limited):
    if limited:
        Machine.objects.filter(pk=scene.machine.pk).update(mass_max_g=5_000)
    scale = instrument("S-1", "scale")
    for result, days in results:
        calibrate(scale, result, days)
    record_weighing(
        by=made.toolroom(),
        submission=uuid4(),
        assembly=scene.assembly,
        mass_g=1_500,
        measured_with=scale,
    )

    assert scene.codes() == (codes if limited else set())


# ---- what the toolroom accepted of an instrument
def test_a_wrench_never_calibrated_is_a_check_once_it_was_accepted_and_no_match(ten_days_ago):
    scene = tightened_with(instrument("W-1", "wrench"))
    ten_days_ago()
    for _ in range(2):
        verdict = scene.checked().verdict
        assert (verdict.word, verdict.fully_known) == ("CHECK", False)
        assert scene.codes() == {"instrument.never_calibrated"}
        scene.load(reason="agreed")


@pytest.mark.parametrize(
    ("result", "codes"),
    [
        ("passed", set()),
        ("failed", {"instrument.never_calibrated", "wrench.found_out_later"}),
        ("suspect", {"instrument.never_calibrated"}),
    ],
)
def test_the_next_calibration_answers_for_it(ten_days_ago, result, codes):
    wrench = instrument("W-1", "wrench")
    scene = tightened_with(wrench)
    ten_days_ago()
    calibrate(wrench, result, -1)

    assert scene.codes() == codes


def test_another_wrench_whose_mark_begins_alike_answers_for_nothing(ten_days_ago):
    scene = tightened_with(instrument("W-10", "wrench"))
    gauge = instrument("W-1", "presetter", uncertainty_um=5)
    calibrate(gauge, days=-30)
    read(scene.assembly, "gauge_length", LENGTH, measured_with=gauge)
    ten_days_ago()
    calibrate(gauge, days=-1)

    assert scene.codes() == {"instrument.never_calibrated"}


def test_a_dropped_wrench_stays_not_known_whatever_was_accepted(ten_days_ago):
    wrench = instrument("W-1", "wrench")
    calibrate(wrench, "suspect", -12)
    scene = tightened_with(wrench)
    ten_days_ago()

    assert scene.word() == "cant_tell"
    assert "instrument.mishap" in scene.codes()


# ---- the bulk path of the set-up sheet
def test_a_sheet_has_the_same_facts_of_readings_and_instruments(scene, ten_days_ago, monkeypatch):
    wrench, gauge = instrument("W-1", "wrench"), instrument("G-1", "presetter", uncertainty_um=5)
    calibrate(wrench, days=-30)
    carried = tightened_with(wrench)
    never = tightened_with(instrument("W-2", "wrench"))
    ten_days_ago()
    calibrate(wrench, "failed", -5)
    measured_anew(carried)
    read(scene.assembly, "diameter", DIAMETER, measured_with=gauge, readings_um=(11_900, 12_100))
    read(scene.assembly, "runout", 3, read_on="nose")
    now = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: now)
    machine = Machine.objects.get(pk=scene.machine.pk)
    assemblies = [made.again(one.assembly) for one in (scene, carried, never)]
    keys = [one.current_build.pk for one in assemblies]
    builds = list(Build.objects.filter(pk__in=keys).select_related("assembly"))
    fetched = Fetched(machine, rows_of(builds), open_loads(machine, assemblies))
    found = checks_of([(one, made.TOOL) for one in builds], scene.revision, fetched, {})
    for one in builds:
        single = gather_facts(
            assembly=one.assembly,
            label=BY_NUMBER,
            machine=machine,
            revision=scene.revision,
            tool_number=made.TOOL,
        )
        assert found[one.pk, made.TOOL].facts == single
