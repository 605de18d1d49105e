"""`manage.py make_admin NAME`: the first admin of a new shop."""

from __future__ import annotations

import getpass
import sys

from django.core.management.base import BaseCommand, CommandError

from crib.actions.first_admin import make_first_admin
from crib.rules.refusal import Refused


class Command(BaseCommand):
    help = "Make the first admin of a shop. The password is asked for, or read from standard input."

    def add_arguments(self, parser):
        parser.add_argument("name", help="the name to sign in with")

    def handle(self, *args, name: str, **options):
        try:
            person = make_first_admin(username=name, password=_ask_password())
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        self.stdout.write(f"{person.username} is admin and can sign in.")


def _ask_password() -> str:
    """Typed twice at a terminal; one line where another program sends it."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    password = getpass.getpass("Password: ")
    if getpass.getpass("Once more: ") != password:
        raise CommandError("The two passwords differ.")
    return password
