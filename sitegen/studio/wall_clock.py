"""Times on the clock that don't exist, or exist twice, since the clocks are changed."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo


def refuse_skipped(moment: datetime, zone: ZoneInfo) -> None:
    """Refuse a time that the clocks skip, as in spring. Raises ValueError with a sentence."""
    there = moment.replace(tzinfo=zone).astimezone(UTC).astimezone(zone)
    if there.replace(tzinfo=None) != moment.replace(tzinfo=None):
        later = max(there, moment.replace(tzinfo=zone, fold=0).astimezone(UTC).astimezone(zone))
        raise ValueError(
            f"'{moment:%Y-%m-%d %H:%M}' is a time that doesn't exist in {zone.key}: the clocks go forward "
            f"there and skip it; {later:%H:%M} is what they show then"
        )


def shown_twice(moment: datetime, zone: ZoneInfo) -> bool:
    """Tell whether the clocks show a time twice, as in autumn."""
    first, second = (moment.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    return first < second
