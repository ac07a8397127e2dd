"""`proveout serve`."""

from __future__ import annotations

import click

from proveout.cases.desk import Desk
from proveout.cli.options import JobCommand
from proveout.cli.workplace import Workplace, model_folder, with_store
from proveout.demo.opening import demo_events
from proveout.web.security import check_loopback
from proveout.web.serving import serve_page


@click.command("serve", cls=JobCommand, examples=("proveout serve", "proveout serve --port 8400 --demo"))
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on; of this machine only.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8137, show_default=True, help="Port; 0 takes a free one."
)
@click.option("--demo", is_flag=True, help="Open the invented demo case too, unless it is there.")
@with_store
def serve(place: Workplace, host: str, port: int, demo: bool) -> None:
    """Open the workbench page: the whole job in a browser on this machine.

    It serves until Ctrl-C. Nothing leaves the machine, and no other machine can reach it.
    """
    check_loopback(host)
    if demo:
        _open_demo(place.desk)
    serve_page(
        place.store_path, model_folder(), host, port, lambda address: click.echo(f"The workbench page is at {address}")
    )


def _open_demo(desk: Desk) -> None:
    opened, chosen = demo_events()
    if all(desk.opening(case).order != opened.order for case in desk.store.cases()):
        desk.open(opened, chosen)
