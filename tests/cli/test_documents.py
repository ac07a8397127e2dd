"""Every command, option and setting stands in the documents."""

import re
from pathlib import Path

import click
import pytest

from cli.test_application import ALL

PAGE = (Path(__file__).parents[2] / "docs" / "commands.md").read_text("utf-8")
SOURCE = Path(__file__).parents[2] / "src" / "proveout"


def _section(path: str) -> str:
    found = re.search(rf"^##+ `{re.escape(path)}`\n(.*?)(?=^##+ |\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert found, f"docs/commands.md has no section `{path}`"
    return found[1]


@pytest.mark.parametrize(("path", "command"), ALL, ids=[path for path, _ in ALL])
def test_every_command_has_its_section_with_its_examples_and_options(path: str, command: click.Command) -> None:
    section = _section(path)
    for example in getattr(command, "examples", ()):
        assert example in section
    shared = {"--json", "--case", "--store", "--help"}
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            for name in {*parameter.opts, *parameter.secondary_opts} - shared:
                assert f"`{name}`" in section, f"{path} {name}"


def test_the_options_that_all_commands_share_are_described_once() -> None:
    for name in ("--json", "--case", "--store", "--help"):
        assert f"`{name}`" in PAGE


def test_no_section_is_about_a_command_that_does_not_exist() -> None:
    assert {path for path, _ in ALL} == set(re.findall(r"^##+ `(proveout [a-z ]+)`$", PAGE, re.MULTILINE))


def test_every_setting_of_the_environment_is_described() -> None:
    used = {
        name for file in SOURCE.rglob("*.py") for name in re.findall(r"\bPROVEOUT_[A-Z_]+\b", file.read_text("utf-8"))
    }
    assert used
    assert used == set(re.findall(r"`(PROVEOUT_[A-Z_]+)`", PAGE))


def test_every_exit_code_is_described() -> None:
    assert re.search(r"\| 0 \|.*\| 2 \|.*\| 130 \|", PAGE, re.DOTALL)
