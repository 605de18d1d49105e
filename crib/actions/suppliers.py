"""Suppliers: adding and changing them."""

from __future__ import annotations

from uuid import UUID

from django.core.exceptions import ValidationError

from crib.actions.once import Done, do_once
from crib.models import Person, Supplier
from crib.rules.refusal import Refused


def save_supplier(*, by: Person, submission: UUID, supplier: Supplier) -> Done:
    """Add or change a supplier. Refuses a name in use."""

    def work(act):
        try:
            supplier.full_clean()
        except ValidationError as error:
            field = next(iter(error.message_dict))
            raise Refused("supplier.not_valid", " ".join(error.messages), field=field) from error
        supplier.save()
        act.about = f"supplier {supplier.pk}"
        return supplier.pk

    return do_once(
        submission=submission, kind="supplier.save", by=by, needs="items.edit", work=work
    )
