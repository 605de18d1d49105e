"""Sums of the bench, in words: balance, bending, force, wrench, torque, mass."""

from __future__ import annotations

from collections.abc import Sequence

from assemblies.rules.moment import tilting_moment_mnm
from assemblies.rules.sums.answer import Answer, Line, Table, show_number, show_size
from assemblies.rules.sums.chip import chip_thickness
from assemblies.rules.sums.deflection import (
    FLUTE_CORE_PERCENT,
    Beam,
    longest_stickout_um,
    relative_deflection,
    tip_deflection_um,
)
from assemblies.rules.sums.force import (
    CHIP_RANGE_UM,
    FACTOR_OF_TWO,
    MATERIALS,
    cutting_power_kw,
    source_of,
    specific_force_mpa,
    tooth_force_n,
    torque_of_power_nm,
)
from assemblies.rules.sums.mass_centre import (
    MassPart,
    mass_and_centre,
    turned_body,
)
from assemblies.rules.sums.milled_cut import MilledCut
from assemblies.rules.sums.torque_sums import in_every_unit
from assemblies.rules.sums.unbalance import (
    grade_at_speed_mm_s,
    offset_allowed_um,
    ounce_inches,
    pull_n,
    unbalance_allowed_g_mm,
)
from assemblies.rules.wrench import adapter_setting_mnm, torque_at_nut_mnm

_BALANCE = "ISO 21940-11:2016 (was ISO 1940-1), rigid rotors"
#: Stiffness of what cutters are made of [MPa]; carbide and steel from public pages.
STIFFNESS_MPA = {"carbide": 580_000, "hss": 210_000, "steel": 206_000}


def balance_against_speed(
    grade_mm_s: float, rated_rpm: float, speed_rpm: float, mass_g: float | None
) -> Answer:
    """A balance rating with its speed [1/min] against a program's speed [1/min].

    >>> balance_against_speed(2.5, 25_000, 18_000, None).lines[0].text
    'G 1.8: S18000 is within the rated 25000 1/min'
    """
    within = speed_rpm <= rated_rpm
    now = show_number(grade_at_speed_mm_s(grade_mm_s, rated_rpm, speed_rpm), 3)
    side = "is within the rated" if within else "is above the rated"
    speed, rated = show_number(speed_rpm, 6), show_number(rated_rpm, 6)
    lines = [
        Line("The rating at this speed", f"G {now}: S{speed} {side} {rated} 1/min"),
        Line("Offset it leaves", show_size(offset_allowed_um(grade_mm_s, rated_rpm))),
    ]
    notes = ["A rating is that of the bare holder; collet, nut and cutter add to it."]
    if mass_g is None:
        notes.append("Mass not typed: no unbalance and no force.")
    else:
        left = unbalance_allowed_g_mm(mass_g, grade_mm_s, rated_rpm)
        ounces = show_number(ounce_inches(left), 3)
        lines.append(Line("Unbalance it leaves", f"{show_number(left)} g·mm = {ounces} oz·in"))
        lines.append(Line("Turning force of that", f"{show_number(pull_n(left, speed_rpm))} N"))
    formula = "e = G / ω;  U = e · m;  F = U · ω²"
    return Answer(tuple(lines), formula, _BALANCE, estimate=True, notes=tuple(notes))


def bending_compared(stickout_um: float, compared_um: float, diameter_um: float | None) -> Answer:
    """How much more or less the same cutter bends at one stick-out [um] than at another.

    >>> bending_compared(60_000, 50_000, None).lines[0].text
    '1.73 times as far'
    """
    times = show_number(relative_deflection(stickout_um, compared_um), 3)
    lines = [Line("Bends", f"{times} times as far")]
    if diameter_um:
        ratio = show_number(stickout_um / diameter_um, 3)
        lines.append(Line("Stick-out by diameter", f"{ratio} times the diameter"))
    return Answer(
        tuple(lines),
        "(L / L₀)³",
        "cantilever; needs neither force nor material",
        estimate=True,
        notes=("The tool alone: holder, taper and spindle yield as well.",),
    )


def bending_in_figures(
    force_n: float, stickout_um: float, beam: Beam, allowed_um: float | None
) -> Answer:
    """How far the tip yields under a force [N] at a stick-out [um], roughly.

    >>> solid = Beam(shank_um=12_700, modulus_mpa=580_000)
    >>> bending_in_figures(100, 50_000, solid, None).lines[0].text
    '0.0056 mm = 0.00022 in'
    """
    lines = [Line("Tip yields", _rough_size(tip_deflection_um(force_n, stickout_um, beam)))]
    if allowed_um:
        longest = _rough_size(longest_stickout_um(force_n, allowed_um, beam))
        lines.append(Line("Longest stick-out for that much", longest))
    return Answer(
        tuple(lines),
        "F / (3 E) · [Lf³ / If + (L³ - Lf³) / Is];  I = π d⁴ / 64",
        "stepped cantilever; stiffness of carbide 550 to 650 GPa on public pages, here 580",
        estimate=True,
        notes=(
            FACTOR_OF_TWO,
            f"Flutes count as {FLUTE_CORE_PERCENT} % of the diameter, from memory.",
            "The tool alone: holder, taper and spindle yield as well.",
        ),
    )


def force_and_power(cut: MilledCut, material: str) -> Answer:
    """Force, power and torque of a milling cut, roughly. Raises KeyError for another material.

    >>> cut = MilledCut(100, 6_000, 12_700, 12_700, 2, 18_000, 100)
    >>> force_and_power(cut, "aluminium_hard").lines[0].text
    '7.3 kW'
    """
    work = MATERIALS[material]
    chip = chip_thickness(cut.chip_load_um, cut.width_um, cut.diameter_um)
    mean_mpa = specific_force_mpa(work, chip.mean_um)
    power_kw = cutting_power_kw(
        cut.depth_um, cut.width_um, cut.feed_mm_min, mean_mpa, cut.efficiency_percent
    )
    at_tool_kw = power_kw * cut.efficiency_percent / 100
    peak_mpa = specific_force_mpa(work, chip.largest_um)
    peak_n = tooth_force_n(peak_mpa, cut.depth_um, chip.largest_um)
    torque_nm = torque_of_power_nm(at_tool_kw, cut.speed_rpm)
    lines = (
        Line("Power of the spindle", f"{show_number(power_kw, 2)} kW"),
        Line("Torque at the cutter", f"{show_number(torque_nm, 2)} N·m"),
        Line("Largest force on one tooth", f"{show_number(peak_n, 2)} N"),
        Line("Specific force", f"{show_number(mean_mpa, 2)} N/mm² at {show_size(chip.mean_um)}"),
    )
    outside = not CHIP_RANGE_UM[0] <= chip.mean_um <= CHIP_RANGE_UM[1]
    notes = ("The mean chip lies outside 0.05 to 1 mm: less sure still.",) if outside else ()
    return Answer(
        lines,
        "kc = kc1.1 · hm^(-m);  P = ap · ae · f · kc / η;  T = P / ω",
        source_of(material),
        estimate=True,
        notes=(FACTOR_OF_TWO, *notes, f"Cut: {work.name}; sharp cutter, neutral rake."),
    )


def wrench_setting(torque_mnm: float, reach_um: float, adapter_um: float) -> Answer:
    """What to set on a wrench with an adapter, and what a setting gives [mN·m, um].

    >>> wrench_setting(80_000, 400_000, 50_000).lines[0].text
    '71.1 N·m = 52.44 lbf·ft'
    """
    whole = round(torque_mnm), round(reach_um), round(adapter_um)
    setting_mnm, at_nut_mnm = adapter_setting_mnm(*whole), torque_at_nut_mnm(*whole)
    lines = (
        Line("To get it at the nut, set", _torque(setting_mnm)),
        Line("Set to it, the nut would get", _torque(at_nut_mnm)),
    )
    return Answer(
        lines,
        "set = aim · L / (L + E)",
        "lever law, rounded down to 0.1 N·m",
        notes=(
            "For an adapter in line with the handle. At a right angle to it nothing changes.",
            "L runs from the square to the middle of the handle.",
        ),
    )


def torque_in_units(torque_mnm: float) -> Answer:
    """A torque [mN·m] in the units of wrenches.

    >>> [line.text for line in torque_in_units(136_000).lines][:2]
    ['136 N·m', '100.3 lbf·ft']
    """
    sizes = in_every_unit(torque_mnm).items()
    lines = tuple(Line(f"In {unit}", f"{show_number(size)} {unit}") for unit, size in sizes)
    return Answer(lines, "1 lbf·ft = 1.355818 N·m", "definitions of the units")


def mass_of_parts(parts: Sequence[MassPart], plane_um: float) -> Answer:
    """Mass, centre of mass and moment of several parts about a plane [um from the gauge line].

    >>> parts = [MassPart("Holder", 1_100, 30_000), MassPart("Cutter", 250, 90_000)]
    >>> mass_of_parts(parts, 0).lines[0].text
    '1350 g = 2.976 lb'
    """
    whole = mass_and_centre(parts)
    moment_mnm = tilting_moment_mnm(whole.mass_g, whole.centre_um, plane_um)
    lines = (
        Line("Mass", _mass(whole.mass_g)),
        Line("Centre from the gauge line", show_size(whole.centre_um)),
        Line("Moment about the plane", f"{show_number(moment_mnm / 1000)} N·m"),
    )
    rows = tuple(
        (part.name, f"{show_number(part.mass_g)} g", show_size(part.centre_um)) for part in parts
    )
    return Answer(
        lines,
        "x = Σ(m · x) / Σm;  M = m · g · (x - plane)",
        "statics, standard gravity 9.80665 m/s²",
        notes=("Weighing the finished assembly beats any sum.",),
        table=Table("Parts in the sum", ("Part", "Mass", "Centre"), rows),
    )


def mass_of_body(first_um: float, second_um: float, body_length_um: float, material: str) -> Answer:
    """Mass and centre of a cone or cylinder between two diameters [um].

    >>> mass_of_body(40_000, 40_000, 60_000, "steel").lines[0].text
    '591.9 g = 1.305 lb'
    """
    body = turned_body(first_um, second_um, body_length_um, material)
    lines = (
        Line("Mass", _mass(body.mass_g)),
        Line("Centre from the first face", show_size(body.centre_um)),
        Line("Volume", f"{show_number(body.volume_mm3 / 1000)} cm³"),
    )
    return Answer(
        lines,
        "V = π · h · (R² + R · r + r²) / 3",
        "frustum of a cone; density of steel from public tables, the others from memory",
        estimate=True,
        notes=("Full material: bores and slots are not taken off.",),
    )


def _rough_size(value_um: float) -> str:
    """Two figures: more would promise what the sum cannot keep."""
    return f"{show_number(value_um / 1000, 2)} mm = {show_number(value_um / 25_400, 2)} in"


def _torque(torque_mnm: float) -> str:
    sizes = in_every_unit(torque_mnm)
    return " = ".join(f"{show_number(sizes[unit])} {unit}" for unit in ("N·m", "lbf·ft"))


def _mass(mass_g: float) -> str:
    return f"{show_number(mass_g)} g = {show_number(mass_g / 453.59237)} lb"
