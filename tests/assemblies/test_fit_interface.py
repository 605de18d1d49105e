"""Holder and machine: interface and pull stud."""

from dataclasses import replace

import pytest

from assemblies.rules.interface import interface_finding, stud_findings
from assemblies.rules.stack import MachineFacts, Stage, StudPart, StudState
from crib.rules.finding import Level
from tests.assemblies.stacks import HOLDER, ROUTER_2, TABLES, levels


def interface(holder_code, machine_code):
    holder, machine = replace(HOLDER, interface=holder_code), MachineFacts(interface=machine_code)
    return interface_finding(holder, machine, TABLES.tapers)


@pytest.mark.parametrize(
    ("holder_code", "machine_code", "code", "level"),
    [
        ("ISO 30 router", "ISO 30 router", "interface.same", Level.PASS),
        ("hsk-a63", "HSK-A63", "interface.same", Level.PASS),
        ("ISO 30 router", "HSK-A63", "interface.differs", Level.STOP_HARD),
        ("ISO 30 router", "SK30", "interface.differs", Level.STOP_HARD),
        ("HSK-A63", "HSK-E63", "interface.differs", Level.STOP_HARD),
        ("shop made", "shop made", "interface.same", Level.PASS),
        (None, "BT30", "interface.not_known", Level.UNKNOWN),
        ("BT30", None, "interface.not_known", Level.UNKNOWN),
        (None, None, "interface.not_known", Level.UNKNOWN),
    ],
)
def test_only_the_machines_own_interface_passes(holder_code, machine_code, code, level):
    finding = interface(holder_code, machine_code)
    assert (finding.code, finding.level) == (code, level)


# DIN 69893: F63 has the cone of A50 and E50 at the flange of A63; ISO 7388: one cone, three forms.
@pytest.mark.parametrize(
    ("holder_code", "machine_code", "likeness"),
    [
        ("HSK-F63", "HSK-A50", "Same cone"),
        ("HSK-F63", "HSK-E50", "Same cone"),
        ("HSK-F63", "HSK-A63", "Same flange, other cone"),
        ("BT40", "SK40", "Same cone"),
        ("BT30", "V-flange 30", "Same cone"),
        ("ISO 30 router", "BT30", "Same cone"),
        ("BT30", "BT40", "Fetch"),
        ("BT50", "HSK-A100", "Fetch"),
        ("shop made", "BT30", "Fetch"),
        ("BT30", "shop made", "Fetch"),
    ],
)
def test_a_look_alike_is_called_by_what_it_shares(holder_code, machine_code, likeness):
    finding = interface(holder_code, machine_code)
    assert finding.level == Level.STOP_HARD
    assert finding.remedy.startswith(likeness)


@pytest.mark.parametrize(
    ("holder_code", "machine_code", "whose"), [(None, "BT30", "holder"), ("BT30", None, "machine")]
)
def test_the_side_whose_interface_is_missing_is_named(holder_code, machine_code, whose):
    assert whose in interface(holder_code, machine_code).text


def stud(state, pattern=None, *, stage, machine=None, interface_code="ISO 30 router"):
    holder = replace(HOLDER, interface=interface_code)
    return levels(stud_findings(holder, StudPart(state, pattern), machine, TABLES.tapers, stage))


@pytest.mark.parametrize(
    ("state", "pattern", "expected"),
    [
        (StudState.FITTED, "B", {"stud.same": "pass"}),
        (StudState.FITTED, "stud b", {"stud.same": "pass"}),
        (StudState.FITTED, "A", {"stud.differs": "stop_hard"}),
        (StudState.FITTED, None, {"stud.not_known": "stop_soft"}),
        (StudState.NONE_FITTED, None, {"stud.missing": "stop_hard"}),
        (StudState.NOT_USED, None, {"stud.missing": "stop_hard"}),
        (StudState.UNKNOWN, None, {"stud.not_known": "stop_soft"}),
        (StudState.UNKNOWN, "B", {"stud.not_known": "stop_soft"}),
    ],
)
def test_the_machine_takes_one_stud_pattern(state, pattern, expected):
    assert stud(state, pattern, stage=Stage.RELEASE, machine=ROUTER_2) == expected


@pytest.mark.parametrize(
    ("stage", "none_fitted", "unknown", "fitted"),
    [
        (Stage.BUILD, "check", "unknown", "pass"),
        (Stage.RELEASE, "stop_hard", "stop_soft", "pass"),
    ],
)
def test_a_stud_is_needed_from_release_on(stage, none_fitted, unknown, fitted):
    assert stud(StudState.NONE_FITTED, stage=stage) == {"stud.missing": none_fitted}
    assert stud(StudState.UNKNOWN, stage=stage) == {"stud.not_known": unknown}
    assert stud(StudState.FITTED, "A", stage=stage) == {"stud.fitted": fitted}


@pytest.mark.parametrize("code", ["HSK-A63", "HSK-F63", "PSC 63", "DIN 2080-40"])
@pytest.mark.parametrize("state", [StudState.NOT_USED, StudState.NONE_FITTED, StudState.UNKNOWN])
def test_a_taper_without_a_stud_is_not_asked_for_one(code, state):
    assert stud(state, stage=Stage.RELEASE, interface_code=code) == {"stud.not_asked": "pass"}


def test_a_stud_on_a_taper_that_takes_none_is_looked_at():
    found = stud(StudState.FITTED, "A", stage=Stage.RELEASE, interface_code="HSK-A63")
    assert found == {"stud.not_for_taper": "check"}


def test_a_machine_whose_pattern_is_not_recorded_cannot_be_passed():
    machine = replace(ROUTER_2, stud_pattern=None)
    found = stud(StudState.FITTED, "B", stage=Stage.RELEASE, machine=machine)
    assert found == {"stud.machine_not_known": "unknown"}


@pytest.mark.parametrize(
    ("state", "expected"),
    [
        (StudState.FITTED, {"stud.differs": "stop_hard"}),
        (StudState.UNKNOWN, {"stud.not_known": "stop_soft"}),
        (StudState.NONE_FITTED, {"stud.not_asked": "pass"}),
        (StudState.NOT_USED, {"stud.not_asked": "pass"}),
    ],
)
def test_a_machine_whose_drawbar_takes_no_stud_wants_none(state, expected):
    machine = replace(ROUTER_2, stud_pattern=StudState.NOT_USED)
    assert stud(state, "A", stage=Stage.RELEASE, machine=machine) == expected


@pytest.mark.parametrize("code", [None, "shop made"])
def test_a_taper_outside_the_tables_leaves_the_stud_unknown(code):
    found = stud(StudState.FITTED, "A", stage=Stage.RELEASE, interface_code=code)
    assert found == {"stud.need_not_known": "unknown"}
    found = stud(StudState.NONE_FITTED, stage=Stage.RELEASE, interface_code=code)
    assert found == {"stud.need_not_known": "unknown", "stud.missing": "stop_hard"}


# Retention by family: 7/24 forms of ISO 7388 and ASME B5.50 by stud, DIN 2080 (ISO 297) by a
# threaded draw-bar, HSK (ISO 12164-1, DIN 69893) and PSC (ISO 26623-1) from inside.
TAKES_A_STUD = {"SK": True, "BT": True, "V-": True, "IS": True}
TAKES_A_STUD |= {"DI": False, "HS": False, "PS": False}


@pytest.mark.parametrize("row", TABLES.tapers, ids=lambda row: row.code)
def test_every_interface_of_the_tables_asks_for_a_stud_or_for_none(row):
    found = stud(StudState.UNKNOWN, stage=Stage.RELEASE, interface_code=row.code)
    if TAKES_A_STUD[row.code[:2]]:
        assert found == {"stud.not_known": "stop_soft"}
    else:
        assert found == {"stud.not_asked": "pass"}


@pytest.mark.parametrize("row", TABLES.tapers, ids=lambda row: row.code)
def test_every_interface_fits_itself_and_no_other(row):
    fitting = {
        other.code for other in TABLES.tapers if interface(row.code, other.code).level == Level.PASS
    }
    assert fitting == {row.code}


def test_the_small_router_taper_has_studs_whose_thread_nobody_standardised():
    row = next(row for row in TABLES.tapers if row.code == "ISO 20")
    assert row.retention_thread == "by maker" or not row.retention_thread
    assert stud(StudState.NONE_FITTED, stage=Stage.RELEASE, interface_code="ISO 20") == {
        "stud.missing": "stop_hard"
    }
    machine = replace(ROUTER_2, interface="ISO 20", stud_pattern="C")
    for pattern, code in (("C", "stud.same"), ("A", "stud.differs")):
        found = stud(
            StudState.FITTED, pattern, stage=Stage.RELEASE, machine=machine, interface_code="ISO 20"
        )
        assert list(found) == [code]
