"""Which photographs are stored turned, tagged or in wide colours, as cameras leave them."""

from negatives import Tags

PHONE = ("Example Optical", "Pocket 9", "EX-0049-1187")
CAMERA = ("Example Optical", "Studio One", "SO-77120031")
MAKER = "A. Maker (invented)"

TAGS = {
    "keeper-of-unclaimed-keys/face.jpg": Tags(
        turned=6,
        camera=PHONE,
        artist=MAKER,
        place=(-48.8767, -123.3933),
        comment="Kitchen window, second try.",
    ),
    "hare-at-customs/case.jpg": Tags(
        turned=8,
        camera=PHONE,
        artist=MAKER,
        place=(-47.15, -126.72),
        comment="Back room. Do not publish the address.",
    ),
    "owl-on-the-late-shift/face.jpg": Tags(
        turned=3, camera=CAMERA, artist=MAKER, place=(0.0, -30.5), comment="Owl, head only."
    ),
    "second-post/face.jpg": Tags(turned=2),
    "moon-rigger/figure.jpg": Tags(
        turned=5, camera=CAMERA, artist=MAKER, place=(25.5, -38.25), comment="With the long lens."
    ),
    "snails-landlady/shell.jpg": Tags(turned=7),
    "weather-widow/face.jpg": Tags(turned=4),
    "pilot-of-paper-boats/figure.jpg": Tags(wide_colours=True),
    "aunt-who-kept-bees/figure.jpg": Tags(
        wide_colours=True, camera=PHONE, artist=MAKER, place=(-30.1, 80.4), comment="Straw hat, new ribbon."
    ),
    "second-post/figure.jpg": Tags(wide_colours=True),
    "duke-of-thimbles/face.jpg": Tags(wide_colours=True, turned=6),
}
