"""Every formula against numbers from outside the project, row by row of one table.

The rows with their sources and how far each was confirmed stand in
`tests/data/formulae_checks.json`. A row names a function, another test, or why it was left out.
"""

from __future__ import annotations

import json
from math import isclose
from pathlib import Path

import pytest

from assemblies.rules.closure import expected_gauge_um, overall_finding
from assemblies.rules.grip import held_shank_findings, needed_grip_um
from assemblies.rules.moment import tilting_moment_mnm
from assemblies.rules.speed import (
    rim_speed_limit_rpm,
    rim_speed_m_s,
    speed_findings,
    speed_limit,
)
from assemblies.rules.stack import CutterPart, HolderPart, MachineFacts, NutPart, ShopLimits, Stack
from assemblies.rules.sums import cutting_speed, deflection, force, unbalance
from assemblies.rules.sums.amounts import FORCES, LENGTHS, read_amount
from assemblies.rules.sums.chip import chip_thickness
from assemblies.rules.sums.life_sums import MeasuredLife, life_used_percent, taylor_line
from assemblies.rules.sums.mass_centre import MassPart, mass_and_centre, turned_body
from assemblies.rules.sums.tooth_load import tooth_chips_um, worst_load
from crib.rules.survival import (
    Costs,
    Life,
    LifeEnd,
    Weibull,
    kaplan_meier,
    replacement_age,
    weibull_fit,
)

ROOT = Path(__file__).resolve().parents[2]
ROWS = json.loads((ROOT / "tests/data/formulae_checks.json").read_text())["checks"]
STATUSES = {"confirmed", "inputs_confirmed", "memory", "computed_here"}
UM = 1000
MPA_PER_PSI = 4.4482216152605 / 25.4**2


def _speed_n(vc_m_min, D_mm):
    return {"n_per_min": cutting_speed.spindle_speed_rpm(vc_m_min, D_mm * UM)}


def _feed_per_tooth(vf_mm_min, z, n_per_min):
    return {"fz_mm": cutting_speed.chip_load_um(vf_mm_min, z, n_per_min) / UM}


def _rim_ft(D_mm, n_per_min):
    m_min = cutting_speed.cutting_speed_m_min(D_mm * UM, n_per_min)
    return {"v_ft_min": cutting_speed.feet_per_minute(m_min)}


def _rim_mph(D_mm, n_per_min):
    m_min = cutting_speed.cutting_speed_m_min(D_mm * UM, n_per_min)
    return {"v_mph": cutting_speed.miles_per_hour(m_min)}


def _rim(D_mm, n_per_min):
    return {"v_m_s": rim_speed_m_s(D_mm * UM, n_per_min)}


def _rim_inverse(D_mm, v_m_s):
    return {"n_per_min": rim_speed_limit_rpm(D_mm * UM, v_m_s)}


def _chip_side(fz_mm, ae_mm, D_mm):
    chip = chip_thickness(fz_mm * UM, ae_mm * UM, D_mm * UM)
    return {"hm_mm": chip.mean_um / UM, "hmax_mm": chip.largest_um / UM}


def _limit_min(parts, program):
    limit = speed_limit(
        Stack(
            holder=HolderPart(max_rpm=parts["holder"]),
            nut=NutPart(max_rpm=parts["nut"]),
            cutter=CutterPart(max_rpm=parts["cutter"]),
            machine=MachineFacts(max_rpm=parts["spindle"]),
        )
    )
    found = speed_findings(limit, program, 100, None)
    return {
        "limit": limit.limit_rpm,
        "part": limit.limiting_part,
        "verdict": "refuse" if found[0].level.is_stop else "take",
    }


def _uper(m_kg, G, n_per_min):
    return {"U_gmm": unbalance.unbalance_allowed_g_mm(m_kg * 1000, G, n_per_min)}


def _eper(G, n_per_min):
    return {"e_um": unbalance.offset_allowed_um(G, n_per_min)}


def _inch_constant():
    pound_g = 453.59237
    left = unbalance.unbalance_allowed_g_mm(pound_g, 1, 1)
    return {"const_oz_in": unbalance.ounce_inches(left)}


def _unbalance_sum(vectors):
    total = unbalance.unbalance_sum(vectors)
    return {
        "U": total.size_g_mm,
        "angle_deg": total.angle_deg,
        "rss": total.likely_g_mm,
        "worst": total.worst_g_mm,
    }


def _tooth_two(N, fz, tir, lam):
    chips = tooth_chips_um(fz, tir, N, lam)
    return {"high": max(chips), "low": min(chips)}


def _tooth_worst(N, fz, tir):
    load = worst_load(fz, tir, N)
    return {"high": load.thickest_um, "low": load.thinnest_um}


def _tooth_miss(N, fz, tir, lam):
    return {"chips": tooth_chips_um(fz, tir, N, lam)}


def _beam_metric(F_N, L_mm, d_mm, E_MPa):
    beam = deflection.Beam(shank_um=d_mm * UM, modulus_mpa=E_MPa)
    return {
        "I_mm4": deflection.second_moment_mm4(d_mm * UM),
        "delta_mm": deflection.tip_deflection_um(F_N, L_mm * UM, beam) / UM,
    }


def _beam_inch(F_lbf, L_in, d_in, E_psi):
    force_n = read_amount(f"{F_lbf} lbf", FORCES)
    long_um, wide_um = read_amount(f"{L_in} in", LENGTHS), read_amount(f"{d_in} in", LENGTHS)
    beam = deflection.Beam(shank_um=wide_um, modulus_mpa=E_psi * MPA_PER_PSI)
    return {
        "delta_in": deflection.tip_deflection_um(force_n, long_um, beam) / 25_400,
        "sigma_psi": deflection.bending_stress_mpa(force_n, long_um, wide_um) / MPA_PER_PSI,
    }


def _stepped(Lf_mm, D_mm, Ds_mm, E_MPa, k):
    return deflection.Beam(
        shank_um=Ds_mm * UM,
        modulus_mpa=E_MPa,
        flute_um=Lf_mm * UM,
        diameter_um=D_mm * UM,
        core_percent=k * 100,
    )


def _beam_stepped(F_N, L_mm, **beam):
    return {"delta_um": deflection.tip_deflection_um(F_N, L_mm * UM, _stepped(**beam))}


def _beam_inverse(F_N, delta_mm, **beam):
    longest_um = deflection.longest_stickout_um(F_N, delta_mm * UM, _stepped(**beam))
    return {"L_mm": longest_um / UM}


def _kienzle(kc11, mc, h_mm):
    # The row's constants are those of the list.
    assert (kc11, mc) == (
        force.MATERIALS["aluminium"].at_one_mm_mpa,
        force.MATERIALS["aluminium"].exponent,
    )
    return {"kc": force.specific_force_mpa(force.MATERIALS["aluminium"], h_mm * UM)}


def _mill_power(ap, ae, vf, kc, eta):
    return {"P_kW": force.cutting_power_kw(ap * UM, ae * UM, vf, kc, eta * 100)}


def _torque_power(P_kW, n_per_min):
    return {"T_Nm": force.torque_of_power_nm(P_kW, n_per_min)}


def _grip(shank_d, shank_len, collet_len):
    rules = {
        "three_quarter_inch": "three_quarters_inch",
        "two_d": "two_diameters",
        "two_thirds_collet": "two_thirds_collet",
        "three_quarter_shank": "three_quarters_shank",
        "three_quarter_collet": "three_quarters_collet",
        "eighty_pct_collet": "eighty_percent_collet",
        "full": "full_collet",
    }
    lengths = {
        "collet_um": collet_len * UM,
        "shank_um": round(shank_d * UM),
        "plain_um": shank_len * UM,
    }
    found = {key: needed_grip_um(rule, **lengths) / UM for key, rule in rules.items()}
    whole = CutterPart(plain_shank_um=shank_len * UM)
    held = held_shank_findings(shank_len * UM, whole, ShopLimits())
    spared = next(f.limit for f in held if f.code == "grip.fillet_inside")
    return found | {"possible_max": min(collet_len, spared)}


def _closure(Lh, oal, insert, setback):
    stickout_um = (oal - insert - setback) * UM
    whole = CutterPart(overall_um=oal * UM)
    # What is left for the stick-out is exactly what the rule lets pass.
    assert overall_finding(whole, stickout_um, insert * UM).code == "length.within_overall"
    assert overall_finding(whole, stickout_um + 1, insert * UM).code == "length.over_overall"
    gauge_um = expected_gauge_um(HolderPart(gauge_length_um=Lh * UM), stickout_um)
    return {"stickout": stickout_um / UM, "L_tip": gauge_um / UM}


def _taylor(v, T):
    line = taylor_line(MeasuredLife(v[0], T[0]), MeasuredLife(v[1], T[1]))
    return {"n": line.exponent, "C": line.one_minute_m_min}


def _life_used(minutes, life):
    return {"fraction": life_used_percent(list(zip(minutes, life, strict=True))) / 100}


def _lives(ended, cut_short):
    return [
        *(Life(time, LifeEnd.WORN) for time in ended),
        *(Life(time, LifeEnd.IN_USE) for time in cut_short),
    ]


def _km_nist(fail, cens):
    steps = kaplan_meier(_lives(fail, cens))
    return {
        "at_risk": [step.at_risk for step in steps],
        "S": [step.survival for step in steps],
        "se_last": steps[-1].standard_error,
    }


def _km_ties(time, event):
    ended = [at for at, failed in zip(time, event, strict=True) if failed]
    cut_short = [at for at, failed in zip(time, event, strict=True) if not failed]
    return {"S": [step.survival for step in kaplan_meier(_lives(ended, cut_short))]}


def _weibull(fail, cens):
    curve = weibull_fit(_lives(fail, cens))
    return {
        "eta": curve.scale,
        "beta": curve.shape,
        "logL": curve.log_likelihood,
        "aic": curve.akaike,
        "mean": curve.mean,
        "sd": curve.deviation,
    }


def _age(beta, eta, cost_failure, cost_planned):
    best = replacement_age(Weibull(beta, eta, 0, 0, 0), Costs(cost_planned, cost_failure))
    return {
        "t_opt": best.age,
        "rate": best.cost_rate,
        "rate_run_to_failure": best.cost_rate_unplanned,
    }


def _moment(parts, planes):
    whole = mass_and_centre([MassPart("", kg * 1000, mm * UM) for kg, mm in parts])
    return {
        "mass": whole.mass_g / 1000,
        "x_cg": whole.centre_um / UM,
        "M_Nm": [
            tilting_moment_mnm(whole.mass_g, whole.centre_um, plane * UM) / 1000 for plane in planes
        ],
    }


def _frustum(R, r, h, rho):
    assert rho == 7850, "the density of steel"
    body = turned_body(2 * R * UM, 2 * r * UM, h * UM, "steel")
    return {"V_mm3": body.volume_mm3, "x_mm": body.centre_um / UM, "m_kg": body.mass_g / 1000}


CHECKED = {
    "speed_n": _speed_n,
    "feed_per_tooth": _feed_per_tooth,
    "rim_ft_24000": _rim_ft,
    "rim_ft_10000": _rim_ft,
    "rim_mph": _rim_mph,
    "rim_fly": _rim,
    "rim_inverse": _rim_inverse,
    "chip_side": _chip_side,
    "limit_min": _limit_min,
    "uper_1": _uper,
    "eper_1": _eper,
    "uper_2": _uper,
    "uper_inch_const": _inch_constant,
    "unbalance_sum": _unbalance_sum,
    "tooth_two": _tooth_two,
    "tooth_four": _tooth_worst,
    "tooth_miss": _tooth_miss,
    "beam_metric": _beam_metric,
    "beam_inch": _beam_inch,
    "beam_stepped": _beam_stepped,
    "beam_inverse": _beam_inverse,
    "kienzle_al": _kienzle,
    "mill_power": _mill_power,
    "torque_power": _torque_power,
    "grip": _grip,
    "closure": _closure,
    "taylor_1": _taylor,
    "taylor_2": _taylor,
    "taylor_3": _taylor,
    "life_used": _life_used,
    "km_nist": _km_nist,
    "km_ties": _km_ties,
    "weibull_nist": _weibull,
    "age_replacement": _age,
    "moment": _moment,
    "frustum": _frustum,
}
#: Row -> the test that holds it against rules of another subject, and a figure of it there.
ELSEWHERE = {
    "tilt_bounds": ("test_reclock.py", "(0.15, 0.25)"),
    "reclock": ("test_reclock.py", "4.079, 37.34"),
    "direction_same": ("test_reclock.py", "0.98873"),
    "direction_wander": ("test_reclock.py", "0.09887"),
    "additive_ls": ("test_runout_model.py", "0.47222"),
    "additive_re": ("test_runout_model.py", "1.7782"),
    "shrinkage_ml": ("test_runout_model.py", "327.3271"),
    "shrinkage_reml": ("test_runout_model.py", "1764.05"),
    "pooled": ("test_repeatability.py", "0.10290"),
}
_NUT_FORCE = (
    "no force or grip of a nut is computed: it depends on friction that nobody measured, and a "
    "comfortable figure would hide dirt and worn collets. Nut torque is held against its mark"
)
#: Row -> why no function computes it.
LEFT_OUT = {
    "screw_1": _NUT_FORCE,
    "screw_2": _NUT_FORCE,
    "freq": "a natural frequency of the bare tool misleads: real assemblies respond far lower",
    "gum_h1": "an instrument brings its own uncertainty; no budget is computed from parts",
    "thermal": "growth by warmth lies below what routing needs, and no length is compensated",
}


def by_id(name):
    return next(row for row in ROWS if row["id"] == name)


def agree(found, wanted, tolerance) -> bool:
    if isinstance(wanted, list):
        return len(found) == len(wanted) and all(
            agree(one, other, tolerance) for one, other in zip(found, wanted, strict=True)
        )
    if isinstance(wanted, str):
        return found == wanted
    return isclose(found, wanted, rel_tol=0, abs_tol=tolerance + 1e-12)


@pytest.mark.parametrize("name", CHECKED, ids=lambda name: f"{name}-{by_id(name)['status']}")
def test_a_formula_gives_the_published_figure(name):
    row = by_id(name)
    found = CHECKED[name](**row["inputs"])
    wrong = {
        key: (found[key], wanted)
        for key, wanted in row["expect"].items()
        if not agree(found[key], wanted, row["abs_tol"][key])
    }
    assert wrong == {}, row["source"]


def test_no_row_is_forgotten_and_none_stands_twice():
    told = [*CHECKED, *ELSEWHERE, *LEFT_OUT]
    assert len(told) == len(set(told))
    assert set(told) == {row["id"] for row in ROWS}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_every_row_says_how_far_it_was_confirmed_and_by_what(row):
    assert row["status"] in STATUSES
    assert row["source"]
    assert set(row["expect"]) == set(row["abs_tol"])


@pytest.mark.parametrize(("file_name", "figure"), ELSEWHERE.values(), ids=ELSEWHERE)
def test_a_row_of_another_subject_stands_in_its_own_test(file_name, figure):
    assert figure in (ROOT / "tests/assemblies" / file_name).read_text()
