"""Measured against nominal cutting diameter: the limits are a shop setting, common practice."""

from __future__ import annotations

import pytest

from assemblies.rules.diameter import diameter_finding
from assemblies.rules.stack import BuildFigures, CutterPart, ShopLimits


@pytest.mark.parametrize(
    ("measured_um", "nominal_um", "code", "level"),
    [
        (12_000, 12_000, "diameter.agrees", "pass"),
        (12_050, 12_000, "diameter.agrees", "pass"),
        (12_051, 12_000, "diameter.off_nominal", "check"),
        (11_500, 12_000, "diameter.agrees", "pass"),
        (11_499, 12_000, "diameter.off_nominal", "check"),
        (9_860, 10_000, "diameter.agrees", "pass"),  # sharpened
        (12_000, 12_700, "diameter.off_nominal", "check"),  # half an inch typed as 12 mm
        (6_000, 6_350, "diameter.off_nominal", "check"),  # a quarter inch that measures 6
        (6_031, 6_350, "diameter.agrees", "pass"),
        (6_030, 6_350, "diameter.off_nominal", "check"),
        (None, 12_000, "diameter.not_known", "unknown"),
        (12_000, None, "diameter.not_known", "unknown"),
    ],
)
def test_a_measured_diameter_has_to_be_that_of_the_cutter(measured_um, nominal_um, code, level):
    found = diameter_finding(
        BuildFigures(diameter_um=measured_um), CutterPart(diameter_um=nominal_um), ShopLimits()
    )
    assert (found.code, str(found.level)) == (code, level)
