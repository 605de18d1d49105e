"""Labels of released builds: giving a code out once, and printing it as often as needed."""

from __future__ import annotations

import secrets
from uuid import UUID

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from assemblies.actions.stack_facts import parts_of, stack_of
from assemblies.models import Assembly, AssemblyState, Build
from assemblies.rules.speed import speed_limit
from crib.actions.once import Done, do_once
from crib.models import Person
from crib.rules.refusal import Refused
from labels.drawing.assembly_label import AssemblyLabel
from labels.models import Label
from labels.rules.address import AddressRefused, label_url
from labels.rules.code import code_from_bits

CODE_BITS = 40
_TRIES = 20
#: A cutter from this diameter on needs a marked speed [um]. Source: scope of EN 847-1.
LARGE_CUTTER_FROM_UM = 16_000


def print_label(*, by: Person, submission: UUID, assembly: Assembly) -> Done:
    """Count a print of the released revision's label; the first one gives the code out.

    Refuses anything that is not released: a label that would be void at once is never printed.
    """

    def work(act):
        # Held, so that of two first prints one makes the code and the other uses it.
        Assembly.objects.select_for_update(no_key=True).get(pk=assembly.pk)
        build = releasable(assembly)
        label = Label.objects.select_for_update().filter(build=build).first()
        label = label or _new_label(build, by)
        _refuse_cancelled(label)
        Label.objects.filter(pk=label.pk).update(
            print_count=F("print_count") + 1, printed_at=timezone.now()
        )
        act.about = f"assembly {assembly.number}"
        act.details = {"revision": build.revision, "code": label.code}
        return label.code

    return do_once(submission=submission, kind="label.print", by=by, needs="label.print", work=work)


def releasable(assembly: Assembly) -> Build:
    """The released live build. Refuses drafts, unreleased, quarantined and retired ones."""
    assembly.refresh_from_db(fields=["state", "state_note"])
    build = Build.objects.filter(assembly=assembly, live=True).first()
    if build is None or build.released_at is None or assembly.state != AssemblyState.RELEASED:
        raise Refused(
            "label.not_released",
            f"Assembly {assembly.number} is {assembly.get_state_display().lower()}.",
            "Release it first; then its label can be printed.",
        )
    return build


def _refuse_cancelled(label: Label) -> None:
    if label.cancelled_at is not None:
        raise Refused(
            "label.cancelled",
            f"The label of {label.build} was cancelled: {label.cancel_reason}",
            "Rebuild the assembly to get a new one.",
        )


def _new_label(build: Build, by: Person) -> Label:
    for _ in range(_TRIES):
        code = code_from_bits(secrets.randbits(CODE_BITS))
        try:
            with transaction.atomic():
                return Label.objects.create(code=code, build=build, made_by=by)
        except IntegrityError:
            continue
    raise Refused("label.no_code", "No free code was found.", "Try again.")


def cancel_label(*, by: Person, submission: UUID, assembly: Assembly, reason: str) -> Done:
    """Void the label of the live build for good, as when a print got into wrong hands."""

    def work(act):
        label = Label.objects.filter(build__assembly=assembly, build__live=True).first()
        if label is None or label.cancelled_at is not None:
            raise Refused("label.none", f"Assembly {assembly.number} has no live label.")
        if not reason.strip():
            raise Refused("label.reason", "Say why in a few words.", field="reason")
        Label.objects.filter(pk=label.pk).update(
            cancelled_at=timezone.now(), cancel_reason=reason.strip()[:120]
        )
        act.about = f"assembly {assembly.number}"
        act.details = {"code": label.code, "reason": reason.strip()[:120]}
        return label.code

    return do_once(
        submission=submission, kind="label.cancel", by=by, needs="label.print", work=work
    )


def label_content(label: Label) -> AssemblyLabel:
    """Everything that is printed on one label, as plain values."""
    build, stack = label.build, stack_of(label.build)
    parts = parts_of(build)
    limit = speed_limit(stack)
    unknown = limit.unknown_parts[0] if limit.unknown_parts else ""
    nominal_um = stack.cutter.diameter_um if stack.cutter else None
    diameter_um = stack.figures.diameter_um or nominal_um
    return AssemblyLabel(
        assembly_number=str(build.assembly.number),
        revision=build.revision,
        holder_mark=stack.holder.mark if stack.holder else "",
        diameter_um=diameter_um,
        bought_in_inches=bool(stack.cutter and stack.cutter.bought_in_inches),
        cutter_text=parts["cutter"].item.description if "cutter" in parts else "",
        collet_text=parts["collet"].item.description if "collet" in parts else "",
        stickout_um=stack.figures.stickout_um,
        gauge_length_um=stack.figures.gauge_length_um,
        limit_rpm=None if unknown else limit.limit_rpm,
        limiting_part=unknown or limit.limiting_part,
        built_on=timezone.localtime(build.built_at).date(),
        built_by=build.built_by.shown_initials,
        code=label.code,
        url_text=_url(label.code),
        large_cutter=diameter_um is None or diameter_um >= LARGE_CUTTER_FROM_UM,
    )


def _url(code: str) -> str:
    try:
        return label_url(settings.BASE_URL, code)
    except AddressRefused as error:
        remedy = error.finding.remedy
        raise Refused("label.address", error.finding.text, remedy) from error
