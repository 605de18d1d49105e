"""The pages of sums: each by GET, with errors at their fields and nothing stored."""

from __future__ import annotations

import pytest

from assemblies.forms.sums import SUMS
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db

#: A filled-in form of every sum, and what its page has to say.
FILLED = {
    "speed": ({"diameter": "250", "cutting": "80"}, "101 1/min"),
    "chip": ({"chip": "0.1", "width": "1", "diameter": "10"}, "0.03108 mm"),
    "teeth": ({"chip": "0.002 in", "runout": "0.0005 in", "teeth": "2"}, "0.0025 in"),
    "rim": ({"diameter": "3 in", "speed": "24000"}, "18850 ft/min"),
    "balance": ({"grade": "2.5", "rated": "25000", "speed": "18000", "mass": "2 kg"}, "G 1.8"),
    "bending": ({"stickout": "60", "compared": "50"}, "1.73 times as far"),
    "force": (
        {
            "rough": "on",
            "work": "aluminium_hard",
            "diameter": "12.7",
            "teeth": "2",
            "speed": "18000",
            "chip": "0.1",
            "depth": "6",
            "width": "12.7",
        },
        "7.3 kW",
    ),
    "wrench": ({"torque": "80", "reach": "400", "adapter": "50"}, "71.1 N·m"),
    "torque": ({"torque": "100 lbf·ft"}, "135.6 N·m"),
    "mass": (
        {
            "holder_mass": "1100",
            "holder_at": "30",
            "nut_mass": "140",
            "nut_at": "62",
            "collet_mass": "100",
            "collet_at": "50",
            "cutter_mass": "250",
            "cutter_at": "90",
            "plane": "-15",
        },
        "0.9123 N·m",
    ),
    "turned-part": ({"first": "40", "length": "60", "stuff": "steel"}, "591.9 g"),
    "lives": ({"worn": "54 187 216 240", "broken": "244", "running": "500 500"}, "240 min"),
    "two-tests": (
        {
            "first_speed": "60",
            "first_life": "81",
            "second_speed": "90",
            "second_life": "36",
            "wanted": "75",
        },
        "51.84 min",
    ),
    "life-used": ({"ran": "20 10", "of": "81 36"}, "52.5 %"),
}


def url(name):
    return f"/sums/{name}/"


@pytest.fixture(scope="module")
def client(module_rows):
    return signed_in("operator")


def test_every_sum_has_a_filled_in_form_here():
    assert FILLED.keys() == SUMS.keys()


def test_the_list_leads_to_every_sum(client, django_assert_num_queries):
    with django_assert_num_queries(2):
        page = client.get("/sums/").content.decode()
    assert all(f'href="{url(name)}"' in page for name in SUMS)


@pytest.mark.parametrize("name", SUMS)
def test_an_empty_sum_asks_and_claims_nothing(client, name):
    answer = client.get(url(name))
    assert answer.context["answers"] == []
    assert not answer.context["form"].errors
    assert "Work it out" in text_of(answer)


@pytest.mark.parametrize("name", FILLED)
def test_a_filled_in_sum_answers_with_formula_and_source(client, name, django_assert_num_queries):
    typed, said = FILLED[name]
    with django_assert_num_queries(2):
        page = client.get(url(name), typed)
    assert said in text_of(page)
    (answer,) = page.context["answers"]
    assert answer.formula
    assert answer.source
    assert ("Estimate" in text_of(page)) is answer.estimate


@pytest.mark.parametrize(
    ("name", "changed", "field"),
    [
        ("speed", {"diameter": ""}, "diameter"),
        ("speed", {"diameter": "12 kg"}, "diameter"),
        ("speed", {"diameter": "0"}, "diameter"),
        ("speed", {"diameter": "-3"}, "diameter"),
        ("speed", {"cutting": ""}, "cutting"),
        ("speed", {"speed": "18000"}, "speed"),
        ("speed", {"cutting": "", "speed": "200001"}, "speed"),
        ("speed", {"chip": "0.1"}, "teeth"),
        ("speed", {"teeth": "2.5"}, "teeth"),
        ("speed", {"teeth": "2", "chip": "0.1", "feed": "3600"}, "feed"),
        ("chip", {"width": "10.001"}, "width"),
        ("teeth", {"teeth": "0"}, "teeth"),
        ("balance", {"rated": "x"}, "rated"),
        ("bending", {"rough": "on", "shank": "12", "stuff": "carbide"}, "force"),
        ("bending", {"rough": "on", "force": "100", "shank": "12", "stuff": "glass"}, "stuff"),
        (
            "bending",
            {"rough": "on", "force": "100", "shank": "12", "stuff": "hss", "flute": "20"},
            "diameter",
        ),
        ("force", {"rough": ""}, "rough"),
        ("force", {"work": "mdf"}, "work"),
        ("force", {"efficiency": "101"}, "efficiency"),
        ("wrench", {"adapter": "1/0 in"}, "adapter"),
        ("mass", {"nut_at": ""}, "nut_at"),
        ("mass", {"nut_mass": ""}, "nut_mass"),
        ("mass", {"plane": "-2000"}, "plane"),
        ("lives", {"worn": "54 ten"}, "worn"),
        ("lives", {"worn": "0"}, "worn"),
        ("lives", {"planned": "3"}, "failure"),
        ("lives", {"worn": "1 " * 501}, "worn"),
        ("two-tests", {"second_life": "90"}, "second_life"),
        ("two-tests", {"wanted": "91"}, "wanted"),
        ("life-used", {"of": "81"}, "of"),
    ],
)
def test_a_bad_figure_names_its_field_and_gives_no_answer(client, name, changed, field):
    page = client.get(url(name), FILLED[name][0] | changed)
    assert list(page.context["form"].errors) == [field]
    assert page.context["answers"] == []
    assert "No answer yet" in text_of(page)


@pytest.mark.parametrize("name", ["mass", "lives"])
def test_a_sum_of_nothing_is_asked_for_something(client, name):
    page = client.get(url(name), {"plane": "0", "planned": ""})
    assert len(page.context["form"].errors) == 1


def test_bending_in_figures_is_only_shown_when_asked_for(client):
    typed = {"stickout": "50", "compared": "50", "force": "100", "shank": "12.7"}
    typed |= {"stuff": "carbide"}
    assert "factor of two" not in " ".join(
        client.get(url("bending"), typed).context["answers"][0].notes
    )
    page = client.get(url("bending"), typed | {"rough": "on"})
    rough = page.context["answers"][1]
    assert rough.lines[0].text == "0.0056 mm = 0.00022 in"
    assert "Good to a factor of two, no better." in rough.notes


def test_a_sum_that_there_is_none_of_is_not_found(client):
    assert client.get("/sums/weather/").status_code == 404


def test_a_sum_takes_no_post(client):
    assert client.post(url("torque"), {"torque": "1"}).status_code == 405


@pytest.mark.parametrize("name", SUMS)
def test_odd_signs_break_no_sum(client, name):
    for text in ("<b>", "Ω", "9" * 5000, "1/1/1", "--1"):
        page = client.get(url(name), dict.fromkeys(SUMS[name]().fields, text))
        assert page.status_code == 200
        assert page.context["answers"] == []


@pytest.mark.parametrize("name", FILLED)
@pytest.mark.parametrize("extreme", ["0.0000000001", "0.001", "60", "900000"])
def test_extreme_figures_are_answered_or_refused_at_their_field(client, name, extreme):
    """One figure after the other taken to its extreme, then all at once."""
    typed = FILLED[name][0]
    figures = {key: extreme for key, text in typed.items() if text[0] in "-0123456789"}
    for changed in ({key: extreme} for key in figures):
        assert answered(client, name, typed | changed)
    assert answered(client, name, typed | figures)


def answered(client, name, typed) -> bool:
    page = client.get(url(name), typed)
    assert page.status_code == 200
    return bool(page.context["answers"]) is not bool(page.context["form"].errors)


def test_a_table_of_an_answer_says_in_each_cell_what_it_is(client):
    page = client.get(url("lives"), FILLED["lives"][0]).content.decode()
    assert page.count('data-label="Still running"') == 5
