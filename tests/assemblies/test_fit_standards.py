"""What the fit rules say, held against the figures of the standards, each re-keyed here.

The tables of `crib/data` have tests of their own; here the rules answer for whole stacks.
"""

from dataclasses import replace
from itertools import product

import pytest

from assemblies.rules.fit import seat_findings, stack_findings
from assemblies.rules.stack import (
    ColletPart,
    CutterPart,
    HolderPart,
    MachineFacts,
    ShopLimits,
    SleevePart,
    Stack,
    Stage,
)
from tests.assemblies.stacks import COLLET, CUTTER, HOLDER, MILL_HOLDER, NUT, TABLES, levels

LIMITS = ShopLimits()


def seated(**parts) -> dict[str, str]:
    return levels(seat_findings(Stack(**parts), LIMITS, TABLES))


# ---- ISO 15488:2003; ER8 and ER50 after DIN 6499
#: Smallest and largest shank of a series [um].
RANGES_UM = {
    "ER8": (500, 5_000),
    "ER11": (500, 7_000),
    "ER16": (500, 10_000),
    "ER20": (500, 13_000),
    "ER25": (500, 16_000),
    "ER32": (1_000, 20_000),
    "ER40": (2_000, 26_000),
    "ER50": (6_000, 34_000),
}


def collets_for(series, shank_um):
    """Labels of the collets of a series that the rules let hold a shank."""
    holder, cutter = replace(HOLDER, series=series), CutterPart(shank_um=shank_um)
    return [
        bore.label
        for bore in TABLES.collet_bores
        if bore.series == series
        for collet in [
            ColletPart(
                series=series, clamp_max_um=bore.clamp_max_um, clamp_min_um=bore.clamp_min_um
            )
        ]
        if "stop_hard"
        not in seated(
            holder=holder, collet=collet, nut=replace(NUT, series=series), cutter=cutter
        ).values()
    ]


@pytest.mark.parametrize("series", RANGES_UM)
def test_a_series_holds_its_range_and_nothing_beside_it(series):
    smallest_um, largest_um = RANGES_UM[series]
    over_um = {"ER40": 30_000}.get(series, largest_um)  # oversize collets 27 to 30 mm exist
    assert collets_for(series, largest_um)
    assert not collets_for(series, over_um + 1)
    if series != "ER50":  # its smallest metric collet is 12-10; below it is not in the tables
        assert collets_for(series, smallest_um)
        assert not collets_for(series, smallest_um - 1)


def test_inch_shanks_are_refused_by_the_collet_of_the_size_they_look_like():
    # 1 in = 25.4 mm exactly: 1/4, 1/2, 1/8 and 3/8 in beside 6, 12, 3 and 10 mm.
    for inch_um, metric_um in ((6_350, 6_000), (12_700, 12_000), (3_175, 3_000)):
        collet = replace(COLLET, clamp_max_um=metric_um, clamp_min_um=metric_um - 1_000)
        cutter = replace(CUTTER, shank_um=inch_um)
        found = seated(holder=HOLDER, collet=collet, nut=NUT, cutter=cutter)
        assert found["collet.shank_too_large"] == "stop_hard"
    collet = replace(COLLET, clamp_max_um=9_525, clamp_min_um=8_525)
    found = seated(holder=HOLDER, collet=collet, nut=NUT, cutter=replace(CUTTER, shank_um=10_000))
    assert found["collet.shank_too_large"] == "stop_hard"


# ---- ISO 286-1:2010, table 1: h has the upper deviation 0; IT6 and IT7 [um] by nominal size [mm]
IT_UM = {3: (6, 10), 6: (8, 12), 10: (9, 15), 18: (11, 18), 30: (13, 21), 50: (16, 25)}
#: The last size of each step, and one inside it.
SIZES = [(2, 3), (3, 3), (4, 6), (6, 6), (8, 10), (10, 10), (12, 18), (16, 18), (18, 18)]
SIZES += [(20, 30), (25, 30), (30, 30), (32, 50), (40, 50), (50, 50)]
EXACT = ["side_lock", "hydraulic", "shrink", "milling_chuck", "tap"]


@pytest.mark.parametrize(("size_mm", "step"), SIZES)
def test_a_bore_takes_a_shank_measured_within_h7_and_none_beside_it(size_mm, step):
    nominal_um, it7_um = size_mm * 1000, IT_UM[step][1]
    for off_um, fits in ((0, True), (-it7_um, True), (-it7_um - 1, False), (1, False)):
        cutter = CutterPart(
            shank_um=nominal_um, shank_measured_um=nominal_um + off_um, shank_form="HA"
        )
        for way in EXACT:
            found = seated(holder=HolderPart(clamping=way, bore_um=nominal_um), cutter=cutter)
            assert ("bore.same" in found) is fits, (way, off_um)
            assert ("bore.differs" in found) is not fits, (way, off_um)
        sleeve = SleevePart(suits="hydraulic", outer_um=60_000, bore_um=nominal_um)
        chuck = HolderPart(clamping="hydraulic", bore_um=60_000)
        found = seated(holder=chuck, sleeve=sleeve, cutter=cutter)
        assert ("sleeve.bore_same" in found) is fits, off_um


@pytest.mark.parametrize(("size_mm", "step"), SIZES)
def test_shrinking_looks_at_a_shank_outside_h6(size_mm, step):
    nominal_um, it6_um = size_mm * 1000, IT_UM[step][0]
    holder = HolderPart(clamping="shrink", bore_um=nominal_um)
    for off_um, within in ((0, True), (-it6_um, True), (-it6_um - 1, False)):
        cutter = CutterPart(
            shank_um=nominal_um,
            shank_measured_um=nominal_um + off_um,
            shank_form="HA",
            material="solid carbide",
        )
        troubled = {
            code: level
            for code, level in seated(holder=holder, cutter=cutter).items()
            if level not in ("pass", "note") and not code.startswith("coolant")
        }
        assert (troubled == {}) is within, (off_um, troubled)


# ---- DIN 6535:1992: HA plain, HB one or two flats, HE sloping flat
@pytest.mark.parametrize(
    ("clamping", "form", "level"),
    [
        ("side_lock", "HB", "pass"),
        ("side_lock", "HA", "stop_hard"),
        ("side_lock", "HE", "stop_hard"),
        ("side_lock", None, "unknown"),
        ("hydraulic", "HA", "pass"),
        ("hydraulic", "HB", "check"),
        ("hydraulic", "HE", "check"),
        ("hydraulic", None, "unknown"),
        ("shrink", "HA", "pass"),
        ("shrink", "HB", "check"),
        ("shrink", "HE", "check"),
        ("shrink", None, "unknown"),
    ],
)
def test_a_form_of_shank_is_asked_where_the_bore_depends_on_it(clamping, form, level):
    cutter = CutterPart(shank_um=12_000, shank_form=form, material="solid carbide")
    found = seated(holder=HolderPart(clamping=clamping, bore_um=12_000), cutter=cutter)
    assert [weight for code, weight in found.items() if code.startswith("shank.form")] == [level]


# ---- ISO 12164-1:2023, DIN 69893-1, -2, -5 and -6: cone by flange [mm]
CONES = {25: 19, 32: 24, 40: 30, 50: 38, 63: 48, 80: 60, 100: 75}
ONE_SMALLER = {40: 24, 50: 30, 63: 38, 80: 48, 100: 60}


def hollow_tapers():
    """Code -> flange and cone [mm]: B, D and F carry the cone of the next smaller flange."""
    sizes = {"A": CONES, "C": CONES, "E": CONES, "B": ONE_SMALLER, "D": ONE_SMALLER}
    sizes["F"] = ONE_SMALLER
    known = {row.code for row in TABLES.tapers}
    return {
        code: (flange, cone)
        for form, cones in sizes.items()
        for flange, cone in cones.items()
        if (code := f"HSK-{form}{flange}") in known
    }


HOLLOW = hollow_tapers()


def refused(holder_code, machine_code):
    """The one finding about two interfaces, through the front door."""
    holder = replace(MILL_HOLDER, interface=holder_code)
    stack = Stack(holder=holder, machine=MachineFacts(interface=machine_code))
    (finding,) = (
        found
        for found in stack_findings(stack, LIMITS, Stage.BUILD, TABLES)
        if found.code.startswith("interface.")
    )
    return finding


def test_the_hollow_tapers_of_the_tables_are_all_here():
    assert len(HOLLOW) == len([row for row in TABLES.tapers if row.code.startswith("HSK")])


def test_f63_has_the_cone_of_a50_and_e50_and_the_flange_of_a63():
    for other, why in (("A50", "Same cone"), ("E50", "Same cone"), ("A63", "Same flange")):
        for pair in ((f"HSK-{other}", "HSK-F63"), ("HSK-F63", f"HSK-{other}")):
            finding = refused(*pair)
            assert (finding.code, str(finding.level)) == ("interface.differs", "stop_hard")
            assert finding.remedy.startswith(why)


def test_every_two_hollow_tapers_are_refused_and_the_shared_cone_or_flange_is_said():
    for (one, (flange, cone)), (other, (its_flange, its_cone)) in product(HOLLOW.items(), repeat=2):
        finding = refused(one, other)
        if one == other:
            assert finding.code == "interface.same"
            continue
        assert str(finding.level) == "stop_hard", (one, other)
        assert finding.remedy.startswith("Same cone") is (cone == its_cone), (one, other)
        said = finding.remedy.startswith("Same flange, other cone")
        assert said is (flange == its_flange and cone != its_cone), (one, other)


# ---- ISO 7388-1, -2, ASME B5.50, DIN 2080-1 (ISO 297): one cone 7:24, gauge diameter by size [mm]
STEEP_MM = {"20": 22.225, "30": 31.75, "40": 44.45, "45": 57.15, "50": 69.85}
STEEP = {row.code: STEEP_MM[row.size] for row in TABLES.tapers if row.family == "7/24 steep taper"}


def test_every_two_steep_tapers_are_refused_and_the_shared_cone_is_said():
    assert len(STEEP) == 18
    for (one, mine_mm), (other, theirs_mm) in product(STEEP.items(), repeat=2):
        finding = refused(one, other)
        if one == other:
            assert finding.code == "interface.same"
            continue
        assert (finding.code, str(finding.level)) == ("interface.differs", "stop_hard")
        assert finding.remedy.startswith("Same cone") is (mine_mm == theirs_mm), (one, other)


def test_a_steep_and_a_hollow_taper_share_nothing_that_is_said():
    for one, other in product(("BT40", "SK50", "ISO 30 router"), ("HSK-A63", "HSK-F63", "PSC 63")):
        for pair in ((one, other), (other, one)):
            finding = refused(*pair)
            assert str(finding.level) == "stop_hard"
            assert finding.remedy.startswith("Fetch")
