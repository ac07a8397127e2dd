"""The program as a shell sees it: exit codes, nothing lost when the disk fails, and how long a cold command takes."""

import sqlite3
import subprocess
import sys
from contextlib import closing

from cli.running import Garage


def test_a_mistake_leaves_with_2_and_one_message(garage: Garage) -> None:
    done = garage.process("next")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "proveout: there is no case yet: open one with 'proveout open'\n"


def test_a_damaged_store_leaves_with_2_and_says_what_to_do(garage: Garage) -> None:
    (garage.folder / "cases.db").write_bytes(b"no store" * 1000)
    done = garage.process("cases")
    assert done.returncode == 2
    assert "damaged" in done.stderr
    assert "restore it from a copy" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_store_changed_behind_the_program_is_told_and_still_readable(garage: Garage) -> None:
    garage.lamp()
    garage.ok("note", "first")
    with closing(sqlite3.connect(garage.folder / "cases.db")) as raw, raw:
        raw.execute("DROP TRIGGER events_no_update")
        raw.execute('UPDATE events SET payload = \'{"text":"other"}\' WHERE number = 3')
    done = garage.process("show")
    assert done.returncode == 2
    assert "event 3 of case 1 does not match its seal" in done.stderr
    assert "other" in garage.ok("log", "--case", "1", "--unsealed")


def test_a_disk_that_takes_no_more_loses_no_event(garage: Garage) -> None:
    garage.lamp()
    garage.ok("note", "before")
    before = garage.ok("log", "--json")
    # The operating system refuses files beyond this size, as a full disk would.
    code = (
        "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); "
        "resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, 40_000)); from proveout.cli import main; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "note", "x" * 60_000],
        env={**garage.env, "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2, done.stderr
    assert "give the command again" in done.stderr
    assert "Traceback" not in done.stderr
    assert garage.ok("log", "--json") == before
    garage.ok("note", "x" * 60_000)


def test_two_programs_at_once_lose_no_event(garage: Garage) -> None:
    garage.lamp()
    code = (
        "import sys; from proveout.cli import application\n"
        "for k in range(4):\n"
        "  try: application.main(['note', sys.argv[1] + str(k)])\n"
        "  except SystemExit as end: assert not end.code"
    )
    programs = [[sys.executable, "-c", code, name] for name in "ab"]
    env = {**garage.env, "PATH": "/usr/bin:/bin"}
    started = [subprocess.Popen(program, env=env, stdout=subprocess.DEVNULL) for program in programs]
    assert [process.wait() for process in started] == [0, 0]
    texts = [e["payload"]["text"] for e in garage.twin("log")["events"] if e["kind"] == "note"]
    assert sorted(texts) == sorted(name + str(k) for name in "ab" for k in range(4))


def test_an_interrupted_program_leaves_with_130(garage: Garage) -> None:
    code = (
        "import signal, os, proveout.cli.files as files\n"
        "import proveout.cli.commands.circuits.schema as module\n"
        "module.circuit_json_schema = lambda: os.kill(os.getpid(), signal.SIGINT)\n"
        "from proveout.cli import application; application.main(['circuits', 'schema'])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 130
    assert "Traceback" not in done.stderr


def test_output_into_a_pipe_that_closes_early_is_no_error(garage: Garage) -> None:
    code = "from proveout.cli import application; application.main(['circuits', 'schema'])"
    shell = f'{sys.executable} -c "{code}" | head -1; exit ${{PIPESTATUS[0]}}'
    done = subprocess.run(["bash", "-c", shell], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "{\n", "")


def test_a_cold_next_imports_nothing_that_it_does_not_need(garage: Garage) -> None:
    garage.lamp()
    garage.ok("next")
    code = (
        "import sys; from proveout.cli import application\n"
        "try: application.main(['next'])\n"
        "except SystemExit as end: assert not end.code\n"
        "needless = {'alembic', 'pint', 'rich', 'typst', 'jinja2', 'scipy.stats'} & set(sys.modules)\n"
        "sys.exit(repr(sorted(needless)) if needless else 0)"
    )
    env = {**garage.env, "PATH": "/usr/bin:/bin"}
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
