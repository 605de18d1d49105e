"""Changing a limit of the shop: added, never overwritten, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet

from assemblies.actions.shop_limits import last_changes
from assemblies.rules.shop_setting_rows import SETTINGS, Setting
from assemblies.rules.shop_settings import (
    InForce,
    NotASetting,
    Value,
    limits_from,
    read_stored,
    setting_named,
    to_stored,
    usual,
    value_in,
)
from crib.actions.once import Done, do_once
from crib.models import Act, Person, SettingChange
from crib.rules.refusal import Refused

LONGEST_REASON = 200


@dataclass(frozen=True)
class LimitNow:
    """One limit as it stands; `change` is the last one of it, None where nobody touched it."""

    setting: Setting
    value: Value
    usual: Value
    change: SettingChange | None

    @property
    def is_usual(self) -> bool:
        return self.value == self.usual


def limits_now() -> tuple[list[LimitNow], InForce]:
    """Every limit with who changed it last, and what was stored in vain; one query."""
    last = {row.name: row for row in last_changes().select_related("by").order_by("name")}
    in_force = limits_from({name: row.value for name, row in last.items()})
    return [_now(setting, last, in_force) for setting in SETTINGS], in_force


def _now(setting: Setting, last: dict[str, SettingChange], in_force: InForce) -> LimitNow:
    name = setting.name
    return LimitNow(setting, value_in(in_force, name), usual(name), last.get(name))


def changes_of(name: str) -> QuerySet[SettingChange]:
    """The history of one limit, newest first."""
    return SettingChange.objects.filter(name=name).select_related("by").order_by("-pk")


def read_change(name: str, stored: object) -> Value:
    """What a row of the history says: a value, None for hours that are not counted.

    Raises NotASetting for what cannot be read; back to usual is the usual value.
    """
    return usual(name) if stored is None else read_stored(name, stored)


def change_limit(
    *, by: Person, submission: UUID, name: str, value: Value, seen: int, reason: str
) -> Done:
    """Set a limit of the shop; the usual value takes the shop's own one back.

    `seen` is the key of the last change that the person saw, 0 for none: a change made by
    somebody else meanwhile is never overwritten unread. What was frozen before keeps the limit
    of its day; the check at the spindle asks with the new one at once.
    """

    def work(act):
        stored = _stored(name, value)
        reason_text = reason.strip()
        if not reason_text:
            raise Refused("limit.reason", "Say why in a few words.", field="reason")
        before = _last_seen(name, seen)
        if stored == before:
            raise Refused("limit.same", "That is the value it has now.", field="value")
        _write(act, name, stored, before, reason_text)
        return name

    return do_once(
        submission=submission, kind="limit.change", by=by, needs="limits.edit", work=work
    )


def _stored(name: str, value: Value) -> object:
    """The stored form; None for the usual value."""
    if setting_named(name) is None:
        raise Refused("limit.no_such", f"There is no limit “{name[:24]}”.")
    try:
        stored = to_stored(name, value)
    except NotASetting as fault:
        raise Refused("limit.outside_span", str(fault), field="value") from fault
    return None if value == usual(name) else stored


def _last_seen(name: str, seen: int) -> object:
    """The stored value before; nobody else changes a limit until the end of the act."""
    _hold_others_back()
    last = SettingChange.objects.filter(name=name).order_by("-pk").first()
    if (last.pk if last else 0) != seen:
        raise Refused(
            "limit.changed_meanwhile",
            "Somebody changed this limit since the page was opened.",
            "Look at its history, then decide again.",
        )
    return last.value if last else None


def _hold_others_back() -> None:
    """Hold the table: before the first change of a limit there is no row that could be held.

    Who reads limits goes on reading. On SQLite a transaction holds every writer back already.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            table = connection.ops.quote_name(SettingChange._meta.db_table)
            cursor.execute(f"LOCK TABLE {table} IN SHARE ROW EXCLUSIVE MODE")


def _write(act: Act, name: str, stored: object, before: object, reason: str) -> None:
    SettingChange.objects.create(
        name=name,
        value=stored,
        before=before,
        reason=reason[:LONGEST_REASON],
        act=act,
        by=act.by,
    )
    act.about = f"limit {name}"
    act.details = {"value": stored, "before": before}
