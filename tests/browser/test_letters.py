"""Letters at the desk: written, looked at, tried, posted with somebody looking on or not, stopped, seen through."""

from __future__ import annotations

import csv
import json
import threading
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.smtp import AuthResult
from playwright.sync_api import Browser, Page

from sitegen.browser.app import app_for
from sitegen.browser.desk import Workplace
from sitegen.browser.preview import preview_of
from sitegen.browser.serving import served
from sitegen.jobs import letters
from sitegen.jobs.build import build
from sitegen.jobs.preview import Preview
from sitegen.jobs.reading import kept_reading
from sitegen.letters.gate import Gate
from sitegen.letters.record import held
from sitegen.studio.asked import Progress, Said
from tests import makers
from tests.browser.conftest import TODAY, Got, Visitor, looking, opened, too_wide, violations
from tests.letters.office import Desk as Office
from tests.letters.office import serving

PIECES = "/letters/write/pieces"
PASSWORD = "a word that nobody may see"


def with_crowd(folder: Path, many: int = 12) -> Path:
    """Add people to the list of a studio who asked to hear of new pieces."""
    rows = "".join(
        f"p{n:02}@example.com,Reader {n},new pieces,2026-03-01,web,form on the site,\r\n" for n in range(many)
    )
    with (folder / "people.csv").open("ab") as stream:
        stream.write(rows.encode())
    return folder


@pytest.fixture
def desk(studio: Path) -> Iterator[Visitor]:
    """Somebody at the desk of a small studio with a dozen readers."""
    with opened(with_crowd(studio)) as found:
        yield found


@dataclass
class Counting(Office):
    """A post office that does something when it has so many letters in hand, before it answers."""

    at: int = 0
    then: Callable[[], None] = lambda: None

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802
        if self.at and len(self.taken) + 1 == self.at:
            self.then()
        return await super().handle_DATA(server, session, envelope)


def made(visitor: Visitor, **values: str) -> str:
    """Make the letter on the one piece; return its ident."""
    got = visitor.do(PIECES, PIECES, slugs="ferry-ghost", **values)
    assert got.status == 303, got.words
    return got.to.removeprefix("/letters/").partition("?")[0]


def post(visitor: Visitor, ident: str, door: Gate, do: str = "post", **values: str) -> Got:
    """Fill in the post office and post."""
    about = {"host": "127.0.0.1", "port": str(door.port), "security": "none", "pace": "0"} | values
    action = f"/letters/{ident}/post"
    return visitor.send(action, {**visitor.filled(f"/letters/{ident}", action, **about), "do": do})


def ended(visitor: Visitor, ident: str) -> Got:
    """Wait until the posting has ended, and look at the letter."""
    posting = visitor.desk.outbox.of(ident)
    assert posting is not None
    assert posting.thread is not None
    posting.thread.join(60)
    assert posting.ended
    return visitor.get(f"/letters/{ident}")


def recipients(visitor: Visitor, ident: str) -> list[str]:
    file = visitor.desk.folder / "out" / "letters" / ident / "recipients.csv"
    with file.open(encoding="utf-8", newline="") as stream:
        return [row["email"].casefold() for row in csv.DictReader(stream)]


def test_a_letter_is_made_with_her_own_words_and_looked_at(desk: Visitor) -> None:
    ident = made(desk, words="The year is turning.\n\n![](ferry-ghost)")

    page = desk.get(f"/letters/{ident}")
    seen = desk.get(f"/out/letters/{ident}/letter.html")

    assert "The year is turning." in seen.words
    assert "Not posted yet." in page.words
    assert page.page.xpath(f"//iframe[@src='/letters/{ident}/seen']/@sandbox") == ["allow-same-origin"]
    assert "The year is turning." in page.page.xpath("string(//pre)")
    listed = desk.get("/letters")
    assert listed.page.xpath(f"//td/a[@href='/letters/{ident}']")
    assert "The Ferry Ghost" in listed.words


def test_what_takes_its_time_is_begun_once_and_shows_how_far_it_is(
    desk: Visitor, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A letter to a long list."""
    goes_on, begun, job = threading.Event(), list[int](), letters.pieces

    @wraps(job)
    def slow(folder: Path, wish: letters.AnnouncePieces, today: str | None, progress: Progress) -> Said:
        begun.append(1)
        progress(3_120, 10_000)
        assert goes_on.wait(60)
        return job(folder, wish, today, progress)

    monkeypatch.setattr(letters, "pieces", slow)
    with looking(browser, desk) as page:
        page.goto(desk.address + PIECES)
        page.get_by_label("The Ferry Ghost").check()
        # While a form is under way the page is asked nothing; so it notes by itself what it shows, and presses again.
        page.evaluate(
            "const press = () => document.querySelector('main .do button').click();"
            "new MutationObserver(() => { const said = document.querySelector('output'); if (!said) return;"
            "sessionStorage.said ??= ''; sessionStorage.said += `${said.textContent} `; press(); })"
            ".observe(document.body, { subtree: true, childList: true, characterData: true });"
            "setTimeout(press)"
        )
        for _ in range(2):
            page.wait_for_event("response", lambda got: got.url.endswith("/far"))
        goes_on.set()
        page.wait_for_url("**/letters/*?said=*")
        said = page.evaluate("sessionStorage.said")

    assert "3,120 of 10,000 are ready. " in said
    assert begun == [1]


def test_everyone_gets_one_and_the_page_says_so(desk: Visitor) -> None:
    ident, office = made(desk), Office()

    with serving(office) as door:
        got = post(desk, ident, door)
        page = ended(desk, ident)

    everybody = recipients(desk, ident)
    assert got.status == 303
    assert sorted(address.casefold() for address, _ in office.taken) == sorted(everybody)
    assert f"All {len(everybody)} have it." in page.words
    assert not page.page.xpath("//button[@value='post']")


def test_the_password_is_nowhere_but_at_the_office(desk: Visitor) -> None:
    """Not in a page, not in a file of the studio, not in what the desk remembers."""
    ident, office = made(desk), Office()

    with serving(office, auth_require_tls=False, authenticator=lambda *_: AuthResult(success=True)) as door:
        refused = post(desk, ident, door, user="brid", password=PASSWORD)
        page = ended(desk, ident) if refused.status == 303 else refused
        wrong = post(desk, ident, door, port="99999", password=PASSWORD)
        trial = post(desk, ident, door, "trial", user="brid", password=PASSWORD)

    assert wrong.status == 422
    for got in (page, wrong, trial, desk.get(f"/letters/{ident}")):
        assert PASSWORD not in got.text
    for file in desk.desk.folder.rglob("*"):
        assert not file.is_file() or PASSWORD.encode() not in file.read_bytes()
    assert PASSWORD not in repr(vars(desk.desk)) + repr(vars(desk.desk.outbox)) + str(
        desk.desk.outbox.known()
    )
    assert desk.get(f"/letters/{ident}").page.xpath("//input[@name='user']/@value") == ["brid"]
    assert desk.get(f"/letters/{ident}").page.xpath("//input[@type='password']/@value") == [""]


def test_a_password_of_the_environment_goes_to_its_own_server_only(
    desk: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SITEGEN_SMTP_HOST", "mail.post.example")
    monkeypatch.setenv("SITEGEN_SMTP_USER", "brid")
    monkeypatch.setenv("SITEGEN_SMTP_PASSWORD", PASSWORD)
    ident = made(desk)

    page = desk.get(f"/letters/{ident}")
    here = desk.desk.outbox.settings({"host": "mail.post.example", "user": "brid", "security": "tls"})
    there = desk.desk.outbox.settings({"host": "mail.other.example", "user": "brid", "security": "tls"})

    assert page.page.xpath("//input[@name='host']/@value") == ["mail.post.example"]
    assert PASSWORD not in page.text
    assert here["SITEGEN_SMTP_PASSWORD"] == PASSWORD
    assert there["SITEGEN_SMTP_PASSWORD"] == ""


def test_the_trial_copy_goes_to_her_alone_and_nothing_counts(desk: Visitor) -> None:
    ident, office = made(desk), Office()

    with serving(office) as door:
        page = desk.after(post(desk, ident, door, "trial"))

    assert [address for address, _ in office.taken] == ["hello@lantern.example"]
    assert "hello@lantern.example" in page.words
    assert "Not posted yet." in page.words


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"port": "many"}, "many"),
        ({"host": "mail.post.example"}, "mail.post.example"),  # open, and not on this machine
        ({"limit": "none"}, "limit"),
        ({"limit": "0"}, "limit"),
        ({"pace": "-3"}, "pace"),
        ({"pace": "<script>alert(1)</script>"}, "pace"),
    ],
)
def test_what_cant_be_right_is_said_and_nobody_is_written_to(
    desk: Visitor, typed: dict[str, str], said: str
) -> None:
    ident, office = made(desk), Office()

    with serving(office) as door:
        got = post(desk, ident, door, **typed)

    fault = got.page.xpath("string(//*[@id='fault'])")
    assert got.status == 422
    assert said in fault.casefold().replace("letters a minute", "pace").replace("at most so many", "limit")
    assert "SITEGEN_" not in got.words
    assert "--" not in fault
    assert got.page.xpath(f"//input[@value='{next(iter(typed.values()))}']")
    assert "<script>alert" not in got.text
    assert office.taken == []


def test_an_office_that_isnt_there_is_said_afterwards(desk: Visitor) -> None:
    """A wrong password or a closed door is met when the posting has begun already."""
    ident = made(desk)
    with serving(Office(at_recipient={"ana@mail.example": ["421 come back"] * 9})) as door:
        pass

    settings = desk.desk.outbox.settings({"host": "127.0.0.1", "port": str(door.port), "security": "none"})
    posting_began = post(desk, ident, door)
    posting = desk.desk.outbox.of(ident)
    assert posting is not None
    while not posting.waits:
        threading.Event().wait(0.01)
    running = desk.get(f"/letters/{ident}")
    assert "Going out" in running.words
    assert "can't be reached" in running.words
    desk.do(running, f"/letters/{ident}/stop")
    page = ended(desk, ident)

    assert settings["SITEGEN_SMTP_PASSWORD"] == ""
    assert posting_began.status == 303
    assert "0 posted" in page.words
    assert f"Not posted yet. {len(recipients(desk, ident))} people get it." in page.words


def test_two_windows_begin_one_posting(desk: Visitor) -> None:
    ident = made(desk)
    inside, go_on = threading.Event(), threading.Event()

    def hold() -> None:
        inside.set()
        go_on.wait(30)

    office = Counting(at=1, then=hold)
    with serving(office) as door:
        form = desk.filled(
            f"/letters/{ident}", f"/letters/{ident}/post", host="127.0.0.1", port=str(door.port)
        )
        form |= {"security": "none", "pace": "0", "do": "post"}
        first = desk.send(f"/letters/{ident}/post", form)
        assert inside.wait(30)
        second = desk.send(f"/letters/{ident}/post", form)
        told = desk.after(second)
        counted = json.loads(desk.get(f"/letters/{ident}/now").text)
        go_on.set()
        ended(desk, ident)
        late = desk.send(f"/letters/{ident}/post", form)

    assert (first.status, second.status) == (303, 303)
    assert "Nothing was begun twice" in told.words
    assert counted == {"ended": False, "done": 0, "total": len(recipients(desk, ident)), "waits": ""}
    assert late.status == 422  # the form was shown for a letter that nobody had
    assert max(Counter(address for address, _ in office.taken).values()) == 1


def test_a_posting_elsewhere_is_told_of(desk: Visitor) -> None:
    """The terminal holds the letter: the desk's posting ends at once, and says why."""
    ident, office = made(desk), Office()

    with serving(office) as door, held(ident, desk.desk.folder / "sent"):
        post(desk, ident, door)
        page = ended(desk, ident)

    assert "couldn't be posted" in page.words
    assert office.taken == []


def test_a_limit_holds_and_the_rest_goes_out_later(desk: Visitor) -> None:
    ident, office = made(desk), Office()
    everybody = recipients(desk, ident)

    with serving(office) as door:
        post(desk, ident, door, limit="5")
        page = ended(desk, ident)
        assert len(office.taken) == 5
        assert f"5 posted, {len(everybody) - 5} to go" in page.words
        assert f"5 of {len(everybody)} have it" in page.words
        post(desk, ident, door)
        ended(desk, ident)

    assert sorted(address.casefold() for address, _ in office.taken) == sorted(everybody)


def test_it_stops_between_two_letters_and_goes_on_later(desk: Visitor) -> None:
    ident = made(desk)

    def stop() -> None:
        got = desk.do(f"/letters/{ident}", f"/letters/{ident}/stop")
        assert got.status == 303

    office = Counting(at=3)
    with serving(office) as door:
        stopping = threading.Event()
        office.then = lambda: (stopping.set(), gone_on.wait(30))  # type: ignore[func-returns-value, assignment]
        gone_on = threading.Event()
        post(desk, ident, door)
        assert stopping.wait(30)
        stop()
        assert "Stopping after the letter in hand" in desk.get(f"/letters/{ident}").words
        gone_on.set()
        page = ended(desk, ident)
        assert len(office.taken) == 3
        assert "3 posted" in page.words
        post(desk, ident, door)
        ended(desk, ident)

    assert max(Counter(address for address, _ in office.taken).values()) == 1
    assert len(office.taken) == len(recipients(desk, ident))


def test_doubt_and_refusal_are_named_and_settled(desk: Visitor) -> None:
    ident = made(desk)
    office = Office(
        at_recipient={"p03@example.com": ["550 5.7.1 <b>not</b> here"]},
        after_data={"p01@example.com": ["drop after taking"], "p02@example.com": ["drop"]},
    )
    with serving(office) as door:
        post(desk, ident, door)
        page = ended(desk, ident)
        assert "Whether 2 people got it, nobody knows." in page.words
        assert "5.7.1 <b>not</b> here" in page.words  # as words
        assert page.page.xpath("//a[@href='/people/one?address=p03%40example.com']") or page.page.xpath(
            "//a[@href='/people/one?address=p03@example.com']"
        )
        about = {"mark": desk.desk.mark}
        action = f"/letters/{ident}/settle"
        desk.after(desk.send(action, about | {"address": "p01@example.com", "has": "yes"}))
        page = desk.after(desk.send(action, about | {"address": "p02@example.com", "has": "no"}))
        assert "nobody knows" not in page.words
        again = desk.send(action, about | {"address": "p02@example.com", "has": "yes"})
        assert again.status == 422
        post(desk, ident, door)
        ended(desk, ident)

    taken = Counter(address for address, _ in office.taken)
    assert taken["p02@example.com"] == taken["p01@example.com"] == 1
    assert taken["p03@example.com"] == 0


def test_it_is_made_again_with_other_words_while_nobody_has_it(desk: Visitor) -> None:
    ident, office = made(desk, words="The year is <turning>.".replace("<", "").replace(">", "")), Office()
    (again,) = desk.get(f"/letters/{ident}").page.xpath("//a[starts-with(@href, '/letters/write/')]/@href")

    form = desk.filled(again, PIECES, words="The year has turned.")
    old = desk.filled(again, PIECES)
    assert old["words"] == "The year is turning."
    assert old["slugs"] == "ferry-ghost"
    assert desk.send(PIECES, form).to.startswith(f"/letters/{ident}?")
    assert "The year has turned." in desk.get(f"/letters/{ident}").words

    with serving(office) as door:
        post(desk, ident, door, limit="1")
        page = ended(desk, ident)
    assert not page.page.xpath("//a[starts-with(@href, '/letters/write/')]")
    refused = desk.send(PIECES, form)
    assert refused.status == 422
    assert "The year has turned." in refused.page.xpath("string(//textarea)")
    assert "has been posted" in refused.words
    assert "sitegen" not in refused.page.xpath("string(//*[@id='fault'])")


def test_a_letter_that_nobody_has_can_be_thrown_away(desk: Visitor) -> None:
    ident, office = made(desk), Office()
    place = f"/do/letters.throw_away?ident={ident}"
    assert desk.get(f"/letters/{ident}").page.xpath(f"//a[@href='{place}']")

    with held(ident, desk.desk.folder / "sent"):
        assert desk.do(place, "/do/letters.throw_away").status == 422  # somebody is just posting it
    assert (desk.desk.folder / "out" / "letters" / ident / "letter.json").is_file()
    assert desk.after(desk.do(place, "/do/letters.throw_away")).status == 200
    assert not (desk.desk.folder / "out" / "letters" / ident).exists()
    assert desk.get("/letters/write/throw_away").status == 422

    with serving(office) as door:
        assert made(desk) == ident
        post(desk, ident, door, limit="1")
        ended(desk, ident)
    for name in (ident, "../../pieces", "none"):
        fields = {"mark": desk.desk.mark, "ident": name}
        assert desk.send("/do/letters.throw_away", fields).status == 422
    assert (desk.desk.folder / "out" / "letters" / ident / "letter.json").is_file()
    assert (desk.desk.folder / "pieces").is_dir()


def test_who_gets_it_and_who_doesnt_and_why(desk: Visitor) -> None:
    ident = made(desk)
    place = f"/letters/{ident}/people"

    assert "p07@example.com" in desk.get(place).words
    assert "gone@mail.example" not in desk.get(place).words
    out = desk.get(f"{place}?out=yes")
    assert "gone@mail.example" in out.words
    assert "p07@example.com" not in out.words
    found = desk.get(f"{place}?find=READER+7")
    assert "p07@example.com" in found.words
    assert "p08@example.com" not in found.words
    for odd in ("999", "0", "-1", "x", "9" * 5000):
        assert desk.get(f"{place}?page={odd}").status == 200


@pytest.mark.parametrize("ident", ["..", "%2e%2e", "none", "a%00b", "%3Cscript%3E", "." * 300])
def test_a_letter_that_isnt_there_is_said(desk: Visitor, ident: str) -> None:
    for place in ("", "/people", "/now"):
        got = desk.get(f"/letters/{ident}{place}")
        assert got.status in {200, 404, 422}
        assert "<script>" not in got.text


def test_another_page_can_post_nothing(desk: Visitor) -> None:
    ident, office = made(desk), Office()

    with serving(office) as door:
        form = desk.filled(
            f"/letters/{ident}", f"/letters/{ident}/post", host="127.0.0.1", port=str(door.port)
        )
        for action in ("post", "stop", "settle"):
            got = desk.send(f"/letters/{ident}/{action}", {**form, "do": "post", "mark": "another"})
            assert got.status == 422
        got = desk.send(PIECES, {"slugs": "ferry-ghost", "mark": "another"})
        assert got.status == 422

    assert office.taken == []
    assert desk.desk.outbox.of(ident) is None


def test_hostile_words_are_words(studio: Path) -> None:
    bad = "</pre><script>alert(1)</script><img src=x onerror=alert(2)>"
    piece = studio / "pieces" / "ferry-ghost" / "piece.yaml"
    piece.write_text(piece.read_text("utf-8").replace("The Ferry Ghost", json.dumps(f"x {bad}")), "utf-8")
    with opened(with_crowd(studio)) as desk:
        ident = made(desk, words="Plain.")
        for place in ("/letters", PIECES, f"/letters/{ident}", f"/letters/{ident}/people"):
            got = desk.get(place)
            assert got.status == 200
            assert "<script>alert" not in got.text
            assert "<img src=x" not in got.text
        kept = desk.get(f"/out/letters/{ident}/letter.html")
        assert "default-src 'none'" in kept.headers["content-security-policy"]
        assert "script-src" not in kept.headers["content-security-policy"]


def test_the_next_letter_to_write_is_offered(desk: Visitor) -> None:
    page = desk.get("/letters")
    assert page.page.xpath("//p[@class='lead']/a[starts-with(@href, '/letters/write/')]")

    assert "The Ferry Ghost" in desk.get("/letters/write/pieces").words
    assert "Winter 2027" in desk.get("/letters/write/commissions").words
    assert "Quayside Doll Fair" in desk.get("/letters/write/show").words
    assert desk.get("/letters/write/nothing").status == 422


@pytest.mark.parametrize("kind", ["commissions", "show"])
def test_a_round_and_a_show_are_told_of_too(desk: Visitor, kind: str) -> None:
    place = f"/letters/write/{kind}"

    page = desk.after(desk.do(place, place, words="Come."))

    assert "The letter is made, and not posted." in page.words
    assert "Not posted yet." in page.words


@pytest.mark.slow
def test_the_pages_are_for_everyone(desk: Visitor, browser: Browser) -> None:
    ident = made(desk, words="Look.\n\n![](ferry-ghost)")
    office = Counting(at_recipient={"p03@example.com": ["550 no"]}, after_data={"p01@example.com": ["drop"]})
    pages = ["/letters", PIECES, f"/letters/{ident}", f"/letters/{ident}/people"]
    with looking(browser, desk, 320) as page:
        for place in pages:
            page.goto(f"{desk.address}{place}")
            assert violations(page) == []
            assert too_wide(page) <= 0
        with serving(office) as door:
            post(desk, ident, door, limit="6")
            ended(desk, ident)
        page.goto(f"{desk.address}/letters/{ident}")
        assert violations(page) == []
        assert too_wide(page) <= 0


@pytest.mark.slow
@pytest.mark.parametrize("how", ["carried", "linked"])
def test_the_letters_pictures_show(studio: Path, browser: Browser, how: str) -> None:
    """Carried or left on the site: what readers see is seen here, and nothing of it runs or asks elsewhere."""
    build(studio, TODAY)
    showing = Preview(with_crowd(studio), lambda _: None)
    beside = Workplace(studio, TODAY)
    with kept_reading(), served(preview_of(showing)) as there:
        beside.preview = f"{there}/"
        with served(app_for(beside)) as address, looking(browser, desk := Visitor(address, beside)) as page:
            ident = made(desk, words="Look.\n\n![](ferry-ghost)", pictures=how)
            page.goto(f"{desk.address}/letters/{ident}")
            frame = page.frame(url=f"**/letters/{ident}/seen")
            assert frame is not None
            frame.wait_for_load_state()
            widths = frame.locator("img").evaluate_all("all => all.map(one => one.naturalWidth)")

    assert bool(list((studio / "out" / "letters" / ident / "with").glob("*.jpg"))) is (how == "carried")
    assert widths
    assert min(widths) > 0


@pytest.mark.slow
def test_written_and_posted_by_keyboard_alone(desk: Visitor, browser: Browser) -> None:
    office = Office()
    with serving(office) as door, looking(browser, desk) as page:
        page.goto(f"{desk.address}{PIECES}")
        press(page, "input[name=slugs]", "Space")
        press(page, "textarea[name=words]", text="By hand.")
        press(page, "button:has-text('Make the letter')", "Enter")
        page.wait_for_url("**/letters/pieces-*")
        press(page, "input[name=host]", text="127.0.0.1")
        press(page, "summary:has-text('Port')", "Enter")
        press(page, "input[name=port]", text=str(door.port))
        press(page, "select[name=security]", text="open")
        press(page, "summary:has-text('How many')", "Enter")
        press(page, "input[name=pace]", text="0")
        press(page, "button[value=post]", "Enter")
        page.get_by_text("have it.").wait_for()
        ident = page.url.rpartition("/")[2].partition("?")[0]

    assert len(office.taken) == len(recipients(desk, ident))


def press(page: Page, where: str, key: str = "", text: str = "") -> None:
    """Go to a field by the Tab key alone, and press a key or type there."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if (
            page.evaluate("where => document.activeElement === document.querySelector(where)", where)
            if (":has-text" not in where)
            else page.locator(where).first.evaluate("one => one === document.activeElement")
        ):
            break
    else:
        pytest.fail(f"no way to {where} by keyboard")
    if text:
        page.keyboard.press("Control+A")
        page.keyboard.type(text)
    if key:
        page.keyboard.press(key)


def test_a_class_and_a_notice_are_written_like_any_letter(studio: Path) -> None:
    """What she could write of is offered; a notice is made anew with all that was said in it."""
    makers.write(studio / "shows" / "heads-2027.yaml", makers.CLASS)
    with opened(studio) as desk:
        page = desk.get("/letters")
        kinds = page.page.xpath("//ul[@class='words']//a/@href")
        assert kinds == [
            f"/letters/write/{kind}" for kind in ("commissions", "pieces", "show", "class", "notice")
        ]
        assert "Quayside" not in desk.get("/letters/write/class").words

        about = {
            "about": "new pieces",
            "subject": "Studio sale",
            "slugs": "ferry-ghost",
            "words": "One *weekend*.",
        }
        made = desk.do("/letters/write/notice", "/letters/write/notice", **about)
        assert made.to.startswith("/letters/notice-studio-sale")
        letter = desk.after(made)
        assert "1 person gets it" in letter.words
        (again,) = [one for one in letter.page.xpath("//a/@href") if one.startswith("/letters/write/")]
        filled = desk.filled(again, "/letters/write/notice")
        assert {name: filled[name] for name in about} == about

        bare = desk.do("/letters/write/notice", "/letters/write/notice", **{**about, "words": ""})
        assert bare.status == 422
        assert "your own words and nothing else" in bare.words
        nobody = desk.do("/letters/write/class", "/letters/write/class", slug="heads-2027")
        assert nobody.status == 422
        assert "nobody on the mailing list may be written to about classes" in nobody.words


def test_to_whom_it_goes_is_said_before_it_goes(desk: Visitor) -> None:
    first, second, *rest = recipients(desk, ident := made(desk))

    assert f"It goes to {first}, {second} and {len(rest)} more." in desk.get(f"/letters/{ident}").words
