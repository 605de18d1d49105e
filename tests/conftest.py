"""Fixtures of all tests: the database without delete guards, and a real browser."""

import os
import threading

import pytest
from django.conf import settings
from django.db import connection, transaction

from dev import find_chromium
from tests.append_only import drop_delete_guards, put_delete_guards, take_delete_guards

# Playwright runs a loop in the test's thread; Django would refuse every query beside it.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

#: Widths and heights of the screens in the shop, in CSS pixels.
SCREENS = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1366, 768)}
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # Lets a test be a computer in the shop's network, reached without HTTPS.
    "--host-resolver-rules=MAP holderbook.test 127.0.0.1",
]
BROWSER_FIXTURES = {"browser", "open_page", "page"}


def pytest_configure(config):
    """Fail at once where PostgreSQL was asked for and SQLite would be tested twice."""
    engine = settings.DATABASES["default"]["ENGINE"]
    if os.environ.get("REQUIRE_PG") == "1" and not engine.endswith("postgresql"):
        raise pytest.UsageError("REQUIRE_PG=1, but DATABASE_URL names no PostgreSQL")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config, items):
    for item in items:
        if BROWSER_FIXTURES.intersection(getattr(item, "fixturenames", ())):
            item.add_marker(pytest.mark.browser)
    if os.environ.get("ONLY_DATABASE_TESTS") == "1":
        _leave_out(config, items)


def _leave_out(config, items):
    """Keep what may answer otherwise on another database; the rest was tested on the first one."""
    left_out = [item for item in items if not _may_differ(item)]
    config.hook.pytest_deselected(items=left_out)
    items[:] = [item for item in items if _may_differ(item)]


def _may_differ(item) -> bool:
    if item.get_closest_marker("looks") is not None:
        return False
    asked = {"db", "transactional_db", "django_db_setup", "module_rows"}
    asks = asked.intersection(getattr(item, "fixturenames", ()))
    return bool(asks) or item.get_closest_marker("django_db") is not None


# ---- database
@pytest.fixture(scope="session")
def delete_guards(django_db_setup, django_db_blocker):
    """How the delete guards taken from the test database are made again."""
    return django_db_setup


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    """The test database, open to Django's emptying it between tests that commit."""
    with django_db_blocker.unblock():
        return take_delete_guards()


@pytest.fixture(scope="module")
def module_rows(django_db_setup, django_db_blocker):
    """An open transaction around all tests of a module; what stands in it stands for each.

    A module's own fixture asks for it, writes its rows once, and each test finds them as
    they were written. Not for a module in which a test commits.
    """
    with django_db_blocker.unblock(), transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture
def append_only_guard(db, delete_guards):
    """The delete guards, in force for this test. Wrap what they refuse in `atomic()`."""
    put_delete_guards(delete_guards)
    yield
    # Inside a transaction the rollback takes them away, even after an error.
    if not connection.in_atomic_block:
        drop_delete_guards(delete_guards)


# ---- browser
@pytest.fixture(scope="session")
def browser():
    """One Chromium for all tests of this process."""
    path = find_chromium()
    if path is None and os.environ.get("REQUIRE_BROWSER") == "1":
        pytest.fail("REQUIRE_BROWSER=1, but no Chromium was found", pytrace=False)
    if path is None:
        pytest.skip("no Chromium found")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture
def console_errors():
    """What the browser complained about. A test that provokes a complaint clears it."""
    return []


@pytest.fixture
def open_page(browser, live_server, console_errors):
    """Open pages: `open_page("phone", person=anna)`; then `page.goto("/...")`.

    `person` is signed in already. Other arguments go to the browser context, for
    example `java_script_enabled=False`. Complaints in the console fail the test.
    """
    contexts = []

    def open_one(screen="desk", person=None, **options):
        width, height = SCREENS[screen]
        options.setdefault("base_url", live_server.url)
        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        context.set_default_timeout(10_000)
        if person is not None:
            context.add_cookies([session_cookie(person, options["base_url"])])
        page = context.new_page()
        page.on("console", lambda line: _keep_error(line, console_errors))
        page.on("pageerror", lambda error: console_errors.append(str(error)))
        return page

    yield open_one
    for context in contexts:
        context.close()
    _wait_for_answers()
    assert not console_errors, "the browser complained:\n" + "\n".join(console_errors)


@pytest.fixture
def page(open_page):
    """One page on the shop's PC, nobody signed in."""
    return open_page()


def _wait_for_answers():
    """Let the server finish what nobody waits for, before the tables are emptied under it."""
    for thread in threading.enumerate():
        if "process_request_thread" in thread.name:
            thread.join(timeout=10)


def _keep_error(line, console_errors):
    address = line.location.get("url", "")
    # Asked for beside plain text and PDF, where no page can name an icon.
    if line.type == "error" and not address.endswith("/favicon.ico"):
        console_errors.append(f"{line.text} ({address})")


def session_cookie(person, url):
    """The cookie of a session in which `person` is signed in."""
    from django.test import Client

    client = Client()
    client.force_login(person)
    return {
        "name": settings.SESSION_COOKIE_NAME,
        "value": client.cookies[settings.SESSION_COOKIE_NAME].value,
        "url": url,
    }
