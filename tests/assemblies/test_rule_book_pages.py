"""The pages of the rule book and of the shop's limits, as people use them."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assemblies.actions.shop_limits import current_limits
from assemblies.actions.spindle import choose_station
from assemblies.rules.book.front import RULES
from assemblies.rules.shop_setting_rows import SETTINGS
from crib.models import Act, SettingChange
from tests import assembly_makers as made
from tests.crib.pages import signed_in, submission_in, text_of

pytestmark = pytest.mark.django_db

BOOK, LIMITS = "/rules/", "/rules/limits/"
CLOSURE = "/rules/limits/closure_um/"
#: Session, person, limits, builds, checks.
QUERIES_BOOK = 5
#: Session, person, limits.
QUERIES_LIMITS = 3


@pytest.fixture(scope="module")
def scene(module_rows):
    """One assembly on record, loaded once."""
    scene = made.Scene.ready()
    scene.load()
    return scene


@pytest.fixture
def lead():
    return signed_in("lead")


def sent(client, url=CLOSURE, **typed):
    """The change form with what is typed; figures the page brought along stay."""
    page = client.get(f"{url}change/")
    seen = re.search(r'name="seen" value="(\d+)"', page.content.decode())[1]
    return {"submission": submission_in(page), "seen": seen, "looked": "", **typed}


def stored_after_looking(client, url=CLOSURE, **typed):
    """Look first, then send what that page brought along."""
    data = sent(client, url, **typed)
    looked = client.post(f"{url}change/", data)
    return client.post(f"{url}change/", {**data, "looked": looked.context["form"].data["looked"]})


# ---- the book
def test_the_book_names_every_rule_and_leads_to_each(lead):
    page = lead.get(BOOK)
    links = set(re.findall(r'href="/rules/([a-z0-9-]+)/"', page.content.decode()))
    assert {rule.key for rule in RULES} <= links
    assert re.search(r"among the newest \d+ builds? and \d+ checks?\.", text_of(page))


def test_a_search_cuts_the_book_down_and_says_when_nothing_is_found(lead):
    some, none = lead.get(BOOK, {"q": "fillet flutes"}), lead.get(BOOK, {"q": "zzz"})
    assert [rule.rule.key for _, rules in some.context["groups"] for rule in rules] == [
        "grip-shank"
    ]
    assert "No rule has these words." in text_of(none)


def test_what_is_searched_for_is_shown_as_text(lead):
    page = lead.get(BOOK, {"q": "<b>x"})
    assert "<b>x" not in page.content.decode()


def test_a_rule_shows_its_limit_of_today(lead):
    assert "Off by at most 0.50 mm." in text_of(lead.get("/rules/gauge-length-sum/"))
    stored_after_looking(lead, value="0.3", reason="new presetter")
    assert "Off by at most 0.30 mm." in text_of(lead.get("/rules/gauge-length-sum/"))


def test_a_rule_that_never_spoke_says_how_far_was_looked(scene, lead):
    page = text_of(lead.get("/rules/room-mass/"))
    assert "Not in the last 1 build and 1 check." in page


def test_a_rule_that_spoke_leads_to_where(scene, lead):
    page = lead.get("/rules/control-values/")
    check = page.context["uses"].last["control-values"].check
    assert f'href="/checks/{check}/"' in page.content.decode()


def test_a_rule_of_no_name_is_not_found(lead):
    assert lead.get("/rules/no-such/").status_code == 404
    assert lead.get("/rules/limits/no_such/").status_code == 404
    assert lead.get("/rules/limits/no_such/change/").status_code == 404


@pytest.mark.parametrize(
    ("address", "count"),
    [
        (BOOK, QUERIES_BOOK),
        ("/rules/runout/", QUERIES_BOOK),
        (LIMITS, QUERIES_LIMITS),
        (CLOSURE, QUERIES_LIMITS + 1),
        (f"{CLOSURE}change/", QUERIES_LIMITS),
    ],
)
def test_a_page_takes_few_queries(scene, lead, address, count):
    for um in ("0.3", "0.2"):
        stored_after_looking(lead, value=um, reason="new presetter")
    with CaptureQueriesContext(connection) as queries:
        assert lead.get(address).status_code == 200
    assert len(queries) == count, "\n".join(query["sql"][:90] for query in queries)


# ---- from a finding to its rule
def test_findings_of_an_assembly_and_of_a_check_lead_to_their_rules(scene, lead):
    check = scene.assembly.checks.get()
    for address, key in (
        (f"/assemblies/{scene.assembly.number}/", "collet-range"),
        (f"/checks/{check.pk}/", "label-live"),
    ):
        assert f'href="/rules/{key}/"' in lead.get(address).content.decode()


def test_the_verdict_itself_has_no_links_to_rules(scene):
    operator = signed_in("operator")
    choose_station(
        by=operator.person,
        session_key=operator.session.session_key,
        machine=scene.machine,
        revision=scene.revision,
    )
    page = operator.get(f"/spindle/{scene.assembly.number}/?t=5")
    assert page.context["verdict"].more
    assert "/rules/" not in page.content.decode()


# ---- the limits
def test_the_limits_say_that_nobody_set_another(lead):
    page = lead.get(LIMITS)
    assert len(page.context["limits"]) == len(SETTINGS)
    assert f"All {len(SETTINGS)} limits are the usual ones" in text_of(page)


def test_a_limit_is_stored_only_after_its_effect_was_shown(scene, lead):
    url = "/rules/limits/grip_rule/"
    data = sent(lead, url, value="full_collet", reason="a shank slipped")

    looked = lead.post(f"{url}change/", data)
    assert not SettingChange.objects.exists()
    assert "1 of 1 released assembly would get another answer" in text_of(looked)
    assert looked.context["effect"].stricter == (scene.assembly.number,)

    kept = {**data, "looked": looked.context["form"].data["looked"]}
    # Another value than the one that was looked at is looked at first.
    other = lead.post(f"{url}change/", {**kept, "value": "eighty_percent_collet"})
    assert other.status_code == 200
    assert not SettingChange.objects.exists()

    done = lead.post(f"{url}change/", kept, follow=True)
    assert current_limits().grip_rule == "full_collet"
    page = text_of(done)
    assert "a shank slipped" in page
    assert lead.person.shown_name in page


def test_a_limit_asked_with_a_program_says_that_it_was_not_counted(lead):
    url = "/rules/limits/rim_caution_m_s/"
    looked = lead.post(f"{url}change/", sent(lead, url, value="40", reason="old heads"))
    assert "asked together with a program" in text_of(looked)


@pytest.mark.parametrize(
    ("typed", "um"),
    [("0.3", 300), ("0,3 mm", 300), ("1/64 in", 397), ("300 µm", 300)],
)
def test_a_length_is_typed_as_everywhere(lead, typed, um):
    stored_after_looking(lead, value=typed, reason="new presetter")
    assert current_limits().closure_um == um


def test_hours_can_be_set_or_left_uncounted_and_never_both(lead):
    url = "/rules/limits/collet_hours_limit/"
    stored_after_looking(lead, url, not_counted="on", reason="no hour meter")
    assert current_limits().collet_hours_limit is None
    assert "not counted" in text_of(lead.get(url))
    for typed in ({"value": "400", "not_counted": "on"}, {"value": ""}):
        answer = lead.post(f"{url}change/", sent(lead, url, reason="x", **typed))
        assert "Enter hours, or say that none are counted." in text_of(answer)
    stored_after_looking(lead, url, value="400", reason="meter fitted")
    assert current_limits().collet_hours_limit == 400


BANDS = {"edge_1": "6", "runout_1": "0.008", "runout_last": "0.02"}


def test_bands_of_runout_are_set_in_rows(lead):
    url = "/rules/limits/runout_bands_um/"
    stored_after_looking(lead, url, reason="finer work", **BANDS)
    assert current_limits().runout_bands_um == ((6_000, 8), (None, 20))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"runout_1": ""}, "Band 1 needs both"),
        ({"runout_1": "0.03"}, "never allowed less runout"),
        ({"edge_2": "5", "runout_2": "0.01"}, "have to rise"),
        ({"runout_last": "0.2"}, "Each runout allowed is"),
        ({"runout_last": ""}, "Look at the marked fields"),
    ],
)
def test_bands_that_make_no_sense_are_refused_with_the_reason(lead, changed, said):
    url = "/rules/limits/runout_bands_um/"
    answer = lead.post(f"{url}change/", sent(lead, url, reason="x", **BANDS | changed))
    assert said in text_of(answer)
    assert not SettingChange.objects.exists()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"value": "2.5", "reason": "x"}, "0.02 mm to 2.00 mm"),
        ({"value": "soft", "reason": "x"}, "is not a length"),
        ({"value": "0.3", "reason": ""}, "Look at the marked fields"),
        ({"value": "0.5", "reason": "x"}, "That is the value it has now."),
    ],
)
def test_a_value_that_cannot_be_is_refused_with_its_span(lead, typed, said):
    answer = lead.post(f"{CLOSURE}change/", sent(lead, **typed))
    assert said in text_of(answer)
    assert not Act.objects.filter(kind="limit.change").exists()


def test_back_to_usual_is_offered_and_stored_as_such(lead):
    stored_after_looking(lead, value="0.3", reason="new presetter")
    assert f"{CLOSURE}change/?usual=1" in lead.get(CLOSURE).content.decode()
    assert lead.get(f"{CLOSURE}change/?usual=1").context["form"]["value"].value() == "0.5"
    stored_after_looking(lead, value="0.5", reason="presetter broke")
    assert "0.50 mm (the usual)" in text_of(lead.get(CLOSURE))


def test_two_people_never_overwrite_each_other_unread(lead):
    data = sent(lead, value="0.3", reason="new presetter")
    looked = lead.post(f"{CLOSURE}change/", data).context["form"].data["looked"]
    stored_after_looking(signed_in("admin"), value="0.7", reason="old presetter")
    answer = lead.post(f"{CLOSURE}change/", {**data, "looked": looked})
    assert "Somebody changed this limit" in text_of(answer)
    assert current_limits().closure_um == 700


def test_a_stored_value_that_cannot_be_read_is_named_on_both_pages(lead):
    act = Act.objects.create(kind="limit.change", by=lead.person)
    SettingChange.objects.create(
        name="closure_um", value="wide", reason="x", act=act, by=lead.person
    )
    assert "The stored value cannot be used. The usual one holds." in text_of(lead.get(LIMITS))
    assert "cannot be read, the usual held" in text_of(lead.get(CLOSURE))


def test_others_see_the_limits_and_are_told_who_changes_them():
    operator = signed_in("operator")
    page = operator.get(CLOSURE)
    assert "Changing a limit is for leads and admins." in text_of(page)
    assert "/change/" not in page.content.decode()
    refused = operator.get(f"{CLOSURE}change/")
    assert refused.status_code == 403
    assert "change the shop&#x27;s limits" in refused.content.decode()


def test_a_reason_is_shown_as_text(lead):
    stored_after_looking(lead, value="0.3", reason="<script>x</script>")
    for address in (LIMITS, CLOSURE):
        assert "<script>x" not in lead.get(address).content.decode()


def test_nobody_without_a_role_changes_a_limit_by_sending_the_form(lead):
    data = sent(lead, value="0.3", reason="x", looked="300")
    stranger = signed_in("toolroom")
    assert stranger.post(f"{CLOSURE}change/", data).status_code == 403
    assert not SettingChange.objects.exists()


def test_the_history_of_one_limit_is_cut_and_says_so(lead, monkeypatch):
    monkeypatch.setattr("assemblies.views.shop_settings.MOST_CHANGES", 1)
    for value in ("0.3", "0.2"):
        stored_after_looking(lead, value=value, reason="again")
    page = lead.get(CLOSURE)
    assert len(page.context["changes"]) == 1
    assert "Older changes are kept" in text_of(page)
