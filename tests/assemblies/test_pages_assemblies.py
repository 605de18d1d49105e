"""The list of assemblies, one assembly in each of its states, and its plain steps."""

from __future__ import annotations

import re
from copy import deepcopy
from pathlib import Path
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from assemblies.actions.build import quarantine, start_assembly, start_rebuild
from assemblies.actions.measure import Reading
from assemblies.actions.parts import retire
from assemblies.models import Assembly, SpindleCheck
from assemblies.views.assembly_detail import ACT_WORDS
from crib.models import Act
from tests import makers
from tests.assemblies.spindle_shop import open_shop
from tests.crib.pages import fill_in, send_twice, signed_in, submission_in, text_of

pytestmark = pytest.mark.django_db

LIST = "/assemblies/"


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    return open_shop()


@pytest.fixture
def shop(standing_shop):
    return deepcopy(standing_shop)


def url(name, number):
    return reverse(f"assemblies:{name}", args=[number])


def state_of(assembly):
    return Assembly.objects.get(pk=assembly.pk).state


def draft(shop, **fields):
    number = start_assembly(by=shop.toolroom, submission=uuid4(), **fields).result
    return Assembly.objects.get(number=number)


def end(shop, assembly):
    retire(by=shop.toolroom, submission=uuid4(), assembly=assembly, reason="worn out")
    return assembly


# ---- the list
def test_an_empty_list_says_what_to_do_next_to_those_who_may():
    page = signed_in("toolroom").get(LIST)
    assert "No assembly here yet." in text_of(page)
    assert 'href="/assemblies/new/"' in page.content.decode()
    assert 'href="/assemblies/new/"' not in signed_in("operator").get(LIST).content.decode()


def test_the_list_finds_by_number_mark_and_part(shop):
    one = shop.built(mark="H-07")
    shop.built(mark="H-08")
    client = signed_in("operator")
    for words in (str(one.number), "h-07", f" {one.number}  H-07 "):
        page = text_of(client.get(LIST, {"q": words}))
        assert "H-07" in page
        assert "H-08" not in page


def test_a_search_without_a_hit_repeats_what_was_typed(shop):
    page = signed_in("operator").get(LIST, {"q": "<b>zzz"})
    assert "No assembly matches" in text_of(page)
    assert "&lt;b&gt;zzz" in page.content.decode()


def test_the_list_keeps_to_one_state_and_ignores_a_state_that_is_none(shop):
    released, started = shop.built(), draft(shop)
    client = signed_in("operator")

    def numbers(state):
        table = client.get(LIST, {"state": state}).context["table"]
        return [row.record.number for row in table.rows]

    assert numbers("draft") == [started.number]
    assert numbers("released") == [released.number]
    assert numbers("quarantined") == []
    assert numbers("nonsense") == [released.number, started.number]


def test_a_retired_assembly_is_still_in_the_list(shop):
    ended = end(shop, draft(shop, name="old one"))
    page = text_of(signed_in("operator").get(LIST, {"state": "retired"}))
    assert str(ended.number) in page


def test_the_list_asks_as_often_for_three_assemblies_as_for_one(shop, django_assert_num_queries):
    client = signed_in("operator")
    shop.built()
    with django_assert_num_queries(7):
        client.get(LIST)
    for _ in range(2):
        shop.built()
    with django_assert_num_queries(7):
        client.get(LIST)


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ("6.35", True),
        ("6,35", True),
        ("1/4 in", True),
        ('1/4"', True),
        ("0.25 in", True),
        ("H-09 6.35", True),
        ("H-08 6.35", False),
        ("12.00", False),
        ("1 1/4 in", False),
        ("1/2 in", False),
    ],
)
def test_an_assembly_is_found_by_its_diameter_in_mm_and_in_inches(shop, wanted, found):
    """Nominal 1/4 in = 6.35 mm exactly, by the definition of the inch (25.4 mm)."""
    assembly = shop.built("H-09", readings=(), released=False, diameter_um=6_350)
    page = signed_in("operator").get(LIST, {"q": wanted})

    numbers = [row.record.number for row in page.context["table"].rows]
    assert (assembly.number in numbers) == found


def test_the_measured_diameter_finds_it_too(shop):
    shop.built("H-09", readings=(Reading("diameter", 11_970),), released=False)
    page = signed_in("operator").get(LIST, {"q": "11.97"})
    assert len(page.context["table"].rows) == 1


# ---- refused at a machine
def refuse(shop, client, assembly, **changes):
    """Refuse it at the spindle, with a reason."""
    shop.stand_at(client, shop.operator)
    address = f"/spindle/{assembly.number}/?t=5"
    form = client.get(address).context["refuse"]
    names = ("submission", "decision", "seen", "seen_word")
    data = {name: form[name].value() for name in names}
    client.post(address, {**data, "reason": "dull", "reason_text": "burns on oak", **changes})


REFUSED = "/assemblies/refused/"


def refused_numbers(client, address=REFUSED):
    return [line.check.assembly.number for line in client.get(address).context["refused"]]


def test_a_refusal_stands_on_the_list_with_reason_words_and_machine(client, shop):
    assembly = shop.built("H-07")
    refuse(shop, client, assembly)

    for address in (REFUSED, LIST):
        page = text_of(signed_in("toolroom").get(address))
        for words in ("1001", "Dull", "burns on oak", "Router 1", "T5"):
            assert words in page, words


def test_a_release_after_the_refusal_settles_it_and_a_rebuild_alone_does_not(client, shop):
    assembly = shop.built("H-07")
    refuse(shop, client, assembly)
    start_rebuild(by=shop.toolroom, submission=uuid4(), assembly=assembly, reason="cutter dull")
    assert refused_numbers(client) == [1001]

    shop.finish(assembly)

    assert refused_numbers(client) == []
    assert "Refused at a machine" not in client.get(LIST).text


def test_a_load_after_the_refusal_settles_it(client, shop):
    assembly = shop.built("H-07")
    refuse(shop, client, assembly)
    address = f"/S/{shop.label(assembly)}"
    form = client.get(address).context["load"]
    names = ("submission", "decision", "seen", "seen_word")
    data = {name: form[name].value() for name in names}
    client.post(address, {**data, "shown_number": "5", "reason": "agreed"})

    assert SpindleCheck.objects.first().decision == "loaded"
    assert refused_numbers(client) == []


def test_a_retired_assembly_waits_for_nobody(client, shop):
    assembly = shop.built("H-07")
    refuse(shop, client, assembly)
    retire(by=shop.toolroom, submission=uuid4(), assembly=assembly, reason="worn out")

    assert refused_numbers(client) == []


@pytest.mark.parametrize(("role", "named"), [("toolroom", False), ("lead", True)])
def test_who_refused_is_for_leads(client, shop, role, named):
    refuse(shop, client, shop.built("H-07"))

    assert ("Tolly" in text_of(signed_in(role).get(REFUSED))) == named


def test_another_page_gets_the_list_without_a_frame(client, shop):
    refuse(shop, client, shop.built("H-07"))
    part = client.get(REFUSED, headers={"HX-Request": "true"})

    assert "<html" not in part.text
    assert "burns on oak" in part.text
    assert "HX-Request" in part["Vary"]


# ---- one assembly
def test_an_assembly_that_does_not_exist_is_a_404():
    assert signed_in("operator").get(url("assembly_detail", 9999)).status_code == 404


def test_what_was_never_recorded_is_said_to_be_missing(shop):
    page = text_of(signed_in("operator").get(url("assembly_detail", draft(shop).number)))
    for words in ("No parts yet.", "not recorded", "nothing yet", "not said"):
        assert words in page


def test_a_released_assembly_shows_parts_figures_and_what_was_done(shop):
    assembly = shop.built(mark="H-07")
    page = text_of(signed_in("operator").get(url("assembly_detail", assembly.number)))
    for words in ("H-07", "45.0 mm", "36.0 mm", "136 N·m", "95.0 mm", "0.008 mm", "24000 1/min"):
        assert words in page
    assert "build.make" not in page
    assert "part put in" in page


def test_who_decided_at_the_spindle_is_not_among_what_was_done(shop):
    assembly = shop.built()
    code, operator = shop.label(assembly), Client()
    shop.stand_at(operator, shop.operator)
    form = operator.get(f"/S/{code}").context["refuse"]
    names = ("submission", "decision", "seen", "seen_word")
    sent = {name: form[name].value() for name in names} | {"reason": "dull"}
    assert operator.post(f"/S/{code}", sent).status_code == 302
    assert Act.objects.filter(kind="check.decide", about=f"assembly {assembly.number}").exists()

    for role in ("buyer", "toolroom", "lead"):
        page = signed_in(role).get(url("assembly_detail", assembly.number))
        assert len(page.context["checks"]) == 1
        assert "Tolly" not in page.content.decode()
        assert "check.decide" not in page.content.decode()
        assert {act.who for act in page.context["acts"]} == {str(shop.toolroom)}


def test_every_act_on_an_assembly_has_words(shop):
    kinds = set()
    for room in ("assemblies", "labels"):
        for source in (Path(__file__).parents[2] / room / "actions").glob("*.py"):
            kinds |= set(re.findall(r'kind="((?:assembly|build|label)\.\w+)"', source.read_text()))
    assert len(kinds) > 10
    assert kinds == set(ACT_WORDS)


@pytest.mark.parametrize(
    ("role", "steps"),
    [
        ("toolroom", {"label", "measure", "place", "rebuild", "retire", "quarantine"}),
        ("operator", {"place", "quarantine"}),
        ("lead", {"label", "place", "quarantine"}),
        ("buyer", set()),
    ],
)
def test_a_person_sees_only_the_steps_they_may_take(shop, role, steps):
    number = shop.built().number
    page = signed_in(role).get(url("assembly_detail", number)).content.decode()
    all_steps = {"label", "measure", "place", "rebuild", "retire", "quarantine", "release", "bench"}
    assert {step for step in all_steps if f'href="/assemblies/{number}/{step}/"' in page} == steps


def test_a_retired_assembly_offers_no_step_and_takes_none(shop):
    ended = end(shop, draft(shop))
    client = signed_in("toolroom")
    page = client.get(url("assembly_detail", ended.number))
    assert "worn out" in text_of(page)
    assert "button-stop" not in page.content.decode()
    for name in ("quarantine", "rebuild", "retire", "put_down", "bench", "measure", "release"):
        answer = client.get(url(name, ended.number), follow=True)
        assert answer.redirect_chain[-1][0] == url("assembly_detail", ended.number)


def test_a_long_text_is_shown_whole(shop):
    name = "W" * 80
    page = signed_in("operator").get(url("assembly_detail", draft(shop, name=name).number))
    assert name in page.content.decode()


# ---- steps
def test_a_new_assembly_takes_one_number_however_often_it_is_sent(shop):
    first, second, acts = send_twice(signed_in("toolroom"), "/assemblies/new/", name="letters")
    assert first["Location"] == second["Location"]
    assert (Assembly.objects.count(), acts) == (1, 1)


def test_an_assembly_started_from_a_program_knows_what_it_is_for(shop):
    wanted = shop.revision.requirements.get(tool_number=5)
    answer = fill_in(signed_in("toolroom"), f"/assemblies/new/?for={wanted.pk}", name="for T5")
    number = int(answer["Location"].split("/")[2])
    assert Assembly.objects.get(number=number).current_build.meant_for == wanted


@pytest.mark.parametrize("text", ["x", "0", "9" * 30, "-1", ""])
def test_a_purpose_that_does_not_exist_is_left_out(shop, text):
    answer = fill_in(signed_in("toolroom"), f"/assemblies/new/?for={text}", name="")
    assert answer.status_code == 302
    assert Assembly.objects.get().current_build.meant_for is None


@pytest.mark.parametrize(
    ("name", "role", "state"),
    [("quarantine", "operator", "quarantined"), ("rebuild", "toolroom", "draft")],
)
def test_a_step_with_a_reason_is_done_once(shop, name, role, state):
    assembly = shop.built()
    first, second, acts = send_twice(
        signed_in(role), url(name, assembly.number), reason="it fell on the floor"
    )
    assert (first.status_code, second.status_code, acts) == (302, 302, 1)
    assert state_of(assembly) == state


@pytest.mark.parametrize("name", ["quarantine", "rebuild", "retire"])
@pytest.mark.parametrize("reason", ["", "   ", "x" * 201])
def test_a_step_without_a_sound_reason_writes_nothing(shop, name, reason):
    assembly = shop.built()
    before = Act.objects.count()
    answer = fill_in(signed_in("toolroom"), url(name, assembly.number), reason=reason)
    assert list(answer.context["form"].errors) == ["reason"]
    assert (state_of(assembly), Act.objects.count()) == ("released", before)


def test_retiring_sent_twice_is_one_retiring(shop):
    assembly = draft(shop)
    first, second, acts = send_twice(
        signed_in("toolroom"), url("retire", assembly.number), reason="no more use"
    )
    assert (first.status_code, second.status_code, acts) == (302, 302, 1)
    assert state_of(assembly) == "retired"


def test_an_assembly_is_put_down_in_a_rack_only(shop):
    assembly = shop.built()
    client = signed_in("operator")
    fill_in(client, url("put_down", assembly.number), place=shop.rack.pk)
    assert Assembly.objects.get(pk=assembly.pk).stands_at == shop.rack
    outside = makers.place("OUTSIDE", kind="supplier")
    answer = fill_in(client, url("put_down", assembly.number), place=outside.pk)
    assert "place" in answer.context["form"].errors


def test_a_quarantined_assembly_shows_its_reason_and_is_rebuilt(shop):
    assembly = shop.built()
    quarantine(by=shop.operator, submission=uuid4(), assembly=assembly, note="dropped")
    client = signed_in("toolroom")
    page = client.get(url("assembly_detail", assembly.number))
    assert "dropped" in text_of(page)
    assert f'href="/assemblies/{assembly.number}/label/"' not in page.content.decode()
    fill_in(client, url("rebuild", assembly.number), reason="inspected, cleaned")
    assert state_of(assembly) == "draft"


@pytest.mark.parametrize(
    ("name", "roles"),
    [
        ("quarantine", {"operator", "toolroom", "lead", "admin"}),
        ("rebuild", {"toolroom", "admin"}),
        ("retire", {"toolroom", "admin"}),
        ("put_down", {"operator", "toolroom", "lead", "admin"}),
    ],
)
def test_other_roles_get_a_page_that_says_whose_step_it_is(shop, name, roles):
    assembly = shop.built()
    for role in ("operator", "toolroom", "programmer", "buyer", "lead", "admin"):
        client = signed_in(role)
        allowed = client.get(url(name, assembly.number)).status_code
        assert allowed == (200 if role in roles else 403), role
        if role not in roles:
            answer = client.post(url(name, assembly.number), {"submission": uuid4()})
            assert answer.status_code == 403
    assert state_of(assembly) == "released"


def test_a_form_without_its_one_time_number_writes_nothing(shop):
    assembly = shop.built()
    answer = signed_in("toolroom").post(url("retire", assembly.number), {"reason": "x"})
    assert "submission" in answer.context["form"].errors
    assert state_of(assembly) == "released"


def test_each_form_page_brings_a_new_one_time_number(shop):
    client, address = signed_in("toolroom"), url("retire", shop.built().number)
    assert submission_in(client.get(address)) != submission_in(client.get(address))


def test_a_retired_assembly_is_not_put_down_by_an_old_page(shop):
    assembly = draft(shop)
    client = signed_in("operator")
    number = submission_in(client.get(url("put_down", assembly.number)))
    end(shop, assembly)
    answer = client.post(
        url("put_down", assembly.number), {"place": shop.rack.pk, "submission": number}
    )
    assert answer.context["form"].errors
    assert Assembly.objects.get(pk=assembly.pk).stands_at is None


def test_the_length_of_a_page_is_not_for_the_address_to_say():
    client = signed_in("operator")
    for query in (
        "per_page=-1",
        "per_page=100000",
        "page=0",
        "page=999",
        "page=x",
        "sort=nonsense",
    ):
        assert client.get(f"{LIST}?{query}").status_code == 200, query
