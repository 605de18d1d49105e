"""Who is let in: people with a password, and those of the example shop only in the demo."""

from django.conf import settings
from django.contrib.auth.backends import ModelBackend


class ShopBackend(ModelBackend):
    """Passwords of the example shop are printed on the screen: they open nothing else.

    Asked at the sign-in and again for every page, so that switching the demo off also
    ends the sessions that are still open.
    """

    def user_can_authenticate(self, user):
        return super().user_can_authenticate(user) and (settings.DEMO or not user.is_demo)
