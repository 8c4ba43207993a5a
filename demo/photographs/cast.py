"""Which function models which figure, and the paper behind it."""

from collections.abc import Callable
from dataclasses import dataclass, field

import bench_room
import harbour
import lodgers
import night
import small_hours
import strangers
from stage import Sitting


@dataclass(frozen=True)
class Role:
    """How a figure is set up for its sitting."""

    model: Callable[[Sitting], None]
    paper: str
    second: str | None = None
    turned: tuple[float, float, float] = (-10, 3, 2)
    room: dict[str, float] = field(default_factory=dict)
    boards: bool = False


CAST = {
    "keeper-of-unclaimed-keys": Role(harbour.keeper_of_unclaimed_keys, "#8a8883", "#6f7176"),
    "tide-clerk-second-class": Role(harbour.tide_clerk_second_class, "#7f7866", "#5d6156", (-6, 13, 3)),
    "the-harbourmistress-declines": Role(
        harbour.the_harbourmistress_declines, "#4a2620", "#331b19", (-4, 2, -2), {"snoot": 1.6, "dim": 0.8}
    ),
    "inspector-of-bells": Role(harbour.inspector_of_bells, "#a8987c", "#85725a", (16, 2, -8)),
    "hare-at-customs": Role(harbour.hare_at_customs, "#8d9483", "#6c7564", (-8, 2, 3)),
    "pilot-of-paper-boats": Role(harbour.pilot_of_paper_boats, "#56616b", "#434d58", (14, 10, -3)),
    "registrar-of-fogs": Role(harbour.registrar_of_fogs, "#a9adae", "#8f959a", (-12, 4, 5)),
    "salt-assessor": Role(
        bench_room.salt_assessor, "#7a5c3e", "#54402d", (-38, 4, 2), {"wall": -7.0}, boards=True
    ),
    "moth-usher": Role(night.moth_usher, "#3f2f4a", "#2c2136", (-26, 4, 4), {"snoot": 1.4, "dim": 0.85}),
    "moon-rigger": Role(night.moon_rigger, "#232c48", "#1a2138", (14, -10, -4), {"snoot": 1.4, "dim": 0.9}),
    "lamplighters-sister": Role(night.lamplighters_sister, "#6f675d", "#514a43", (-16, 3, 5)),
    "owl-on-the-late-shift": Role(night.owl_on_the_late_shift, "#4a5a68", "#384753", (-8, 5, 3)),
    "the-one-who-counts": Role(night.the_one_who_counts, "#5d5360", "#4a3f4c", (-14, 2, 2)),
    "second-post": Role(small_hours.second_post, "#8f8468", "#5e6470", (-18, 3, 4)),
    "star-darner": Role(small_hours.star_darner, "#2c3158", "#1f2342", (8, 16, -3), {"snoot": 1.3}),
    "understudy-for-the-moon": Role(
        small_hours.understudy_for_the_moon, "#2f3d5c", "#222d46", (10, -3, -5), {"snoot": 1.3}
    ),
    "clock-winder": Role(
        bench_room.clock_winder, "#7a5c3e", "#54402d", (-14, 3, 1), {"wall": -7.0}, boards=True
    ),
    "snails-landlady": Role(lodgers.snails_landlady, "#8d8f70", "#6f6a4f", (-9, 6, 3)),
    "lodger-in-a-teacup": Role(lodgers.lodger_in_a_teacup, "#b3afa6", "#97938b", (-14, 2, 5)),
    "egg-sitter": Role(lodgers.egg_sitter, "#a08c5c", "#75603f", (6, 13, -4)),
    "beetle-with-good-references": Role(
        lodgers.beetle_with_good_references, "#8f6266", "#6a434f", (10, 3, -5)
    ),
    "duke-of-thimbles": Role(lodgers.duke_of_thimbles, "#77707a", "#54404a", (-18, -4, 2)),
    "weather-widow": Role(lodgers.weather_widow, "#707984", "#555c6b", (-10, 3, 3)),
    "patron-of-small-repairs": Role(strangers.patron_of_small_repairs, "#a3967c", "#7d6c52", (-6, 3, 4)),
    "aunt-who-kept-bees": Role(strangers.aunt_who_kept_bees, "#ad9a66", "#7f7a4c", (-12, 2, 6)),
    "cat-who-was-asked-to-leave": Role(
        strangers.cat_who_was_asked_to_leave, "#6d6a60", "#454d41", (10, -7, -4)
    ),
    "deer-at-the-telephone": Role(
        bench_room.deer_at_the_telephone, "#7a5c3e", "#54402d", (28, 3, -4), {"wall": -7.0}, boards=True
    ),
}
