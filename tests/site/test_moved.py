"""A renamed piece: what was printed with its old address still leads to it, and its sale counts once."""

from __future__ import annotations

import json
from pathlib import Path

from lxml import html

from tests import makers
from tests.cli.runner import run
from tests.site.studio import make_site

SOLD = "\n  sold: {on: 2026-05-01, price: 480}"


def test_an_old_address_leads_on_without_script(tmp_path: Path) -> None:
    studio = makers.studio(tmp_path, {"owl": makers.piece_yaml("The <Owl>") + "was: night-owl, old-owl\n"})
    make_site(studio)
    for name in ("night-owl", "old-owl"):
        page = html.fromstring((studio / "out/site/pieces" / name / "index.html").read_bytes())
        (link,) = page.xpath("//a/@href")
        (refresh,) = page.xpath("//meta[@http-equiv='refresh']/@content")

        assert refresh == f"0; url={link}"
        assert (
            studio / "out/site/pieces" / name / link
        ).resolve() == studio / "out/site/pieces/owl/index.html"
        assert "The <Owl>" in page.text_content()
        assert page.xpath("//script") == []
    assert "night-owl" not in (studio / "out/site/sitemap.xml").read_text("utf-8")


def test_a_name_that_another_piece_has_is_that_pieces(tmp_path: Path) -> None:
    pieces = {
        "owl": makers.piece_yaml("Owl") + "was: toad\n",
        "toad": makers.piece_yaml("Toad", number="2026-02"),
    }
    studio = makers.studio(tmp_path, pieces)
    make_site(studio)

    assert "Toad" in (studio / "out/site/pieces/toad/index.html").read_text("utf-8")


def test_a_renamed_folder_is_told_at_the_next_build_and_its_sale_counts_once(tmp_path: Path) -> None:
    studio = makers.studio(
        tmp_path / "s", {"owl": makers.piece_yaml("Owl", status="sold", price="", private=SOLD)}
    )
    makers.write(
        studio / "shows" / "fair.yaml",
        makers.SHOW.replace("2027-02", "2026-05") + "  sales: [{what: owl, price: 480}]\n",
    )
    first = run(studio, "build")
    assert "is gone" not in first.output
    income = json.loads(run(studio, "books", "--json").stdout)["total"]
    (studio / "pieces" / "owl").rename(studio / "pieces" / "night-owl")
    told = run(studio, "build")

    assert "The address pieces/owl/ is gone" in told.output
    assert "write `was: owl` into its piece.yaml" in told.output
    file = studio / "pieces" / "night-owl" / "piece.yaml"
    makers.write(file, file.read_text("utf-8") + "was: owl\n")
    assert run(studio, "build").exit_code == 0
    assert (studio / "out/site/pieces/owl/index.html").is_file()
    assert json.loads(run(studio, "books", "--json").stdout)["total"] == income == "480.00"
