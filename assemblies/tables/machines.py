"""The list of machines."""

from __future__ import annotations

import django_tables2 as tables
from django.urls import reverse

from crib.tables import NUMBER, ShopTable


def _page(record) -> str:
    return reverse("assemblies:machine_detail", args=[record.mark])


class MachineTable(ShopTable):
    mark = tables.Column(linkify=_page)
    name = tables.Column(linkify=_page)
    interface = tables.Column(verbose_name="Taper")
    stud_pattern = tables.Column(verbose_name="Pull stud", empty_values=())
    tool_change = tables.Column(verbose_name="Tool change")
    speed_max_rpm = tables.Column(verbose_name="Highest speed", attrs=NUMBER, default="not known")
    tools_in = tables.Column(verbose_name="Tools in it", attrs=NUMBER)

    caption = "Machines"
    empty_hint = "The check at the spindle needs at least one."

    def render_stud_pattern(self, record) -> str:
        return record.stud_pattern if record.uses_stud else "none used"

    def render_speed_max_rpm(self, value) -> str:
        return f"{value} 1/min"
