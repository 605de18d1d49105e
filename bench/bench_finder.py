"""Speed of the part finder on a large crib, as a ratio within one run.

Run: python bench/bench_finder.py [pieces]. An invented crib of 10,000 marked pieces is made in a
throw-away database. The finder's time is set against one plain scan of the pieces, so that the
ratio says something on any machine. The aims: under 20 queries, and an answer within 5 scans.
"""

from __future__ import annotations

import os
import random
import sys
import tempfile
import time
from pathlib import Path
from uuid import uuid4

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

QUERY_AIM, RATIO_AIM, TIMES = 20, 5, 3
#: Kind -> share of the pieces [percent], number of items.
_SHARES = {"holder": (15, 60), "collet": (65, 400), "nut": (15, 12), "cutter": (5, 20)}
_SERIES = {"ER16": "M22x1.5", "ER25": "M32x1.5", "ER32": "M40x1.5", "ER40": "M50x1.5"}
_INTERFACES = ("ISO 30 router", "HSK-F63", "HSK-A63", "BT40")


def invented_crib(pieces: int) -> None:
    """Items of every kind with their marked pieces, in two hundred drawers."""
    from crib.models import Item, Piece, Place

    dice = random.Random(1)
    drawers = Place.objects.bulk_create(Place(code=f"D{n}", code_key=f"d{n}") for n in range(200))
    for kind, (percent, count) in _SHARES.items():
        items = Item.objects.bulk_create(
            Item(code=f"{kind}-{n}", code_key=f"{kind}-{n}", kind=kind, description=f"{kind} {n}")
            for n in range(count)
        )
        _add_facts(kind, items, dice)
        rows = [
            Piece(
                item=items[n % count],
                mark=f"{kind[0]}{kind[1]}{n}",
                mark_key=f"{kind[0]}{kind[1]}{n}",
                place=drawers[n % 200],
                stud_state="fitted" if kind == "holder" else "not_used",
                stud_pattern=dice.choice("AB") if kind == "holder" else "",
            )
            for n in range(pieces * percent // 100)
        ]
        _book_in(Piece.objects.bulk_create(rows, batch_size=500))


def _add_facts(kind: str, items: list, dice: random.Random) -> None:
    from crib import models

    make = {
        "holder": (models.HolderFacts, _holder),
        "collet": (models.ColletFacts, _collet),
        "nut": (models.NutFacts, _nut),
        "cutter": (models.CutterFacts, _cutter),
    }
    model, facts = make[kind]
    model.objects.bulk_create(model(item=item, **facts(n, dice)) for n, item in enumerate(items))


def _holder(n: int, dice: random.Random) -> dict:
    series = list(_SERIES)[n % 4]
    return {
        "interface": dice.choice(_INTERFACES),
        "collet_series": series,
        "nose_thread": _SERIES[series],
        "gauge_length_um": 50_000 + 1_000 * (n % 30),
        "n_max_rpm": 24_000,
    }


def _collet(n: int, dice: random.Random) -> dict:
    largest_um = 3_000 + 250 * (n // 4 % 80)
    smallest_um = largest_um - 1_000
    return {
        "series": list(_SERIES)[n % 4], "clamp_max_um": largest_um, "clamp_min_um": smallest_um
    }  # fmt: skip


def _nut(n: int, dice: random.Random) -> dict:
    series = list(_SERIES)[n % 4]
    return {"series": series, "thread": _SERIES[series], "n_max_rpm": 24_000}


def _cutter(n: int, dice: random.Random) -> dict:
    return {
        "kind": "compression",
        "diameter_um": 12_000,
        "shank_um": 12_000,
        "plain_shank_um": 41_000,
        "overall_um": 83_000,
        "flute_um": 42_000,
        "hand": "right",
        "n_max_rpm": 24_000,
    }


def _book_in(pieces: list) -> None:
    """The ledger's side of the pieces."""
    from crib.actions.places import account
    from crib.models import Act, Movement, Person, PlaceKind

    by, _ = Person.objects.get_or_create(username="bench")
    act = Act.objects.create(id=uuid4(), kind="piece.add", by=by)
    outside = account(PlaceKind.SUPPLIER)
    Movement.objects.bulk_create(
        (
            Movement(
                item_id=piece.item_id,
                piece=piece,
                quantity=1,
                from_place=outside,
                to_place=piece.place,
                reason="opening",
                act=act,
                by=by,
            )
            for piece in pieces
        ),
        batch_size=500,
    )


def invented_machine():
    from assemblies.models import Machine

    made = Machine(
        mark="R1",
        name="Router 1",
        interface="ISO 30 router",
        stud_pattern="A",
        speed_max_rpm=24_000,
        is_router=True,
    )
    made.save()
    return made


def seconds(job) -> float:
    """The shortest of some runs [s]."""
    taken = []
    for _ in range(TIMES):
        start = time.perf_counter()
        job()
        taken.append(time.perf_counter() - start)
    return min(taken)


def plain_scan() -> int:
    """Every piece with its item and place, once."""
    from crib.models import Piece

    return sum(1 for _ in Piece.objects.select_related("item", "place"))


def main(pieces: int) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from assemblies.actions.part_finder import Question, find, named_cutter

    invented_crib(pieces)
    cutter, _ = named_cutter("cutter-1")
    question = Question(cutter, invented_machine(), speed_rpm=18_000)
    with CaptureQueriesContext(connection) as queries:
        found = find(question)
    finder, scan = seconds(lambda: find(question)), seconds(plain_scan)
    print(f"pieces       {pieces:8}")
    print(f"stacks       {len(found.stacks):8}       {len(found.dropped)} groups fall out")
    print(f"queries      {len(queries):8}       (aim: under {QUERY_AIM})")
    print(f"finder       {finder:8.2f} s")
    print(f"plain scan   {scan:8.2f} s")
    print(f"ratio        {finder / scan:8.1f}       (aim: {RATIO_AIM} or less)")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"HOLDERBOOK_DATA": folder, "DJANGO_SETTINGS_MODULE": "config.settings"}
        os.environ.pop("DATABASE_URL", None)
        import django
        from django.core.management import call_command

        django.setup()
        call_command("migrate", verbosity=0)
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
