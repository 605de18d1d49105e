#!/usr/bin/env python3
"""Set up, run and test Holderbook. Needs nothing but Python 3.11 or newer.

    python3 dev.py setup          make the environment in .venv
    python3 dev.py run            serve the shop, the example shop in a fresh data folder
    python3 dev.py manage ARGS    a command of manage.py on the same records
    python3 dev.py test [ARGS]    every check and every test; ARGS go to pytest
    python3 dev.py check          every check, no tests
    python3 dev.py bench          measure, print ratios
    python3 dev.py lock           (maintainers, needs uv) renew requirements/*.lock

This file keeps to the syntax of old Pythons so that they can read it and be told.
"""

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
OLDEST = (3, 11)
WINDOWS = os.name == "nt"
PYTHON = VENV / ("Scripts/python.exe" if WINDOWS else "bin/python")
DATABASE_FILE = "holderbook.sqlite3"
DEMO_MARKER = "example_shop"
EXAMPLE_SHOP = "Hollowmere Sheet & Plate (invented)"

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
CHROMIUM_MACOS = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
)
CHECKS = (
    ("format", ("-m", "ruff", "format", "--check", "--quiet", ".")),
    ("lint", ("-m", "ruff", "check", "--quiet", ".")),
    (
        "imports",
        ("-c", "from importlinter.cli import lint_imports_command as run; run()", "--no-logo"),
    ),
    ("settings", ("manage.py", "check", "--fail-level", "WARNING")),
    ("migrations", ("manage.py", "makemigrations", "--check", "--dry-run", "--skip-checks")),
)


class Refused(Exception):
    """Something is missing or failed; the text says what to do."""


# ---------------------------------------------------------------- environment
def version_text(version):
    return ".".join(str(number) for number in version[:2])


def require_python(version=sys.version_info):
    if tuple(version[:2]) < OLDEST:
        raise Refused(
            "Holderbook needs Python {} or newer, this is {}. Install one and call it by its "
            "name, for example: python3.12 dev.py run".format(
                version_text(OLDEST), version_text(version)
            )
        )


def venv_fits():
    """Whether .venv is there, whole, and made for the Python that runs this file."""
    config = VENV / "pyvenv.cfg"
    if not (PYTHON.exists() and config.exists()):
        return False
    words = config.read_text(encoding="utf-8").replace("=", " ").split()
    made_for = words[words.index("version") + 1] if "version" in words else ""
    return made_for.split(".")[:2] == version_text(sys.version_info).split(".")


def make_venv():
    """Make .venv, or leave nothing behind: half an environment fails later and oddly."""
    shutil.rmtree(VENV, ignore_errors=True)
    done = subprocess.run(
        [sys.executable, "-m", "venv", str(VENV)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        universal_newlines=True,
    )
    if done.returncode == 0:
        return
    shutil.rmtree(VENV, ignore_errors=True)
    raise Refused(
        "{}\nPython could not make an environment: its venv or ensurepip part is missing. "
        "On Debian and Ubuntu: sudo apt install python3-venv".format(done.stdout.strip())
    )


def stamp_text(lock):
    text = lock.read_bytes() + version_text(sys.version_info).encode()
    return hashlib.sha256(text).hexdigest()


def install(lock):
    """Install exactly what `lock` lists, checked by hash; nothing to do when it is there."""
    stamp, text = VENV / (lock.name + ".stamp"), stamp_text(lock)
    if stamp.exists() and stamp.read_text(encoding="ascii") == text:
        return
    print("Installing {} (once) ...".format(lock.relative_to(ROOT).as_posix()), flush=True)
    # Twice quiet: errors only, none of the remarks about the machine's own settings.
    quiet = ("-qq", "--disable-pip-version-check", "--no-input", "--progress-bar", "off")
    strict = ("--require-hashes", "--only-binary", ":all:", "-r", str(lock))
    if python("-m", "pip", "install", *quiet, *strict):
        raise Refused("The packages could not be installed; pip's own message is above.")
    stamp.write_text(text, encoding="ascii")


def set_up(lock_name):
    if not venv_fits():
        make_venv()
    install(ROOT / "requirements" / lock_name)


def python(*arguments, **variables):
    """Run .venv's Python in the project's folder; returns its exit code."""
    environment = dict(os.environ, **variables)
    return subprocess.run([str(PYTHON), *arguments], cwd=str(ROOT), env=environment).returncode


# ---------------------------------------------------------------- run
def data_folder():
    return Path(os.environ.get("HOLDERBOOK_DATA") or ROOT / "data").resolve()


def decide_demo(folder):
    """Whether this start is the example shop; a fresh folder becomes it and stays it.

    DEMO in the environment has the last word. Somebody's own database server never
    becomes the example shop by itself, and neither does a folder that holds records.
    """
    word = os.environ.get("DEMO", "").strip().lower()
    if word:
        # Anything else goes on as it is, for the settings to take or to refuse.
        return "1" if word in ("1", "on", "true", "yes") else word
    marker = folder / DEMO_MARKER
    if marker.exists():
        return "1"
    if os.environ.get("DATABASE_URL") or (folder / DATABASE_FILE).exists():
        return "0"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    marker.write_text("This folder holds the invented example shop.\n", encoding="ascii")
    return "1"


def manage(*arguments, **variables):
    if python("manage.py", *arguments, **variables):
        raise Refused("`manage.py {}` failed; its message is above.".format(arguments[0]))


def prepare_records(variables):
    """Bring tables, example shop and static files up to date. Migrate prints the checks once."""
    manage("migrate", "-v", "0", **variables)
    if variables["DEMO"] == "1":
        manage("load_example_shop", "--if-empty", "--skip-checks", **variables)
    manage("collectstatic", "--noinput", "--skip-checks", "-v", "0", **variables)


def say_where(variables):
    print("\nHolderbook: {}   (stop with Ctrl+C)".format(variables["BASE_URL"]), flush=True)
    if variables["DEMO"] == "1":
        manage("show_demo_sign_ins", "--skip-checks", **variables)


def server_command(host):
    if WINDOWS:
        return ("-m", "waitress", "--listen", host, "--threads", "8", "config.wsgi:application")
    # Its control socket would appear in the home folder of whoever starts it.
    bind = ("--bind", host, "--no-control-socket")
    size = ("--workers", "2", "--threads", "4", "--log-level", "warning")
    return ("-m", "gunicorn", *bind, *size, "config.wsgi:application")


def serve(variables):
    """Become the server, so that a signal meant for it reaches it."""
    command = server_command(variables["HOST"])
    if WINDOWS:
        return python(*command, **variables)
    os.chdir(str(ROOT))
    return os.execve(str(PYTHON), [str(PYTHON), *command], dict(os.environ, **variables))


def shop_variables():
    """The settings that the server and every command on its records go by."""
    host = os.environ.get("HOST") or "127.0.0.1:8000"
    variables = {
        "HOST": host,
        "BASE_URL": os.environ.get("BASE_URL") or default_address(host),
        "HOLDERBOOK_DATA": str(data_folder()),
        "DEMO": decide_demo(data_folder()),
    }
    if variables["DEMO"] == "1":
        variables["SHOP_NAME"] = os.environ.get("SHOP_NAME") or EXAMPLE_SHOP
    return variables


def run():
    set_up("run.lock")
    variables = shop_variables()
    prepare_records(variables)
    say_where(variables)
    return serve(variables)


def run_manage(*arguments):
    set_up("run.lock")
    return python("manage.py", *arguments, **shop_variables())


def default_address(host):
    """What to call a server that listens on `host`: a wildcard is no address."""
    name, _, port = host.rpartition(":")
    return "http://{}:{}".format("127.0.0.1" if name in ("", "0.0.0.0", "[::]") else name, port)


# ---------------------------------------------------------------- test
def find_chromium():
    """Path of a Chromium-like browser, None when there is none."""
    named = os.environ.get("CHROMIUM")
    if named:
        return shutil.which(named)
    for name in CHROMIUM_NAMES:
        if shutil.which(name):
            return shutil.which(name)
    return next((path for path in CHROMIUM_MACOS if os.path.exists(path)), None)


def without_browser():
    """Arguments that leave the browser tests out, when they cannot run here."""
    if find_chromium():
        return ()
    if os.environ.get("REQUIRE_BROWSER") == "1":
        raise Refused("REQUIRE_BROWSER=1, but no Chromium was found (set CHROMIUM to its path).")
    print("No Chromium found: browser tests are left out. Set CHROMIUM to its path to run them.")
    return ("-m", "not browser")


def failed_checks():
    """Run every check; names of those that failed.

    In a data folder of their own: a database file left in the shop's folder would keep
    the next start from being the example shop.
    """
    failed = []
    with tempfile.TemporaryDirectory() as folder:
        # An address in the network, so that the warning about phones stays silent.
        shop = {"HOLDERBOOK_DATA": folder, "BASE_URL": "http://holderbook.test:8000"}
        for name, command in CHECKS:
            print("check: {}".format(name), flush=True)
            if python(*command, **shop):
                failed.append(name)
    return failed


def verdict(failed):
    if failed:
        raise Refused("Failed: {}".format(", ".join(failed)))
    return 0


def check():
    set_up("test.lock")
    return verdict(failed_checks())


def test(*arguments):
    set_up("test.lock")
    chosen = without_browser()
    failed = failed_checks()
    if python("-m", "pytest", "-n", "2", *chosen, *arguments):
        failed.append("pytest")
    return verdict(failed)


# ---------------------------------------------------------------- the rest
def setup():
    set_up("run.lock")
    print("Ready: python3 dev.py run")
    return 0


def bench():
    set_up("test.lock")
    failed = []
    for path in sorted((ROOT / "bench").glob("bench_*.py")):
        print("bench: {}".format(path.stem), flush=True)
        if python(str(path), PYTHONPATH=str(ROOT)):
            failed.append(path.stem)
    return verdict(failed)


def lock():
    if not shutil.which("uv"):
        raise Refused("Renewing the locks needs uv.")
    oldest = version_text(OLDEST)
    options = ("--universal", "--python-version", oldest, "--generate-hashes", "--upgrade")
    plain = ("--no-header", "--no-annotate", "--quiet")
    # The second starts from the first, so that tests see what the shop runs.
    for name, given in (("run", ()), ("test", ("-c", "requirements/run.lock"))):
        files = ("requirements/{}.in".format(name), "-o", "requirements/{}.lock".format(name))
        command = ["uv", "pip", "compile", *options, *plain, *given, *files]
        if subprocess.run(command, cwd=str(ROOT)).returncode:
            raise Refused("uv could not renew requirements/{}.lock.".format(name))
    return 0


COMMANDS = {
    "setup": setup,
    "run": run,
    "manage": run_manage,
    "test": test,
    "check": check,
    "bench": bench,
    "lock": lock,
}


def main(arguments):
    name, extra = (arguments[0] if arguments else ""), arguments[1:]
    if name not in COMMANDS or (extra and name not in ("test", "manage")):
        print(__doc__)
        return 2
    try:
        require_python()
        return COMMANDS[name](*extra)
    except Refused as refused:
        print("\n{}".format(refused), file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
