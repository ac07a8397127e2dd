"""The page is served on this machine only, and says what is in the way."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from proveout.errors import InputError, StoreError
from proveout.web import Workbench
from proveout.web.security import check_loopback
from proveout.web.serving import serve_page


@pytest.mark.parametrize("address", ["127.0.0.1", "127.0.0.8", "::1", "localhost"])
def test_addresses_of_this_machine_are_served(address: str) -> None:
    check_loopback(address)


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "192.168.1.20", "", "workshop.invalid", "127.0.0.1.invalid"])
def test_an_address_that_others_can_reach_is_refused_in_one_sentence(address: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"no accounts yet .* use 127\.0\.0\.1"):
        serve_page(tmp_path / "cases.db", None, address, 0, print)
    assert not (tmp_path / "cases.db").exists()


def test_a_port_that_is_taken_is_told(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(InputError, match=rf"127.0.0.1:{port} cannot be listened on .*--port"):
            serve_page(tmp_path / "cases.db", None, "127.0.0.1", port, print)


def test_the_key_of_the_forms_is_kept_for_its_owner_alone(tmp_path: Path) -> None:
    made = Workbench(tmp_path / "cases.db").key
    file = tmp_path / "page.key"
    assert file.stat().st_mode & 0o077 == 0
    assert Workbench(tmp_path / "cases.db").key == made
    assert len(made) == 32
    file.write_bytes(b"short")
    with pytest.raises(StoreError, match="damaged: remove the file"):
        _ = Workbench(tmp_path / "cases.db").key
