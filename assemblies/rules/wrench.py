"""What to set a torque wrench to, and whether its figure may be believed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from assemblies.rules.wording import in_nm
from crib.rules.calibration import CalibrationEvent, shown_day
from crib.rules.finding import Finding, Level
from crib.rules.units import show_nm

#: Wrenches are set in steps of 0.1 N·m at best; a setting is rounded down to one [mN·m].
STEP_MNM = 100
_LEVER = "lever law; the adapter stands in line with the handle"
_PRACTICE = "common practice"


def adapter_setting_mnm(
    aim_mnm: int | None, reach_um: int | None, adapter_um: int | None
) -> int | None:
    """What to set [mN·m] so that the nut gets `aim_mnm` [mN·m]; None where a figure is missing.

    `reach_um` [um] runs from the square to the middle of the handle, `adapter_um` [um] from the
    square on to the nut, away from the hand. Without an adapter the setting is the aim itself,
    whatever the reach. Rounded down to 0.1 N·m.

    Source: lever law, setting = aim * L / (L + E).

    >>> adapter_setting_mnm(80_000, 400_000, 50_000), adapter_setting_mnm(80_000, None, 0)
    (71100, 80000)
    >>> adapter_setting_mnm(80_000, None, 50_000) is None
    True
    """
    if aim_mnm is None:
        return None
    if not adapter_um:
        return aim_mnm
    if not reach_um:
        return None
    exact_mnm = aim_mnm * reach_um // (reach_um + adapter_um)
    return exact_mnm // STEP_MNM * STEP_MNM


def torque_at_nut_mnm(
    setting_mnm: int | None, reach_um: int | None, adapter_um: int | None
) -> int | None:
    """What the nut got [mN·m] from a setting [mN·m] through an adapter [um]; None: not known.

    Source: lever law, torque = setting * (L + E) / L, to the nearest mN·m.

    >>> torque_at_nut_mnm(71_100, 400_000, 50_000), torque_at_nut_mnm(71_100, None, 50_000)
    (79988, None)
    """
    if setting_mnm is None:
        return None
    if not adapter_um:
        return setting_mnm
    if not reach_um:
        return None
    return round(setting_mnm * (reach_um + adapter_um) / reach_um)


def setting_finding(
    mark: str,
    aim_mnm: int | None,
    reach_um: int | None,
    adapter_um: int | None,
    range_mnm: tuple[int | None, int | None],
) -> Finding | None:
    """The setting for an aim [mN·m], and whether the wrench goes that far; None without an aim.

    `range_mnm` is the smallest and largest setting [mN·m], each None where not recorded.

    Source: lever law; range from the wrench's own record.

    >>> setting_finding("W-1", 80_000, 400_000, 50_000, (20_000, 100_000)).text
    'Wrench W-1 set to 71.1 N·m gives the nut 80 through the adapter.'
    """
    if aim_mnm is None:
        return None
    setting_mnm = adapter_setting_mnm(aim_mnm, reach_um, adapter_um)
    if setting_mnm is None:
        return Finding(
            "wrench.reach_not_known",
            Level.UNKNOWN,
            f"Setting of wrench {mark} with the adapter not known.",
            remedy="Record its reach: square to the middle of the handle.",
            source=_LEVER,
        )
    return _out_of_range(mark, setting_mnm, range_mnm) or _in_range(
        mark, aim_mnm, setting_mnm, adapter_um, range_mnm
    )


def _out_of_range(
    mark: str, setting_mnm: int, range_mnm: tuple[int | None, int | None]
) -> Finding | None:
    least_mnm, most_mnm = range_mnm
    if least_mnm is not None and setting_mnm < least_mnm:
        code, beyond, limit_mnm = "wrench.below_range", "starts at", least_mnm
    elif most_mnm is not None and setting_mnm > most_mnm:
        code, beyond, limit_mnm = "wrench.above_range", "ends at", most_mnm
    else:
        return None
    return Finding(
        code,
        Level.CHECK,
        f"Setting {show_nm(setting_mnm)} N·m; wrench {mark} {beyond} {show_nm(limit_mnm)}.",
        measured=in_nm(setting_mnm),
        limit=in_nm(limit_mnm),
        unit="N·m",
        remedy="Take a wrench whose range holds the setting.",
        source="range on record for the wrench",
    )


def _in_range(
    mark: str,
    aim_mnm: int,
    setting_mnm: int,
    adapter_um: int | None,
    range_mnm: tuple[int | None, int | None],
) -> Finding:
    least_mnm, most_mnm = range_mnm
    known = least_mnm is not None and most_mnm is not None
    text = f"Wrench {mark} set to {show_nm(setting_mnm)} N·m"
    text += f" gives the nut {show_nm(aim_mnm)} through the adapter." if adapter_um else "."
    return Finding(
        "wrench.within_range" if known else "wrench.range_not_known",
        Level.PASS if known else Level.NOTE,
        text if known else f"{text[:-1]}; range not recorded.",
        measured=in_nm(setting_mnm),
        limit=in_nm(most_mnm),
        unit="N·m",
        remedy="" if known else "Record the smallest and largest setting of the wrench.",
        source=_LEVER,
    )


def unnamed_finding(torque_mnm: int | None, mark: str) -> Finding | None:
    """What to say of a torque [mN·m] whose wrench is not on record; None without a torque.

    Source: common practice.

    >>> unnamed_finding(80_000, "").code, unnamed_finding(80_000, "W-7").code
    ('wrench.not_named', 'wrench.not_on_record')
    """
    if torque_mnm is None:
        return None
    if not mark:
        text, remedy = "Nut torque recorded without its wrench.", "Name the wrench with the torque."
        return Finding("wrench.not_named", Level.NOTE, text, remedy=remedy, source=_PRACTICE)
    text = f"Wrench {mark} is not on record; its calibration is not known."
    remedy = "Add it to the instruments."
    return Finding("wrench.not_on_record", Level.NOTE, text, remedy=remedy, source=_PRACTICE)


def found_out_finding(
    mark: str, events: Sequence[CalibrationEvent], tightened_on: date
) -> Finding | None:
    """A check where the next calibration after `tightened_on` found the wrench out of its limits.

    `events` in the order of their days. A mishap after that day says nothing about it.

    Source: what was tightened since the last good calibration is doubtful; common practice.

    >>> later = [CalibrationEvent(date(2026, 5, 2), "failed")]
    >>> found_out_finding("W-1", later, date(2026, 5, 1)).text
    'W-1 found out of its limits on 2 May 2026, after this was tightened.'
    """
    after = (e for e in events if e.on > tightened_on and e.result != "suspect")
    following = next(after, None)
    if following is None or following.result == "passed":
        return None
    day = shown_day(following.on)
    return Finding(
        "wrench.found_out_later",
        Level.CHECK,
        f"{mark} found out of its limits on {day}, after this was tightened.",
        remedy="Tighten again with another wrench, or say why it is accepted.",
        source=_PRACTICE,
    )
