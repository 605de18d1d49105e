from __future__ import annotations

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models

from crib import roles


class Person(AbstractUser):
    """Somebody who signs in. Each role is a column of its own, so no request looks roles up."""

    initials = models.CharField(max_length=4, blank=True, help_text="As printed on labels.")
    is_operator = models.BooleanField("operator", default=False)
    is_toolroom = models.BooleanField("toolroom", default=False)
    is_programmer = models.BooleanField("programmer", default=False)
    is_buyer = models.BooleanField("buyer", default=False)
    is_lead = models.BooleanField("lead", default=False)
    is_admin = models.BooleanField("admin", default=False)
    #: Made by the example shop; can sign in only while the demo is on.
    is_demo = models.BooleanField(default=False, editable=False)

    #: Hashed; asked for where somebody answers for a stop. Empty: no PIN was chosen.
    pin = models.CharField(max_length=128, blank=True, editable=False)
    pin_set_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = UserManager()

    class Meta:
        ordering = ["username"]

    def __str__(self) -> str:
        return self.shown_name

    @property
    def shown_name(self) -> str:
        return self.get_full_name() or self.username

    @property
    def shown_initials(self) -> str:
        return self.initials or self.shown_name[:2].upper()

    @property
    def roles(self) -> frozenset[str]:
        return frozenset(role for role in roles.ROLES if getattr(self, f"is_{role}"))

    @property
    def role_names(self) -> list[str]:
        return [name for role, name in roles.ROLES.items() if role in self.roles]

    def may(self, permission: str) -> bool:
        return self.is_active and roles.may(self.roles, permission)
