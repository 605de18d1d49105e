"""The number keyed before the scan: where it is asked for, how long it counts, what it decides."""

from copy import deepcopy

import pytest

from assemblies.actions.spindle import choose_station
from assemblies.models import Machine, SpindleCheck
from assemblies.views import control_number
from tests import makers
from tests.assemblies.spindle_shop import (
    OTHER,
    WANTED,
    approve,
    confirm,
    open_shop,
    program_revision,
    router,
)

pytestmark = pytest.mark.django_db
KEYPAD = "assemblies/spindle_number.html"


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    """The shop, and the code on the label of its released assembly."""
    shop = open_shop()
    return shop, shop.label(shop.built("H-07"))


@pytest.fixture
def shop(standing_shop):
    return deepcopy(standing_shop[0])


@pytest.fixture
def scan(client, shop, standing_shop):
    """The address of the released assembly; the operator stands at the machine."""
    _, code = standing_shop
    shop.stand_at(client, shop.operator)
    return f"/S/{code}"


def every_time(shop, **facts):
    Machine.objects.filter(pk=shop.machine.pk).update(key_number_first=True, **facts)


def key(client, number, **more):
    return client.post("/spindle/number/", {"shown_number": number, **more})


def asks(page):
    return KEYPAD in [template.name for template in page.templates]


def sent(page, **changes):
    form = page.context["load"]
    names = ("submission", "decision", "seen", "seen_word", "mark_agrees")
    return {name: form[name].value() for name in names} | changes


def word(page):
    return page.context["verdict"].word


def codes(page):
    return [finding.code for finding in page.context["verdict"].reasons]


def load(client, scan, number=5):
    key(client, number)
    return client.post(scan, sent(client.get(scan)))


# ---- where it is asked for
def test_the_first_load_of_a_program_by_hand_asks_before_the_scan(client, shop, scan):
    assert asks(client.get("/spindle/"))
    load(client, scan)
    assert not asks(client.get("/spindle/"))

    other = program_revision(shop.programmer, label="C", speed=15_000)
    shop.stand_at(client, shop.operator, revision=other)
    assert asks(client.get("/spindle/"))


def test_a_refusal_is_no_first_load(client, shop, scan):
    form = client.get(scan).context["refuse"]
    names = ("submission", "decision", "seen", "seen_word")
    client.post(scan, {name: form[name].value() for name in names} | {"reason": "dull"})

    assert SpindleCheck.objects.count() == 1
    assert asks(client.get("/spindle/"))


@pytest.mark.parametrize(
    ("facts", "asked"),
    [
        ({"tool_change": "hand"}, True),
        ({"tool_change": "carousel", "pockets": 12}, False),
        ({"tool_change": "carousel", "pockets": 12, "key_number_first": True}, True),
    ],
)
def test_a_changer_asks_only_where_the_shop_wants_it(client, shop, facts, asked):
    Machine.objects.update(**facts)
    shop.stand_at(client, shop.operator)

    assert asks(client.get("/spindle/")) is asked


def test_without_a_program_or_for_a_looker_there_is_nothing_to_key(client, shop):
    every_time(shop)
    shop.stand_at(client, shop.operator, revision=None)
    assert not asks(client.get("/spindle/"))
    shop.stand_at(client, makers.person("buyer"))
    assert not asks(client.get("/spindle/"))


def test_a_scan_of_the_camera_shows_its_verdict_at_once(client, scan):
    page = client.get(scan)

    assert (word(page), page.context["number_keyed"]) == ("MATCH", None)


def test_where_the_shop_wants_it_each_scan_goes_by_the_keypad(client, shop, scan):
    every_time(shop)

    asked = client.get(f"{scan}?t=5")
    keypad = client.get(asked.url)
    back = key(client, 5, next=keypad.context["next"])

    assert asks(keypad)
    assert back.url == f"{scan}?t=5"
    assert word(client.get(back.url)) == "MATCH"
    other = f"/S/{shop.label(shop.built('H-08'))}"
    assert client.get(other).url.startswith("/spindle/number/?next=")


def test_who_only_looks_sees_the_verdict_there_too(client, shop, scan):
    every_time(shop)
    shop.stand_at(client, makers.person("buyer"))

    assert word(client.get(scan)) == "MATCH"


def test_the_keypad_names_no_number(client, scan):
    page = client.get("/spindle/").text.split("<main")[1].split("</main")[0]

    assert 'value="5"' not in page.replace('data-digit="5"', "")
    assert "T5" not in page


@pytest.mark.parametrize("typed", ["", "abc", "-5", "123456789"])
def test_what_is_no_number_is_asked_for_again(client, scan, typed):
    page = key(client, typed)

    assert asks(page)
    assert "control_number" not in client.session


@pytest.mark.parametrize("address", ["https://elsewhere.example/", "//elsewhere.example"])
def test_the_keypad_leads_to_no_other_house(client, scan, address):
    assert key(client, 5, next=address).url == "/spindle/"


# ---- what it decides
def test_the_number_that_is_the_t_loads_with_one_tap(client, scan):
    key(client, 5)
    page = client.get(scan)
    actions = page.text.split('class="verdict-actions"')[1].split("</article>")[0]

    assert (word(page), page.context["number_keyed"]) == ("MATCH", 5)
    assert "It reads H-07. Loaded</button>" in actions
    assert 'name="shown_number"' not in page.text

    client.post(scan, sent(page))

    row = SpindleCheck.objects.get()
    assert (row.verdict, row.shown_number, row.tool_number, row.keyed_first) == (
        "match",
        5,
        5,
        True,
    )


def test_another_number_is_a_stop_and_loads_nothing(client, scan):
    key(client, 6)
    page = client.get(scan)

    assert (word(page), codes(page)) == ("STOP", ["control.number_differs"])
    assert page.context["number_keyed"] is None
    refused = client.post(scan, sent(page)).context["refused"]
    assert refused.code == "control.number_differs"
    assert not SpindleCheck.objects.exists()


def test_read_again_at_the_control_it_is_loaded_but_not_as_keyed_first(client, scan):
    key(client, 6)
    client.post(scan, sent(client.get(scan), shown_number="5"))

    row = SpindleCheck.objects.get()
    assert (row.shown_number, row.keyed_first) == (5, False)


def test_of_two_that_are_met_the_number_keyed_chooses(client, shop, scan):
    confirm(shop.programmer, shop.revision, 3, WANTED)
    approve(shop.lead, shop.revision, shop.machine)
    key(client, 3)
    page = client.get(scan)

    assert (word(page), page.context["verdict"].tool_number) == ("MATCH", 3)
    client.post(scan, sent(page))
    assert SpindleCheck.objects.get().tool_number == 3


def test_a_tool_that_meets_none_is_held_against_the_number_keyed(client, shop, scan):
    """Not against the nearest one: the control asks for T3, so T3 is the question."""
    confirm(shop.programmer, shop.revision, 5, OTHER)
    approve(shop.lead, shop.revision, shop.machine)
    key(client, 3)

    page = client.get(scan)

    assert (word(page), page.context["verdict"].tool_number) == ("STOP", 3)
    assert "program.kind_differs" in codes(page)


@pytest.mark.usefixtures("scan")
def test_a_check_asks_for_the_reason_only(client):
    key(client, 5)
    page = client.get("/spindle/1001/")

    assert (word(page), page.context["number_keyed"]) == ("CHECK", 5)
    assert 'name="shown_number"' not in page.text
    client.post("/spindle/1001/", sent(page, reason="trial"))
    assert SpindleCheck.objects.get().keyed_first is True


# ---- how long it counts
def test_it_counts_for_one_scan(client, shop, scan):
    other = f"/S/{shop.label(shop.built('H-08'))}"
    key(client, 5)

    assert client.get(scan).context["number_keyed"] == 5
    # Shown again, as by the button of the browser, it is the same scan.
    assert client.get(scan).context["number_keyed"] == 5
    assert client.get(other).context["number_keyed"] is None
    assert client.get(scan).context["number_keyed"] is None


def test_after_an_answer_it_is_forgotten(client, scan):
    load(client, scan)

    assert client.get(scan).context["number_keyed"] is None


@pytest.mark.parametrize(("seconds", "counts"), [(600, True), (601, False)])
def test_it_counts_for_ten_minutes(client, scan, monkeypatch, seconds, counts):
    key(client, 5)
    keyed_at = client.session["control_number"]["at"]
    monkeypatch.setattr(control_number.time, "time", lambda: keyed_at + seconds)

    assert client.get(scan).context["number_keyed"] == (5 if counts else None)


def test_run_out_between_look_and_answer_it_is_asked_for_again(client, scan, monkeypatch):
    key(client, 5)
    form = sent(client.get(scan))
    keyed_at = client.session["control_number"]["at"]
    monkeypatch.setattr(control_number.time, "time", lambda: keyed_at + 601)

    page = client.post(scan, form)

    assert page.context["refused"].code == "control.number_not_compared"
    assert 'name="shown_number"' in page.text
    assert not SpindleCheck.objects.exists()


def test_keying_again_replaces(client, scan):
    key(client, 6)
    client.get("/spindle/number/")
    key(client, 5)

    assert client.get(scan).context["number_keyed"] == 5


def test_no_form_says_that_it_was_keyed_first(client, scan):
    page = client.get(scan)

    client.post(scan, sent(page, shown_number="5", keyed_first="True"))

    assert SpindleCheck.objects.get().keyed_first is False


def test_another_session_has_another_number(client, shop, scan):
    key(client, 5)
    other = type(client)()
    shop.stand_at(other, shop.operator)

    assert other.get(scan).context["number_keyed"] is None


@pytest.mark.parametrize("elsewhere", ["machine", "program", "no program"])
def test_a_number_keyed_for_another_machine_or_program_counts_nowhere_else(
    client, shop, scan, elsewhere
):
    """Keyed at one screen, then another machine is chosen: that one shows its own number."""
    key(client, 5)
    revision = None if elsewhere == "no program" else shop.revision
    if elsewhere == "machine":
        shop.machine = router(shop.lead, mark="R9", name="Router 9")
    if elsewhere == "program":
        revision = program_revision(shop.programmer, label="C", speed=15_000)
    shop.stand_at(client, shop.operator, revision)

    assert client.get(scan).context["number_keyed"] is None


def test_chosen_anew_between_look_and_answer_the_number_is_asked_for_again(client, shop, scan):
    key(client, 5)
    form = sent(client.get(scan))
    shop.machine = router(shop.lead, mark="R9", name="Router 9")
    approve(shop.lead, shop.revision, shop.machine)
    choose_station(
        by=shop.operator,
        session_key=client.session.session_key,
        machine=shop.machine,
        revision=shop.revision,
    )

    page = client.post(scan, form)

    assert page.context["refused"] is not None
    assert page.context["number_keyed"] is None
    assert not SpindleCheck.objects.exists()
