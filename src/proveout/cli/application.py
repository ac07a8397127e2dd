"""The program `proveout`: its commands by name, and how every error is said."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

import click

from proveout import __version__
from proveout.cli.lazy_group import Entry, LazyGroup
from proveout.errors import ProveoutError

__all__ = ["Application", "application", "main"]

_MISTAKE = 2
_INTERRUPTED = 130

COMMANDS: Mapping[str, Sequence[Entry]] = MappingProxyType(
    {
        "The job, in order": (
            Entry("open", "open_case:open_case", "Open a case: circuit, vehicle, complaint, codes, authorised sum."),
            Entry("harness", "harness:harness", "Compare a connector's colours with the sheet, before any probe."),
            Entry("next", "next_step:next_step", "Say what to do next, how, why, and what each result would leave."),
            Entry("reading", "reading:reading", "Note a reading of the meter or the scope."),
            Entry("saw", "saw:saw", "Note what was seen of a behaviour, a look or a trial."),
            Entry("finding", "finding:finding", "Take a suspect as the cause."),
            Entry("repair", "repair:repair", "Note that a suspect was repaired or replaced."),
            Entry("proof", "proof:proof", "Note what the vehicle does after the repair."),
            Entry("report", "report:report", "Write the report: one HTML file, one PDF."),
            Entry("close", "close:close", "Close the case."),
        ),
        "In a browser": (
            Entry("serve", "serve:serve", "Open the workbench page: the whole job in a browser on this machine."),
        ),
        "The record": (
            Entry("show", "show:show", "Show a case at a glance."),
            Entry("log", "log:log", "List every event of a case with its number."),
            Entry("cases", "cases:cases", "List the cases."),
            Entry("use", "use:use", "Choose the current case."),
            Entry("undo", "undo:undo", "Take the last entry back."),
            Entry("correct", "correct:correct", "Put an earlier entry right, or take it back."),
            Entry("note", "note:note", "Write a remark into the case."),
        ),
        "The vehicle": (
            Entry("vehicle", "vehicle:vehicle", "Note that the vehicle is here, or that it is waited for."),
            Entry("access", "access:access", "Note that something was dismantled."),
            Entry("setup", "setup:setup", "Note the set-up that the vehicle is in."),
            Entry("cannot", "cannot:cannot", "Say that a step cannot be done on this vehicle."),
            Entry("sheet", "sheet:sheet", "Put the case's circuit right, or take another one."),
            Entry("steps", "steps:steps", "List what can be measured, looked at, tried and repaired, by name."),
        ),
        "Recordings": (
            Entry("capture", "capture:capture", "Recorded signals: read, attach, compare."),
            Entry("warmup", "warmup:warmup", "Logged warm-ups: where the thermostat opens, how much it leaks."),
        ),
        "Circuits": (
            Entry("circuits", "circuits:circuits", "Ready circuits: list, show, new, check, schema, draw."),
            Entry("chart", "chart:chart", "Derive the flow chart of a circuit or a case, and prove it."),
            Entry("demo", "demo:demo", "Run the whole job on an invented case."),
        ),
    }
)

EXAMPLES = (
    "proveout open --circuit crank-hall-5v --complaint start=late --code P0335",
    "proveout next",
    "proveout harness CE 12=RD/GY 13=BK/GN 27=YE/BU",
    "proveout reading 4.98",
    "proveout repair w_sig",
    "proveout proof normal",
    "proveout report",
    "proveout close",
)


class Application(LazyGroup):
    """A group of commands whose every error is one message on standard error and a number for the shell."""

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run a command and leave the process: 0 done, 2 a mistake that was said, 130 interrupted."""
        try:
            code = super().main(*args, **{"prog_name": "proveout", **extra, "standalone_mode": False})
        except click.Abort:
            click.echo("stopped; what was noted before is kept", err=True)
            code = _INTERRUPTED
        except click.exceptions.NoArgsIsHelpError as error:
            click.echo(error.format_message())
            code = 0
        except click.UsageError as error:
            code = _say(error.format_message(), _where_help_is(error))
        except (ProveoutError, click.ClickException) as error:
            code = _say(error.format_message() if isinstance(error, click.ClickException) else str(error))
        except BrokenPipeError:
            # Whoever read the output has enough; what is still buffered must not be written at exit.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            code = 0
        sys.exit(code if isinstance(code, int) else 0)


def _say(message: str, *more: str) -> int:
    click.echo("\n".join([f"proveout: {message}", *filter(None, more)]), err=True)
    return _MISTAKE


def _where_help_is(error: click.UsageError) -> str:
    return f"Try '{error.ctx.command_path} --help'." if error.ctx is not None else ""


@click.group("proveout", cls=Application, sections=COMMANDS, package="proveout.cli.commands", examples=EXAMPLES)
@click.version_option(__version__, prog_name="proveout", message="%(prog)s %(version)s")
def application() -> None:
    """Find the one wire, terminal, part or unit at fault, and prove it before a part is pulled.

    The vehicle maker's procedure, local codes and licensed practice come first.
    """


def main() -> None:
    """Run the program."""
    # The arrays are small: threads of the linear algebra library cost a second of start-up and gain nothing.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    application()
