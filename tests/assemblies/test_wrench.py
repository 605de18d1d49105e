"""What to set a wrench to, through an adapter, and what is said of the wrench itself.

Outside checks: the straight extension of the US Army's TM 9-254, figure 45 (12 in wrench, 2 in
extension, set to 60 in·lb: 70 in·lb at the nut); the worked example of FAA AC 43.13-1B, figure
7-2, from memory, and printed with the same numbers in a maintenance manual (10 in wrench, 1.5 in
adapter, 135 in·lb wanted: 117.39). The law has no unit, so in·lb and inches do as they are.
"""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as some

from assemblies.actions.wrench_facts import wrench_findings
from assemblies.models import Build
from assemblies.rules.wrench import (
    STEP_MNM,
    adapter_setting_mnm,
    found_out_finding,
    setting_finding,
    torque_at_nut_mnm,
    unnamed_finding,
)
from crib.actions.instruments import record_calibration
from crib.models import Instrument
from crib.rules.calibration import CalibrationEvent
from tests import assembly_makers as made
from tests import makers

INCH_UM = 25_400
DAY = date(2026, 5, 1)


def test_the_armys_example():
    assert torque_at_nut_mnm(60_000, 12 * INCH_UM, 2 * INCH_UM) == 70_000
    assert adapter_setting_mnm(70_000, 12 * INCH_UM, 2 * INCH_UM) == 60_000


def test_the_aviation_example_rounded_down_to_the_step():
    assert adapter_setting_mnm(135_000, 10 * INCH_UM, 15 * INCH_UM // 10) == 117_300


@pytest.mark.parametrize(
    ("aim", "reach", "adapter", "setting"),
    [
        (80_000, None, None, 80_000),
        (80_000, None, 0, 80_000),
        (80_000, None, 1, None),
        (80_000, 0, 1, None),
        (None, 400_000, 50_000, None),
        (80_050, 400_000, 0, 80_050),
    ],
)
def test_what_is_missing_is_not_made_up(aim, reach, adapter, setting):
    assert adapter_setting_mnm(aim, reach, adapter) == setting
    assert torque_at_nut_mnm(aim, reach, adapter) == setting


@given(some.integers(1_000, 300_000), some.integers(100_000, 1_000_000), some.integers(1, 500_000))
def test_there_and_back_never_gives_the_nut_more_and_loses_no_more_than_a_step(aim, reach, adapter):
    got = torque_at_nut_mnm(adapter_setting_mnm(aim, reach, adapter), reach, adapter)

    lost_at_most = STEP_MNM * (reach + adapter) / reach + 1
    assert aim - lost_at_most <= got <= aim + 1


@pytest.mark.parametrize(
    ("aim", "adapter", "ranged", "code", "level"),
    [
        (80_000, 0, (80_000, 100_000), "within_range", "pass"),
        (80_000, 0, (80_001, 100_000), "below_range", "check"),
        (100_000, 0, (80_000, 100_000), "within_range", "pass"),
        (100_001, 0, (80_000, 100_000), "above_range", "check"),
        (110_000, 50_000, (80_000, 100_000), "within_range", "pass"),
        (80_000, 50_000, (80_000, 100_000), "below_range", "check"),
        (80_000, 0, (None, 100_000), "range_not_known", "note"),
        (80_000, 0, (20_000, None), "range_not_known", "note"),
        (80_000, 0, (None, 79_999), "above_range", "check"),
    ],
)
def test_the_setting_lies_in_the_range_of_the_wrench(aim, adapter, ranged, code, level):
    found = setting_finding("W-12345", aim, 400_000, adapter, ranged)

    assert (found.code, found.level) == (f"wrench.{code}", level)
    assert len(found.text) <= 70


def test_an_adapter_on_a_wrench_of_unknown_reach_is_not_known():
    found = setting_finding("W-1", 80_000, None, 50_000, (20_000, 100_000))

    assert (found.code, found.level) == ("wrench.reach_not_known", "unknown")
    assert setting_finding("W-1", None, None, 50_000, (None, None)) is None


@pytest.mark.parametrize(
    ("torque", "mark", "code"),
    [(None, "", None), (None, "W-1", None), (1, "", "not_named"), (1, "W-1", "not_on_record")],
)
def test_a_torque_without_a_wrench_on_record_is_noted(torque, mark, code):
    found = unnamed_finding(torque, mark)

    assert (found.code if found else None) == (code and f"wrench.{code}")


@pytest.mark.parametrize(
    ("results", "found"),
    [
        ([], False),
        (["passed"], False),
        (["failed"], True),
        (["adjusted"], True),
        (["suspect"], False),
        (["suspect", "failed"], True),
        (["passed", "failed"], False),
    ],
)
def test_what_comes_out_later_tells_on_what_was_tightened_before(results, found):
    later = [CalibrationEvent(DAY + timedelta(days=n), r) for n, r in enumerate(results, 1)]

    assert (found_out_finding("W-1", later, DAY) is not None) == found
    assert found_out_finding("W-1", later, DAY + timedelta(days=9)) is None


# ---- with the records
@pytest.fixture
def wrench(db):
    return Instrument.objects.create(
        mark="W-1",
        kind="wrench",
        months_between=12,
        pulls_between=2,
        torque_min_mnm=20_000,
        torque_max_mnm=120_000,
    )


def calibrated(wrench, on, result="passed"):
    record_calibration(
        by=makers.person("toolroom"), submission=uuid4(), instrument=wrench, result=result, on=on
    )


def built_with(wrench):
    assembly = made.drafted()
    Build.objects.filter(assembly=assembly).update(wrench=wrench, wrench_mark=wrench.mark)
    return assembly


def codes(assembly, today=None):
    return [f.code for f in wrench_findings(Build.objects.get(assembly=assembly, live=True), today)]


def test_a_draft_is_judged_by_today_and_its_own_pull_does_not_count(wrench):
    one, two, three = (built_with(wrench) for _ in range(3))
    assert codes(one)[0] == "instrument.never_calibrated"

    yesterday = date.today() - timedelta(days=1)
    calibrated(wrench, yesterday)
    assert codes(one) == ["instrument.in_date", "wrench.within_range"]

    for assembly in (one, two):
        made.make(assembly, made.REASON)
    assert codes(three)[0] == "instrument.pulls_used"
    # Each made one keeps what held when it was tightened.
    assert codes(one)[0] == "instrument.in_date"
    assert codes(two)[0] == "instrument.in_date"


def test_an_old_calibration_and_one_found_out_afterwards_are_told(wrench):
    assembly = built_with(wrench)
    calibrated(wrench, date.today() - timedelta(days=400))
    assert codes(assembly)[0] == "instrument.overdue"
    made.make(assembly, made.REASON)
    earlier = date.today() - timedelta(days=2)
    Build.objects.filter(assembly=assembly).update(built_at=f"{earlier}T09:00Z")

    calibrated(wrench, date.today() - timedelta(days=1), "adjusted")

    assert codes(assembly)[:2] == ["instrument.overdue", "wrench.found_out_later"]


def test_without_a_wrench_and_a_torque_nothing_is_said_and_nothing_asked(
    django_assert_num_queries, db
):
    build = Build.objects.get(assembly=made.drafted(torque_mnm=None))
    with django_assert_num_queries(0):
        assert wrench_findings(build) == []


@pytest.mark.parametrize(
    ("result", "first", "told"),
    [
        ("passed", "instrument.in_date", False),
        ("adjusted", "instrument.never_calibrated", True),
        ("failed", "instrument.never_calibrated", True),
    ],
)
def test_what_is_found_out_later_on_the_same_day_vouches_for_nothing_before(
    wrench, result, first, told
):
    assembly = built_with(wrench)
    made.make(assembly, made.REASON)

    calibrated(wrench, date.today(), result)

    found = codes(assembly)
    assert found[0] == first
    assert ("instrument.out_when_used" in found or "wrench.found_out_later" in found) == told


@pytest.mark.parametrize("mark", ["", "W-9"])
def test_an_adapter_on_a_wrench_that_is_not_on_record_leaves_the_torque_not_known(db, mark):
    assembly = made.drafted()
    drafts = Build.objects.filter(assembly=assembly)
    drafts.update(wrench=None, wrench_mark=mark, adapter_um=50_000)

    assert "wrench.reach_not_known" in codes(assembly)

    drafts.update(adapter_um=None)
    assert "wrench.reach_not_known" not in codes(assembly)
