"""A soft stop that toolroom or lead answers for: who, with what, for which load."""

from uuid import uuid4

import pytest
from django.core.cache import cache
from django.db import IntegrityError, transaction

from assemblies.actions import build
from assemblies.actions.measure import Reading
from assemblies.models import Load, SpindleCheck
from crib.actions import pin, tries
from crib.models import Act, Person
from labels.actions.print_label import cancel_label
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.spindle_shop import open_shop

pytestmark = pytest.mark.django_db
PIN = "4821"


@pytest.fixture(autouse=True)
def no_tries_before():
    cache.clear()


def with_pin(*roles, chosen=PIN, **fields) -> Person:
    person = makers.person(*roles, **fields)
    pin.set_pin(by=person, submission=uuid4(), password=makers.PASSWORD, pin=chosen)
    return Person.objects.get(pk=person.pk)


def soft_stop(scene):
    """Another length is wanted than the one measured: soft."""
    made.confirm(scene.revision, gauge_length_um=99_000)
    made.approve(scene.revision, scene.machine)


def hard_stop(scene):
    """The stud of another machine: hard."""
    scene.machine.stud_pattern = "B"
    scene.machine.save()


def both_stops(scene):
    soft_stop(scene)
    hard_stop(scene)


@pytest.fixture
def scene():
    scene = made.Scene.ready()
    soft_stop(scene)
    return scene


def code(scene, **answer):
    return made.code_of(scene.decide, **{"reason": "trial", **answer})


# ---- the action
def test_it_is_loaded_with_name_pin_and_reason_and_both_names_are_kept(scene):
    operator, lead = made.operator(), with_pin("lead")

    row = scene.load(by=operator, reason="trial", overrider=lead, pin=PIN)

    assert (row.verdict, row.decision, row.hard_stop) == ("stop", "loaded", False)
    assert (row.by, row.overridden_by, row.reason) == (operator, lead, "trial")
    assert "program.length_differs" in {f["code"] for f in row.findings}
    assert Load.objects.get(spindle_check=row).out_at is None


@pytest.mark.parametrize("role", ["toolroom", "lead"])
def test_with_a_pin_of_ones_own_it_is_kept_as_ones_own(scene, role):
    person = with_pin(role)

    row = scene.load(by=person, reason="trial", overrider=person, pin=PIN)

    assert row.overridden_by == row.by == person


@pytest.mark.parametrize("roles", [("operator",), ("programmer",), ("buyer",), ("admin",)])
def test_other_roles_answer_for_no_stop(scene, roles):
    assert code(scene, overrider=with_pin(*roles), pin=PIN) == "override.person"


@pytest.mark.parametrize("change", [{"is_active": False}, {"is_lead": False}, {"pin": ""}])
def test_who_lost_role_pin_or_sign_in_answers_for_nothing(scene, change):
    lead = with_pin("lead")
    Person.objects.filter(pk=lead.pk).update(**change)

    assert code(scene, overrider=lead, pin=PIN) == "override.person"


@pytest.mark.parametrize("roles", [("operator",), ("toolroom",), ("lead",)])
def test_without_a_name_it_is_loaded_by_nobody(scene, roles):
    assert code(scene, by=makers.person(*roles)) == "check.not_acceptable"


@pytest.mark.parametrize(
    ("answer", "refused"),
    [
        ({"reason": ""}, "check.reason"),
        ({"reason": "dull"}, "check.reason"),
        ({"shown_number": 6}, "control.number_differs"),
        ({"shown_number": None}, "control.number_not_compared"),
        ({"seen_word": "check"}, "check.changed"),
        ({"seen": "another verdict"}, "check.changed"),
        ({"pin": "4822"}, "pin.wrong"),
        ({"pin": ""}, "pin.wrong"),
    ],
)
def test_an_override_needs_all_that_a_load_needs_and_the_pin(scene, answer, refused):
    said = {"overrider": with_pin("lead"), "pin": PIN, **answer}

    assert code(scene, **said) == refused


@pytest.mark.parametrize("stop", [hard_stop, both_stops])
@pytest.mark.parametrize("roles", [("toolroom",), ("lead",), ("toolroom", "lead", "admin")])
def test_a_hard_stop_is_overridden_by_nobody(stop, roles):
    scene = made.Scene.ready()
    stop(scene)
    person = with_pin(*roles)

    assert code(scene, overrider=person, pin=PIN) == "check.not_acceptable"
    assert code(scene, by=person, overrider=person, pin=PIN) == "check.not_acceptable"
    assert scene.refuse("other").hard_stop is True


@pytest.mark.parametrize("way", ["quarantine", "cancel"])
def test_a_void_label_or_a_quarantine_is_overridden_by_nobody(scene, way):
    by, lead = made.toolroom(), with_pin("lead")
    if way == "quarantine":
        build.quarantine(by=by, submission=uuid4(), assembly=scene.assembly, note="dropped")
    else:
        cancel_label(by=by, submission=uuid4(), assembly=scene.assembly, reason="lost")

    assert code(scene, overrider=lead, pin=PIN) == "check.not_acceptable"


def test_the_database_loads_no_stop_without_a_name_and_no_hard_one_at_all(scene):
    lead = with_pin("lead")
    row = scene.load(reason="trial", overrider=lead, pin=PIN)
    values = {
        field.attname: getattr(row, field.attname)
        for field in SpindleCheck._meta.concrete_fields
        if field.name not in ("id", "act")
    }
    for change in ({"overridden_by_id": None}, {"hard_stop": True}, {"verdict": "check"}):
        act = Act.objects.create(kind="test", by=lead)
        with pytest.raises(IntegrityError), transaction.atomic():
            SpindleCheck.objects.create(**{**values, "act": act, **change})


def test_it_holds_for_one_load_only(scene):
    scene.load(reason="trial", overrider=with_pin("lead"), pin=PIN)

    assert scene.word() == "stop"
    assert code(scene) == "check.not_acceptable"


def test_a_name_given_with_a_check_overrides_nothing():
    scene = made.Scene.ready()
    scene.machine.override_ceiling_percent = 150
    scene.machine.save()
    assert scene.word() == "check"

    row = scene.load(reason="trial", overrider=with_pin("lead"), pin=PIN)

    assert (row.verdict, row.overridden_by) == ("check", None)


def test_a_refusal_asks_for_no_pin(scene):
    row = scene.refuse("dull", overrider=with_pin("lead"), pin="9999")

    assert (row.decision, row.overridden_by) == ("refused", None)


def test_the_fifth_wrong_pin_pauses_every_station(scene):
    lead = with_pin("lead")
    for _ in range(tries.MOST_TRIES):
        assert code(scene, overrider=lead, pin="0000") == "pin.wrong"

    other = made.Scene.ready()
    soft_stop(other)
    assert code(other, by=makers.person("toolroom"), overrider=lead, pin=PIN) == "pin.paused"


def test_sent_again_the_pin_is_not_asked_for_again(scene):
    lead, by, once = with_pin("lead"), made.operator(), uuid4()
    ask = {"by": by, "submission": once, "reason": "trial", "overrider": lead}
    first = scene.decide(**ask, pin=PIN)

    again = [scene.decide(**ask, pin="0000") for _ in range(tries.MOST_TRIES + 1)]

    assert {done.result for done in again} == {first.result}
    assert all(done.repeated for done in again)
    pin.check_pin(lead, PIN)


@pytest.mark.django_db(transaction=True)
def test_a_wrong_pin_is_counted_although_nothing_is_written():
    scene = made.Scene.ready()
    soft_stop(scene)
    lead = with_pin("lead")

    said = [
        made.refusal(scene.decide, reason="trial", overrider=lead, pin="0000").remedy
        for _ in range(2)
    ]

    assert ["4 tries left" in said[0], "3 tries left" in said[1]] == [True, True]


# ---- the page
@pytest.fixture
def shop():
    return open_shop()


@pytest.fixture
def stopped(client, shop):
    """The address of an assembly that is 12.051 where 12.00 is wanted; the operator looks."""
    readings = (
        Reading("gauge_length", 95_000),
        Reading("diameter", 12_051),
        Reading("runout", 8, 30_000),
    )
    code = shop.label(shop.built("H-07", readings, diameter_um=12_051))
    shop.stand_at(client, shop.operator)
    return f"/S/{code}?t=5"


def sent(page, **changes):
    form = page.context["override"]
    names = ("submission", "decision", "seen", "seen_word", "mark_agrees")
    return {name: form[name].value() for name in names} | {"reason": "trial"} | changes


def test_it_is_offered_below_refuse_and_only_where_it_is_possible(client, stopped):
    with_pin("lead")
    page = client.get(stopped)

    assert page.context["override"] is not None
    assert page.text.index('id="refuse"') < page.text.index('id="override"')
    assert page.context["load"] is None


def test_it_is_not_offered_beside_a_hard_stop_a_match_or_to_a_looker(client, shop, stopped):
    with_pin("lead")
    code = shop.label(shop.built("H-08"))
    assert client.get(f"/S/{code}").context["override"] is None
    hard = shop.label(shop.built("H-09", n_max_rpm=17_999))
    assert client.get(f"/S/{hard}?t=5").context["override"] is None
    shop.stand_at(client, makers.person("buyer"))
    assert client.get(stopped).context["override"] is None


def test_the_names_are_those_who_have_a_pin(client, stopped):
    lead, toolroom = with_pin("lead"), with_pin("toolroom")
    makers.person("lead")
    with_pin("operator")

    offered = set(client.get(stopped).context["override"].fields["overrider"].queryset)

    assert offered == {lead, toolroom}


def test_where_nobody_has_a_pin_the_page_says_so(client, stopped):
    page = client.get(stopped)

    assert "has set a PIN" in page.text
    assert 'name="pin"' not in page.text


def test_name_pin_reason_and_number_load_it(client, shop, stopped):
    lead = with_pin("lead", first_name="Oswin")
    page = client.get(stopped)

    answer = client.post(stopped, sent(page, overrider=lead.pk, pin=PIN, shown_number="5"))

    row = SpindleCheck.objects.get()
    assert answer.url == f"/spindle/recorded/{row.pk}/"
    assert (row.by, row.overridden_by, row.verdict) == (shop.operator, lead, "stop")
    recorded = client.get(answer.url).text
    assert "for this load only" in recorded
    assert "Oswin" not in recorded.split("<main")[1].split("</main")[0]


def test_a_wrong_pin_keeps_the_rest_of_the_form_but_not_the_pin(client, stopped):
    lead = with_pin("lead")
    said = {"overrider": lead.pk, "pin": "0000", "shown_number": "5", "reason_text": "first part"}
    page = client.post(stopped, sent(client.get(stopped), **said))

    form = page.context["override"]
    assert page.context["refused"].code == "pin.wrong"
    assert page.context["override_open"] is True
    kept = {name: form[name].value() for name in ("reason", "reason_text", "overrider")}
    assert kept == {"reason": "trial", "reason_text": "first part", "overrider": str(lead.pk)}
    assert "0000" not in page.text
    assert not SpindleCheck.objects.exists()

    again = {"overrider": lead.pk, "pin": PIN, "shown_number": "5"}
    assert client.post(stopped, sent(page, **again)).status_code == 302


@pytest.mark.parametrize("missing", ["overrider", "pin", "shown_number", "reason"])
def test_what_is_left_out_is_named_and_nothing_is_written(client, stopped, missing):
    lead = with_pin("lead")
    said = {"overrider": lead.pk, "pin": PIN, "shown_number": "5"} | {missing: ""}

    page = client.post(stopped, sent(client.get(stopped), **said))

    assert page.context["refused"].field == missing
    assert not SpindleCheck.objects.exists()


def test_the_wrong_number_keeps_the_form_and_asks_for_number_and_pin_again(client, stopped):
    lead = with_pin("lead")
    said = {"overrider": lead.pk, "pin": PIN, "shown_number": "6"}

    page = client.post(stopped, sent(client.get(stopped), **said))

    assert page.context["verdict"].reasons[0].code == "control.number_differs"
    assert page.context["override"]["overrider"].value() == str(lead.pk)
    assert client.post(stopped, sent(page, **said | {"shown_number": "5"})).status_code == 302


def test_somebody_who_may_not_is_no_choice_of_the_form(client, stopped):
    with_pin("lead")
    operator = with_pin("operator")
    said = {"overrider": operator.pk, "pin": PIN, "shown_number": "5"}

    page = client.post(stopped, sent(client.get(stopped), **said))

    assert page.context["refused"].code == "check.form"
    assert not SpindleCheck.objects.exists()


def test_the_ordinary_form_with_a_pin_pasted_in_loads_no_stop(client, stopped):
    with_pin("lead")
    form = sent(client.get(stopped), pin=PIN, shown_number="5")

    page = client.post(stopped, form)

    assert page.context["refused"].code == "check.not_acceptable"
