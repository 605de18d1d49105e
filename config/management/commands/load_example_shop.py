"""`manage.py load_example_shop`: the invented shop, into a database that holds nothing yet."""

from __future__ import annotations

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from config.example.data import shop
from config.example.load import load, records_there
from crib.rules.refusal import Refused


class Command(BaseCommand):
    help = "Load the invented example shop into an empty database."

    def add_arguments(self, parser):
        parser.add_argument(
            "--if-empty",
            action="store_true",
            help="do nothing, instead of refusing, when there are records already",
        )

    def handle(self, *args, if_empty: bool, **options):
        there = records_there()
        if there and if_empty:
            self.stdout.write("There are records already; the example shop was not loaded.")
            return
        if there:
            raise CommandError(
                f"This database holds records already: {', '.join(there)}. "
                "The example shop only goes into an empty one. "
                "Set HOLDERBOOK_DATA to a new folder."
            )
        try:
            load()
        except Refused as refused:
            raise CommandError(f"Nothing was loaded. {refused.sentence}") from refused
        self.stdout.write(f"Loaded the example shop {shop()['shop']}. All of it is invented.")
        if not settings.DEMO:
            self.stdout.write("Its people can sign in only while DEMO=1 is set.")
