"""Form fields for measures: what people type, and what is kept."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from crib.forms.fields import BalanceGradeField, HoursField, LengthField, PriceField, TorqueField


@pytest.mark.parametrize(
    ("field", "typed", "kept", "shown"),
    [
        (LengthField(), "12,7", 12_700, "12.7"),
        (LengthField(), "1 1/4 in", 31_750, "31.75"),
        (LengthField(), "100", 100_000, "100"),
        (LengthField(zero_allowed=True), "0", 0, "0"),
        (TorqueField(), "80 N·m", 80_000, "80"),
        (TorqueField(), "7,5", 7_500, "7.5"),
        (TorqueField(), "0.005", 5, "0.005"),
        (TorqueField(), "2000", 2_000_000, "2000"),
        (BalanceGradeField(), "2.5", 25, "2.5"),
        (PriceField(), "12.5", 1_250, "12.50"),
        (HoursField(), "500", 30_000, "500"),
        (HoursField(), "1,5 h", 90, "1.5"),
        (HoursField(), "0.02", 1, "0.02"),
        (HoursField(), "100000", 6_000_000, "100000"),
    ],
)
def test_a_measure_is_kept_whole_and_shown_as_typed_again(field, typed, kept, shown):
    assert field.clean(typed) == kept
    assert field.prepare_value(kept) == shown
    assert field.clean(shown) == kept
    assert not field.has_changed(kept, shown)


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        (LengthField(), "0"),
        (LengthField(), "-1"),
        (LengthField(), "12 furlongs"),
        (LengthField(), "1e9"),
        (LengthField(), ""),
        (TorqueField(), "0"),
        (TorqueField(), "2000.001"),
        (TorqueField(), "1.2345"),
        (TorqueField(), "NaN"),
        (TorqueField(), "1e5"),
        (TorqueField(), "-5"),
        (TorqueField(), "٨٠"),
        (PriceField(), "9" * 30),
    ],
)
def test_what_is_no_measure_is_refused(field, typed):
    with pytest.raises(ValidationError):
        field.clean(typed)


def test_an_empty_measure_is_not_zero():
    assert LengthField(required=False).clean("  ") is None


def test_every_count_of_minutes_reads_back_from_the_hours_shown():
    field = HoursField()
    assert [m for m in range(1, 601) if field.clean(field.prepare_value(m)) != m] == []


@pytest.mark.parametrize("typed", ["100001", "100000.01", "ten", "-1", "0"])
def test_what_is_no_time_of_use_is_refused(typed):
    with pytest.raises(ValidationError):
        HoursField().clean(typed)
