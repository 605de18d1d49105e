"""The limits a shop may set otherwise: their names, spans and stored form.

A stored value that cannot be read, or lies outside its span, counts as if nobody had set it: the
usual value holds, and a finding says so. No value ever means "no limit", but for the hours of a
collet, which a shop may leave uncounted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from itertools import pairwise

from assemblies.rules.grip import GRIP_RULES
from assemblies.rules.shop_setting_rows import SETTINGS, Kind, Setting
from assemblies.rules.stack import ShopLimits as BenchLimits
from assemblies.rules.verdict.facts import ShopLimits as SpindleLimits
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

#: Edge of cutting diameter [um], included; None: no end. Then the runout allowed [um].
Bands = tuple[tuple[int | None, int], ...]
Value = int | str | Bands | None

#: Stored in place of hours where the shop counts none.
NOT_COUNTED = "not_counted"
MOST_BANDS = 6
_WIDEST_BAND_UM = 500_000


class NotASetting(ValueError):
    """The value cannot be this setting; the message says why, for people."""


_BY_NAME = {setting.name: setting for setting in SETTINGS}


def setting_named(name: str) -> Setting | None:
    """The setting of that name; None when there is none.

    >>> setting_named("closure_um").unit, setting_named("no_such")
    ('mm', None)
    """
    return _BY_NAME.get(name)


def usual(name: str) -> Value:
    """The value that holds where nobody set another. Raises KeyError for an unknown name.

    >>> usual("closure_um"), usual("grip_rule"), usual("remeasure_after_days")
    (500, 'two_thirds_collet', 180)
    """
    return value_in(InForce(), name)


@dataclass(frozen=True, slots=True)
class InForce:
    """The limits that hold, of the bench and of the spindle, and what was stored in vain."""

    spindle: SpindleLimits = field(default_factory=SpindleLimits)
    faults: tuple[Finding, ...] = ()

    @property
    def bench(self) -> BenchLimits:
        return self.spindle.bench


_BENCH_NAMES = frozenset(limit.name for limit in fields(BenchLimits))


def value_in(limits: InForce, name: str) -> Value:
    """The value of one setting in `limits`. Raises KeyError for a name that is no setting.

    >>> value_in(InForce(), "rim_caution_m_s")
    50
    """
    if name not in _BY_NAME:
        raise KeyError(name)
    return getattr(limits.bench if name in _BENCH_NAMES else limits.spindle, name)


# ---- the stored form
def read_stored(name: str, stored: object) -> Value:
    """The value of a setting out of its stored form (JSON). Raises NotASetting, KeyError.

    >>> read_stored("closure_um", 300), read_stored("collet_hours_limit", "not_counted")
    (300, None)
    >>> read_stored("runout_bands_um", [[6000, 8], [None, 20]])
    ((6000, 8), (None, 20))
    """
    setting = _BY_NAME[name]
    if setting.kind is Kind.CHOICE:
        return _choice(stored)
    if setting.kind is Kind.BANDS:
        return _bands(setting, stored)
    if setting.may_be_uncounted and stored == NOT_COUNTED:
        return None
    return _number(setting, stored)


def to_stored(name: str, value: Value) -> object:
    """The form in which a value is stored, as JSON. Raises NotASetting, KeyError.

    >>> to_stored("collet_hours_limit", None), to_stored("closure_um", 300)
    ('not_counted', 300)
    """
    setting = _BY_NAME[name]
    stored: object = value
    if setting.kind is Kind.BANDS and isinstance(value, tuple):
        stored = [list(band) for band in value]
    elif setting.may_be_uncounted and value is None:
        stored = NOT_COUNTED
    read_stored(name, stored)
    return stored


def _choice(stored: object) -> str:
    if not isinstance(stored, str) or stored not in GRIP_RULES:
        raise NotASetting("That is none of the rules.")
    return stored


def _is_whole(stored: object) -> bool:
    return isinstance(stored, int) and not isinstance(stored, bool)


def _number(setting: Setting, stored: object) -> int:
    if not _is_whole(stored):
        raise NotASetting("That is no whole number.")
    if not setting.least <= stored <= setting.most:
        raise NotASetting(f"Allowed is {span_text(setting)}. {setting.beyond}")
    return stored


def _bands(setting: Setting, stored: object) -> Bands:
    if not isinstance(stored, list) or not 1 <= len(stored) <= MOST_BANDS:
        raise NotASetting(f"One to {MOST_BANDS} bands are needed.")
    if not all(isinstance(band, list) and len(band) == 2 for band in stored):
        raise NotASetting("Each band is a diameter and a runout.")
    edges, allowed = [band[0] for band in stored], [band[1] for band in stored]
    if edges[-1] is not None:
        raise NotASetting("The last band has no end: every cutter needs a limit.")
    if not all(_is_whole(edge) and 0 < edge <= _WIDEST_BAND_UM for edge in edges[:-1]):
        raise NotASetting("Each diameter but the last is a length up to 500 mm.")
    if not all(_is_whole(um) and setting.least <= um <= setting.most for um in allowed):
        raise NotASetting(f"Each runout allowed is {span_text(setting)}.")
    if any(this >= after for this, after in pairwise(edges[:-1])):
        raise NotASetting("The diameters have to rise from band to band.")
    if allowed != sorted(allowed):
        raise NotASetting("A larger cutter is never allowed less runout than a smaller one.")
    return tuple((edge, um) for edge, um in stored)


# ---- all of them
def limits_from(stored: Mapping[str, object]) -> InForce:
    """The limits that hold, from what was stored last under each name; None: back to the usual.

    >>> limits_from({"closure_um": 300}).bench.closure_um
    300
    >>> [f.code for f in limits_from({"closure_um": "wide", "no_such": 1}).faults]
    ['limit.not_readable', 'limit.not_a_setting']

    Source: own rules; what cannot be read never widens a limit beyond the usual one.
    """
    read: dict[str, Value] = {}
    faults = []
    for name, value in stored.items():
        if name not in _BY_NAME:
            faults.append(_not_a_setting(name))
        elif value is not None:
            try:
                read[name] = read_stored(name, value)
            except NotASetting as fault:
                faults.append(_not_readable(_BY_NAME[name], str(fault)))
    return InForce(_put_into(SpindleLimits(), read), tuple(faults))


def _put_into(limits: SpindleLimits, read: Mapping[str, Value]) -> SpindleLimits:
    bench = {name: value for name, value in read.items() if name in _BENCH_NAMES}
    spindle = {name: value for name, value in read.items() if name not in _BENCH_NAMES}
    return replace(limits, bench=replace(limits.bench, **bench), **spindle)


def with_value(limits: InForce, name: str, value: Value) -> InForce:
    """`limits` with one setting changed. Raises KeyError for a name that is no setting.

    >>> with_value(InForce(), "rim_caution_m_s", 40).spindle.rim_caution_m_s
    40
    """
    if name not in _BY_NAME:
        raise KeyError(name)
    return replace(limits, spindle=_put_into(limits.spindle, {name: value}))


def _not_a_setting(name: str) -> Finding:
    return Finding(
        "limit.not_a_setting",
        Level.NOTE,
        f"A value is stored for “{name[:24]}”, which is no limit here.",
        remedy="It is left aside.",
        source="shop setting",
    )


def _not_readable(setting: Setting, why: str) -> Finding:
    return Finding(
        "limit.not_readable",
        Level.CHECK,
        "The stored value cannot be used. The usual one holds.",
        remedy=f"{setting.words}: set it anew. {why}",
        source="shop setting",
    )


# ---- in words
def shown_value(name: str, value: Value) -> str:
    """A value as people read it, with its unit. Raises KeyError for an unknown name.

    >>> shown_value("closure_um", 500), shown_value("collet_hours_limit", None)
    ('0.50 mm', 'not counted')
    >>> shown_value("runout_bands_um", ((6000, 8), (None, 20)))
    'to Ø 6.00: 0.008 mm; above: 0.020 mm'
    """
    setting = _BY_NAME[name]
    if setting.kind is Kind.CHOICE:
        return GRIP_RULES[value]
    if setting.kind is Kind.BANDS:
        return "; ".join(_band_text(edge, um) for edge, um in value)
    if value is None:
        return "not counted"
    return _with_unit(setting, value)


def _band_text(edge_um: int | None, allowed_um: int) -> str:
    upto = "above" if edge_um is None else f"to Ø {show_mm(edge_um)}"
    return f"{upto}: {show_mm(allowed_um, 3)} mm"


def _with_unit(setting: Setting, value: int) -> str:
    if setting.kind in (Kind.LENGTH, Kind.BANDS):
        return f"{show_mm(value, setting.decimals)} mm"
    return f"{value} times" if setting.unit == "×" else f"{value} {setting.unit}"


def span_text(setting: Setting) -> str:
    """The allowed span in words.

    >>> span_text(setting_named("closure_um")), span_text(setting_named("grip_rule"))
    ('0.02 mm to 2.00 mm', 'one of the named rules')
    """
    if setting.kind is Kind.CHOICE:
        return "one of the named rules"
    span = f"{_with_unit(setting, setting.least)} to {_with_unit(setting, setting.most)}"
    return f"{span}, or not counted" if setting.may_be_uncounted else span


def shown_values(limits: InForce) -> dict[str, str]:
    """Every setting's present value in words, by name: what fills the limits of the rule book.

    >>> shown_values(InForce())["runout_stop_factor"]
    '2 times'
    """
    return {name: shown_value(name, value_in(limits, name)) for name in _BY_NAME}
