"""Ways out that the artist sets: the list's form, the shop, the response headers; and the theme's options."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.sources import read
from sitegen.studio.asked import Fault
from tests import makers
from tests.site.studio import THEMES, make_site, pages

FORM = "https://forms.example/lantern/7"
SHOP = "https://shop.example/dolls/{slug}?from=site"


def studio_with(folder: Path, *lines: str, pieces: dict[str, str] | None = None) -> Path:
    """Write a studio whose studio.yaml ends in these lines."""
    studio = makers.studio(folder, pieces)
    makers.write(studio / "studio.yaml", makers.STUDIO + "".join(f"{line}\n" for line in lines))
    return studio


def policy(text: str) -> dict[str, str]:
    """Split a content policy into its directives (CSP Level 3, section 2.2.1)."""
    return dict(rule.strip().split(" ", 1) for rule in text.split(";"))


@pytest.mark.parametrize("name", THEMES)
def test_the_form_posts_what_the_list_needs(tmp_path: Path, name: str) -> None:
    """Address, name, interests by the list's own words, and the very sentence that is agreed to."""
    studio = studio_with(tmp_path, f"sign_up: {FORM}")
    make_site(studio, name)
    page = pages(studio / "out" / "site")["letters/index.html"]
    (form,) = page.xpath("//form")

    assert (form.get("method"), form.get("action")) == ("post", FORM)
    assert form.xpath(".//input[@name='email']/@type") == ["email"]
    assert form.xpath(".//input[@name='interests']/@value") == [
        "commissions",
        "new pieces",
        "shows",
        "classes",
    ]
    assert form.xpath(".//input[@name='interests']/@checked") == []
    (consent,) = form.xpath(".//input[@name='consent']")
    assert consent.get("value") == (
        "I would like letters from Lantern & Loam and know that I can leave with one reply."
    )
    assert "required" in consent.attrib
    assert "checked" not in consent.attrib
    assert "forms.example" in page.xpath("//main")[0].text_content()


@pytest.mark.parametrize("name", THEMES)
def test_every_field_of_the_form_has_its_label(tmp_path: Path, name: str) -> None:
    """A label by `for` or around the field (HTML, 4.10.4), so that a screen reader says what to write."""
    studio = studio_with(tmp_path, f"sign_up: {FORM}")
    make_site(studio, name)
    page = pages(studio / "out" / "site")["letters/index.html"]
    fields = page.xpath("//form//input")

    assert len(fields) == 7
    for field in fields:
        words = page.xpath("//label[@for=$id]", id=field.get("id", "-")) + field.xpath("ancestor::label")
        assert words
        assert words[0].text_content().strip()


@pytest.mark.parametrize("name", THEMES)
def test_without_a_form_the_page_opens_a_letter(tmp_path: Path, name: str) -> None:
    """The letter is written already, with the sentence in it (RFC 6068)."""
    studio = makers.studio(tmp_path)
    make_site(studio, name)
    page = pages(studio / "out" / "site")["letters/index.html"]
    (address,) = [one for one in page.xpath("//main//a/@href") if "subject=" in one]

    assert page.xpath("//form") == []
    assert address.startswith("mailto:hello@lantern.example?")
    assert "leave%20with%20one%20reply" in address


def test_only_the_page_with_the_form_may_send_one_and_only_there(tmp_path: Path) -> None:
    """CSP Level 3, form-action: the receiver's origin on the letters page, nothing on any other."""
    studio = studio_with(tmp_path, f"sign_up: {FORM}")
    make_site(studio)
    allowed = {
        path: policy(page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0])["form-action"]
        for path, page in pages(studio / "out" / "site").items()
    }

    assert allowed.pop("letters/index.html") == "https://forms.example"
    assert set(allowed.values()) == {"'none'"}


@pytest.mark.parametrize(("line", "forms"), [("", "'none'"), (f"sign_up: {FORM}", "https://forms.example")])
def test_the_headers_file_says_what_the_pages_say(tmp_path: Path, line: str, forms: str) -> None:
    """Field lines as RFC 9110 section 5 has them; the policy is the pages' own, plus what counts only there."""
    studio = studio_with(tmp_path, line)
    make_site(studio)
    site = studio / "out" / "site"
    raw = (site / "headers.txt").read_bytes()
    fields = dict(row.split(": ", 1) for row in raw.decode("ascii").splitlines())
    header = policy(fields["Content-Security-Policy"])

    assert fields["X-Content-Type-Options"] == "nosniff"
    assert header.pop("frame-ancestors") == "'none'"
    assert header.pop("form-action") == forms
    for path, page in pages(site).items():
        own = policy(page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0])
        assert header.items() <= own.items(), path
        assert own.keys() - header.keys() <= {"form-action", "script-src"}, path


@pytest.mark.parametrize("name", THEMES)
def test_a_piece_is_bought_where_the_artist_says(tmp_path: Path, name: str) -> None:
    """The studio's own place for all, another for one piece, and none for a piece that isn't available."""
    studio = studio_with(
        tmp_path,
        f'buy_at: "{SHOP}"',
        pieces={
            "ferry-ghost": makers.piece_yaml(),
            "night-nurse": makers.piece_yaml(
                "The Night Nurse", number="2026-02", buy_at="https://pay.example/n"
            ),
            "gone": makers.piece_yaml("Gone", "sold", number="2026-03", buy_at="https://pay.example/gone"),
        },
    )
    make_site(studio, name)
    site = studio / "out" / "site"
    shown = pages(site)

    def asks(slug: str) -> list[str]:
        return [str(one) for one in shown[f"pieces/{slug}/index.html"].xpath("//p[@class='ask']/a/@href")]

    assert asks("ferry-ghost") == ["https://shop.example/dolls/ferry-ghost?from=site"]
    assert asks("night-nurse") == ["https://pay.example/n"]
    assert asks("gone") == []
    assert not [path for path in site.rglob("*.*ml") if b"pay.example/gone" in path.read_bytes()]


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("sign_up: http://forms.example/a", "sign_up 'http://forms.example/a' is not a safe web address"),
        ("sign_up: https://forms.example/a b", "sign_up 'https://forms.example/a b' is not a safe"),
        ('sign_up: "https://forms.example/\';x\\""', "is not a safe web address"),
        ("sign_up: https://me@forms.example/", "is not a safe web address"),
        ("sign_up: https://forms.example:99999/", "is not a safe web address"),
        ("sign_up: brid@forms.example", "is not a safe web address"),
        ('buy_at: "https://shop.example/{title}"', "has a place that nothing fills; only {slug}"),
        ("buy_at: shop.example/{slug}", "'shop.example/piece' is not a safe web address"),
    ],
)
def test_an_address_that_cannot_be_used_is_told_with_its_line(
    tmp_path: Path, line: str, sentence: str
) -> None:
    """The complaint names studio.yaml and the line."""
    studio = studio_with(tmp_path, line)
    reading = read(studio)

    assert reading.studio is None
    (complaint,) = reading.complaints
    assert (complaint.file, complaint.line) == ("studio.yaml", makers.STUDIO.count("\n") + 1)
    assert sentence in complaint.message


def test_the_gallery_hangs_as_close_as_the_artist_likes(tmp_path: Path) -> None:
    """A theme's option is taken from studio.yaml, where it is among the theme's choices."""
    studio = studio_with(tmp_path, "theme_options: {density: roomy}")
    make_site(studio, "handbill")

    grid = pages(studio / "out" / "site")["gallery/index.html"].xpath("//div[starts-with(@class, 'grid')]")
    assert [one.get("class") for one in grid] == ["grid roomy"]


@pytest.mark.parametrize(
    ("name", "line", "sentence"),
    [
        (
            "handbill",
            "density: rooomy",
            "theme_options: density 'rooomy' is not one of .*did you mean 'roomy'",
        ),
        ("handbill", "densty: roomy", "theme_options: 'densty' is not one of density, strip; did you mean"),
        ("case", "rows: three", "rows are 'three'; write whole numbers"),
    ],
)
def test_an_option_that_the_theme_lacks_is_told(tmp_path: Path, name: str, line: str, sentence: str) -> None:
    """With the choices there are."""
    studio = studio_with(tmp_path, f"theme_options: {{{line}}}")

    with pytest.raises(Fault, match=sentence):
        make_site(studio, name)
