"""Whoever sends whatever to the desk: a page that says so, no file elsewhere, nothing of anybody in an error."""

from __future__ import annotations

import csv
import http.client
import shutil
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote, urlencode

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sitegen.browser.app import app_for
from sitegen.browser.desk import Workplace
from tests.browser import walk
from tests.browser.conftest import DEMO, TODAY, Got, Visitor, opened

FORM = "application/x-www-form-urlencoded"
PAGES = sorted(set(walk.addresses(app_for(Workplace(DEMO, TODAY)), "GET")))
DEEDS = sorted(set(walk.addresses(app_for(Workplace(DEMO, TODAY)), "POST")))
ROUTES = {f"{min(one.methods or ())} {one.path}": one for one in walk.routes(app_for(Workplace(DEMO, TODAY)))}

# As they stand in a path, a query or a form: too long, a zero, ways up, coded once and twice, from the right
# to the left, pictures, halves of a pair, numbers that no number holds, markup, templates, formulas.
HOSTILE = [
    "", "%00", "a%00b", "..", "%2e%2e", "%2e%2e%2f%2e%2e%2fetc%2fpasswd", "%252e%252e%252f", "..%5c..%5c",
    "%2fetc%2fpasswd", "~", "%E2%80%AEgpj", "%F0%9F%A6%8B", "%ED%A0%80", "%FF%FE", "%", "%zz", "x" * 300,
    "x" * 5000, "9" * 5000, "-1", "1e999", "nan", "%D9%A3", "%C2%B2", "%0d%0aSet-Cookie:%20a=b", "%3Cscript%3E",
    "%7B%7B7*7%7D%7D", "%7Bpiece.__class__%7D", "=cmd()", "null", "true", "[]", "CON", ".", ".git", "__class__",
]  # fmt: skip


@pytest.fixture(scope="module")
def held(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visitor]:
    """Somebody at the desk of the invented studio, which has neighbours."""
    home = tmp_path_factory.mktemp("malice")
    shutil.copytree(DEMO, home / "studio", ignore=shutil.ignore_patterns("out", "sent"))
    (home / "neighbour.yaml").write_text("not: yours\n")
    with opened(home / "studio") as found:
        yield found


def private(studio: Path) -> list[str]:
    """Return the addresses of everybody on the list."""
    with (studio / "people.csv").open(encoding="utf-8", newline="") as people:
        return [row["email"] for row in csv.DictReader(people) if row["email"]]


def sane(held: Visitor, got: Got, asked: str) -> None:
    """Check that an answer is none of a program that fell over, and tells nothing of anybody."""
    assert got.status < 500, f"{asked[:200]}: {got.status} {got.text[-800:]}"
    assert "Traceback" not in got.text, asked[:200]
    if got.status >= 400:
        told = [one for one in private(held.desk.folder) if one in got.text and quote(one) not in asked]
        assert not told, f"{asked[:200]} tells {told}"


def neighbours(held: Visitor) -> dict[str, str]:
    return walk.state(held.desk.folder.parent, skipped=("studio",))


def raw(held: Visitor, method: str, path: str, body: bytes = b"", kind: str = FORM) -> Got:
    """Send an address as it stands, however odd."""
    door = http.client.HTTPConnection(held.host, timeout=120)
    try:
        door.putrequest(method, "/", skip_accept_encoding=True, skip_host=True)
        door._buffer[0] = f"{method} {path} HTTP/1.1".encode("latin-1")  # type: ignore[attr-defined]
        for name, value in {
            "Host": held.host, "Cookie": held.cookie, "Origin": held.address, "Content-Type": kind,
            "Content-Length": str(len(body)), "Connection": "close",
        }.items():  # fmt: skip
            door.putheader(name, value)
        door.endheaders(body)
        answer = door.getresponse()
        text = answer.read().decode("utf-8", "replace")
    finally:
        door.close()
    return Got(answer.status, text, {name.lower(): value for name, value in answer.getheaders()})


def some(values: list[str], path: str, share: int) -> list[str]:
    """Return one in so many, others for each path; all for 1."""
    return values[sum(path.encode()) % share :: share]


@pytest.mark.parametrize("share", [5, pytest.param(1, marks=pytest.mark.long)])
@pytest.mark.parametrize("path", sorted(ROUTES))
def test_hostile_parts_of_an_address(held: Visitor, path: str, share: int) -> None:
    route, before = ROUTES[path], neighbours(held)
    names = walk.parts(route)
    known = {name: quote(walk.KNOWN.get(name, lambda: ["1"])()[0]) for name in names}
    for name in names:
        for value in some(HOSTILE, path, share):
            address = walk.filled(route, known | {name: value})
            for method in sorted((route.methods or set()) - {"HEAD"}):
                body = urlencode({"mark": held.desk.mark}).encode() if method == "POST" else b""
                sane(held, raw(held, method, address, body), f"{method} {address}")
    assert neighbours(held) == before


def form_of(held: Visitor, path: str) -> dict[str, str]:
    """Return the fields of a form on its own page, where it has one."""
    got = held.get(path)
    if got.status != 200 or not got.page.xpath(f"//form[@action='{path}']"):
        return {"mark": held.desk.mark}
    form = got.page.xpath(f"//form[@action='{path}']")[0]
    return {name: str(value or "") for name, value in form.form_values()}


# Names that a query may bring anywhere on the desk.
ASKED = ("find", "page", "said", "guide", "standing", "all", "theme", "wide", "round", "address", "on", "a_page",
         "code", "slug", "number", "part", "year", "back", "file", "path")  # fmt: skip
DAYS = ["2026-02-30", "0000-00-00", "9999-12-31", "2026-11-24T25:61", "0001-01-01 00:00"]
# These make the site's pictures first, which takes its time.
SLOW = ("/do/build.build", "/do/letters.pieces", "/pieces/moth-usher/as-written")


@pytest.mark.parametrize("share", [39, pytest.param(1, marks=pytest.mark.long)])
@pytest.mark.parametrize("path", PAGES)
def test_hostile_queries(held: Visitor, path: str, share: int) -> None:
    """Every page is asked as it is and with every name that any page knows; none falls over, none writes."""
    before = walk.state(held.desk.folder, skipped=("out",))
    assert (got := held.get(path)).status in {200, 404, 422}, got.words
    for value in some(HOSTILE, path, share):
        asked = f"{path}?" + "&".join(f"{name}={value[:200]}" for name in ASKED)
        sane(held, raw(held, "GET", asked), asked)
    for asked in (
        f"{path}?page=" + "9" * 5000,
        f"{path}?" + "a=1&" * 2000,
        f"{path}?guide=&%ED%A0%80=%ED%A0%80",
    ):
        sane(held, raw(held, "GET", asked), asked)
    assert walk.state(held.desk.folder, skipped=("out",)) == before


@pytest.mark.parametrize("share", [49, pytest.param(1, marks=pytest.mark.long)])
@pytest.mark.parametrize("path", DEEDS)
def test_hostile_fields(held: Visitor, path: str, share: int) -> None:
    """Each field of each form in turn says what nobody would; `mark` is right, so that it gets far."""
    if share > 1 and path in SLOW:
        pytest.skip("in the long form")
    before, fields = neighbours(held), form_of(held, path)
    good = {name: quote(value) for name, value in fields.items()} | {"mark": held.desk.mark}
    names = dict.fromkeys(
        (*fields, "back", "seen", "agreed", "kept", "number", "part", "slug", "code", "better")
    )
    tried = [(name, value) for name in names for value in [*HOSTILE, *map(quote, DAYS)]]
    for name, value in tried[sum(path.encode()) % share :: share * 5]:
        body = "&".join(f"{key}={what}" for key, what in (good | {name: value}).items()).encode()
        sane(held, raw(held, "POST", path, body), f"POST {path} {name}={value}")
    assert neighbours(held) == before


BROKEN = {
    "ten thousand fields": (FORM, b"&".join(b"a%d=1" % number for number in range(10_000))),
    "repeated names": (FORM, b"&".join(b"mark=x&slug=a&file=studio.yaml" for _ in range(100))),
    "no content": (FORM, b""),
    "another type": ("application/json", b'{"mark": ["x"], "seen": 3}'),
    "no type": ("", b"mark=1"),
    "no boundary": ("multipart/form-data", b"--x\r\n"),
    "broken multipart": (
        "multipart/form-data; boundary=x",
        b'--x\r\nContent-Disposition: form-data; name="a',
    ),
    "other boundary": ("multipart/form-data; boundary=x", b"--y\r\n\r\n1\r\n--y--\r\n"),
    "no name": (
        "multipart/form-data; boundary=x",
        b"--x\r\nContent-Disposition: form-data\r\n\r\n1\r\n--x--\r\n",
    ),
    "marks as files": (
        "multipart/form-data; boundary=x",
        b'--x\r\nContent-Disposition: form-data; name="mark"; filename="../../a"\r\n\r\n1\r\n--x--\r\n',
    ),
    "an odd charset": (
        "multipart/form-data; boundary=x; charset=unicode_escape",
        b'--x\r\nContent-Disposition: form-data; name="mark"\r\n\r\n\\ud800\r\n--x--\r\n',
    ),
    "no form at all": (FORM, bytes(range(256))),
}


@pytest.mark.parametrize("share", [5, pytest.param(1, marks=pytest.mark.long)])
@pytest.mark.parametrize("path", DEEDS)
def test_broken_forms_change_nothing(held: Visitor, path: str, share: int) -> None:
    before = walk.state(held.desk.folder.parent)
    for name in some(list(BROKEN), path, share):
        kind, body = BROKEN[name]
        got = raw(held, "POST", path, body, kind)
        sane(held, got, f"{path}: {name}")
        assert got.status >= 400, f"{path} took {name}"
    assert walk.state(held.desk.folder.parent) == before


ELSEWHERE = {
    "no mark": ({}, {}),
    "another mark": ({}, {"mark": "0" * 32}),
    "a mark that isn't ASCII": ({}, {"mark": "é\ud800"}),
    "a foreign page": ({"Origin": "http://elsewhere.example"}, {"mark": "right"}),
    "no page": ({"Origin": ""}, {"mark": "right"}),
    "another port": ({"Origin": "http://127.0.0.1:1"}, {"mark": "right"}),
    "no cookie": ({"Cookie": ""}, {"mark": "right"}),
    "a foreign name": ({"Host": "elsewhere.example"}, {"mark": "right"}),
}


@pytest.mark.parametrize("share", [4, pytest.param(1, marks=pytest.mark.long)])
@pytest.mark.parametrize("path", DEEDS)
def test_a_form_from_elsewhere_is_refused(held: Visitor, path: str, share: int) -> None:
    fields = {name: value for name, value in form_of(held, path).items() if name != "mark"}
    before = walk.state(held.desk.folder.parent)
    for kind in some(list(ELSEWHERE), path, share):
        headers, extra = ELSEWHERE[kind]
        mark = {name: held.desk.mark if value == "right" else value for name, value in extra.items()}
        body = urlencode(fields | mark, errors="surrogatepass").encode()

        got = held.ask("POST", path, body, **{"Origin": held.address, "Content_Type": FORM} | headers)

        assert got.status == (403 if headers else 422), f"{path}, {kind}: {got.words}"
    assert walk.state(held.desk.folder.parent) == before


ODD = st.text(st.characters(codec=None), max_size=60)
FIELDS = st.dictionaries(st.sampled_from(["slug", "code", "file", "path", "to", "seen", "name", "title", "number",
                                          "part", "price", "amount", "on", "step", "address", "back", "agreed"]),
                         ODD, max_size=8)  # fmt: skip


@settings(max_examples=75, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
# A page as it would be develops the whole studio's photos first; test_pieces asks for it.
@given(path=st.sampled_from([path for path in DEEDS if not path.endswith("/as-written")]), fields=FIELDS)
def test_anything_in_a_form(held: Visitor, path: str, fields: dict[str, str]) -> None:
    body = urlencode({**fields, "mark": held.desk.mark}, errors="surrogatepass").encode()

    sane(held, raw(held, "POST", path, body), f"{path} {fields}")


@settings(max_examples=75, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(route=st.sampled_from(sorted(ROUTES)), part=ODD, name=ODD, value=ODD)
def test_anything_in_an_address(held: Visitor, route: str, part: str, name: str, value: str) -> None:
    odd = quote(part, safe="", errors="surrogatepass")
    address = walk.filled(ROUTES[route], dict.fromkeys(walk.parts(ROUTES[route]), odd))
    asked = f"{address}?{urlencode({name: value}, errors='surrogatepass')}"

    sane(held, raw(held, "GET", asked), asked)
