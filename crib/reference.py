"""The reference tables, read once from `crib/data` into the rows of the rules."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from crib.rules.standards import (
    ArborKeys,
    ColletBore,
    ColletRunoutBand,
    ColletSeries,
    GripRule,
    InsertLetter,
    NutTorqueBand,
    PullStudRow,
    ReferenceTables,
    ShankLength,
    ShankTolerance,
    TaperRow,
    TapSquare,
)
from crib.rules.units import mnm_from_nm, um_from_mm

DATA_FOLDER = Path(__file__).parent / "data"


@dataclass(frozen=True, slots=True)
class PageTable:
    """One table as a page shows it: every cell is text, "" means not known."""

    name: str
    title: str
    intro: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def _lines(name: str) -> list[dict[str, str]]:
    with (DATA_FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _um(text: str) -> int | None:
    return um_from_mm(text) if text else None


def _mnm(text: str) -> int | None:
    return mnm_from_nm(text) if text else None


def _origin(line: dict[str, str]) -> dict[str, str]:
    return {name: line[name] for name in ("source", "confidence", "note")}


@lru_cache(maxsize=1)
def tables() -> ReferenceTables:
    """All tables for the rules."""
    return ReferenceTables(
        collet_series=collet_series(),
        collet_bores=collet_bores(),
        torque_bands=torque_bands(),
        pull_studs=pull_studs(),
        tapers=tapers(),
        grip_rules=grip_rules(),
        shank_tolerances=shank_tolerances(),
        shank_lengths=shank_lengths(),
        collet_runout=collet_runout(),
        insert_letters=insert_letters(),
        tap_squares=tap_squares(),
        arbor_keys=arbor_keys(),
    )


@lru_cache(maxsize=1)
def collet_series() -> tuple[ColletSeries, ...]:
    return tuple(
        ColletSeries(
            series=line["series"],
            in_iso_15488=line["in_iso_15488_table"] == "yes",
            gauge_diameter_um=um_from_mm(line["gauge_diameter_mm"]),
            length_um=um_from_mm(line["overall_length_mm"]),
            min_shank_um=um_from_mm(line["series_min_shank_mm"]),
            max_shank_um=um_from_mm(line["series_max_shank_mm"]),
            special_max_shank_um=_um(line["special_max_shank_mm"]),
            closing_um=um_from_mm(line["closing_mm"]),
            nut_thread_standard=line["nut_thread_standard"],
            nut_thread_mini=line["nut_thread_mini"],
            **_origin(line),
        )
        for line in _lines("er_collets")
    )


@lru_cache(maxsize=1)
def collet_bores() -> tuple[ColletBore, ...]:
    return tuple(
        ColletBore(
            series=line["series"],
            bore_system=line["bore_system"],
            label=line["bore_label"],
            nominal_um=um_from_mm(line["nominal_mm"]),
            clamp_min_um=um_from_mm(line["clamp_min_mm"]),
            clamp_max_um=um_from_mm(line["clamp_max_mm"]),
            clamp_min_cautious_um=um_from_mm(line["clamp_min_cautious_mm"]),
            metric_collet=line["metric_collet_for_this_shank"],
            **_origin(line),
        )
        for line in _lines("er_collet_bores")
    )


@lru_cache(maxsize=1)
def torque_bands() -> tuple[NutTorqueBand, ...]:
    return tuple(
        NutTorqueBand(
            series=line["series"],
            nut_type=line["nut_type"],
            shank_from_um=um_from_mm(line["shank_from_mm"]),
            shank_to_um=um_from_mm(line["shank_to_mm"]),
            recommended_mnm=mnm_from_nm(line["recommended_nm"]),
            max_mnm=mnm_from_nm(line["max_nm"]),
            found_low_mnm=_mnm(line["found_low_nm"]),
            found_high_mnm=_mnm(line["found_high_nm"]),
            small_below_um=_um(line["chart_small_shank_below_mm"]),
            small_low_mnm=_mnm(line["chart_small_shank_low_nm"]),
            small_high_mnm=_mnm(line["chart_small_shank_high_nm"]),
            **_origin(line),
        )
        for line in _lines("nut_torque")
    )


@lru_cache(maxsize=1)
def pull_studs() -> tuple[PullStudRow, ...]:
    return tuple(
        PullStudRow(
            code=line["code"],
            standard=line["standard"],
            for_taper=line["for_taper"],
            thread=line["thread"],
            under_head_angle_deg=_degrees(line["under_head_angle_deg"]),
            coolant=line["coolant"],
            torque_low_mnm=_mnm(line["torque_low_nm"]),
            torque_high_mnm=_mnm(line["torque_high_nm"]),
            **_origin(line),
        )
        for line in _lines("pull_studs")
    )


def _degrees(text: str) -> float | None:
    return float(text) if text else None


@lru_cache(maxsize=1)
def tapers() -> tuple[TaperRow, ...]:
    return tuple(
        TaperRow(
            code=line["code"],
            family=line["family"],
            form=line["form"],
            size=line["size"],
            standard=line["standard"],
            gauge_diameter_um=um_from_mm(line["gauge_diameter_mm"]),
            flange_diameter_um=_um(line["flange_diameter_mm"]),
            retention=line["retention"],
            retention_thread=line["retention_thread"],
            usual_speed_limit_rpm=_whole(line["usual_speed_limit_rpm"]),
            look_alikes=_split(line["same_cone_but_not_interchangeable_with"]),
            **_origin(line),
        )
        for line in _lines("spindle_tapers")
    )


def _whole(text: str) -> int | None:
    return int(text) if text else None


def _split(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(";") if part.strip())


@lru_cache(maxsize=1)
def grip_rules() -> tuple[GripRule, ...]:
    return tuple(
        GripRule(
            rule_id=line["rule_id"],
            applies_to=line["applies_to"],
            series_or_shank=line["series_or_shank"],
            shank_from_um=_um(line["shank_from_mm"]),
            shank_to_um=_um(line["shank_to_mm"]),
            min_grip_um=_um(line["min_grip_mm"]),
            formula=line["formula"],
            severity=line["severity"],
            **_origin(line),
        )
        for line in _lines("min_grip")
    )


@lru_cache(maxsize=1)
def shank_tolerances() -> tuple[ShankTolerance, ...]:
    return tuple(
        ShankTolerance(
            system=line["system"],
            label=line["label"],
            shank_um=um_from_mm(line["shank_mm"]),
            h6_lower_um=int(line["h6_lower_um"]),
            h7_lower_um=int(line["h7_lower_um"]),
            **_origin(line),
        )
        for line in _lines("shank_tolerances")
    )


@lru_cache(maxsize=1)
def shank_lengths() -> tuple[ShankLength, ...]:
    return tuple(
        ShankLength(
            standard=line["standard"],
            shank_um=um_from_mm(line["shank_mm"]),
            length_um=um_from_mm(line["length_mm"]),
            **_origin(line),
        )
        for line in _lines("shank_lengths")
    )


@lru_cache(maxsize=1)
def collet_runout() -> tuple[ColletRunoutBand, ...]:
    return tuple(
        ColletRunoutBand(
            bore_from_um=um_from_mm(line["bore_from_mm"]),
            bore_to_um=um_from_mm(line["bore_to_mm"]),
            from_inclusive=line["from_inclusive"] == "yes",
            test_length_um=um_from_mm(line["test_length_mm"]),
            max_class1_um=_um(line["max_runout_class1_mm"]),
            max_class2_um=um_from_mm(line["max_runout_class2_mm"]),
            **_origin(line),
        )
        for line in _lines("collet_runout")
    )


@lru_cache(maxsize=1)
def insert_letters() -> tuple[InsertLetter, ...]:
    named = ("position", "position_name", "code", "meaning", "value", "unit")
    return tuple(
        InsertLetter(**{name: line[name] for name in named}, **_origin(line))
        for line in _lines("insert_designation")
    )


@lru_cache(maxsize=1)
def tap_squares() -> tuple[TapSquare, ...]:
    return tuple(
        TapSquare(
            standard=line["standard"],
            shank_um=um_from_mm(line["shank_mm"]),
            square_um=um_from_mm(line["square_mm"]),
            **_origin(line),
        )
        for line in _lines("tap_squares")
    )


@lru_cache(maxsize=1)
def arbor_keys() -> tuple[ArborKeys, ...]:
    return tuple(
        ArborKeys(
            spigot_um=um_from_mm(line["spigot_mm"]),
            key_um=um_from_mm(line["key_mm"]),
            slot_um=um_from_mm(line["slot_mm"]),
            spigot_length_um=um_from_mm(line["spigot_length_mm"]),
            **_origin(line),
        )
        for line in _lines("arbor_keys")
    )


#: File -> title, one sentence, and the columns a page shows (column of the file -> heading).
_PAGES: dict[str, tuple[str, str, dict[str, str]]] = {
    "er_collets": (
        "Collet series",
        "What each series takes, and the thread its nut needs.",
        {
            "series": "Series",
            "series_min_shank_mm": "Smallest shank mm",
            "series_max_shank_mm": "Largest shank mm",
            "special_max_shank_mm": "Largest, special, mm",
            "closing_mm": "Closes by mm",
            "overall_length_mm": "Collet length mm",
            "nut_thread_standard": "Standard nut",
            "nut_thread_mini": "Mini nut",
        },
    ),
    "er_collet_bores": (
        "Collets",
        "The collets of each series: largest and smallest shank.",
        {
            "series": "Series",
            "bore_label": "Collet",
            "clamp_max_mm": "Largest shank mm",
            "clamp_min_mm": "Smallest shank mm",
            "metric_collet_for_this_shank": "Metric collet for the same shank",
        },
    ),
    "nut_torque": (
        "Nut torque",
        "Used when the nut carries no mark. Lower edge not included, upper edge included.",
        {
            "series": "Series",
            "nut_type": "Nut",
            "shank_from_mm": "Shank above mm",
            "shank_to_mm": "Shank to mm",
            "recommended_nm": "Recommended N·m",
            "max_nm": "Largest N·m",
        },
    ),
    "min_grip": (
        "Grip length",
        "Rules for the least length of shank held. The mark on the shank always wins.",
        {
            "rule_id": "Rule",
            "applies_to": "For",
            "series_or_shank": "Series or shank",
            "min_grip_mm": "At least mm",
            "formula": "In words",
        },
    ),
    "collet_runout": (
        "Runout of a collet",
        "Judges a collet alone, on a test mandrel, at the stated distance.",
        {
            "bore_from_mm": "Bore from mm",
            "bore_to_mm": "Bore to mm",
            "test_length_mm": "Distance mm",
            "max_runout_class1_mm": "Class 1 mm",
            "max_runout_class2_mm": "Class 2 mm",
        },
    ),
    "shank_tolerances": (
        "Shank tolerances",
        "Smallest diameter of a shank ground to h6 and to h7.",
        {
            "label": "Shank",
            "shank_mm": "Nominal mm",
            "min_diameter_h6_mm": "h6 down to mm",
            "min_diameter_h7_mm": "h7 down to mm",
        },
    ),
    "shank_lengths": (
        "Shank lengths",
        "Length of the plain part: the most there is to grip.",
        {"standard": "Standard", "shank_mm": "Shank mm", "length_mm": "Length mm"},
    ),
    "spindle_tapers": (
        "Spindle interfaces",
        "Different codes never interchange, even where the cone is the same.",
        {
            "code": "Code",
            "family": "Family",
            "standard": "Standard",
            "gauge_diameter_mm": "Gauge Ø mm",
            "flange_diameter_mm": "Flange Ø mm",
            "retention": "Held by",
            "retention_thread": "Thread",
            "same_cone_but_not_interchangeable_with": "Same cone, other interface",
        },
    ),
    "pull_studs": (
        "Pull studs",
        "Thread and head must both be right: read them off the part.",
        {
            "code": "Pattern",
            "for_taper": "For",
            "thread": "Thread",
            "under_head_angle_deg": "Angle °",
            "coolant": "Coolant",
            "torque_low_nm": "Torque from N·m",
            "torque_high_nm": "Torque to N·m",
        },
    ),
    "tap_squares": (
        "Squares of taps",
        "The square that drives a tap, by its shank. A holder takes one square only.",
        {"standard": "Standard", "shank_mm": "Shank mm", "square_mm": "Square mm"},
    ),
    "arbor_keys": (
        "Keys of arbors",
        "The keys that drive a shell cutter, and the slot that goes with them.",
        {
            "spigot_mm": "Spigot mm",
            "key_mm": "Key mm",
            "slot_mm": "Slot mm",
            "spigot_length_mm": "Spigot length mm",
        },
    ),
    "insert_designation": (
        "Insert designation",
        "What each letter and figure of an insert's code says.",
        {
            "position_name": "Place",
            "code": "Code",
            "meaning": "Meaning",
            "value": "Value",
            "unit": "Unit",
        },
    ),
}

_ORIGIN_COLUMNS = {"source": "Source", "confidence": "Confidence", "note": "Note"}


@lru_cache(maxsize=1)
def all_tables() -> tuple[PageTable, ...]:
    """Every table for the page that shows them, with source and confidence on each row."""
    return tuple(_page_table(name, *page) for name, page in _PAGES.items())


def _page_table(name: str, title: str, intro: str, shown: dict[str, str]) -> PageTable:
    columns = shown | _ORIGIN_COLUMNS
    rows = tuple(tuple(line[column] for column in columns) for line in _lines(name))
    return PageTable(name, title, intro, tuple(columns.values()), rows)
