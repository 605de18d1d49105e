"""The limits that hold in this shop: the usual ones, and what somebody set otherwise. Reads only.

Each of these asks the database once; ask once a page and hand it on.
"""

from __future__ import annotations

from django.db.models import Max, QuerySet

from assemblies.rules.shop_settings import InForce, limits_from
from assemblies.rules.stack import ShopLimits
from assemblies.rules.verdict.facts import ShopLimits as SpindleLimits
from crib.models import SettingChange


def last_changes() -> QuerySet[SettingChange]:
    """The last change of each setting; changes of one setting are written one after another."""
    last = SettingChange.objects.order_by().values("name").annotate(last=Max("pk")).values("last")
    return SettingChange.objects.filter(pk__in=last)


def limits_in_force() -> InForce:
    """Every limit that holds, and what was stored in vain."""
    return limits_from(dict(last_changes().order_by("name").values_list("name", "value")))


def current_limits() -> ShopLimits:
    """The limits of the bench."""
    return limits_in_force().bench


def spindle_limits() -> SpindleLimits:
    """The limits of the check at the spindle, with those of the bench in it."""
    return limits_in_force().spindle
