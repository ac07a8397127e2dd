"""Only this machine's own page changes anything: names, origins, tokens, sizes, and what every answer carries."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest

from web.visitor import HERE, Visitor


def test_a_page_is_answered_only_under_a_name_of_this_machine(visitor: Visitor) -> None:
    """A foreign name that points to this machine (DNS rebinding) gets nothing."""
    for name in ("127.0.0.1:8000", "localhost:8000", "[::1]:8000"):
        assert visitor.see("/cases", host=name).status_code == 200
    for name in ("rebound.invalid", "127.0.0.1.invalid:8000", "192.168.0.7:8000", ""):
        assert visitor.see("/cases", host=name).status_code == 421


def test_a_form_without_the_token_of_this_browser_changes_nothing(visitor: Visitor) -> None:
    visitor.see("/cases")
    for token in ("", "0" * 64, "ä"):
        assert visitor.send("/language", {"token": token, "language": "es"}).status_code == 403
    assert visitor.send("/language", {"language": "es", "back": "/cases"}).status_code == 303


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://elsewhere.invalid"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:8001"},
        {"origin": "https://127.0.0.1:8000"},
        {"origin": HERE, "sec-fetch-site": "cross-site"},
        {"origin": "", "referer": "http://elsewhere.invalid/127.0.0.1:8000"},
        {"origin": ""},
    ],
)
def test_a_change_asked_for_by_another_origin_is_refused(visitor: Visitor, headers: dict[str, str]) -> None:
    assert visitor.send("/language", {"language": "es"}, **headers).status_code == 403


def test_every_answer_carries_a_content_policy_without_inline_scripts_or_styles(visitor: Visitor) -> None:
    for path in ("/cases", "/static/none.js", "/nowhere", "/cases.json"):
        policy = visitor.see(path).headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
    headers = visitor.see("/cases").headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"


def test_the_browsers_name_is_kept_from_scripts_and_from_other_sites(visitor: Visitor) -> None:
    cookie = visitor.see("/cases").headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie


def test_more_than_a_form_needs_is_refused_by_its_length_and_while_it_arrives(visitor: Visitor) -> None:
    headers = {"origin": HERE, "content-type": "application/x-www-form-urlencoded"}
    assert visitor.ask("POST", "/language", content=b"x" * (2**20 + 1), headers=headers).status_code == 413
    fields = f"token={visitor.token}&language=".encode()

    async def pieces() -> AsyncIterator[bytes]:
        yield fields
        for _ in range(17):
            yield b"e" * 2**16

    answer = visitor.ask("POST", "/language", content=pieces(), headers=headers)
    assert "content-length" not in answer.request.headers
    assert answer.status_code == 413


def test_a_file_is_found_by_its_name_in_the_table_and_by_no_path(visitor: Visitor) -> None:
    for name in ("..%2fworkbench.py", "%2e%2e/workbench.py", "/etc/passwd", "page.css%00"):
        assert visitor.see(f"/static/{name}").status_code in (404, 405)


def test_the_switch_of_language_leads_to_pages_of_this_site_only(visitor: Visitor) -> None:
    for back in ("http://elsewhere.invalid/", "//elsewhere.invalid", "/\\elsewhere.invalid", "javascript:alert(1)"):
        assert visitor.send("/language", {"language": "es", "back": back}).headers["location"] == "/"
    assert visitor.send("/language", {"language": "es", "back": "/cases?find=x"}).headers["location"] == "/cases?find=x"
