"""The program as a whole: its commands, its errors, how quickly it starts."""

import re
import subprocess
import sys
from collections.abc import Iterator

import click
import pytest

from cli.running import Garage
from proveout.cli import application
from proveout.cli.application import COMMANDS
from proveout.cli.commands import note as note_module
from proveout.cli.lazy_group import LazyGroup


def commands(group: click.Group = application, path: str = "proveout") -> Iterator[tuple[str, click.Command]]:
    """Yield every command with what is typed for it."""
    with click.Context(group) as ctx:
        for name in group.list_commands(ctx):
            command = group.get_command(ctx, name)
            assert command is not None
            yield f"{path} {name}", command
            if isinstance(command, click.Group):
                yield from commands(command, f"{path} {name}")


ALL = list(commands())


def test_a_misspelt_command_is_answered_with_the_nearest(garage: Garage) -> None:
    assert "no command 'raeding'; did you mean 'reading'?" in garage.refused("raeding")
    assert "Try 'proveout --help'" in garage.refused("raeding")


def test_a_word_like_no_command_is_answered_with_all_of_them(garage: Garage) -> None:
    assert "there are: open, harness, next" in garage.refused("xyzzy")


def test_a_misspelt_option_is_answered_with_the_nearest(garage: Garage) -> None:
    assert re.search(r"--othrs.*--others", garage.refused("next", "--othrs"))


def test_a_missing_argument_is_named(garage: Garage) -> None:
    assert "Missing argument" in garage.refused("harness")


def test_without_a_command_the_help_is_shown(garage: Garage) -> None:
    assert "The job, in order" in garage.ok()
    assert "Commands" in garage.ok("circuits")


def test_the_version_is_said(garage: Garage) -> None:
    assert re.fullmatch(r"proveout \d+\.\d+\.\d+\n", garage.ok("--version"))


@pytest.mark.parametrize(("path", "command"), ALL, ids=[path for path, _ in ALL])
def test_every_command_has_help_with_examples_that_it_can_read(path: str, command: click.Command) -> None:
    help_text = command.get_help(click.Context(command, info_name=path))
    examples = getattr(command, "examples", ())
    assert examples
    assert all(example.startswith(path) and example in help_text for example in examples)


@pytest.mark.parametrize(("path", "command"), ALL, ids=[path for path, _ in ALL])
def test_every_command_has_a_json_twin(path: str, command: click.Command) -> None:
    if not isinstance(command, click.Group):
        assert "as_json" in {parameter.name for parameter in command.params}


def test_the_list_of_commands_says_what_their_own_help_says() -> None:
    def check(group: LazyGroup) -> None:
        with click.Context(group) as ctx:
            for entries in group.sections.values():
                for entry in entries:
                    command = group.get_command(ctx, entry.name)
                    assert command is not None
                    assert (command.help or "").splitlines()[0] == entry.does

    check(application)
    circuits = application.get_command(click.Context(application), "circuits")
    assert isinstance(circuits, LazyGroup)
    check(circuits)
    assert sum(len(entries) for entries in COMMANDS.values()) == len(
        application.list_commands(click.Context(application))
    )


def test_stopping_with_the_keyboard_leaves_with_130(garage: Garage, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(note_module, "note_event", stop)
    result = garage.run("note", "x")
    assert result.exit_code == 130
    assert "stopped; what was noted before is kept" in result.stderr


def test_help_imports_neither_numpy_nor_the_store() -> None:
    code = (
        "import sys; from proveout.cli import application\n"
        "try: application.main(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'scipy', 'sqlalchemy', 'pydantic', 'rich', 'pint'} & set(sys.modules)\n"
        "sys.exit(repr(sorted(heavy)) if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
