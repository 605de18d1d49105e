"""The set-up: one file for old and new Pythons, an environment that fits, a demo that stays."""

import ast
import sys
import tomllib

import pytest
from django.conf import settings
from django.db import IntegrityError, connection, transaction

import dev
from tests.append_only import drop_delete_guards, put_delete_guards, take_delete_guards

ROOT = settings.BASE_DIR


def lines_of(name):
    return (ROOT / name).read_text(encoding="utf-8").splitlines()


# ---- old Pythons
def test_an_old_python_can_read_the_file_that_turns_it_away():
    ast.parse((ROOT / "dev.py").read_text(encoding="utf-8"), feature_version=(3, 6))


@pytest.mark.parametrize("version", [(3, 6, 9), (3, 10, 14)])
def test_an_old_python_is_told_what_to_do(version):
    with pytest.raises(dev.Refused, match=r"needs Python 3\.11 or newer"):
        dev.require_python(version)


def test_the_oldest_python_is_let_in():
    assert dev.require_python((3, 11, 0)) is None


def test_the_oldest_python_is_the_same_everywhere():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["requires-python"] == f">={dev.version_text(dev.OLDEST)}"


# ---- the environment
@pytest.fixture
def venv(tmp_path, monkeypatch):
    """An invented environment, made for the Python of this test."""
    folder = tmp_path / ".venv"
    folder.mkdir()
    (folder / "python").touch()
    (folder / "pyvenv.cfg").write_text(f"version = {sys.version.split()[0]}\n", encoding="utf-8")
    monkeypatch.setattr(dev, "VENV", folder)
    monkeypatch.setattr(dev, "PYTHON", folder / "python")
    return folder


def test_an_environment_of_this_python_is_kept(venv):
    assert dev.venv_fits()


def test_an_environment_of_another_python_is_made_anew(venv):
    (venv / "pyvenv.cfg").write_text("version = 3.4.5\n", encoding="utf-8")
    assert not dev.venv_fits()


@pytest.mark.parametrize("missing", ["python", "pyvenv.cfg"])
def test_half_an_environment_is_made_anew(venv, missing):
    (venv / missing).unlink()
    assert not dev.venv_fits()


def test_a_python_without_venv_leaves_nothing_behind(venv, monkeypatch):
    monkeypatch.setattr(sys, "executable", "/bin/false")
    with pytest.raises(dev.Refused, match="apt install python3-venv"):
        dev.make_venv()
    assert not venv.exists()


@pytest.fixture
def installs(venv, tmp_path, monkeypatch):
    """Lock files in an invented project, and the list of what pip was asked for."""
    asked = []
    monkeypatch.setattr(dev, "ROOT", tmp_path)
    monkeypatch.setattr(dev, "python", lambda *arguments: asked.append(arguments) or 0)
    (tmp_path / "run.lock").write_text("one==1\n", encoding="utf-8")
    return asked


def test_the_same_lock_is_installed_once(installs, tmp_path):
    dev.install(tmp_path / "run.lock")
    dev.install(tmp_path / "run.lock")
    assert len(installs) == 1
    assert "--require-hashes" in installs[0]


def test_another_lock_is_installed_again(installs, tmp_path):
    dev.install(tmp_path / "run.lock")
    (tmp_path / "run.lock").write_text("one==2\n", encoding="utf-8")
    dev.install(tmp_path / "run.lock")
    assert len(installs) == 2


def test_a_failed_installation_is_tried_again(installs, tmp_path, monkeypatch):
    monkeypatch.setattr(dev, "python", lambda *arguments: 1)
    with pytest.raises(dev.Refused):
        dev.install(tmp_path / "run.lock")
    assert not (dev.VENV / "run.lock.stamp").exists()


# ---- the requirements
def test_the_project_names_the_same_packages_as_the_requirements():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    written = [line.replace("'", '"') for line in project["project"]["dependencies"]]
    assert written == lines_of("requirements/run.in")


def test_tests_see_the_packages_that_the_shop_runs():
    def pins(name):
        return {line for line in lines_of(name) if line and not line.startswith((" ", "#"))}

    assert pins("requirements/run.lock") <= pins("requirements/test.lock")


@pytest.mark.parametrize("name", ["run", "test"])
def test_a_lock_names_no_address(name):
    assert not [line for line in lines_of(f"requirements/{name}.lock") if "://" in line]


# ---- the example shop
@pytest.fixture
def no_wishes(monkeypatch):
    for name in ("DEMO", "DATABASE_URL"):
        monkeypatch.delenv(name, raising=False)


def test_a_fresh_folder_becomes_the_example_shop_and_stays_it(no_wishes, tmp_path):
    assert dev.decide_demo(tmp_path / "data") == "1"
    (tmp_path / "data" / dev.DATABASE_FILE).touch()
    assert dev.decide_demo(tmp_path / "data") == "1"


def test_a_folder_with_records_never_becomes_the_example_shop(no_wishes, tmp_path):
    (tmp_path / dev.DATABASE_FILE).touch()
    assert dev.decide_demo(tmp_path) == "0"
    assert not (tmp_path / dev.DEMO_MARKER).exists()


def test_a_database_server_never_becomes_the_example_shop(no_wishes, tmp_path, monkeypatch):
    monkeypatch.setenv("DATABASE_URL", "postgres://shop@localhost/shop")
    assert dev.decide_demo(tmp_path) == "0"


@pytest.mark.parametrize(("word", "expected"), [("0", "0"), ("1", "1"), ("yes", "1"), ("?", "?")])
def test_the_environment_has_the_last_word_on_the_example_shop(
    no_wishes, tmp_path, monkeypatch, word, expected
):
    monkeypatch.setenv("DEMO", word)
    assert dev.decide_demo(tmp_path) == expected
    assert not (tmp_path / dev.DEMO_MARKER).exists()


def test_the_set_up_and_the_settings_mean_the_same_database(tmp_path):
    if connection.vendor != "sqlite":
        pytest.skip("about SQLite only")
    from config.settings import DATA_DIR, read_database

    assert read_database("")["NAME"] == str(DATA_DIR / dev.DATABASE_FILE)


@pytest.mark.parametrize(
    ("host", "address"),
    [
        ("127.0.0.1:8000", "http://127.0.0.1:8000"),
        ("crib.lan:80", "http://crib.lan:80"),
        ("[::1]:8000", "http://[::1]:8000"),
        ("0.0.0.0:9000", "http://127.0.0.1:9000"),
        ("[::]:9000", "http://127.0.0.1:9000"),
        (":9000", "http://127.0.0.1:9000"),
    ],
)
def test_a_wildcard_is_no_address(host, address):
    assert dev.default_address(host) == address


# ---- the browser
@pytest.fixture
def no_chromium(monkeypatch):
    monkeypatch.setenv("CHROMIUM", "/nowhere/chromium")
    monkeypatch.delenv("REQUIRE_BROWSER", raising=False)


def test_without_a_browser_its_tests_are_left_out_in_one_line(no_chromium, capsys):
    assert dev.without_browser() == ("-m", "not browser")
    assert len(capsys.readouterr().out.splitlines()) == 1


def test_a_required_browser_that_is_missing_is_a_failure(no_chromium, monkeypatch):
    monkeypatch.setenv("REQUIRE_BROWSER", "1")
    with pytest.raises(dev.Refused, match="no Chromium"):
        dev.without_browser()


def test_a_named_browser_is_taken(monkeypatch):
    monkeypatch.setenv("CHROMIUM", sys.executable)
    assert dev.find_chromium() == sys.executable
    assert dev.without_browser() == ()


def test_a_page_in_a_browser_is_served_without_complaints(page):
    response = page.goto("/healthz")
    assert response.status == 200
    assert page.text_content("body").strip() == "ok"


def test_a_complaint_in_the_console_is_kept(page, console_errors):
    page.goto("/healthz")
    page.evaluate("console.error('planted'); console.log('only a remark')")
    page.wait_for_timeout(0)
    assert [line.split(" (")[0] for line in console_errors] == ["planted"]
    console_errors.clear()


def test_an_inline_script_is_blocked_and_noticed(page, console_errors):
    page.goto("/healthz")
    page.evaluate(
        "() => { const s = document.createElement('script'); s.textContent = 'window.ran = 1';"
        " document.body.append(s); }"
    )
    assert page.evaluate("window.ran === undefined")
    assert "Content Security Policy" in console_errors[0]
    console_errors.clear()


# ---- guards of append-only tables
@pytest.fixture
def guarded_table(db):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL keeps its guards during tests")
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE planted (id integer)")
        cursor.execute("INSERT INTO planted VALUES (1)")
        cursor.execute(
            "CREATE TRIGGER append_only_planted_delete BEFORE DELETE ON planted "
            "BEGIN SELECT RAISE(ABORT, 'planted is append-only'); END"
        )


def delete_planted():
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM planted")
        return cursor.rowcount


def test_delete_guards_are_taken_and_put_back(guarded_table):
    guards = take_delete_guards()
    assert list(guards) == ["append_only_planted_delete"]
    put_delete_guards(guards)
    with pytest.raises(IntegrityError):
        delete_planted()
    drop_delete_guards(guards)
    assert delete_planted() == 1


def test_no_delete_guard_is_in_force_in_the_test_database(db):
    assert take_delete_guards() == {}


def test_the_guards_of_the_real_tables_come_back_for_a_test(append_only_guard, delete_guards):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL keeps its guards during tests")
    assert set(take_delete_guards()) == set(delete_guards)
