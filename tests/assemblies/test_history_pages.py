"""What was measured over time: of an assembly, of a piece, drawn and as figures."""

import pytest
from django.urls import reverse

from assemblies.actions.history import history_of_assembly, history_of_piece
from crib.models import HolderFacts, Piece
from crib.rules.plot import Line
from tests import assembly_makers as made
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def shop(module_rows):
    """An assembly measured, released, measured again and moved; its parts; an operator."""
    parts = made.some_parts()
    assembly = made.measured(parts, runout=8)
    made.record(assembly, runout=14)
    made.let_go(assembly, made.REASON)
    made.record(assembly, gauge_length=97_400)
    return {"assembly": assembly, "parts": parts, "client": signed_in("operator")}


def parts_of(history):
    return {part.title: part for part in history.parts}


def test_a_reading_carried_over_is_not_shown_twice(shop):
    found = parts_of(history_of_assembly(shop["assembly"]))

    assert found["Runout"].values_um == (8, 14)
    assert found["Gauge length"].values_um == (97_000, 97_400)
    assert [row.build.revision for row in found["Gauge length"].rows] == [1, 2]
    assert "Corner radius" not in found


def test_limits_and_the_median_are_lines(shop):
    found = parts_of(history_of_assembly(shop["assembly"]))
    runout = {level.line: level.y for level in found["Runout"].levels}
    length = {level.line: level.y for level in found["Gauge length"].levels}

    # 12 mm on a holder for routers: twice 0.015.
    assert runout == {Line.LIMIT: 30, Line.MEDIAN: 11}
    assert length == {Line.WANTED: 97_000, Line.MEDIAN: 97_200}


def test_what_was_touched_makes_a_series_of_its_own(shop):
    names = [one.name for one in parts_of(history_of_assembly(shop["assembly"]))["Runout"].series]

    assert names == ["Not said on what"]


def test_the_page_draws_and_lists_the_same_figures(shop, django_assert_max_num_queries):
    with django_assert_max_num_queries(14):
        page = shop["client"].get(reverse("assemblies:history", args=[shop["assembly"].number]))
    text = text_of(page)

    assert page.content.count(b'<svg class="plot"') == 3
    assert b"style=" not in page.content
    assert "0.008 to 0.014 mm, median 0.011. Limit 0.030." in text
    assert "97.40" in text


def test_a_piece_shows_every_build_it_was_part_of(shop):
    holder = shop["parts"].holder
    found = parts_of(history_of_piece(Piece.objects.get(pk=holder.pk)))

    assert found["Runout"].values_um == (8, 14)
    assert found["Gauge length less the sum of holder and stick-out"].values_um == (0, 400)
    page = shop["client"].get(reverse("assemblies:piece_history", args=[holder.mark]))
    assert page.status_code == 200
    assert str(shop["assembly"].number) in text_of(page)


def test_lengths_without_a_sum_are_left_out_and_counted(shop):
    holder = Piece.objects.get(pk=shop["parts"].holder.pk)
    HolderFacts.objects.filter(item=holder.item).update(gauge_length_um=None)
    history = history_of_piece(holder)

    assert ([part.title for part in history.parts], history.left_out) == (["Runout"], 2)
    page = shop["client"].get(reverse("assemblies:piece_history", args=[holder.mark]))
    assert "2 gauge lengths left out of the sum" in text_of(page)


def test_a_cutter_shows_its_size(shop):
    found = parts_of(history_of_piece(shop["parts"].cutter))

    assert found["Cutting diameter"].values_um == (12_000,)
    assert [level.y for level in found["Cutting diameter"].levels] == [12_000, 12_000]


def test_what_was_never_measured_says_so(shop):
    empty = made.started()
    page = shop["client"].get(reverse("assemblies:history", args=[empty.number]))

    assert "Nothing was measured yet." in text_of(page)
    assert b'<svg class="plot"' not in page.content


def test_a_piece_or_an_assembly_that_is_not_there(shop):
    for address in ("/measured/NO-SUCH/", "/assemblies/9999/history/"):
        assert shop["client"].get(address).status_code == 404
