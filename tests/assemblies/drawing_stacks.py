"""One assembly for each way of clamping, with every figure on record."""

from __future__ import annotations

from assemblies.rules.drawing.side import NutForm, SideFacts, TaperForm

_ROUTER = {"taper": TaperForm.ROUTER, "gauge_diameter_um": 31_750, "flange_diameter_um": 50_000}
_STEEP = {"taper": TaperForm.STEEP, "gauge_diameter_um": 44_450, "flange_diameter_um": 63_550}
_THICK = {"taper": TaperForm.STEEP_THICK, "gauge_diameter_um": 44_450, "flange_diameter_um": 63_000}
_HOLLOW = {"taper": TaperForm.HOLLOW, "gauge_diameter_um": 48_000, "flange_diameter_um": 63_000}
_SMALL_HOLLOW = _HOLLOW | {"gauge_diameter_um": 38_000}


def _cutter(kind: str, diameter_um: int, flute_um: int, **more) -> dict:
    return {
        "kind": kind,
        "shank_um": diameter_um,
        "diameter_um": diameter_um,
        "nominal_diameter_um": diameter_um,
        "flute_um": flute_um,
        "teeth": 2,
    } | more


def _lengths(holder_um: int, stickout_um: int, **more) -> dict:
    return {
        "holder_um": holder_um,
        "stickout_um": stickout_um,
        "gauge_length_um": holder_um + stickout_um + 20,
    } | more


STACKS: dict[str, SideFacts] = {
    "er_router": SideFacts(
        **_ROUTER,
        **_lengths(50_000, 45_000, grip_um=38_000),
        **_cutter("compression", 12_000, 42_000),
        stud="fitted",
        nose_diameter_um=50_000,
        nut_um=50_000,
        collet_gauge_um=32_000,
        collet_length_um=40_000,
    ),
    "er_hollow": SideFacts(
        **_SMALL_HOLLOW,
        **_lengths(76_000, 40_000, grip_um=26_000),
        **_cutter("ball_nose", 6_000, 12_000),
        nose_diameter_um=32_000,
        nut_um=32_000,
        nut_form=NutForm.HEX,
        collet_gauge_um=16_000,
        collet_length_um=27_500,
    ),
    "side_lock": SideFacts(
        **_STEEP,
        **_lengths(63_000, 44_000, grip_um=48_000),
        **_cutter("bull_nose", 16_000, 32_000, corner_radius_um=2_000, shank_form="HB"),
        stud="fitted",
        clamping="side_lock",
        nose_diameter_um=48_000,
        bore_um=16_000,
        bore_depth_um=52_000,
    ),
    "shrink": SideFacts(
        **_HOLLOW,
        **_lengths(85_000, 38_000, grip_um=45_000),
        **_cutter("end_mill", 12_000, 26_000, teeth=4),
        clamping="shrink",
        nose_diameter_um=24_000,
        bore_um=12_000,
        bore_depth_um=47_000,
    ),
    "hydraulic": SideFacts(
        **_THICK,
        **_lengths(90_000, 35_000, grip_um=40_000),
        **_cutter("reamer", 10_000, 20_000, teeth=6),
        stud="fitted",
        clamping="hydraulic",
        nose_diameter_um=38_000,
        bore_um=20_000,
        bore_depth_um=51_000,
        sleeve_um=20_000,
        sleeve_length_um=50_000,
    ),
    "milling_chuck": SideFacts(
        **_THICK,
        **_lengths(90_000, 50_000, grip_um=52_000),
        **_cutter("chamfer", 20_000, 20_000, point_angle_tenths=900),
        stud="fitted",
        clamping="milling_chuck",
        nose_diameter_um=54_000,
        bore_um=20_000,
        bore_depth_um=60_000,
    ),
    "drill_chuck": SideFacts(
        **_STEEP,
        **_lengths(95_000, 88_000, grip_um=30_000),
        **_cutter("drill", 8_500, 75_000, point_angle_tenths=1180),
        stud="fitted",
        clamping="drill_chuck",
        nose_diameter_um=50_000,
    ),
    "arbor": SideFacts(
        **_STEEP,
        **_lengths(45_000, 40_000),
        **_cutter("face_mill", 63_000, 9_000, seats=5, teeth=5, shank_um=None),
        stud="fitted",
        clamping="arbor",
        nose_diameter_um=48_000,
        bore_um=22_000,
        spigot_um=19_000,
        key_um=10_400,
    ),
    "tap": SideFacts(
        **_THICK,
        **_lengths(85_000, 60_000, grip_um=25_000),
        **_cutter("tap", 10_000, 24_000, pitch_um=1_500, shank_form="square"),
        stud="fitted",
        clamping="tap",
        nose_diameter_um=36_000,
        square_um=8_000,
    ),
}
