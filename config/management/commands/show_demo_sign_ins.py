"""`manage.py show_demo_sign_ins`: where the demo is, and an account for each role."""

from __future__ import annotations

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from config.example.data import shop
from config.example.people import pins, sign_ins


class Command(BaseCommand):
    help = "Print the address and the accounts of the demo."

    def handle(self, *args, **options):
        if not settings.DEMO:
            raise CommandError("This is no demo, so there are no accounts to show.")
        self.stdout.write(f"{shop()['shop']} at {settings.BASE_URL} (invented; demo accounts only)")
        self.stdout.write(f"  {'role':<12}{'name':<10}password")
        for role, name, password in sign_ins():
            self.stdout.write(f"  {role:<12}{name:<10}{password}")
        shown = ", ".join(f"{name} {pin}" for name, pin in pins())
        self.stdout.write(f"  PIN to answer for a stop: {shown}")
