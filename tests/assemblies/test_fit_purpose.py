"""The cutter on the bench against the tool number it is built for."""

from __future__ import annotations

import pytest

from assemblies.rules.purpose import Wanted, purpose_findings
from assemblies.rules.stack import CutterPart

OTHER_SIZE = {"purpose.diameter_differs": "check"}
WANTED = Wanted("T5 in HM-0377 B", "spiral_up", 6_000, 30)


@pytest.mark.parametrize(
    ("kind", "diameter_um", "expected"),
    [
        ("spiral_up", 6_000, {"purpose.kind_same": "pass", "purpose.diameter_same": "pass"}),
        ("spiral_up", 6_030, {"purpose.kind_same": "pass", "purpose.diameter_same": "pass"}),
        ("spiral_up", 6_031, {"purpose.kind_same": "pass", "purpose.diameter_differs": "check"}),
        ("spiral_up", 6_350, {"purpose.kind_same": "pass", "purpose.diameter_differs": "check"}),
        ("spiral_down", 6_031, {"purpose.kind_differs": "stop_soft", **OTHER_SIZE}),
        (None, None, {}),
    ],
)  # fmt: skip
def test_kind_and_diameter_are_held_against_the_purpose(kind, diameter_um, expected):
    cutter = CutterPart(kind=kind, diameter_um=diameter_um)
    found = {f.code: str(f.level) for f in purpose_findings(cutter, WANTED)}
    assert found == expected


def test_what_is_not_stated_is_not_asked():
    assert purpose_findings(CutterPart(kind="drill", diameter_um=5_000), Wanted("T9")) == []
    assert purpose_findings(None, WANTED) == []
