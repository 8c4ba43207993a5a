"""How many commissions fit, and when each would be done.

The way through: `hours` says what one piece takes (from records or three-point estimates), `grid` adds
pieces up exactly on a half-hour grid, `total` widens the sum by what few records leave unknown, `bench`
walks hours through real days, `answer` puts it together.
"""

from sitegen.studio.capacity.answer import Forecast, Job, Question, answer
from sitegen.studio.capacity.bench import Away, Bench
from sitegen.studio.capacity.hours import Basis, Hours, ThreePoint, from_estimate, from_records, hours_by_tier

__all__ = [
    "Away",
    "Basis",
    "Bench",
    "Forecast",
    "Hours",
    "Job",
    "Question",
    "ThreePoint",
    "answer",
    "from_estimate",
    "from_records",
    "hours_by_tier",
]
