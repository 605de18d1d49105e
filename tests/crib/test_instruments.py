"""Instruments: what is refused, how each stands, and its pages."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from crib.actions.instrument_facts import due_instruments, instrument_lines
from crib.actions.instruments import record_calibration, save_instrument
from crib.models import Calibration, Instrument
from crib.rules.refusal import NotAllowed, Refused
from tests import makers
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)


def kept(mark="W-1", kind="wrench", **figures):
    made = Instrument(mark=mark, kind=kind, **figures)
    save_instrument(by=makers.person("toolroom"), submission=uuid4(), instrument=made)
    return made


def calibrated(instrument, on, result="passed", **more):
    record_calibration(
        by=makers.person("toolroom"),
        submission=uuid4(),
        instrument=instrument,
        result=result,
        on=on,
        **more,
    )


@pytest.mark.parametrize(
    ("first", "second", "code"),
    [
        ("W-1", {"mark": "w 1"}, None),
        ("W-1", {"mark": "w-1"}, "mark_taken"),
        ("W-1", {"mark": ""}, "not_valid"),
        ("W-1", {"mark": "W-2", "torque_min_mnm": 9, "torque_max_mnm": 8}, "range_upside_down"),
        ("W-1", {"mark": "W-2", "torque_min_mnm": 8, "torque_max_mnm": 8}, None),
    ],
)
def test_what_an_instrument_may_not_be(first, second, code):
    kept(first)
    if code is None:
        assert kept(**second).pk
        return
    with pytest.raises(Refused) as refused:
        kept(**second)
    assert refused.value.code == f"instrument.{code}"


def test_an_instrument_keeps_only_the_figures_of_its_kind():
    assert kept("M-1", "micrometer", reach_um=5, uncertainty_um=4).reach_um is None
    assert kept("W-1", "wrench", reach_um=5, uncertainty_um=4).uncertainty_um is None


def test_a_calibration_stays_and_is_not_of_a_day_to_come():
    wrench, tomorrow = kept(), timezone.localdate() + timedelta(days=1)
    with pytest.raises(Refused) as refused:
        calibrated(wrench, tomorrow)
    assert (refused.value.code, Calibration.objects.count()) == ("calibration.day_to_come", 0)

    calibrated(wrench, timezone.localdate(), certificate=" C-7 ")
    assert Calibration.objects.get().certificate == "C-7"


@pytest.mark.parametrize("role", ["operator", "programmer", "buyer", "lead"])
def test_only_toolroom_and_admin_record_calibrations(role):
    wrench = kept()
    with pytest.raises(NotAllowed):
        record_calibration(
            by=makers.person(role), submission=uuid4(), instrument=wrench, result="passed", on=TODAY
        )


def test_the_one_most_in_need_stands_first():
    days = {"W-5": 0, "W-4": 340, "W-2": 376, "W-3": 366}
    for mark, days_ago in days.items():
        calibrated(kept(mark, months_between=12), TODAY - timedelta(days=days_ago))
    kept("W-6", months_between=12)
    dropped = kept("W-1", months_between=12)
    calibrated(dropped, TODAY, "suspect")
    kept("W-7", is_retired=True)

    order = [line.instrument.mark for line in instrument_lines(TODAY)]
    assert order == ["W-1", "W-2", "W-3", "W-6", "W-4", "W-5"]
    assert [line.instrument.mark for line in due_instruments(TODAY)] == order[:-1]


# ---- pages
@pytest.mark.parametrize(("role", "may"), [("toolroom", True), ("operator", False)])
def test_an_empty_list_says_who_adds(role, may):
    page = text_of(signed_in(role).get(reverse("crib:instrument_list")))

    assert ("Add the first" in page) == may
    assert ("The toolroom adds" in page) != may


def test_the_list_asks_the_database_the_same_for_two_and_for_twenty(django_assert_max_num_queries):
    client = signed_in("toolroom")
    for number in range(20):
        calibrated(kept(f"W-{number}", months_between=12), TODAY)
    with django_assert_max_num_queries(6):
        page = text_of(client.get(reverse("crib:instrument_list")))
    assert "W-19" in page


def test_a_wrench_is_added_calibrated_and_dropped_through_its_pages():
    client = signed_in("toolroom")
    answer = fill_in(
        client,
        reverse("crib:instrument_new", args=["wrench"]),
        mark="W-9",
        torque_min_mnm="20",
        torque_max_mnm="100",
        reach_um="400",
        months_between="12",
        pulls_between="5000",
    )
    wrench = Instrument.objects.get()
    assert (wrench.torque_max_mnm, wrench.reach_um, wrench.pulls_between) == (
        100_000,
        400_000,
        5000,
    )
    url = reverse("crib:instrument_detail", args=[wrench.pk])
    assert answer["Location"] == url
    assert "no calibration on record" in text_of(client.get(url))

    today = timezone.localdate().isoformat()
    send = reverse("crib:instrument_calibrate", args=[wrench.pk])
    first, again, acts = send_twice(client, send, result="passed", on=today)
    assert (first.status_code, again.status_code, acts) == (302, 302, 1)
    assert "0 of 5000" in text_of(client.get(url))

    fill_in(client, send, result="suspect", on=today, note="off the bench")
    page = text_of(client.get(url))
    assert "was dropped or overloaded" in page
    assert "off the bench" in page


def test_a_page_of_no_kind_does_not_exist():
    client = signed_in("toolroom")
    assert client.get(reverse("crib:instrument_new", args=["hammer"])).status_code == 404


def test_a_slip_shows_the_form_again_and_keeps_nothing():
    answer = fill_in(
        signed_in("toolroom"),
        reverse("crib:instrument_new", args=["presetter"]),
        mark="P-1",
        uncertainty_um="eight",
    )
    assert answer.status_code == 200
    assert "is not a length" in text_of(answer)
    assert not Instrument.objects.exists()
