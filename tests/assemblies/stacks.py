"""One everyday stack as facts, and the reference tables, for the tests of the fit rules."""

from dataclasses import replace

from assemblies.rules.stack import (
    BuildFigures,
    ColletPart,
    Condition,
    CutterPart,
    HolderPart,
    MachineFacts,
    NutPart,
    ProgramCall,
    SleevePart,
    Stack,
    StudPart,
    StudState,
)
from crib.reference import tables

TABLES = tables()
IN_SERVICE = Condition.IN_SERVICE

HOLDER = HolderPart(
    mark="H-04",
    interface="ISO 30 router",
    clamping="collet",
    series="ER32",
    nose_thread="M40x1.5",
    gauge_length_um=50_000,
    max_rpm=24_000,
    mass_g=600,
    condition=IN_SERVICE,
)
COLLET = ColletPart(
    mark="C-06",
    series="ER32",
    clamp_max_um=12_000,
    clamp_min_um=11_000,
    length_um=40_000,
    hours=330,
    hours_limit=500,
    mass_g=100,
    condition=IN_SERVICE,
)
NUT = NutPart(
    mark="N-01",
    series="ER32",
    thread="M40x1.5",
    nut_type="standard",
    max_rpm=24_000,
    mass_g=140,
    condition=IN_SERVICE,
)
STUD = StudPart(StudState.FITTED, "B")
CUTTER = CutterPart(
    mark="K-01",
    kind="compression",
    diameter_um=12_000,
    shank_um=12_000,
    plain_shank_um=40_000,
    overall_um=83_000,
    flute_um=42_000,
    max_rpm=24_000,
    hand="right",
    mass_g=120,
    insert_seats=0,
    condition=IN_SERVICE,
)
FIGURES = BuildFigures(
    stickout_um=45_000,
    grip_um=38_000,
    torque_mnm=136_000,
    gauge_length_um=95_000,
    diameter_um=12_000,
    runout_um=12,
)
ROUTER_2 = MachineFacts(
    mark="R2",
    interface="ISO 30 router",
    stud_pattern="B",
    max_rpm=24_000,
    min_rpm=6_000,
    rotations=frozenset({"cw"}),
    is_router=True,
    max_gauge_length_um=120_000,
    max_diameter_um=90_000,
    max_mass_g=4_000,
)
#: Assembly 1041 in Router 2 for T1 of HM-0412: everything agrees.
STACK = Stack(
    holder=HOLDER,
    collet=COLLET,
    nut=NUT,
    stud=STUD,
    cutter=CUTTER,
    figures=FIGURES,
    machine=ROUTER_2,
    call=ProgramCall(18_000, "cw"),
)

MILL = MachineFacts(
    mark="M1",
    interface="HSK-A63",
    stud_pattern="not_used",
    max_rpm=12_000,
    min_rpm=50,
    rotations=frozenset({"cw", "ccw"}),
    is_router=False,
    max_gauge_length_um=250_000,
    max_diameter_um=125_000,
    max_mass_g=8_000,
    max_diameter_beside_um=75_000,
    max_moment_mnm=12_000,
    moment_plane_um=0,
    coolant_through=True,
)
MILL_HOLDER = HolderPart(
    mark="H-13",
    interface="HSK-A63",
    gauge_length_um=90_000,
    max_rpm=12_000,
    mass_g=1_300,
    coolant_through=True,
    condition=IN_SERVICE,
)
END_MILL = CutterPart(
    mark="K-18",
    kind="end_mill",
    diameter_um=12_000,
    shank_um=12_000,
    shank_measured_um=11_995,
    shank_form="HA",
    plain_shank_um=45_000,
    overall_um=83_000,
    flute_um=26_000,
    material="solid carbide",
    max_rpm=24_000,
    hand="right",
    mass_g=120,
    coolant_through=True,
    insert_seats=0,
    condition=IN_SERVICE,
)
DRILL = replace(END_MILL, mark="K-12", kind="drill", shank_form=None, material="high-speed steel")
TAP = replace(
    END_MILL,
    mark="K-16",
    kind="tap",
    shank_form="square",
    square_um=9_000,
    pitch_um=1_750,
    material="high-speed steel",
)
FACE_MILL = CutterPart(
    mark="K-10",
    kind="face_mill",
    diameter_um=50_000,
    bore_um=22_000,
    keyway_um=10_400,
    overall_um=40_000,
    flute_um=6_000,
    max_rpm=12_000,
    hand="right",
    mass_g=400,
    coolant_through=True,
    insert_seats=5,
    empty_seats=0,
    condition=IN_SERVICE,
)
HYDRAULIC_SLEEVE = SleevePart(
    mark="S-01",
    suits="hydraulic",
    outer_um=20_000,
    bore_um=12_000,
    length_um=50_000,
    sealed=True,
    max_rpm=25_000,
    mass_g=75,
    condition=IN_SERVICE,
)


def _in_the_mill(cutter, sleeve=None, torque_mnm=None, grip_um=40_000, **seat):
    """A stack in which everything agrees, on the mill."""
    shell = cutter.bore_um is not None
    return Stack(
        holder=replace(MILL_HOLDER, **seat),
        sleeve=sleeve,
        stud=StudPart(StudState.NOT_USED),
        cutter=cutter,
        figures=BuildFigures(
            stickout_um=40_000,
            grip_um=None if shell else grip_um,
            torque_mnm=torque_mnm,
            gauge_length_um=130_000,
            diameter_um=cutter.diameter_um,
            runout_um=10,
            mass_g=1_700,
            centre_um=40_000,
        ),
        machine=MILL,
        call=ProgramCall(4_000, "cw"),
    )


ARBOR_STACK = _in_the_mill(
    FACE_MILL,
    clamping="arbor",
    bore_um=22_000,
    spigot_um=19_000,
    key_um=10_000,
    screw_torque_mnm=45_000,
    torque_mnm=45_000,
)
#: One whole stack for each way of clamping; nothing is wrong with any of them.
BY_CLAMPING = {
    "collet": STACK,
    "arbor": ARBOR_STACK,
    "side_lock": _in_the_mill(
        replace(END_MILL, shank_form="HB"),
        clamping="side_lock",
        bore_um=12_000,
        bore_depth_um=46_000,
        grip_min_um=36_000,
        screw_torque_mnm=20_000,
        torque_mnm=20_000,
    ),
    "hydraulic": _in_the_mill(
        END_MILL,
        HYDRAULIC_SLEEVE,
        grip_um=42_000,
        clamping="hydraulic",
        bore_um=20_000,
        bore_depth_um=51_000,
        grip_min_um=41_000,
    ),
    "shrink": _in_the_mill(
        END_MILL, clamping="shrink", bore_um=12_000, bore_depth_um=46_000, grip_min_um=36_000
    ),
    "milling_chuck": _in_the_mill(
        END_MILL, clamping="milling_chuck", bore_um=12_000, bore_depth_um=50_000, grip_min_um=38_000
    ),
    "drill_chuck": _in_the_mill(DRILL, clamping="drill_chuck", bore_um=13_000, bore_min_um=1_000),
    "tap": _in_the_mill(
        TAP, clamping="tap", bore_um=12_000, square_um=9_000, bore_depth_um=45_000, grip_um=30_000
    ),
}


def stack(**changes) -> Stack:
    """The everyday stack with whole parts replaced."""
    return replace(STACK, **changes)


def levels(findings) -> dict[str, str]:
    """Code -> level of findings, for comparing with a table."""
    return {finding.code: str(finding.level) for finding in findings}


def troubles(findings) -> dict[str, str]:
    """Code -> level of everything that is neither a pass nor a note."""
    return {f.code: str(f.level) for f in findings if str(f.level) not in ("pass", "note")}
