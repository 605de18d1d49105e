"""Walking pages in tests: a signed-in browser, and forms sent with their own one-time id."""

from __future__ import annotations

import re

from django.test import Client

from crib.models import Act
from tests import makers

_SUBMISSION = re.compile(r'name="submission" value="([0-9a-f-]{36})"')


def signed_in(*roles: str) -> Client:
    """The browser of a person with `roles`; the person is `client.person`."""
    client = Client()
    client.person = makers.person(*roles)
    client.force_login(client.person)
    return client


def text_of(answer) -> str:
    """What a page says, tags left out and blanks squeezed."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def submission_in(answer) -> str:
    """The first one-time id in a page."""
    return _SUBMISSION.search(answer.content.decode())[1]


def fill_in(client: Client, url: str, **typed):
    """Open the page, type, send: the answer to the form."""
    return client.post(url, {"submission": submission_in(client.get(url)), **typed})


def send_twice(client: Client, url: str, **typed):
    """The same form sent twice: both answers, and how many acts came of it."""
    before = Act.objects.count()
    data = {"submission": submission_in(client.get(url)), **typed}
    answers = client.post(url, data), client.post(url, data)
    return *answers, Act.objects.count() - before
