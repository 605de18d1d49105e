"""The pages of runout by part and of the re-clock test, walked without a script."""

from __future__ import annotations

import re
from html import unescape
from itertools import product
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from assemblies.actions.build import quarantine, start_rebuild
from assemblies.actions.parts import retire
from assemblies.models import Assembly, Build, Measurement, Reclocking
from crib.models import Act, Condition, Instrument, Piece
from tests import assembly_makers as asm
from tests import makers
from tests.crib.pages import signed_in, submission_in, text_of

pytestmark = pytest.mark.django_db

LIST = "/runout/"
HOLDERS, COLLETS = 4, 6


def url(name: str, *args) -> str:
    return reverse(f"assemblies:{name}", args=args)


# ---- a shop in which one collet runs out
class Shop:
    """One released assembly, and ended revisions of it in which every pair was measured once."""

    def __init__(self) -> None:
        self.assembly = asm.released()
        self.act = Act.objects.create(id=uuid4(), kind="build.measure", by=makers.person("admin"))
        at = makers.place()
        live = self.assembly.builds.get(live=True)
        self.parts = {part.role: part for part in live.parts.all()}
        holder, collet = (self.parts[role].piece for role in ("holder", "collet"))
        item = collet.item
        self.holders = [holder, *(makers.piece(holder.item, at) for _ in range(HOLDERS - 1))]
        self.collets = [collet, *(makers.piece(item, at) for _ in range(COLLETS - 1))]
        for number, (h, c) in enumerate(product(range(HOLDERS), range(COLLETS))):
            value_um = 8 + (2 * h + c) % 3 + 12 * (c == 0)
            self.measured(number, self.holders[h], self.collets[c], value_um)

    def measured(self, number: int, holder: Piece, collet: Piece, value_um: int) -> None:
        now = timezone.now()
        build = Build.objects.create(
            assembly=self.assembly,
            revision=100 + number,
            live=False,
            built_at=now,
            built_by=self.act.by,
            ended_at=now,
        )
        for piece in (holder, collet):
            build.parts.create(role=piece.item.kind, item=piece.item, piece=piece, live=False)
        build.parts.create(role="nut", item=self.parts["nut"].item, live=False)
        self.read(build, value_um)

    def read(self, build: Build, value_um: int, **facts) -> None:
        usual = {"read_on": "shank", "distance_um": 36_000, "act": self.act, "by": self.act.by}
        Measurement.objects.create(
            build=build, quantity="runout", value_um=value_um, **usual | facts
        )


@pytest.fixture(scope="module")
def standing(module_rows):
    return Shop()


@pytest.fixture
def shop(db, standing) -> Shop:
    standing.assembly = asm.again(standing.assembly)
    return standing


# ---- the list
def test_the_list_names_the_bad_collet_and_leads_to_its_test(shop):
    answer = signed_in("toolroom").get(LIST)
    page, bad = answer.content.decode(), shop.collets[0]
    assert [line.row.part.name for line in answer.context["look"]] == [bad.mark]
    assert f'href="{url("reclock", shop.assembly.number)}"' in page
    assert page.count('class="runout-look"') == 1
    assert "24 readings compared, of 25 revisions with runout" in text_of(answer)


def test_every_part_has_its_line_and_loose_ones_are_not_blamed(shop):
    lines = signed_in("operator").get(LIST).context["lines"]
    assert len(lines) == HOLDERS + COLLETS + 1
    loose = [line for line in lines if not line.row.part.marked]
    assert [(line.row.part.kind, line.word, line.adds) for line in loose] == [
        ("nut", "Loose parts", "")
    ]


def test_who_may_not_build_sees_the_assembly_without_the_test(shop):
    page = signed_in("buyer").get(LIST).content.decode()
    assert url("reclock", shop.assembly.number) not in page
    assert url("assembly_detail", shop.assembly.number) in page


def test_readings_that_do_not_compare_are_counted_with_their_reason(shop):
    live = shop.assembly.builds.get(live=True)
    shop.read(live, 90, read_on="flutes")
    shop.read(live, 90, read_on="")
    counts = dict(signed_in("operator").get(LIST).context["found"].chosen.counts)
    assert counts["read on flutes, which give no continuous trace"] == 1
    # With that of the release, which says neither place nor distance.
    assert counts["not said what was touched"] == 2


def test_a_scrapped_piece_is_no_work_any_more(shop):
    Piece.objects.filter(pk=shop.collets[0].pk).update(condition=Condition.SCRAPPED)
    answer = signed_in("toolroom").get(LIST)
    assert answer.context["look"] == []
    assert "scrapped" in text_of(answer)


def test_high_spots_of_a_holder_that_point_one_way_are_told(shop):
    for build in Build.objects.filter(parts__piece=shop.holders[1]):
        shop.read(build, 9, clock_deg=40)
    page = text_of(signed_in("operator").get(LIST))
    assert "One way: the holder itself, or the spindle" in page


def test_nose_and_shank_together_tell_how_far_it_leans(shop):
    live = shop.assembly.builds.get(live=True)
    shop.read(live, 5, read_on="nose", distance_um=0)
    shop.read(live, 20, distance_um=50_000)
    assert "leans by 0.15 to 0.25 µm for each mm" in text_of(signed_in("operator").get(LIST))


def test_the_list_asks_as_often_for_thirty_builds_as_for_one(shop, django_assert_num_queries):
    client = signed_in("operator")
    with django_assert_num_queries(5):
        client.get(LIST)
    for number in range(30, 36):
        shop.measured(
            number, makers.piece(shop.holders[0].item, makers.place()), shop.collets[1], 9
        )
    with django_assert_num_queries(5):
        client.get(LIST)


def test_a_piece_shows_its_readings_and_which_count(shop):
    bad = shop.collets[0]
    answer = signed_in("operator").get(url("runout_piece", bad.mark))
    assert "Look at it on the bench" in text_of(answer)
    readings = answer.context["readings"]
    assert len(readings) == HOLDERS + 1
    assert sum(not line.why_not for line in readings) == HOLDERS


def test_a_piece_never_measured_says_so_and_a_mark_that_is_none_is_not_found(shop):
    idle = makers.piece(makers.collet_item(), makers.place(), mark="C/91")
    client = signed_in("operator")
    assert "Runout was never read with it." in text_of(client.get(url("runout_piece", idle.mark)))
    assert client.get(url("runout_piece", "no such mark")).status_code == 404


# ---- the test, step by step
def forms_in(answer) -> dict[str, str]:
    """Hidden fields of the page's own form: what travels on to the next step."""
    main = answer.content.decode().split('class="card reclock"')[1]
    pairs = re.findall(r'<input type="hidden" name="([a-z_]+)" value="([^"]*)"', main)
    return {name: unescape(value) for name, value in pairs if name != "csrfmiddlewaretoken"}


TURN = {"turned": "collet", "read_on": "shank", "distance": "36"}
FIRST = {"first": "0.014", "first_hour": "1"}
SECOND = {"second": "6 µm", "second_deg": "200"}


def walk(client, number: int, *steps: dict):
    """The page after the steps given, each sent with what the page before carried along."""
    answer = client.get(url("reclock", number))
    for typed in steps:
        answer = client.get(url("reclock", number), forms_in(answer) | typed)
    return answer


def finish(client, number: int, page, **typed):
    carried = forms_in(page) | {"submission": submission_in(page)}
    return client.post(url("reclock", number), carried | SECOND | typed)


def test_four_screens_lead_to_an_answer_in_words(shop):
    client, number = signed_in("toolroom"), shop.assembly.number
    titles = [
        walk(client, number, *steps).context["step"]
        for steps in ((), (TURN,), (TURN, FIRST), (TURN, FIRST, {}))
    ]
    assert titles == [1, 2, 3, 4]
    page = walk(client, number, TURN, FIRST, {})
    answer = finish(client, number, page)
    row = Reclocking.objects.get()
    assert answer["Location"] == url("reclock_answer", number, row.pk)
    assert (row.first_um, row.first_deg, row.second_um, row.second_deg) == (14, 30, 6, 200)
    said = text_of(client.get(answer["Location"]))
    # The step is not recorded, so that the difference of 6 um is not enough.
    assert "Collet 0.010, rest of the stack 0.004: too close." in said
    assert "not recorded" in said


def test_with_a_fine_indicator_the_part_is_named(shop):
    meter = Instrument.objects.create(mark="D-02", kind="indicator", step_um=1)
    client, number = signed_in("toolroom"), shop.assembly.number
    page = walk(client, number, TURN | {"instrument": str(meter.pk)}, FIRST, {})
    said = text_of(client.get(finish(client, number, page)["Location"]))
    assert "Collet 0.010, rest of the stack 0.004: 0.006 bigger." in said
    assert "take another collet" in said


def test_the_third_screen_says_what_to_turn_and_how_tight(shop):
    said = text_of(walk(signed_in("toolroom"), shop.assembly.number, TURN, FIRST))
    assert "Turn the collet half a turn in its seat." in said
    assert "100 N·m" in said


def test_a_holder_is_turned_in_the_spindle_and_nothing_loosened(shop):
    client, number = signed_in("toolroom"), shop.assembly.number
    turn = TURN | {"turned": "holder"}
    assert "mark on the spindle" in text_of(walk(client, number, turn))
    said = text_of(walk(client, number, turn, FIRST))
    assert "Clamp it as before." in said
    assert "N·m" not in said
    answer = finish(client, number, walk(client, number, turn, FIRST, {}))
    assert "Measure it anew" not in text_of(client.get(answer["Location"]))


def test_one_step_back_keeps_what_was_entered(shop):
    client, number = signed_in("toolroom"), shop.assembly.number
    page = walk(client, number, TURN, FIRST)
    back = client.get(url("reclock", number) + page.context["walk"].back())
    assert back.context["step"] == 2
    assert forms_in(back)["turned"] == "collet"


@pytest.mark.parametrize(
    ("steps", "step", "error"),
    [
        (({"read_on": "shank"},), 1, "Pick the part to turn."),
        (({"turned": "nut", "read_on": "shank"},), 1, "Nothing was stored."),
        (({"turned": "collet"},), 1, "Say what the indicator touches."),
        (({"turned": "cutter", "read_on": "bar"},), 1, "no cutter to turn"),
        ((TURN, {"first": "14", "first_hour": "1"}), 2, "More than 1 mm is no runout."),
        ((TURN, {"first": "0.014"}), 2, "Tap the hour of the high spot."),
        ((TURN, FIRST | {"first_deg": "30"}), 2, "not both"),
        ((TURN, {"first": "0.014", "first_deg": "360"}), 2, "from 0 to 359"),
        ((TURN, {"first_hour": "1"}), 2, "required"),
    ],
)
def test_a_step_that_is_wrong_is_shown_again(shop, steps, step, error):
    page = walk(signed_in("toolroom"), shop.assembly.number, *steps)
    assert page.context["step"] == step
    assert error in text_of(page)


def test_a_wrong_last_step_stores_nothing_and_keeps_the_rest(shop):
    client, number = signed_in("toolroom"), shop.assembly.number
    page = finish(client, number, walk(client, number, TURN, FIRST, {}), second="")
    assert page.context["step"] == 4
    assert not Reclocking.objects.exists()
    assert forms_in(page)["first"] == "0.014"


def test_sent_twice_it_counts_once(shop):
    client, number = signed_in("toolroom"), shop.assembly.number
    page = walk(client, number, TURN, FIRST, {})
    first, second = finish(client, number, page), finish(client, number, page)
    assert first["Location"] == second["Location"]
    assert Reclocking.objects.count() == 1


def test_rebuilt_meanwhile_the_test_is_refused(shop):
    client, number = signed_in("toolroom"), shop.assembly.number
    page = walk(client, number, TURN, FIRST, {})
    finish(client, number, page)
    later = finish(client, number, page, submission=str(uuid4()))
    assert "Start the test again." in text_of(later)
    assert Reclocking.objects.count() == 1


def test_looking_writes_nothing(shop):
    before = asm.written()
    walk(signed_in("toolroom"), shop.assembly.number, TURN, FIRST, {})
    now = asm.written()
    assert {name: now[name] for name in before} == before


def test_a_draft_and_a_retired_assembly_are_told_what_to_do(shop):
    client, number = signed_in("toolroom"), shop.assembly.number
    start_rebuild(by=client.person, submission=uuid4(), assembly=shop.assembly, reason="clean")
    assert "It is a draft." in text_of(client.get(url("reclock", number)))
    retire(by=client.person, submission=uuid4(), assembly=shop.assembly, reason="worn")
    assert client.get(url("reclock", number))["Location"] == url("assembly_detail", number)


def test_a_quarantined_assembly_may_be_tested(shop):
    client = signed_in("toolroom")
    quarantine(by=client.person, submission=uuid4(), assembly=shop.assembly, note="runs out")
    assert client.get(url("reclock", shop.assembly.number)).context["open"]


def test_a_test_of_another_assembly_is_not_found(shop):
    client, number = signed_in("toolroom"), shop.assembly.number
    finish(client, number, walk(client, number, TURN, FIRST, {}))
    other = Assembly.objects.get(number=int(asm.started().number))
    pk = Reclocking.objects.get().pk
    assert client.get(url("reclock_answer", other.number, pk)).status_code == 404


def test_tests_stand_with_the_assembly_and_with_the_piece(shop):
    client, number = signed_in("toolroom"), shop.assembly.number
    finish(client, number, walk(client, number, TURN, FIRST, {}))
    link = url("reclock_answer", number, Reclocking.objects.get().pk)
    for page in (url("reclock", number), url("runout_piece", shop.collets[0].mark)):
        assert f'href="{link}"' in client.get(page).content.decode()
