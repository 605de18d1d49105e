"""Items as people enter them, and what is said of any kind of them."""

from __future__ import annotations

from dataclasses import dataclass

from crib.rules.finding import Finding, Level

ISO_15488 = "ISO 15488:2003; ER8 and ER50 after DIN 6499"
PRACTICE = "common practice"
GEOMETRY = "geometry"


@dataclass(frozen=True, slots=True)
class ColletEntry:
    """A collet as entered: series, largest and smallest shank [um], length, inner square [um]."""

    series: str | None = None
    clamp_max_um: int | None = None
    clamp_min_um: int | None = None
    length_um: int | None = None
    typed_in_inches: bool = False
    square_um: int | None = None


@dataclass(frozen=True, slots=True)
class NutEntry:
    """A nut as entered: series, thread, type, marked torques [mN·m], range of its seal [um]."""

    series: str | None = None
    thread: str | None = None
    nut_type: str | None = None
    recommended_mnm: int | None = None
    max_mnm: int | None = None
    max_rpm: int | None = None
    sealed: bool | None = None
    seal_max_um: int | None = None
    seal_min_um: int | None = None


@dataclass(frozen=True, slots=True)
class SleeveEntry:
    """A reduction sleeve as entered: what it is made for, and its sizes [um]."""

    suits: str | None = None
    outer_um: int | None = None
    bore_um: int | None = None
    length_um: int | None = None
    max_rpm: int | None = None


@dataclass(frozen=True, slots=True)
class HolderEntry:
    """A holder as entered; `bore_um` [um] for an arbor or a bore, the largest of a drill chuck."""

    interface: str | None = None
    clamping: str | None = None
    series: str | None = None
    nose_thread: str | None = None
    bore_um: int | None = None
    gauge_length_um: int | None = None
    max_rpm: int | None = None
    balance_grade: str | None = None
    balance_rpm: int | None = None
    bore_min_um: int | None = None
    bore_depth_um: int | None = None
    grip_min_um: int | None = None
    square_um: int | None = None
    spigot_um: int | None = None
    key_um: int | None = None
    screw_torque_mnm: int | None = None


@dataclass(frozen=True, slots=True)
class CutterEntry:
    """A cutter as entered; all lengths [um]."""

    kind: str | None = None
    diameter_um: int | None = None
    shank_um: int | None = None
    bore_um: int | None = None
    plain_shank_um: int | None = None
    overall_um: int | None = None
    flute_um: int | None = None
    corner_radius_um: int | None = None
    marked_grip_um: int | None = None
    max_rpm: int | None = None
    typed_in_inches: bool = False
    square_um: int | None = None
    pitch_um: int | None = None
    keyway_um: int | None = None
    point_angle_tenths: int | None = None


@dataclass(frozen=True, slots=True)
class StudEntry:
    """A pull stud as entered: the taper it is for, and its thread."""

    interface: str | None = None
    thread: str | None = None


def series_not_known(kind: str, series: str | None) -> Finding:
    """The finding for a series that is missing, or that the tables do not have.

    Source: ISO 15488:2003.

    >>> series_not_known("nut", None).code
    'nut.series_not_known'
    """
    text = f"Series {series} is not in the tables." if series else f"Series of the {kind} missing."
    return Finding(
        f"{kind}.series_not_known",
        Level.UNKNOWN,
        text,
        remedy="Read the series on the part. Nothing else can be checked without it.",
        source=ISO_15488,
    )


def interface_not_known(kind: str, interface: str | None) -> Finding:
    """The finding for an interface that is missing, or that the tables do not have.

    Source: ISO 7388, ISO 12164-1, DIN 69893.

    >>> interface_not_known("holder", "XY 9").text
    'Interface XY 9 is not in the tables.'
    """
    text = f"Interface {interface} is not in the tables." if interface else "Interface missing."
    return Finding(
        f"{kind}.interface_not_known",
        Level.UNKNOWN,
        text,
        remedy="Choose it by its code, such as BT30 or HSK-F63.",
        source="ISO 7388, ISO 12164-1, DIN 69893",
    )


def not_positive(kind: str, sizes: dict[str, int | None]) -> list[Finding]:
    """Refuses zero and less: never a size or a limit; "not known" is an empty field.

    Source: geometry.

    >>> not_positive("cutter", {"shank": 0})[0].code
    'cutter.not_positive'
    """
    return [
        Finding(
            f"{kind}.not_positive",
            Level.STOP_HARD,
            f"{name.capitalize()} must be more than 0.",
            measured=value,
            limit=0,
            remedy="Leave the field empty when it is not known.",
            source=GEOMETRY,
        )
        for name, value in sizes.items()
        if value is not None and value <= 0
    ]
