"""Readings as typed at the bench, what is said while typing, weighing, and the next revision."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from assemblies.actions import measure
from assemblies.actions.measure import Reading
from assemblies.actions.measured_facts import measured_findings, repeatabilities
from assemblies.actions.stack_facts import stack_of
from assemblies.actions.weigh import MOST_G, record_weighing
from assemblies.models import Build, Measurement, Weighing
from assemblies.rules.stack import ShopLimits
from crib.actions.instruments import record_calibration
from crib.models import Instrument
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers
from tests.crib.pages import fill_in, signed_in, text_of


@pytest.fixture(scope="module")
def bench(module_rows):
    """One built assembly, and a presetter that is in date, for all tests of this module."""
    presetter = Instrument.objects.create(
        mark="P-1", kind="presetter", uncertainty_um=4, months_between=12
    )
    record_calibration(
        by=makers.person("toolroom"),
        submission=uuid4(),
        instrument=presetter,
        result="passed",
        on=timezone.localdate() - timedelta(days=1),
    )
    assembly = made.built()
    return {"assembly": assembly, "presetter": presetter, "toolroom": signed_in("toolroom")}


pytestmark = pytest.mark.django_db


def live(assembly):
    return Build.objects.get(assembly=assembly, live=True)


def address(name, bench):
    return reverse(f"assemblies:{name}", args=[bench["assembly"].number])


def typed(bench, **entries):
    return fill_in(bench["toolroom"], address("measure", bench), **entries)


def kept(quantity):
    return Measurement.objects.filter(quantity=quantity).latest("at", "id")


# ---- kept as typed
def test_several_readings_are_kept_and_the_median_counts(bench):
    typed(bench, gauge_length="97.02 97.05 97.03", instrument="p-1")

    row = kept("gauge_length")
    assert (row.value_um, row.readings_um) == (97_030, [97_020, 97_050, 97_030])
    assert (row.measured_with, row.instrument) == (bench["presetter"], "P-1")
    assert row.uncertainty_um == 4


def test_of_runout_the_largest_counts_with_its_place(bench):
    typed(
        bench,
        runout="0.008+0.012+0.010",
        runout_distance="30",
        read_on="shank",
        clock_deg="0",
        runout_instrument="the old dial",
        instrument="P-1",
        gauge_length="97",
    )

    row = kept("runout")
    assert (row.value_um, row.readings_um) == (12, [8, 12, 10])
    assert (row.distance_um, row.read_on, row.clock_deg) == (30_000, "shank", 0)
    assert (row.instrument, row.measured_with, row.uncertainty_um) == ("the old dial", None, None)
    assert (kept("gauge_length").read_on, kept("gauge_length").readings_um) == ("", None)


@pytest.mark.parametrize(
    ("field", "entries"),
    [
        ("gauge_length", {"gauge_length": "97.02 x"}),
        ("gauge_length", {"gauge_length": "97 0"}),
        ("runout", {"diameter": "12", "clock_deg": "90"}),
        ("runout", {"diameter": "12", "read_on": "shank"}),
        ("runout", {"diameter": "12", "runout_instrument": "D-1"}),
        ("clock_deg", {"runout": "0.01", "clock_deg": "360"}),
        ("clock_deg", {"runout": "0.01", "clock_deg": "-1"}),
        ("read_on", {"runout": "0.01", "read_on": "moon"}),
    ],
)
def test_a_slip_names_its_field_and_keeps_nothing(bench, field, entries):
    answer = typed(bench, **entries)

    assert list(answer.context["form"].errors) == [field]
    assert not Measurement.objects.filter(build__assembly=bench["assembly"]).exists()


@pytest.mark.parametrize(
    ("reading", "code"),
    [
        (Reading("diameter", 12_000, clock_deg=10), "measure.place_without_runout"),
        (Reading("diameter", 12_000, read_on="shank"), "measure.place_without_runout"),
        (Reading("runout", 8, clock_deg=360), "measure.clock_beyond_turn"),
        (Reading("runout", 8, clock_deg=-1), "measure.clock_beyond_turn"),
    ],
)
def test_a_place_on_the_turn_belongs_to_runout(bench, reading, code):
    assert code == made.code_of(
        measure.record_measurements,
        by=made.toolroom(),
        submission=uuid4(),
        assembly=bench["assembly"],
        readings=[reading],
    )


def test_the_page_asks_the_database_no_more_with_more_instruments(
    bench, django_assert_max_num_queries
):
    for number in range(9):
        Instrument.objects.create(mark=f"M-{number}", kind="micrometer")
    with django_assert_max_num_queries(11):
        page = bench["toolroom"].get(address("measure", bench))
    assert b'<option value="M-8">' in page.content


# ---- said while typing
def seen(bench, **entries):
    return bench["toolroom"].get(address("measure_seen", bench), entries)


@pytest.mark.parametrize(
    ("entries", "codes"),
    [
        ({}, set()),
        ({"gauge_length": "97.5"}, {"gauge.closes"}),
        ({"gauge_length": "97.501"}, {"gauge.does_not_close"}),
        (
            {"gauge_length": "97.000 97.009", "instrument": "P-1"},
            {"gauge.closes", "reading.spread_large", "instrument.in_date"},
        ),
        ({"runout": "0.031"}, {"runout.over", "reading.uncertainty_not_recorded"}),
        (
            {"runout": "0.026", "instrument": "P-1"},
            {"runout.within", "reading.clear", "instrument.in_date"},
        ),
        (
            {"runout": "0.027", "instrument": "P-1"},
            {"runout.within", "reading.too_close", "instrument.in_date"},
        ),
    ],
)
def test_the_rules_answer_while_typing_and_nothing_is_kept(bench, entries, codes):
    before = Measurement.objects.count()
    found = {finding.code for finding in seen(bench, **entries).context["findings"]}

    assert codes <= found
    assert bool(codes) == bool(found)
    assert Measurement.objects.count() == before


def test_a_slip_is_said_while_typing(bench):
    assert "Gauge length: “x” is not a unit" in text_of(seen(bench, gauge_length="97x"))


def test_other_roles_neither_measure_nor_weigh(bench):
    client = signed_in("operator")
    for name in ("measure", "measure_seen", "weigh"):
        assert client.get(address(name, bench)).status_code == 403


# ---- worth of the readings kept
def test_at_release_a_reading_near_its_limit_and_a_dropped_instrument_are_told(bench):
    build, limits = live(bench["assembly"]), ShopLimits()
    typed(bench, runout="0.027", instrument="P-1")

    def codes():
        return {f.code for f in measured_findings(build, stack_of(build), limits)}

    assert codes() == {"instrument.in_date", "reading.too_close"}
    record_calibration(
        by=made.toolroom(),
        submission=uuid4(),
        instrument=bench["presetter"],
        result="suspect",
        on=timezone.localdate(),
    )
    assert codes() == {"instrument.mishap", "reading.too_close"}


def test_the_uncertainty_of_the_day_stays_with_the_reading(bench):
    typed(bench, runout="0.027", instrument="P-1")
    Instrument.objects.update(uncertainty_um=1)

    assert kept("runout").uncertainty_um == 4


def test_instruments_repeat_as_their_sittings_say(bench):
    typed(bench, gauge_length="97.010 97.012 97.014", instrument="P-1")
    typed(bench, gauge_length="97.010", instrument="P-1")

    ((instrument, found),) = repeatabilities()
    assert (instrument, found.s_um, found.degrees) == (bench["presetter"], 2.0, 2)


# ---- the next revision
def test_a_moved_value_takes_everything_along_that_still_holds():
    assembly = made.drafted()
    presetter = Instrument.objects.create(mark="P-2", kind="presetter", uncertainty_um=3)
    wrench = Instrument.objects.create(mark="W-2", kind="wrench")
    Build.objects.filter(assembly=assembly).update(
        wrench=wrench, adapter_um=50_000, coolant_wanted=True
    )
    made.make(assembly, made.REASON)
    made.record(assembly, gauge_length=97_000, diameter=12_000)
    readings = [Reading.of("runout", [5, 8], read_on="bar", clock_deg=90, measured_with=presetter)]
    measure.record_measurements(
        by=made.toolroom(), submission=uuid4(), assembly=assembly, readings=readings
    )
    weighed(assembly, mass_g=1500, centre_um=40_000)
    made.let_go(assembly, made.REASON)
    Instrument.objects.filter(pk=presetter.pk).update(uncertainty_um=9)

    made.record(assembly, gauge_length=98_000)

    new = live(assembly)
    assert (new.revision, new.wrench, new.adapter_um, new.coolant_wanted) == (
        2,
        wrench,
        50_000,
        True,
    )
    row = new.measurements.get(quantity="runout")
    assert (row.value_um, row.readings_um, row.read_on, row.clock_deg) == (8, [5, 8], "bar", 90)
    assert (row.measured_with, row.uncertainty_um) == (presetter, 3)
    # It weighs the same; where it balances nobody has looked.
    assert list(new.weighings.values_list("mass_g", "centre_um")) == [(1500, None)]


# ---- weighing
def weighed(assembly, by=None, **figures):
    return record_weighing(
        by=by or made.toolroom(), submission=uuid4(), assembly=assembly, **figures
    )


def test_what_the_scale_says_is_kept_through_its_page(bench):
    scale = Instrument.objects.create(mark="S-1", kind="scale")
    answer = fill_in(
        bench["toolroom"],
        address("weigh", bench),
        mass_g="1590",
        centre_um="43.5",
        instrument="s-1",
    )

    assert answer["Location"] == address("assembly_detail", bench)
    row = Weighing.objects.get(build__assembly=bench["assembly"])
    assert (row.mass_g, row.centre_um) == (1590, 43_500)
    assert row.measured_with == scale
    assert "r1: 1590 g" in text_of(bench["toolroom"].get(address("weigh", bench)))


@pytest.mark.parametrize(
    ("mass", "refused"), [(0, True), (1, False), (MOST_G, False), (MOST_G + 1, True)]
)
def test_an_assembly_has_a_possible_mass(bench, mass, refused):
    if refused:
        assert made.code_of(weighed, bench["assembly"], mass_g=mass) == "weigh.impossible"
    else:
        weighed(bench["assembly"], mass_g=mass)
        assert stack_of(live(bench["assembly"])).figures.mass_g == mass


def test_a_draft_is_not_weighed(bench):
    draft = made.started()

    assert made.code_of(weighed, draft, mass_g=900) == "weigh.draft"
    page = bench["toolroom"].get(reverse("assemblies:weigh", args=[draft.number]))
    assert b'name="mass_g"' not in page.content


def test_only_toolroom_and_admin_weigh(bench):
    with pytest.raises(NotAllowed):
        weighed(bench["assembly"], by=makers.person("lead"), mass_g=900)
