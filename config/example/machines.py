"""The machines of the example shop."""

from __future__ import annotations

from uuid import uuid4

from assemblies.actions.machines import save_machine
from assemblies.models import Machine
from config.example.data import in_columns, shop
from config.example.people import Crew


def add_machines(crew: Crew) -> None:
    for row in shop()["machines"]:
        save_machine(by=crew["oswin"], submission=uuid4(), machine=Machine(**in_columns(row)))
