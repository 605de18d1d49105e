"""From the mark engraved on a holder to the assembly it is built into. Reads only."""

from __future__ import annotations

from assemblies.models import Assembly, BuildPart, PartRole
from crib.rules.keys import key_of, squeezed


def assembly_with_holder(mark: str) -> Assembly | None:
    """The assembly whose live build has the holder with this mark; hyphens and blanks apart."""
    part = _holder(mark)
    return part.build.assembly if part else None


def assembly_of_mark(mark: str) -> tuple[int, str] | None:
    """Number of the assembly whose live build has exactly this holder, and the recorded mark."""
    holder = BuildPart.objects.filter(
        role=PartRole.HOLDER, build__live=True, piece__mark_key=key_of(mark)
    )
    return holder.values_list("build__assembly__number", "piece__mark").first()


def _holder(mark: str) -> BuildPart | None:
    held = BuildPart.objects.filter(role=PartRole.HOLDER, build__live=True)
    rows = held.select_related("piece", "build__assembly")
    exact = rows.filter(piece__mark_key=key_of(mark)).first()
    return exact or _alike(rows, mark)


def _alike(rows, mark: str) -> BuildPart | None:
    """The one holder whose mark reads the same; of two, neither is guessed."""
    wanted = squeezed(mark)
    keys = rows.order_by().values_list("pk", "piece__mark_key") if wanted else ()
    found = [pk for pk, key in keys if key and squeezed(key) == wanted]
    return rows.get(pk=found[0]) if len(found) == 1 else None
