"""Who may ask: the browser that was opened for it, from the desk's own pages, and nobody else."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.conftest import Visitor, opened

PAY = "/do/orders.add"
FORM = "application/x-www-form-urlencoded"


def test_the_opening_address_lets_in_once_it_is_known(visitor: Visitor) -> None:
    inside = visitor.ask("GET", f"/in/{visitor.desk.key}", Cookie="")

    assert (inside.status, inside.to) == (303, "/")
    cookie = inside.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie  # RFC 6265bis, 5.6.7
    assert "domain" not in cookie


@pytest.mark.parametrize("key", ["", "x", "../", "%00"])
def test_another_key_lets_nobody_in(visitor: Visitor, key: str) -> None:
    got = visitor.ask("GET", f"/in/{key}", Cookie="")

    assert got.status == 403
    assert "set-cookie" not in got.headers


@pytest.mark.parametrize(
    "path", ["/", "/orders", "/static/desk.css", "/out/site/index.html", "/do/orders.add"]
)
def test_without_the_cookie_nothing_is_shown(visitor: Visitor, path: str) -> None:
    assert visitor.ask("GET", path, Cookie="").status == 403
    assert visitor.ask("GET", path, Cookie="desk-1=x").status == 403


@pytest.mark.parametrize(
    "host",
    [
        "elsewhere.example",
        "127.0.0.1.elsewhere.example",
        "elsewhere.example:80",
        "[",
        "10.0.0.1",
        "desk.test",
    ],
)
def test_a_foreign_name_that_points_here_is_refused(visitor: Visitor, host: str) -> None:
    assert visitor.ask("GET", "/orders", Host=host).status == 403


def orders(studio: Path) -> str:
    return (studio / "commissions.yaml").read_text("utf-8")


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "https://127.0.0.1"},
        {"Origin": ""},
        {"Origin": "", "Sec_Fetch_Site": "cross-site"},
        {"Origin": "", "Sec_Fetch_Site": "same-site"},
    ],
)
def test_a_form_from_elsewhere_changes_nothing(
    visitor: Visitor, studio: Path, headers: dict[str, str]
) -> None:
    fields = visitor.filled(PAY, PAY, tier="Small figure", name="A. Collector")
    before = orders(studio)
    body = "&".join(f"{name}={value.replace(' ', '+')}" for name, value in fields.items()).encode()

    got = visitor.ask("POST", PAY, body, Content_Type=FORM, **headers)

    assert got.status == 403
    assert orders(studio) == before


def test_another_port_of_this_machine_is_elsewhere(visitor: Visitor, tmp_path: Path, studio: Path) -> None:
    before = orders(studio)
    fields = visitor.filled(PAY, PAY, tier="Small figure", name="A. Collector")
    body = "&".join(f"{name}={value.replace(' ', '+')}" for name, value in fields.items()).encode()

    assert visitor.ask("POST", PAY, body, Content_Type=FORM, Origin="http://127.0.0.1:9").status == 403
    assert orders(studio) == before


def test_a_form_of_another_session_changes_nothing(visitor: Visitor, studio: Path) -> None:
    before = orders(studio)
    fields = visitor.filled(PAY, PAY, tier="Small figure", name="A. Collector")
    with opened(studio) as other:
        got = other.send(PAY, fields)

    assert got.status == 422
    assert orders(studio) == before


def test_the_form_itself_is_taken(visitor: Visitor, studio: Path) -> None:
    """The refusals above refuse something that would have been done."""
    got = visitor.do(PAY, PAY, tier="Small figure", name="A. Collector")

    assert "A. Collector" in visitor.after(got).words
    assert "A. Collector" in orders(studio)


def test_every_answer_says_what_its_page_may_do(visitor: Visitor) -> None:
    for path in ("/", "/orders", "/nowhere", "/static/desk.css", "/out/x.html"):
        headers = visitor.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
    assert visitor.get("/orders").headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "path",
    [
        "/out/../studio.yaml", "/out/%2e%2e/studio.yaml", "/out/..%2fstudio.yaml", "/out//etc/passwd", "/out/.pictures/x",
        "/out/site/../../people.csv", "/out/%00", "/out/" + "a" * 5000, "/static/../desk.py", "/static/%2e%2e/desk.py",
        "/out/..\\studio.yaml", "/out/link.txt",
    ],
)  # fmt: skip
def test_nothing_but_what_was_made_is_handed_out(visitor: Visitor, studio: Path, path: str) -> None:
    (studio / "out").mkdir(exist_ok=True)
    (studio / "out" / "link.txt").symlink_to(studio / "people.csv")

    got = visitor.get(path)

    assert got.status in {403, 404, 422}
    assert "currency" not in got.text
    assert "email,name" not in got.text


def test_more_than_words_need_is_not_read(visitor: Visitor) -> None:
    fields = visitor.filled(PAY, PAY)
    much = {"notes": "x" * 5_000_000}

    assert visitor.send(PAY, fields | much).status == 413


def test_a_body_without_an_end_is_cut(visitor: Visitor) -> None:
    """Chunked, RFC 9112: no length is said beforehand."""
    chunk = b"%x\r\n%s\r\n" % (1_000_000, b"x" * 1_000_000)
    got = visitor.ask(
        "POST",
        PAY,
        chunk * 5 + b"0\r\n\r\n",
        Origin=visitor.address,
        Content_Type=FORM,
        Transfer_Encoding="chunked",
    )

    assert got.status == 413


def test_an_answer_leads_nowhere_else(visitor: Visitor) -> None:
    fields = visitor.filled(PAY, PAY, tier="Small figure", name="B. Collector")
    for address in ("//elsewhere.example/", "https://elsewhere.example/", "/\\elsewhere.example"):
        got = visitor.send(PAY, fields | {"back": address})
        assert got.to.startswith("/orders?"), got.to
