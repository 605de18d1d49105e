"""The mark on the holder, compared by eye: it does, or it differs and two assemblies wait."""

from copy import deepcopy
from uuid import uuid4

import pytest

from assemblies.actions import build, parts
from assemblies.models import AssemblyState, Decision, SpindleCheck
from crib.models import Act
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.spindle_shop import open_shop

pytestmark = pytest.mark.django_db

OUT, READY = AssemblyState.QUARANTINED, AssemblyState.RELEASED


@pytest.fixture(scope="module")
def standing_pair(module_rows):
    scene = made.Scene.ready()
    # The shop further down has an R1 of its own, and this may be the first machine made here.
    scene.machine.mark = "S1"
    scene.machine.save()
    return scene, made.released()


@pytest.fixture
def swapped(standing_pair):
    """A labelled assembly, and another one whose holder was found under that label."""
    scene, other = deepcopy(standing_pair)
    return scene, other, mark_of(other)


def mark_of(assembly):
    return assembly.current_build.parts.get(role="holder").piece.mark


def differs(scene, mark_there="", **answer):
    return scene.refuse("mark_differs", mark_there=mark_there, **answer)


def states(*assemblies):
    return [made.again(assembly).state for assembly in assemblies]


def test_both_assemblies_wait_and_one_stop_is_on_record(swapped):
    scene, other, mark = swapped

    row = differs(scene, mark)

    assert states(scene.assembly, other) == [OUT, OUT]
    assert (row.verdict, row.hard_stop, row.decision) == ("stop", True, "refused")
    assert row.findings[0]["code"] == "label.holder_mark_differs"
    assert row.act.details == {
        "mark_there": mark,
        "other": other.number,
        "quarantined": [scene.assembly.number, other.number],
    }
    assert SpindleCheck.objects.count() == 1


def test_the_toolroom_reads_of_both_why(swapped):
    scene, other, mark = swapped
    differs(scene, mark)

    assert str(other.number) in made.again(scene.assembly).state_note
    assert mark in made.again(scene.assembly).state_note
    assert str(scene.assembly.number) in made.again(other).state_note


@pytest.mark.parametrize(
    "typed", [str.lower, lambda mark: f" {mark} ", lambda m: m.replace("-", "")]
)
def test_the_mark_is_found_however_it_is_typed(swapped, typed):
    scene, other, mark = swapped

    differs(scene, typed(mark))

    assert states(scene.assembly, other) == [OUT, OUT]


@pytest.mark.parametrize("there", ["", "  ", "NO-SUCH-MARK"])
def test_without_a_known_mark_only_the_scanned_one_waits(swapped, there):
    scene, other, _ = swapped

    row = differs(scene, there)

    assert states(scene.assembly, other) == [OUT, READY]
    assert row.act.details["quarantined"] == [scene.assembly.number]


def test_the_mark_on_record_does_not_differ(swapped):
    scene, _, _ = swapped
    own = mark_of(scene.assembly)

    refusal = made.refusal(differs, scene, own)

    assert (refusal.code, refusal.field) == ("check.mark_same", "mark_there")


def test_what_waits_already_keeps_its_reason(swapped):
    scene, other, mark = swapped
    build.quarantine(by=made.toolroom(), submission=uuid4(), assembly=other, note="dropped")

    differs(scene, mark)

    assert states(scene.assembly, other) == [OUT, OUT]
    assert made.again(other).state_note == "dropped"


def test_a_retired_assembly_stays_retired(swapped):
    scene, other, mark = swapped
    parts.retire(by=made.toolroom(), submission=uuid4(), assembly=scene.assembly, reason="worn")

    row = differs(scene, mark)

    assert states(scene.assembly, other) == [AssemblyState.RETIRED, OUT]
    assert row.act.details["quarantined"] == [other.number]


def test_it_is_taken_whatever_the_verdict_was_meanwhile(swapped):
    """It is said of the metal, not of the verdict: no change of the records makes it untrue."""
    scene, other, mark = swapped

    differs(scene, mark, seen_word="cant_tell", seen="another verdict")

    assert states(scene.assembly, other) == [OUT, OUT]


def test_sent_twice_it_is_one(swapped):
    scene, _, mark = swapped
    by, once = made.operator(), uuid4()
    ask = {"by": by, "submission": once, "reason": "mark_differs", "mark_there": mark}

    done = [scene.decide(Decision.REFUSED, **ask) for _ in range(2)]

    assert [d.repeated for d in done] == [False, True]
    assert SpindleCheck.objects.count() == 1
    assert Act.objects.filter(pk=once).count() == 1


def test_it_does_is_kept_with_the_load(swapped):
    scene, _, _ = swapped

    said = scene.load(mark_agrees=True)
    not_asked = scene.load()

    found = [{f["code"] for f in row.findings} for row in (said, not_asked)]
    assert ["label.holder_mark_agrees" in codes for codes in found] == [True, False]
    assert said.verdict == "match"


# ---- the page
@pytest.fixture
def shop():
    return open_shop()


def test_the_question_stands_under_each_verdict_with_both_answers(client, shop):
    code = shop.label(shop.built("H-07"))
    shop.stand_at(client, shop.operator)
    page = client.get(f"/S/{code}").text

    question = page.split('id="mark"')[1].split("</section>")[0]
    assert "H-07" in question
    assert ("It differs" in question, "It does" in question) == (True, True)
    assert page.index("verdict-actions") < page.index('id="mark"') < page.index('id="load"')
    assert "It reads H-07. Loaded" in page


def test_under_a_stop_it_can_still_differ(client, shop):
    code = shop.label(shop.built("H-07"))
    shop.stand_at(client, shop.operator)
    page = client.get(f"/S/{code}?t=3").text

    question = page.split('id="mark"')[1].split("</section>")[0]
    assert ("It differs" in question, "It does" in question) == (True, False)


def test_who_only_looks_is_not_asked(client, shop):
    code = shop.label(shop.built("H-07"))
    shop.stand_at(client, makers.person("buyer"))

    assert 'id="mark"' not in client.get(f"/S/{code}").text


def sent(page, form, **changes):
    names = ("submission", "decision", "seen", "seen_word", "mark_agrees")
    return {name: page.context[form][name].value() for name in names} | changes


def test_the_button_of_the_load_says_that_it_agrees(client, shop):
    code = shop.label(shop.built("H-07"))
    shop.stand_at(client, shop.operator)
    client.post(f"/S/{code}", sent(client.get(f"/S/{code}"), "load", shown_number="5"))

    codes = {f["code"] for f in SpindleCheck.objects.get().findings}
    assert "label.holder_mark_agrees" in codes


def test_it_differs_on_the_page_leads_to_both_numbers(client, shop):
    mine, other = shop.built("H-07"), shop.built("H-03")
    code = shop.label(mine)
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "differs", reason="mark_differs", mark_there="h03")

    recorded = client.get(client.post(f"/S/{code}", form).url)

    assert recorded.context["quarantined"] == [mine.number, other.number]
    assert f"{mine.number} and {other.number} are quarantined" in recorded.text


@pytest.mark.parametrize(
    ("typed", "told"), [("H-99", "No assembly with holder H-99"), ("", "was not keyed")]
)
def test_where_the_other_one_is_not_known_the_page_says_so(client, shop, typed, told):
    code = shop.label(shop.built("H-07"))
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "differs", reason="mark_differs", mark_there=typed)

    assert told in client.get(client.post(f"/S/{code}", form).url).text


def test_a_mark_that_is_the_one_on_record_comes_back_to_the_open_question(client, shop):
    code = shop.label(shop.built("H-07"))
    shop.stand_at(client, shop.operator)
    form = sent(client.get(f"/S/{code}"), "differs", reason="mark_differs", mark_there="H-07")

    page = client.post(f"/S/{code}", form)

    assert page.context["refused"].code == "check.mark_same"
    assert page.context["differs_open"] is True
    assert page.context["differs"]["mark_there"].value() == "H-07"
    assert not SpindleCheck.objects.exists()
