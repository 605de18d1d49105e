"""The check at the spindle as pages: what is shown, who may decide, what is written."""

import re
from copy import deepcopy
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assemblies.actions.build import quarantine
from assemblies.actions.measure import Reading
from assemblies.actions.spindle import REFUSE_REASONS
from assemblies.models import ApprovalState, Assembly, SpindleCheck, Station
from crib.models import Act
from tests import makers
from tests.assemblies.spindle_shop import (
    WANTED,
    approve,
    confirm,
    open_shop,
    program_revision,
    router,
)

pytestmark = pytest.mark.django_db

#: One answer for a cheap phone on shop Wi-Fi, style sheet and script apart.
LARGEST_PAGE = 30_000
QUERIES = 19


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    return open_shop()


@pytest.fixture
def shop(standing_shop):
    return deepcopy(standing_shop)


def word(page):
    return page.context["verdict"].word


def reasons(page):
    return [finding.code for finding in page.context["verdict"].reasons]


def sent(page, decision, **changes):
    """What the form for `decision` sends from this page."""
    form = page.context["load" if decision == "loaded" else "refuse"]
    data = {name: form[name].value() for name in ("submission", "decision", "seen", "seen_word")}
    return {**data, **changes}


def big_buttons(page):
    """What the buttons under the verdict say."""
    actions = page.text.split('class="verdict-actions"')[1].split("</article>")[0]
    return re.findall(r'<a class="button-verdict[^"]*" href="#[a-z]+">([^<]+)</a>', actions)


# ---- the verdict on the page
def test_a_released_assembly_that_meets_its_tool_is_a_match(client, shop):
    code = shop.label(shop.built("H-07"))
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}")

    shown = page.context["verdict"]
    assert (shown.word, shown.tool_number, shown.reasons) == ("MATCH", 5, ())
    assert (shown.tool_label, shown.machine_name) == ("T5 in HM-0377 B", "Router 1")
    assert (shown.holder_mark, shown.assembly_label) == ("H-07", "1001 r1")


def test_the_whole_verdict_takes_few_queries(client, shop):
    code = shop.label(shop.built("H-07"))
    shop.stand_at(client, shop.operator)

    with CaptureQueriesContext(connection) as queries:
        page = client.get(f"/S/{code}")

    assert word(page) == "MATCH"
    assert len(queries) == QUERIES, "\n".join(query["sql"][:120] for query in queries)


@pytest.mark.parametrize(
    ("address", "program", "expected"),
    [
        ("/S/{code}", True, "MATCH"),
        ("/spindle/1001/", True, "CHECK"),
        ("/S/{code}?t=3", True, "STOP"),
        ("/S/{code}", False, "CAN'T TELL"),
    ],
)
def test_each_of_the_four_words_is_a_small_page(client, shop, address, program, expected):
    code = shop.label(shop.built("H-07"))
    shop.stand_at(client, shop.operator, revision=shop.revision if program else None)

    page = client.get(address.format(code=code))

    assert word(page) == expected
    assert len(page.content) <= LARGEST_PAGE


def test_a_verdict_says_when_it_was_made_and_is_not_kept_by_the_browser(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}")

    made = page.context["verdict"].checked_at
    assert f"{made:%H:%M:%S}" in page.content.decode()
    assert page["Cache-Control"] == "no-store"


def test_looking_writes_no_check(client, shop):
    assembly = shop.built()
    code = shop.label(assembly)
    shop.stand_at(client, shop.operator)
    acts = Act.objects.count()

    client.get(f"/S/{code}")
    client.get(f"/spindle/{assembly.number}/")

    assert not SpindleCheck.objects.exists()
    assert Act.objects.count() == acts


def test_the_label_of_an_earlier_revision_is_void(client, shop):
    assembly = shop.built()
    code = shop.label(assembly)
    shop.rebuilt(assembly)
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}")

    shown = page.context["verdict"]
    assert (word(page), reasons(page)[0]) == ("STOP", "label.void_rebuilt")
    assert "This is revision 1, now 2." in shown.reasons[0].text
    assert shown.assembly_label == "1001 r1"
    assert page.context["load"] is None


@pytest.mark.parametrize(
    ("cutter", "code"),
    [
        ({"n_max_rpm": 17_999}, "speed.over_limit"),
        ({"diameter_um": 12_051}, "program.diameter_differs"),
        ({"kind": "spiral_up"}, "program.kind_differs"),
        ({"hand": "left"}, "program.wanted_hand_differs"),
    ],
)
def test_a_wrong_or_overdriven_cutter_stops(client, shop, cutter, code):
    readings = _readings(cutter.get("diameter_um", 12_000))
    label = shop.label(shop.built(readings=readings, **cutter))
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{label}?t=5")

    assert word(page) == "STOP"
    assert code in reasons(page)
    assert page.context["load"] is None


def _readings(diameter_um):
    return (
        Reading("gauge_length", 95_000),
        Reading("diameter", diameter_um),
        Reading("runout", 8, 30_000),
    )


def test_an_unreleased_build_stops_and_says_what_is_not_measured(client, shop):
    assembly = shop.built(readings=(), released=False)
    shop.stand_at(client, shop.operator)

    page = client.get(f"/spindle/{assembly.number}/")

    assert word(page) == "STOP"
    assert reasons(page)[0] == "assembly.not_released"
    assert "not measured" in page.context["verdict"].reasons[0].text


def test_a_revision_that_is_not_approved_here_stops(client, shop):
    code = shop.label(shop.built())
    newer = program_revision(shop.programmer, label="C", speed=15_000)
    confirm(shop.programmer, newer, 5, WANTED)
    shop.stand_at(client, shop.operator, revision=newer)

    page = client.get(f"/S/{code}?t=5")

    assert (word(page), reasons(page)) == ("STOP", ["program.not_approved"])
    assert "Approved is B" in page.context["verdict"].reasons[0].text


def test_a_withdrawn_revision_stops(client, shop):
    code = shop.label(shop.built())
    withdrawn = {"state": ApprovalState.WITHDRAWN, "reason": "gouges"}
    approve(shop.lead, shop.revision, shop.machine, **withdrawn)
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}")

    assert (word(page), reasons(page)[0]) == ("STOP", "program.withdrawn")


def test_without_a_program_it_only_tells_what_the_tool_is(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator, revision=None)

    page = client.get(f"/S/{code}")

    assert word(page) == "CAN'T TELL"
    assert "program.not_chosen" in reasons(page)
    for known in ("compression", "12.00 mm", "95.0", "24000 1/min"):
        assert known in page.context["verdict"].identity_text


@pytest.mark.parametrize("address", ["/spindle/{number}/", "/spindle/{number}/?mark=H-07"])
def test_found_without_its_label_it_is_check_at_best(client, shop, address):
    assembly = shop.built("H-07")
    shop.stand_at(client, shop.operator)

    page = client.get(address.format(number=assembly.number))

    by_mark = "mark" in address
    assert word(page) == "CHECK"
    assert reasons(page) == ["label.found_by_mark" if by_mark else "label.found_by_number"]


def test_a_mark_of_another_holder_counts_as_a_number(client, shop):
    assembly = shop.built("H-07")
    shop.built("H-08")
    shop.stand_at(client, shop.operator)

    page = client.get(f"/spindle/{assembly.number}/?mark=H-08")

    assert reasons(page) == ["label.found_by_number"]


def test_it_meets_another_tool_than_the_one_asked_for(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}?t=3")

    assert word(page) == "STOP"
    assert page.context["verdict"].meets_text == "Meets T5, not T3."


def test_the_right_one_and_its_place_are_named(client, shop):
    right, wrong = shop.built(), shop.built(readings=_readings(12_700), diameter_um=12_700)
    right.contents.parent = shop.rack
    right.contents.save()
    confirm(shop.programmer, shop.revision, 5, WANTED, preferred=right)
    code = shop.label(wrong)
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}?t=5")

    assert page.context["verdict"].place_text == f"Right one: {right.number}, RACK B3."


def test_a_tool_that_meets_two_numbers_asks_which(client, shop):
    code = shop.label(shop.built())
    confirm(shop.programmer, shop.revision, 3, WANTED)
    approve(shop.lead, shop.revision, shop.machine)
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}")

    assert word(page) == "CAN'T TELL"
    assert (page.context["choice_needed"], page.context["tools"]) == (True, [3, 5])
    assert page.context["load"] is None


def test_a_program_without_figures_shows_what_was_loaded_before(client, shop):
    code = shop.label(shop.built())
    bare = program_revision(shop.programmer, name="HM-0500", label="A", speed=15_000)
    approve(shop.lead, bare, shop.machine, reason="from outside")
    shop.stand_at(client, shop.operator, revision=bare)
    address = f"/S/{code}?t=5"

    first = client.get(address)
    decide(client, address, "loaded", shown_number="5", reason="agreed")
    second = client.get(address)

    assert (word(first), first.context["last_loads"]) == ("CAN'T TELL", [])
    assert "program.number_only" in reasons(first)
    assert [row.assembly_id for row in second.context["last_loads"]] == [
        SpindleCheck.objects.get().assembly_id
    ]


@pytest.mark.parametrize("t", ["", "abc", "-1", "99999999999999999999"])
def test_a_damaged_tool_number_in_the_address_is_no_page(client, shop, t):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    assert client.get(f"/S/{code}", {"t": t}).status_code == 404


@pytest.mark.parametrize("t", [1, 99, 4321, 99_999_999])
def test_a_tool_number_that_the_program_does_not_have_is_a_stop_that_says_so(client, shop, t):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}", {"t": t})

    assert page.status_code == 200
    assert word(page) == "STOP"
    assert f"T{t} is not in this program." in [f.text for f in page.context["verdict"].reasons]


@pytest.mark.parametrize(("t", "digits"), [(5, 4), (9_999, 4), (10_000, 8)])
def test_the_field_for_the_number_has_room_for_the_number(client, shop, t, digits):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    assert client.get(f"/S/{code}", {"t": t}).context["most_digits"] == digits


@pytest.mark.parametrize(
    ("address", "first"), [("/S/{void}", "label_wrong"), ("/S/{live}?t=3", "wrong_tool")]
)
def test_the_reason_that_the_stop_itself_gives_is_offered_first(client, shop, address, first):
    assembly = shop.built()
    void = shop.label(assembly)
    live = shop.label(shop.rebuilt(assembly))
    shop.stand_at(client, shop.operator)

    page = client.get(address.format(void=void, live=live))

    assert word(page) == "STOP"
    reasons = list(page.context["refuse_reasons"])
    assert reasons[0] == first
    # Whether the mark differs is a question of its own.
    assert sorted(reasons) == sorted(REFUSE_REASONS.keys() - {"mark_differs"})
    radios = re.findall(r'type="radio" name="reason" value="(\w+)"', page.content.decode())
    assert radios == reasons


@pytest.mark.parametrize(("t", "shown"), [("5", True), ("3", False)])
def test_what_hands_do_at_fitting_is_not_said_beside_a_stop(client, shop, t, shown):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    page = client.get(f"/S/{code}", {"t": t}).content.decode()

    assert [words in page for words in ("Before fitting", "After fitting")] == [shown, shown]


# ---- deciding
def decide(client, address, decision, **changes):
    return client.post(address, sent(client.get(address), decision, **changes))


def test_keying_the_number_and_loading_is_recorded(client, shop):
    assembly = shop.built("H-07")
    code = shop.label(assembly)
    shop.stand_at(client, shop.operator)

    answer = decide(client, f"/S/{code}", "loaded", shown_number="5")

    row = SpindleCheck.objects.get()
    assert answer.url == f"/spindle/recorded/{row.pk}/"
    assert (row.verdict, row.decision, row.found_by) == ("match", "loaded", "label")
    assert (row.tool_number, row.shown_number, row.fully_known) == (5, 5, True)
    assert (row.machine, row.revision, row.build) == (
        shop.machine,
        shop.revision,
        assembly.current_build,
    )
    assert (row.label_code, row.by, row.act.kind) == (code, shop.operator, "check.decide")


def test_the_page_after_it_tells_what_was_recorded_and_what_hands_do_next(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    page = client.get(decide(client, f"/S/{code}", "loaded", shown_number="5").url)

    text = page.content.decode()
    assert "Loaded: T5" in text
    assert "After fitting" in text
    assert "Tolly" not in page.content.decode().split("<main")[1].split("</main")[0]


def test_the_wrong_number_on_a_check_asks_for_the_number_and_not_for_a_reason(client, shop):
    shop.built()
    shop.stand_at(client, shop.operator)
    before = client.get("/spindle/1001/?t=5")

    page = client.post("/spindle/1001/?t=5", sent(before, "loaded", shown_number="6"))

    assert big_buttons(before) == ["Refuse", "Accept with a reason"]
    assert big_buttons(page) == ["Refuse", "Key the number again"]


def test_the_next_tool_is_scanned_right_below_the_decision(client, shop):
    shop.stand_at(client, shop.operator)
    page = client.get(f"/S/{shop.label(shop.built())}").text

    places = [page.index(text) for text in ('id="refuse"', 'id="next-entry"', "Hands and eyes")]
    assert places == sorted(places)
    assert page.index('id="next-entry"') < page.index('id="scan-entry"')


def test_another_number_at_the_control_is_a_stop_until_it_agrees(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    page = decide(client, f"/S/{code}", "loaded", shown_number="6")

    assert (page.status_code, word(page)) == (200, "STOP")
    assert reasons(page) == ["control.number_differs"]
    assert page.context["load"] is not None
    assert big_buttons(page) == ["Refuse", "Key the number again"]
    assert 'id="load"' in page.text
    assert not SpindleCheck.objects.exists()

    client.post(f"/S/{code}", sent(page, "loaded", shown_number="5"))

    assert SpindleCheck.objects.get().shown_number == 5


def test_loading_without_the_number_is_refused(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    page = decide(client, f"/S/{code}", "loaded")

    assert page.context["refused"].code == "control.number_not_compared"
    assert not SpindleCheck.objects.exists()


def test_how_it_was_found_is_not_believed_from_a_form(client, shop):
    assembly = shop.built()
    shop.stand_at(client, shop.operator)

    decide(
        client,
        f"/spindle/{assembly.number}/",
        "loaded",
        shown_number="5",
        reason="agreed",
        found_by="label",
        label_code=shop.label(assembly),
    )

    row = SpindleCheck.objects.get()
    assert (row.found_by, row.label_code, row.verdict) == ("number", "", "check")
    assert not row.fully_known


@pytest.mark.parametrize("name", ["verdict", "tool_number", "machine", "revision", "by"])
def test_what_it_was_held_against_is_not_believed_from_a_form(client, shop, name):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    decide(client, f"/S/{code}", "loaded", shown_number="5", **{name: "999"})

    row = SpindleCheck.objects.get()
    assert (row.verdict, row.tool_number) == ("match", 5)
    assert (row.machine, row.revision, row.by) == (shop.machine, shop.revision, shop.operator)


def test_a_check_is_loaded_only_with_a_reason(client, shop):
    assembly = shop.built()
    shop.stand_at(client, shop.operator)
    address = f"/spindle/{assembly.number}/"

    page = decide(client, address, "loaded", shown_number="5")

    assert page.context["refused"].code == "check.reason"

    client.post(address, sent(page, "loaded", shown_number="5", reason="trial"))

    assert SpindleCheck.objects.get().reason == "trial"


def test_accepting_lists_each_thing_that_is_not_known(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator, revision=None)
    address = f"/S/{code}"

    page = client.get(address)
    client.post(address, sent(page, "loaded", reason="trial"))

    unknowns = page.context["verdict"].unknowns
    assert "No program chosen: what this is, not whether it is right." in unknowns
    listed = page.content.decode().split('class="unknowns"')[1].split("</ul>")[0]
    assert listed.count("<li>") == len(unknowns)
    row = SpindleCheck.objects.get()
    assert (row.verdict, row.fully_known, row.shown_number) == ("cant_tell", False, None)


def test_a_refusal_needs_a_reason(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)

    page = decide(client, f"/S/{code}", "refused")

    assert page.context["refused"].code == "check.reason"
    assert not SpindleCheck.objects.exists()


@pytest.mark.parametrize(
    ("reason", "state"),
    [
        ("dull", "released"),
        ("label_wrong", "released"),
        ("mark_differs", "quarantined"),
        ("damaged", "quarantined"),
        ("slipped", "quarantined"),
    ],
)
def test_some_refusals_take_it_out_of_use(client, shop, reason, state):
    assembly = shop.built()
    code = shop.label(assembly)
    shop.stand_at(client, shop.operator)

    decide(client, f"/S/{code}", "refused", reason=reason)

    assert SpindleCheck.objects.get().decision == "refused"
    assert Assembly.objects.get(pk=assembly.pk).state == state


def test_a_stop_is_not_loaded_by_a_form_made_by_hand(client, shop):
    assembly = shop.built()
    code = shop.label(assembly)
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "loaded", shown_number="5", reason="trial")
    quarantine(by=shop.toolroom, submission=uuid4(), assembly=assembly, note="dropped")
    now = client.get(f"/S/{code}")
    form |= {name: now.context["refuse"][name].value() for name in ("seen", "seen_word")}

    page = client.post(f"/S/{code}", form)

    assert page.context["refused"].code == "check.not_acceptable"
    assert not SpindleCheck.objects.exists()


def test_a_verdict_that_changed_meanwhile_has_to_be_read_again(client, shop):
    assembly = shop.built()
    code = shop.label(assembly)
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "loaded", shown_number="5")
    quarantine(by=shop.toolroom, submission=uuid4(), assembly=assembly, note="dropped")

    page = client.post(f"/S/{code}", form)

    assert page.context["refused"].code == "check.changed"
    assert word(page) == "STOP"
    assert not SpindleCheck.objects.exists()


def test_the_same_word_for_another_machine_has_to_be_read_again(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "loaded", shown_number="5")
    other = router(shop.lead, mark="R2", name="Router 2")
    approve(shop.lead, shop.revision, other)
    Station.objects.update(machine=other)

    page = client.post(f"/S/{code}", form)

    assert page.context["refused"].code == "check.changed"
    assert word(page) == "MATCH"
    assert not SpindleCheck.objects.exists()


def test_the_same_word_for_another_revision_has_to_be_read_again(client, shop):
    assembly = shop.built()
    address = f"/spindle/{assembly.number}/"
    shop.stand_at(client, shop.operator)
    form = sent(client.get(address), "loaded", shown_number="5", reason="trial")
    shop.rebuilt(assembly)

    page = client.post(address, form)

    assert page.context["refused"].code == "check.changed"
    assert word(page) == "CHECK"


@pytest.mark.parametrize("name", ["submission", "seen", "seen_word", "decision"])
def test_a_form_that_is_not_whole_records_nothing(client, shop, name):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "loaded", shown_number="5")
    del form[name]

    page = client.post(f"/S/{code}", form)

    assert page.context["refused"].code == "check.form"
    assert not SpindleCheck.objects.exists()


def test_a_double_tap_is_one_row_and_one_answer(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "loaded", shown_number="5")

    first, second = client.post(f"/S/{code}", form), client.post(f"/S/{code}", form)

    assert first.url == second.url
    assert SpindleCheck.objects.count() == 1


def test_a_resend_after_the_facts_changed_still_shows_the_first_result(client, shop):
    assembly = shop.built()
    code = shop.label(assembly)
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "loaded", shown_number="5")
    first = client.post(f"/S/{code}", form)
    quarantine(by=shop.toolroom, submission=uuid4(), assembly=assembly, note="dropped")

    assert client.post(f"/S/{code}", form).url == first.url


# ---- who
@pytest.mark.parametrize("role", ["programmer", "buyer", "admin"])
def test_somebody_who_may_not_decide_sees_the_verdict_without_the_buttons(client, shop, role):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "loaded", shown_number="5")
    shop.stand_at(client, makers.person(role))

    page = client.get(f"/S/{code}")

    assert word(page) == "MATCH"
    assert (page.context["load"], page.context["refuse"]) == (None, None)
    assert 'name="decision"' not in page.content.decode()

    assert client.post(f"/S/{code}", form).status_code == 403
    assert not SpindleCheck.objects.exists()


@pytest.mark.parametrize(
    "address",
    ["/spindle/", "/spindle/1001/", "/station/", "/checks/", "/S/7K2M9QXR4", "/scan/?entry=1"],
)
def test_somebody_without_a_role_opens_nothing(client, address):
    client.force_login(makers.person())

    assert client.get(address).status_code == 403


# ---- station
def test_without_a_station_the_machine_is_asked_first_and_the_scan_comes_back(client, shop):
    code = shop.label(shop.built())
    client.force_login(shop.operator)

    asked = client.get(f"/S/{code}?t=5")
    choice = client.get(asked.url + "&machine=R1")
    posted = {
        "machine": "r1",
        "revision": shop.revision.pk,
        "next": choice.context["next"],
    }
    back = client.post("/station/", posted)

    assert asked.url.startswith("/station/?next=")
    assert [row.pk for row in choice.context["approved"]] == [shop.revision.pk]
    assert back.url == f"/S/{code}?t=5"
    assert word(client.get(back.url)) == "MATCH"


def test_no_program_is_a_choice(client, shop):
    client.force_login(shop.operator)

    client.post("/station/", {"machine": "r1", "revision": "", "next": ""})

    station = Station.objects.get()
    assert (station.machine, station.revision) == (shop.machine, None)


def test_choosing_again_replaces(client, shop):
    shop.stand_at(client, shop.operator)
    other = router(shop.lead, mark="R2", name="Router 2")

    client.post("/station/", {"machine": "r2", "revision": "", "next": ""})

    station = Station.objects.get()
    assert (station.machine, station.revision) == (other, None)


@pytest.mark.parametrize(
    "address", ["https://elsewhere.example/", "//elsewhere.example", "javascript:x"]
)
def test_the_choice_leads_to_no_other_house(client, shop, address):
    client.force_login(shop.operator)

    page = client.post("/station/", {"machine": "r1", "revision": "", "next": address})

    assert page.url == "/spindle/"


def test_another_sign_in_is_another_station(client, shop):
    shop.stand_at(client, shop.operator)

    client.force_login(shop.toolroom)

    assert client.get("/spindle/").url.startswith("/station/")


def test_revisions_used_here_last_stand_first_then_the_approved_ones(client, shop):
    used = program_revision(shop.programmer, name="HM-0412", label="A", speed=15_000)
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator, revision=used)
    decide(client, f"/S/{code}?t=5", "refused", reason="dull")

    page = client.get("/station/?machine=R1")

    assert [row.pk for row in page.context["recent"]] == [used.pk]
    assert [row.pk for row in page.context["approved"]] == [shop.revision.pk]
    assert page.context["others"] == []


def test_the_station_shows_on_the_page(client, shop):
    shop.stand_at(client, shop.operator)

    assert "Router 1 HM-0377 B" in client.get("/spindle/").content.decode()


# ---- history
def test_names_are_for_the_lead(client, shop):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)
    decide(client, f"/S/{code}", "loaded", shown_number="5")
    row = SpindleCheck.objects.get()

    for person, sees in [(shop.lead, True), (shop.toolroom, False)]:
        client.force_login(person)
        for address in ("/checks/", f"/checks/{row.pk}/"):
            assert ("Tolly" in client.get(address).content.decode()) is sees


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ("", 2),
        ("?machine=r1", 2),
        ("?verdict=match", 2),
        ("?verdict=stop", 0),
        ("?decision=refused", 1),
        ("?decision=loaded&verdict=match", 1),
    ],
)
def test_the_list_of_checks_can_be_cut_down(client, shop, wanted, found):
    code = shop.label(shop.built())
    shop.stand_at(client, shop.operator)
    decide(client, f"/S/{code}", "loaded", shown_number="5")
    decide(client, f"/S/{code}", "refused", reason="dull")

    page = client.get(f"/checks/{wanted}")

    assert len(page.context["table"].rows) == found


def test_a_check_keeps_the_findings_of_its_moment(client, shop):
    assembly = shop.built()
    code = shop.label(assembly)
    shop.stand_at(client, shop.operator)
    decide(client, f"/S/{code}", "loaded", shown_number="5")
    quarantine(by=shop.toolroom, submission=uuid4(), assembly=assembly, note="dropped")

    page = client.get(f"/checks/{SpindleCheck.objects.get().pk}/")

    codes = [finding.code for finding in page.context["findings"]]
    assert "assembly.released" in codes
    assert "assembly.quarantined" not in codes
