"""Names and revision marks that are proposed."""

from __future__ import annotations

import pytest

from assemblies.rules.program_names import names_in, next_mark


@pytest.mark.parametrize(
    ("marks", "proposed"),
    [
        ([], "A"),
        (["A"], "B"),
        (["A", "B"], "C"),
        (["B", "A"], "C"),
        (["a"], "b"),
        (["Z"], "AA"),
        (["AZ"], "BA"),
        (["ZZ"], "AAA"),
        (["9"], "10"),
        (["09"], "10"),
        (["r1"], "r2"),
        (["2.9"], "2.10"),
        (["B2"], "B3"),
        (["draft"], "draft2"),
        (["A", "Ä"], "Ä2"),
        (["C-"], "C-2"),
        (["X" * 12], ""),
        (["9" * 12], ""),
    ],
)
def test_the_next_mark_counts_the_last_one_up(marks, proposed):
    assert next_mark(marks) == proposed


@pytest.mark.parametrize(
    ("file_name", "first", "second"),
    [
        ("HM-0412.nc", ("HM-0412", ""), None),
        ("HM-0412_C.nc", ("HM-0412_C", ""), ("HM-0412", "C")),
        ("HM-0412 rev C.TAP", ("HM-0412 rev C", ""), ("HM-0412", "C")),
        ("panel-12.nc", ("panel-12", ""), ("panel", "12")),
        ("C:\\jobs\\HM-1.nc", ("HM-1", ""), ("HM", "1")),
        ("../../HM-0412.nc", ("HM-0412", ""), None),
        ("no ending", ("no ending", ""), None),
    ],
)
def test_the_file_name_stands_first_and_is_divided_where_a_mark_seems_to_follow(
    file_name, first, second
):
    found = [(one.name, one.mark) for one in names_in(file_name, "", "")]
    assert found == [one for one in (first, second) if one]


def test_without_a_file_the_number_stands_before_the_words():
    assert [one.name for one in names_in("", "0412", "SIDE PANEL")] == ["O0412", "SIDE PANEL"]
    assert names_in("", "", "") == []
    assert [one.name for one in names_in("", "1", "W" * 61)] == ["O1"]
