"""Whether a load still counts as checked: each thing that may have happened since."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from assemblies.rules.standing_load import CHECK_HOLDS_FOR, StandingLoad, load_findings

LOADED_AT = datetime(2025, 6, 3, 6, 52)


def found(after: timedelta = timedelta(hours=1), **changed):
    load = StandingLoad(loaded_at=LOADED_AT, number=1044, loaded_revision="r1", **changed)
    return [(f.code, str(f.level)) for f in load_findings(load, LOADED_AT + after)]


def test_nothing_speaks_against_a_fresh_load_of_the_live_revision():
    assert found() == []


@pytest.mark.parametrize(
    ("after", "codes"),
    [
        (CHECK_HOLDS_FOR - timedelta(seconds=1), []),
        (CHECK_HOLDS_FOR, []),
        (CHECK_HOLDS_FOR + timedelta(seconds=1), [("load.old", "check")]),
        (timedelta(days=40), [("load.old", "check")]),
    ],
)
def test_a_check_holds_for_twelve_hours(after, codes):
    assert found(after) == codes


@pytest.mark.parametrize(
    ("changed", "code", "level"),
    [
        ({"live": False, "state": "draft"}, "load.rebuilt", "stop_hard"),
        ({"live": False, "state": "retired"}, "load.rebuilt", "stop_hard"),
        ({"state": "quarantined", "state_note": "dropped"}, "load.quarantined", "stop_hard"),
        ({"state": "built"}, "load.not_released", "stop_hard"),
        ({"label_void": True}, "load.label_void", "stop_hard"),
        ({"put_down_at": "RACK B3"}, "load.put_down", "check"),
        ({"loaded_for": "P-1 A", "other_program": "P-2 A"}, "load.other_program", "check"),
        ({"loaded_for": "", "other_program": "P-2 A"}, "load.other_program", "check"),
    ],
)
def test_each_change_since_has_its_answer(changed, code, level):
    assert found(**changed) == [(code, level)]


def test_stops_stand_before_what_is_only_to_be_checked():
    everything = {
        "live": False,
        "label_void": True,
        "put_down_at": "RACK B3",
        "other_program": "P-2 A",
    }
    assert [level for _, level in found(timedelta(days=3), **everything)] == [
        "stop_hard",
        "stop_hard",
        "check",
        "check",
        "check",
    ]


@pytest.mark.parametrize(
    ("hours", "said"), [(13, "13 h"), (47, "47 h"), (48, "2 days"), (100, "4 days")]
)
def test_the_age_is_said_in_hours_and_then_in_days(hours, said):
    load = StandingLoad(loaded_at=LOADED_AT, number=1044, loaded_revision="r1")
    (finding,) = load_findings(load, LOADED_AT + timedelta(hours=hours))
    assert finding.text == f"Checked {said} ago."
    assert (finding.measured, finding.limit, finding.unit) == (hours, 12, "h")
