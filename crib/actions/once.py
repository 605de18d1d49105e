"""Asked twice, done once: the frame of every writing action."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from uuid import UUID

from django.db import IntegrityError, transaction

from crib.models import Act, Person
from crib.rules.refusal import NotAllowed, Refused


@dataclass(frozen=True)
class Done:
    """What came of an act. `repeated` tells that an earlier attempt had already done it."""

    result: str
    repeated: bool
    act_id: UUID


def require(by: Person, permission: str) -> None:
    """Raise NotAllowed unless `by` holds `permission`."""
    if by is None or not by.may(permission):
        raise NotAllowed(permission)


def do_once(
    *, submission: UUID, kind: str, by: Person, needs: str, work: Callable[[Act], object]
) -> Done:
    """Run `work(act)` in one transaction, unless this submission was already done.

    `work` returns what the act led to (a number or key, kept as text), and may set
    `act.about` and `act.details`. The row of the act is written first: a second attempt at the
    same time waits for it, fails on its key, and answers with the first one's result.
    """
    require(by, needs)
    with transaction.atomic():
        act = _open_act(submission, kind, by)
        if act is None:
            return _first_answer(submission, kind, by)
        result = str(work(act))
        act.fill_result(result)
    return Done(result, repeated=False, act_id=act.pk)


def _open_act(submission: UUID, kind: str, by: Person) -> Act | None:
    try:
        with transaction.atomic():
            return Act.objects.create(id=submission, kind=kind, by=by)
    except IntegrityError:
        return None


def _first_answer(submission: UUID, kind: str, by: Person) -> Done:
    act = Act.objects.get(pk=submission)
    if act.kind != kind or act.by_id != by.pk:
        raise Refused(
            "act.id_used_before",
            "This form was already used for something else.",
            "Open the page again and repeat the entry.",
        )
    return Done(act.result, repeated=True, act_id=act.pk)
